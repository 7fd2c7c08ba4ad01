import { type Diagram, type DiagramPart, diagramOf, diagramText } from '../outputs/diagram.ts';
import { diagramKey, diagramSvg, type Layout, layOut, tooMuch } from '../outputs/diagram-drawing.ts';
import { own } from '../outputs/directed-text.ts';
import { escapeMarkup } from '../outputs/markup.ts';
import { type FileParams, type Page, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** In the colours of the editor; the drawing scrolls within its own frame. */
const style = `
.drawing { overflow: auto; border: 1px solid var(--vscode-widget-border, currentColor); }
.drawing svg { display: block; }
.drawing .paper { fill: var(--vscode-editor-background); }
.drawing .ink { fill: var(--vscode-editor-foreground); }
.drawing .line, .key .line { stroke: var(--vscode-editor-foreground); }
.key { padding: 0; list-style: none; }
.key li { display: flex; gap: 8px; margin: 3px 0; }
.key svg { flex: none; align-self: center; }
.drawing [data-line] { cursor: pointer; }
.drawing [data-line]:hover rect, .drawing .here rect { stroke-width: 3.5; }
.parts { columns: 34em; padding-left: 3em; }
.parts li { break-inside: avoid; padding: 2px 6px; margin: 3px 0; }
`;

/** The drawing above, the same in words below. */
export function diagramPage(snapshot: Snapshot): Page {
  const { model } = snapshot;
  const title = model.head?.title?.value ?? model.head?.name?.text ?? 'Declarations';
  const diagram = diagramOf(model);
  const { parts } = diagram;
  const lineOf = ({ declaration }: DiagramPart): number | undefined =>
    snapshot.isOwn(declaration) ? snapshot.rangeOf(declaration).start.line : undefined;
  const refused = tooMuch(diagram);
  const svg =
    refused !== undefined
      ? undefined
      : diagramSvg(diagram, { title, lineOf, layout: layoutOf(snapshot, diagram), bare: true });
  const drawing =
    svg !== undefined
      ? `<ul class="key">${diagramKey()
          .map(({ svg: picture = '', words }) => `<li>${picture}<span>${escapeMarkup(words)}</span></li>`)
          .join('')}</ul>
<div class="drawing" data-zooms role="region" aria-label="Drawing" tabindex="0">${svg}</div>`
      : `<p>${parts.length === 0 ? 'No part is declared.' : `This file states ${refused}. The list has all of them.`}</p>`;
  // A title may run from right to left; what stands around it does not.
  const list = diagramText(diagram, (each) => own(each).markup).map((words, i) => {
    const line = lineOf(parts[i]!);
    return `<li${line === undefined ? '' : ` data-line="${line}"`}>${words}</li>`;
  });
  return {
    title,
    style,
    body: `<main><h1>${own(title).markup}: what holds what</h1>
${drawing}
${list.length === 0 ? '' : `<h2>In words</h2>\n<p>In brackets: the turn in which the teardown takes the part off.</p>\n<ul class="parts">\n${list.join('\n')}\n</ul>`}</main>`,
    codes: model.codes,
  };
}

/** The last layout of each file: most edits change nothing in it, and it may take a second. */
const layouts = new Map<string, { key: string; layout: Layout }>();
const mostKept = 8;

function layoutOf({ file }: Snapshot, diagram: Diagram): Layout {
  const key = JSON.stringify([diagram.parts.map(({ part }) => part), diagram.links]);
  const known = layouts.get(file.key);
  const now = known?.key === key ? known : { key, layout: layOut(diagram) };
  layouts.delete(file.key);
  layouts.set(file.key, now);
  for (const oldest of layouts.keys()) {
    if (layouts.size <= mostKept) break;
    layouts.delete(oldest);
  }
  return now.layout;
}

export const holdingDiagram = feature<FileParams, Page>(requests.diagram, {}, diagramPage);
