import { describe, expect, test } from 'vitest';
import { validateXML } from 'xmllint-wasm';
import { type Diagram, diagramOf, diagramText } from '../../server/src/outputs/diagram.ts';
import { diagramSvg, mostDrawn } from '../../server/src/outputs/diagram-drawing.ts';
import { fettle } from '../cli/run.ts';
import { teardownOf } from './draft-generate.ts';
import { hostileText } from './hostile.ts';
import { openSample, openText } from './opened.ts';

const diagramFrom = (text: string): Diagram => diagramOf(openText(text).model);
const drawn = (diagram: Diagram): string =>
  diagramSvg(diagram, { title: 'Unit', lineOf: ({ declaration }) => declaration.start })!;

interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}
/** Boxes of the parts in the drawing, in its order. */
const boxesIn = (svg: string): Box[] =>
  [
    ...svg.matchAll(
      /<g class="part" transform="translate\(([-\d.]+) ([-\d.]+)\)"[^>]*>.*?<rect [^>]*width="([\d.]+)" height="([\d.]+)"/g,
    ),
  ].map(([, x, y, width, height]) => ({ x: Number(x), y: Number(y), width: Number(width), height: Number(height) }));
/** First and last point of each arrow between parts. */
const arrowsIn = (svg: string): { kind: string; from: [number, number]; to: [number, number] }[] =>
  [
    ...svg
      .slice(svg.indexOf('<g transform'))
      .matchAll(/<path class="line (\w+)" d="M([-\d.]+) ([-\d.]+)[^"]*?([-\d.]+) ([-\d.]+)" fill="none"/g),
  ].map(([, kind, ...points]) => {
    const [x, y, u, v] = points.map(Number) as [number, number, number, number];
    return { kind: kind!, from: [x, y], to: [u, v] };
  });
const touches = ([x, y]: [number, number], box: Box): boolean =>
  x >= box.x - 0.2 && x <= box.x + box.width + 0.2 && y >= box.y - 0.2 && y <= box.y + box.height + 0.2;
const overlap = (a: Box, b: Box): boolean =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;

const cap = `procedure cap "Cap" applies to C-1
part seal "Seal, of rubber" renew behind cover
part cover "Cover" held by bolt
part bolt x6 "Cover bolt" thread M8
part plug "Plug"
part label "Label" carried by cover
part spare "Spare"
teardown
  step s
    remove bolt x4
    if "stuck"
      do "Heat it"
    end
    remove bolt x2
    remove cover with label
    disconnect plug
inspection
  step i
    remove seal
reassembly
  step r
    fit plug
    remove spare`;

describe('the diagram', () => {
  test('counts the removals before the reassembly, in the order of the text', () => {
    expect(diagramText(diagramFrom(cap))).toEqual([
      'Cover bolt × 6 (1, 2): holds “Cover”.',
      'Cover (3): covers “Seal, of rubber”; carries “Label”.',
      'Label (3).',
      'Plug (4).',
      'Seal, of rubber (5).',
      'Spare (not taken off).',
    ]);
  });

  test('draws each part and each link once, with number, name and count', () => {
    const diagram = diagramFrom(cap);
    const svg = drawn(diagram);
    expect(boxesIn(svg)).toHaveLength(6);
    expect(
      arrowsIn(svg)
        .map(({ kind }) => kind)
        .sort(),
    ).toEqual(['carries', 'covers', 'holds']);
    for (const words of ['bolt × 6', 'seal, renew', '>1, 2<', '>4<']) expect(svg).toContain(words);
    expect(svg).toContain('Parts that nothing holds, covers or carries');
  });

  test('says in words what each stroke means, and keeps them apart without colour', () => {
    const svg = drawn(diagramFrom(cap));
    expect(svg).toMatch(/Solid arrow: holds[^<]*held by/);
    expect(svg).toMatch(/Dashed arrow: covers[^<]*behind/);
    expect(svg).toMatch(/Dotted arrow: carries[^<]*carried by/);
    expect(new Set(svg.match(/(?:fill|stroke)="(?!none)[^"]*"/g))).toEqual(new Set(['fill="#fff"', 'stroke="#000"']));
    const strokes = new Set(
      [...svg.matchAll(/class="line (\w+)"[^>]*?stroke-width="[\d.]+"(?: stroke-dasharray="([^"]*)")?/g)].map(
        ([, kind, dashes]) => `${kind} ${dashes}`,
      ),
    );
    expect(strokes).toEqual(new Set(['holds undefined', 'covers 8 5', 'carries 1.8 4.5']));
  });

  test('has a title, and all of it as text, for those who do not see it', () => {
    const diagram = diagramFrom(cap);
    const svg = drawn(diagram);
    const [, label] = /role="img" aria-labelledby="([^"]*)"/.exec(svg)!;
    for (const id of label!.split(' ')) expect(svg).toContain(` id="${id}">`);
    expect(svg).toContain('<title id="diagram-title">Unit: what holds what</title>');
    for (const line of diagramText(diagram)) expect(svg).toContain(line);
  });

  test.each(['winch-reducer', 'irrigation-pump', 'gear-pump', 'chain-hoist-brake', 'centrifugal-clutch'])(
    'of %s keeps its boxes apart and within the sheet, its arrows from box to box',
    (name) => {
      const diagram = diagramOf(openSample(name).model);
      checkDrawing(diagram, drawn(diagram));
    },
  );

  test.each([5, 40, 150, 300])('of %i parts does so, too', (parts) => {
    const diagram = diagramFrom(teardownOf(parts, parts));
    expect(diagram.parts.length).toBeGreaterThanOrEqual(parts);
    checkDrawing(diagram, drawn(diagram));
  });

  // Graph theory: where no circle is, every arrow of a layered drawing runs one way (Sugiyama, Tagawa, Toda 1981; from memory).
  test('runs downwards where nothing goes in a circle, and carrying yields where something does', () => {
    const chain = diagramFrom(`part a "A" held by b
part b "B" held by c
part c "C"
part d "D" behind a held by c
teardown
  step s
    remove c`);
    for (const { from, to } of arrowsIn(drawn(chain))) expect(to[1]).toBeGreaterThan(from[1]);
    const circle = diagramFrom(`part shaft "Shaft" held by plate
part wheel "Wheel" carried by shaft
part plate "Plate" behind wheel
teardown
  step s
    remove wheel`);
    for (const { kind, from, to } of arrowsIn(drawn(circle))) expect(to[1] > from[1], kind).toBe(kind !== 'carries');
  });

  test('is XML whatever the author writes', async () => {
    const diagram = diagramFrom(hostileText);
    const svg = diagramSvg(diagram, { title: '</title><script>alert(1)</script>\u0000\ud800&"\'' })!;
    const { errors } = await validateXML({ xml: { fileName: 'a.svg', contents: svg }, normalization: 'format' });
    expect(errors).toEqual([]);
    expect(svg).not.toContain('<script');
    expect(svg).not.toContain('<svg onload');
    checkDrawing(diagram, svg);
  });

  test('holds names that objects have of themselves, and links that loop', () => {
    const diagram = diagramFrom(`part constructor "C" held by toString
part toString "T" behind constructor held by toString, gone
part hasOwnProperty "H" carried by constructor
teardown
  step s
    remove constructor`);
    expect(diagram.links).toHaveLength(3);
    checkDrawing(diagram, drawn(diagram));
  });

  test('is not drawn for too many parts, nor for none; in words it is whole', () => {
    const many = diagramFrom(Array.from({ length: mostDrawn + 1 }, (_, i) => `part p${i} "P"`).join('\n'));
    expect(diagramSvg(many, { title: 'Many' })).toBeUndefined();
    expect(diagramText(many)).toHaveLength(mostDrawn + 1);
    expect(diagramSvg(diagramFrom('tool t "T"'), { title: 'None' })).toBeUndefined();
  });
});

