import {
  type DocumentSymbol,
  type DocumentSymbolParams,
  type SymbolInformation,
  SymbolKind,
} from 'vscode-languageserver';
import type { Declaration, Span, Step, SyntaxTree, Text } from '../../../grammar/syntax.ts';
import type { DeclarationWord } from '../../../grammar/tokens.ts';
import { written } from '../model/quantity.ts';
import { stepsOfChunk } from '../model/statements.ts';
import { isolated } from '../outputs/directed-text.ts';
import { counted } from '../outputs/wording.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

export const symbolKinds = {
  procedure: SymbolKind.Module,
  use: SymbolKind.File,
  part: SymbolKind.Field,
  tool: SymbolKind.Interface,
  supply: SymbolKind.Constant,
  pattern: SymbolKind.Array,
  phase: SymbolKind.Namespace,
  step: SymbolKind.Method,
  reading: SymbolKind.Variable,
} as const;

const groupNames: Readonly<Record<DeclarationWord, string>> = {
  part: 'parts',
  tool: 'tools',
  supply: 'supplies',
  pattern: 'patterns',
};

/** From where the chunk at `index` says something to the end of what it says, in the whole text. */
export function extentOf({ chunks, starts }: SyntaxTree, index: number): { start: number; end: number } {
  const base = starts[index]!;
  const { item, text } = chunks[index]!;
  const start = item?.start ?? 0;
  return { start: base + start, end: base + Math.max(start, text.trimEnd().length) };
}

type Draft = Omit<DocumentSymbol, 'range' | 'selectionRange' | 'children'> & {
  start: number;
  end: number;
  selection: Span;
  children?: Draft[];
};

/** The outline: head, declarations by kind, phases with their steps. */
export function outlineOf(snapshot: Snapshot): DocumentSymbol[] {
  const top: Draft[] = [];
  let group: (Draft & { of?: DeclarationWord }) | undefined;
  let phase: Draft | undefined;
  for (const [c, chunk] of snapshot.tree.chunks.entries()) {
    const { item } = chunk;
    const extent = extentOf(snapshot.tree, c);
    if (item === undefined) continue;
    switch (item.kind) {
      case 'procedure':
        top.push({
          ...extent,
          name: item.name?.text ?? 'procedure',
          detail: shown(item.title),
          kind: symbolKinds.procedure,
          selection: item.name ?? item.keyword,
        });
        break;
      case 'use':
        {
          const steps = snapshot.model.sequences.get(item)?.steps ?? [];
          const symbol: Draft = {
            ...extent,
            name: item.path?.value || 'use',
            ...(steps.length === 0 ? {} : { detail: counted(steps.length, 'step') }),
            kind: symbolKinds.use,
            selection: item.path ?? item.keyword,
          };
          if (phase === undefined) top.push(symbol);
          else {
            phase.children!.push(symbol);
            phase.end = Math.max(phase.end, symbol.end);
          }
        }
        break;
      case 'part':
      case 'tool':
      case 'supply':
      case 'pattern': {
        const symbol = declarationSymbol(item, extent);
        if (group?.of !== item.kind) {
          group = {
            of: item.kind,
            name: groupNames[item.kind],
            kind: SymbolKind.Package,
            ...extent,
            selection: item.keyword,
            children: [],
          };
          top.push(group);
        }
        group.children!.push(symbol);
        group.end = extent.end;
        group.detail = `${group.children!.length}`;
        continue;
      }
      case 'step':
        break;
      default:
        phase = { ...extent, name: item.kind, kind: symbolKinds.phase, selection: item.keyword, children: [] };
        top.push(phase);
    }
    group = undefined;
    for (const step of stepsOfChunk(chunk)) {
      const symbol = stepSymbol(step, extent);
      if (phase === undefined) top.push(symbol);
      else {
        phase.children!.push(symbol);
        phase.end = Math.max(phase.end, symbol.end);
      }
    }
  }
  return top.map((draft) => finished(snapshot, draft));
}

/** A title beside a name: one that runs from right to left keeps its figures in their order. */
const shown = (title: Text | undefined): string | undefined => title && isolated(title.value);

function declarationSymbol(declaration: Declaration, extent: { start: number; end: number }): Draft {
  const { name, keyword, count, title, kind } = declaration;
  const quantity = count === undefined ? '' : `x${count.value} `;
  return {
    ...extent,
    name: name?.text ?? kind,
    detail: `${quantity}${shown(title) ?? ''}`.trim() || undefined,
    kind: symbolKinds[kind],
    selection: name ?? keyword,
  };
}

function stepSymbol(step: Step, extent: { start: number; end: number }): Draft {
  const details = [shown(step.title), step.takes === undefined ? undefined : written(step.takes)];
  const readings = step.statements.flatMap((statement): Draft[] =>
    statement.kind !== 'measure' || statement.name === undefined
      ? []
      : [
          {
            start: extent.start - (step.keyword?.start ?? 0) + statement.start,
            end: extent.start - (step.keyword?.start ?? 0) + statement.end,
            name: statement.name.text,
            kind: symbolKinds.reading,
            selection: statement.name,
          },
        ],
  );
  return {
    ...extent,
    name: step.name?.text ?? 'step',
    detail: details.filter((each) => each !== undefined).join(' · ') || undefined,
    kind: symbolKinds.step,
    selection: step.name ?? step.keyword ?? { ...step, start: 0, end: 0 },
    ...(step.keyword !== undefined && readings.length > 0 ? { children: readings } : {}),
  };
}

function finished(snapshot: Snapshot, { start, end, selection, children, ...draft }: Draft): DocumentSymbol {
  const selected = snapshot.rangeOf(selection);
  const { of: _, ...rest } = draft as typeof draft & { of?: unknown };
  return {
    ...rest,
    range: snapshot.rangeAt(start, Math.max(end, snapshot.offsetAt(selected.end))),
    selectionRange: selected,
    ...(children === undefined ? {} : { children: children.map((child) => finished(snapshot, child)) }),
  };
}

/** The same without a tree, for clients that cannot take one. */
function* flat(uri: string, symbols: readonly DocumentSymbol[], container?: string): Generator<SymbolInformation> {
  for (const { name, kind, range, children } of symbols) {
    yield { name, kind, location: { uri, range }, ...(container === undefined ? {} : { containerName: container }) };
    yield* flat(uri, children ?? [], name);
  }
}

export const documentSymbol = feature<DocumentSymbolParams, DocumentSymbol[] | SymbolInformation[]>(
  'textDocument/documentSymbol',
  { documentSymbolProvider: { label: 'Fettle' } },
  (snapshot, _params, { client }) => {
    const outline = outlineOf(snapshot);
    return client.symbolTree ? outline : [...flat(snapshot.file.uri, outline)];
  },
);
