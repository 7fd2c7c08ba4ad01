import { Graph, layout } from '@dagrejs/dagre';
import { addTo } from '../model/grouped.ts';
import { type Diagram, type DiagramPart, diagramText, type Link, times, turnsOf } from './diagram.ts';
import { inDrawing } from './directed-text.ts';
import { wrapped } from './drawn-text.ts';
import { escapeMarkup } from './markup.ts';

/** Parts that are laid out; behind more, a drawing can neither be read nor reckoned in time. */
export const mostDrawn = 500;

/** The same of the lines between them. */
const mostLinks = 1500;

/** Why `diagram` is not drawn; nothing where it is. */
export const tooMuch = ({ parts, links }: Diagram): string | undefined =>
  parts.length > mostDrawn
    ? `${parts.length} parts, more than the ${mostDrawn} that can be drawn`
    : links.length > mostLinks
      ? `${links.length} times what holds, covers or carries a part, more than the ${mostLinks} that can be drawn`
      : undefined;

const box = { width: 240, height: 52, turn: 44 };

const gap = { between: 18, ranks: 46, groups: 34 };

/** Behind so many parts a group grows to the right instead of downwards: side by side their boxes would be too wide. */
const mostDownwards = 100;

const fontSize = 13;

const smallSize = 11;

/** How much wider bold letters are. */
const bold = 1.13;

const margin = 20;

const widest = 1500;

interface Place {
  readonly x: number;
  readonly y: number;
}

interface Group {
  readonly width: number;
  readonly height: number;
  readonly growth: 'down' | 'right';
  /** Upper left corners. */
  readonly places: ReadonlyMap<string, Place>;
  readonly lines: readonly {
    readonly kind: Link;
    readonly from: string;
    readonly to: string;
    readonly points: readonly Place[];
  }[];
}

export interface SvgOptions {
  readonly title: string;
  /** Line of the source for a part, from 0; marks the part `data-line`. */
  readonly lineOf?: (part: DiagramPart) => number | undefined;
  /** What {@link layOut} gave for the same parts and links. */
  readonly layout?: Layout;
  /** Neither heading nor {@link diagramKey}, as the page around it has them. */
  readonly bare?: boolean;
}

/** Where linked parts and the lines between them go; by far the most of a drawing's cost. */
export type Layout = readonly Group[];

/**
 * The diagram as SVG, black on white in itself; a page may restyle its classes `paper` (fills), `ink` (text, arrow heads), `line`
 * (strokes) and `heading`. Arrows run from what has to come off first. Parts without any link stand in rows below.
 * @returns nothing where there are no parts, or {@link tooMuch}.
 */