function checkDrawing(diagram: Diagram, svg: string): void {
  const boxes = boxesIn(svg);
  expect(boxes).toHaveLength(diagram.parts.length);
  const [, width, height] = /viewBox="0 0 (\d+) (\d+)"/.exec(svg)!.map(Number);
  const [, dx, dy] = /<g transform="translate\((\d+) (\d+)\)">/.exec(svg)!.map(Number);
  boxes.forEach((box, i) => {
    expect(box.x + dx!).toBeGreaterThanOrEqual(0);
    expect(box.y + dy!).toBeGreaterThanOrEqual(0);
    expect(box.x + dx! + box.width).toBeLessThanOrEqual(width!);
    expect(box.y + dy! + box.height).toBeLessThanOrEqual(height!);
    for (const other of boxes.slice(i + 1)) expect(overlap(box, other)).toBe(false);
  });
  const boxOf = new Map(diagram.parts.map(({ part }, i) => [part, boxes[i]!]));
  const arrows = arrowsIn(svg);
  expect(arrows).toHaveLength(diagram.links.length);
  // Each link has an arrow from an edge of the one box to an edge of the other.
  for (const { from, to, kind } of diagram.links)
    expect(
      arrows.some(
        (arrow) => arrow.kind === kind && touches(arrow.from, boxOf.get(from)!) && touches(arrow.to, boxOf.get(to)!),
      ),
      `${from} ${kind} ${to}`,
    ).toBe(true);
}

describe('fettle diagram', () => {
  test('writes the drawing, or the words', () => {
    const svg = fettle(['diagram', 'samples/gear-pump.fettle']);
    expect(svg).toMatchObject({ status: 0, err: '' });
    expect(svg.out).toMatch(/^<svg [\s\S]*<\/svg>\n$/);
    const text = fettle(['diagram', 'samples/gear-pump.fettle', '--format', 'text']);
    expect(text.out).toContain('End cover (14): covers ');
  });

  test('says what to name instead of a file without parts', () => {
    const { status, err } = fettle(['diagram', '-'], { input: 'tool puller "Puller"\n' });
    expect(status).toBe(2);
    expect(err).toContain('declares no part: name a file that does');
  });
});

test('no line of a title ends between a figure and its unit', () => {
  // Of a title of this length the line would end behind 40.
  const svg = drawn(diagramFrom('part bolt "Cover bolt M8x1.25 by 40 mm, oiled"\n'));
  const lines = [...svg.matchAll(/font-weight="600"[^>]*>([^<]*)<\/text>/g)].map(([, line]) => line);
  expect(lines).toEqual(['Cover bolt M8x1.25 by', '40 mm, oiled']);
});