export function diagramSvg(
  diagram: Diagram,
  { title, lineOf = () => undefined, layout: given, bare = false }: SvgOptions,
): string | undefined {
  const { parts, links } = diagram;
  if (parts.length === 0 || tooMuch(diagram) !== undefined) return undefined;
  const groups = given ?? layOut(diagram);
  const single = parts.filter(({ part }) => !links.some(({ from, to }) => from === part || to === part));
  const room = Math.max(widest, ...groups.map(({ width }) => width));
  // Groups in rows, each as high as its highest.
  const placed: { group: Group; at: Place }[] = [];
  let x = 0;
  let y = 0;
  let high = 0;
  for (const group of groups) {
    if (x > 0 && x + group.width > room) {
      x = 0;
      y += high + gap.groups;
      high = 0;
    }
    placed.push({ group, at: { x, y } });
    x += group.width + gap.groups;
    high = Math.max(high, group.height);
  }
  y += groups.length === 0 ? 0 : high + gap.groups;
  const columns = Math.floor((room + gap.between) / (box.width + gap.between));
  const alone = new Map(
    single.map(({ part }, i): [string, Place] => [
      part,
      {
        x: (i % columns) * (box.width + gap.between),
        y: y + smallSize * 2 + Math.floor(i / columns) * (box.height + gap.between),
      },
    ]),
  );
  const legendHeight = 104;
  const top = bare ? margin : margin + legendHeight;
  const corners = new Map<string, Place>(alone);
  for (const { group, at } of placed)
    for (const [part, place] of group.places) corners.set(part, { x: at.x + place.x, y: at.y + place.y });
  const right = Math.max(700, ...[...corners.values()].map((corner) => corner.x + box.width));
  const bottom = Math.max(...[...corners.values()].map((corner) => corner.y + box.height));
  const width = Math.ceil(right + 2 * margin);
  const height = Math.ceil(top + bottom + margin);

  const lines = placed.flatMap(({ group, at }) =>
    group.lines.map(({ kind, points }) =>
      arrow(
        kind,
        group.growth,
        points.map((point) => ({ x: point.x + at.x, y: point.y + at.y })),
      ),
    ),
  );
  const boxes = parts.map((part) => drawn(part, corners.get(part.part)!, lineOf(part)));
  const heading =
    single.length === 0 || groups.length === 0
      ? ''
      : `<text class="ink" x="0" y="${y + smallSize}" font-weight="bold">Parts that nothing holds, covers or carries</text>\n`;
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-labelledby="diagram-title diagram-text" font-family="system-ui, 'Liberation Sans', sans-serif" font-size="${fontSize}">
<title id="diagram-title">${escapeMarkup(`${title}: what holds what`)}</title>
<desc id="diagram-text">${escapeMarkup(diagramText(diagram).join('\n'))}</desc>
<defs><marker id="head" viewBox="0 0 10 10" refX="9.5" refY="5" markerWidth="9" markerHeight="9" markerUnits="userSpaceOnUse" orient="auto"><path class="ink" d="M0 0.8 10 5 0 9.2z"/></marker></defs>
<rect class="paper" width="${width}" height="${height}" fill="#fff"/>
${bare ? '' : legend(title)}<g transform="translate(${margin} ${top})">
${lines.join('\n')}
${heading}${boxes.join('\n')}
</g>
</svg>
`;
}

/** Connected parts, laid out by themselves, downwards (or to the right) in the order in which they come free. */
export function layOut({ parts, links }: Diagram): Layout {
  const roots = new Map(parts.map(({ part }) => [part, part]));
  const rootOf = (part: string): string => {
    let root = part;
    while (roots.get(root) !== root) root = roots.get(root)!;
    for (let at = part; at !== root; ) {
      const next = roots.get(at)!;
      roots.set(at, root);
      at = next;
    }
    return root;
  };
  for (const { from, to } of links) roots.set(rootOf(from), rootOf(to));
  const linked = new Map<string, Diagram['links'][number][]>();
  for (const link of links) addTo(linked, rootOf(link.from), link);
  const members = new Map<string, string[]>();
  for (const { part } of parts) {
    const root = rootOf(part);
    if (linked.has(root)) addTo(members, root, part);
  }
  return [...members].map(([root, own]) => laidOut(own, linked.get(root)!));
}

/** Carrying says nothing of the order: where links run in a circle, that one is the first to run backwards. */
const weights: Readonly<Record<Link, number>> = { holds: 8, covers: 8, carries: 1 };

function laidOut(parts: readonly string[], links: Diagram['links']): Group {
  const growth = parts.length > mostDownwards ? 'right' : 'down';
  const graph = new Graph({ multigraph: true });
  graph.setGraph({
    rankdir: growth === 'down' ? 'TB' : 'LR',
    nodesep: gap.between,
    ranksep: gap.ranks,
    edgesep: 10,
    acyclicer: 'greedy',
    // Faster, and of big graphs the more compact drawing.
    ranker: parts.length > mostDownwards ? 'tight-tree' : 'network-simplex',
  });
  graph.setDefaultEdgeLabel(() => ({}));
  // By number: a part may be called `constructor`.
  const ids = new Map(parts.map((part, i) => [part, `p${i}`]));
  for (const id of ids.values()) graph.setNode(id, { width: box.width, height: box.height });
  for (const { from, to, kind } of links)
    graph.setEdge(ids.get(from)!, ids.get(to)!, { weight: weights[kind], minlen: 1 }, kind);
  layout(graph);
  const { width = 0, height = 0 } = graph.graph();
  const rank = ({ x = 0, y = 0 }: Partial<Place>): number => Math.round(growth === 'down' ? y : x);
  const ranks = new Set([...ids.values()].map((id) => rank(graph.node(id))));
  return {
    width,
    height,
    growth,
    places: new Map(
      [...ids].map(([part, id]): [string, Place] => {
        const { x = 0, y = 0 } = graph.node(id);
        return [part, { x: x - box.width / 2, y: y - box.height / 2 }];
      }),
    ),
    lines: links.map(({ from, to, kind }) => ({
      kind,
      from,
      to,
      points: pathOf(
        growth,
        graph.node(ids.get(from)!) as Place,
        graph.node(ids.get(to)!) as Place,
        (graph.edge(ids.get(from)!, ids.get(to)!, kind).points ?? []).filter((point: Place) => ranks.has(rank(point))),
      ),
    })),
  };
}

const swapped = ({ x, y }: Place): Place => ({ x: y, y: x });

/** From the edge of one box to that of the other; past the boxes between them it runs straight. */
function pathOf(growth: Group['growth'], from: Place, to: Place, bends: readonly Place[]): Place[] {
  if (growth === 'right') return along(swapped(from), swapped(to), bends.map(swapped), box.width / 2).map(swapped);
  return along(from, to, bends, box.height / 2);
}

function along(from: Place, to: Place, bends: readonly Place[], size: number): Place[] {
  const half = to.y < from.y ? -size : size;
  return [
    { x: from.x, y: from.y + half },
    ...bends
      .filter(({ y }) => (y - from.y) * half > 0 && (to.y - y) * half > 0)
      .flatMap(({ x, y }) => [
        { x, y: y - half },
        { x, y: y + half },
      ]),
    { x: to.x, y: to.y - half },
  ];
}

const strokes: Readonly<Record<Link, string>> = {
  holds: 'stroke-width="1.8"',
  covers: 'stroke-width="1.5" stroke-dasharray="8 5"',
  carries: 'stroke-width="1.8" stroke-dasharray="1.8 4.5" stroke-linecap="round"',
};

const round = (n: number): string => String(Math.round(n * 10) / 10);

const at = ({ x, y }: Place): string => `${round(x)} ${round(y)}`;

/** Straight on at every bend, so that arrow heads point the way of the drawing. */
function arrow(kind: Link, growth: Group['growth'], points: readonly Place[]): string {
  let path = '';
  points.forEach((point, i) => {
    const from = points[i - 1];
    const x = from === undefined ? 0 : (from.x + point.x) / 2;
    const y = from === undefined ? 0 : (from.y + point.y) / 2;
    if (from === undefined) path = `M${at(point)}`;
    else if (Math.abs(from.x - point.x) < 0.5 || Math.abs(from.y - point.y) < 0.5) path += `L${at(point)}`;
    else if (growth === 'right') path += `C${at({ x, y: from.y })} ${at({ x, y: point.y })} ${at(point)}`;
    else path += `C${at({ x: from.x, y })} ${at({ x: point.x, y })} ${at(point)}`;
  });
  return `<path class="line ${kind}" d="${path}" fill="none" stroke="#000" ${strokes[kind]} marker-end="url(#head)"/>`;
}

function drawn(part: DiagramPart, { x, y }: Place, line: number | undefined): string {
  const [turns = ''] = wrapped(turnsOf(part), box.turn - 2, 10, 1);
  const facts = [`${part.part}${times(part)}`, ...(part.renew ? ['renew'] : [])].join(', ');
  const text = box.width - box.turn - 14;
  const title = wrapped(part.title, text, fontSize * bold, 2);
  const [small = ''] = wrapped(facts, text, smallSize, 1);
  const height = title.length * (fontSize + 2) + smallSize + 2;
  const from = (box.height - height) / 2;
  const left = box.turn + 8;
  const tspans = title.map(
    (words, i) =>
      `<text class="ink" x="${left}" y="${round(from + (i + 1) * (fontSize + 2) - 3)}" font-weight="600" unicode-bidi="plaintext">${inDrawing(words).markup}</text>`,
  );
  const said = `${part.title}${times(part)}: ${turns === '' ? 'not taken off' : `comes off in turn ${turnsOf(part)}`}`;
  return `<g class="part" transform="translate(${round(x)} ${round(y)})"${line === undefined ? '' : ` data-line="${line}"`}><title>${escapeMarkup(said)}</title><rect class="paper line" width="${box.width}" height="${box.height}" rx="3" fill="#fff" stroke="#000" stroke-width="${turns === '' ? 1 : 1.6}"/>${
    turns === ''
      ? ''
      : `<path class="line" d="M${box.turn} 0V${box.height}" stroke="#000"/><text class="ink" x="${box.turn / 2}" y="${box.height / 2 + (turns.length > 2 ? 4 : 6)}" text-anchor="middle" font-size="${turns.length > 5 ? 10 : turns.length > 2 ? 12 : 17}" font-weight="bold">${turns}</text>`
  }${tspans.join('')}<text class="ink" x="${left}" y="${round(from + height - 2)}" font-size="${smallSize}">${escapeMarkup(small)}</text></g>`;
}

const turnsKey = 'Big number: the order in which the teardown takes parts off. No number: it does not.';

const arrowKeys: readonly (readonly [Link, string])[] = [
  ['holds', 'Solid arrow: holds the part that it points to (held by).'],
  ['covers', 'Dashed arrow: covers the part that it points to (behind).'],
  ['carries', 'Dotted arrow: carries the part that it points to (carried by).'],
];

const arrowLength = 46;

/** What numbers and arrows mean, for a page with a `bare` drawing: each as a picture, if any, with its words. */
export const diagramKey = (): readonly { readonly svg?: string; readonly words: string }[] => [
  { words: turnsKey },
  ...arrowKeys.map(([kind, words]) => ({
    svg: `<svg width="${arrowLength + 2}" height="12" aria-hidden="true">${sample(kind, 0, 6)}</svg>`,
    words,
  })),
];

const sample = (kind: Link, x: number, y: number): string =>
  arrow(kind, 'right', [
    { x, y },
    { x: x + arrowLength, y },
  ]);

function legend(title: string): string {
  const [name = ''] = wrapped(`${title}: what holds what`, 640, 17 * bold, 1);
  return `<text class="ink heading" x="${margin}" y="${margin + 14}" font-size="17" font-weight="bold">${inDrawing(name).markup}</text>
<text class="ink" x="${margin}" y="${margin + 36}">${turnsKey}</text>
${arrowKeys
  .map(([kind, words], i) => {
    const y = margin + 50 + i * 16;
    return `${sample(kind, margin, y)}<text class="ink" x="${margin + 56}" y="${y + 4}">${words}</text>\n`;
  })
  .join('')}`;
}
