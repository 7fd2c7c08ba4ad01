import { type Declaration, walk } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model, titleOf } from '../model/model.ts';

/** `from` holds `to` (held by), covers it (behind), or carries it (carried by). */
export type Link = 'holds' | 'covers' | 'carries';

export interface DiagramPart {
  readonly part: string;
  readonly title: string;
  readonly count: number;
  readonly renew: boolean;
  /** Which removals of the teardown take pieces of it off, counted from 1; empty where it stays on. */
  readonly turns: readonly number[];
  readonly declaration: Declaration;
}

/** What holds, covers and carries what, as declared. */
export interface Diagram {
  /** In the order of their first removal, then those that stay on in the order of the text. */
  readonly parts: readonly DiagramPart[];
  /** Links between declared parts, each once. */
  readonly links: readonly { readonly from: string; readonly to: string; readonly kind: Link }[];
}

/** Reads the diagram from the declarations, and the removal order from the statements before the reassembly. */
export function diagramOf(model: Model): Diagram {
  const turns = new Map<string, number[]>();
  let turn = 0;
  for (const { step, phase } of model.steps) {
    if (phase === 'reassembly' || phase === 'proving') continue;
    for (const { kind, name, together } of walk(step.statements)) {
      if ((kind !== 'remove' && kind !== 'disconnect') || !model.parts.has(name?.text ?? '')) continue;
      turn++;
      for (const part of [name!.text, ...(together ?? []).map((along) => along.name.text)]) {
        addTo(turns, part, turn);
      }
    }
  }
  const parts = [...model.parts].map(([part, declaration]) => ({
    part,
    title: titleOf(model, part),
    count: countOf(declaration),
    renew: declaration.renew !== undefined,
    turns: turns.get(part) ?? [],
    declaration,
  }));
  const first = ({ turns: [turn] }: DiagramPart): number => turn ?? Number.MAX_SAFE_INTEGER;
  const links = new Map<string, Diagram['links'][number]>();
  const link = (from: string, to: string, kind: Link): void => {
    if (from !== to && model.parts.has(from)) links.set(`${kind} ${from} ${to}`, { from, to, kind });
  };
  for (const [to, { heldBy, behind, carriedBy }] of model.parts) {
    for (const { text } of heldBy) link(text, to, 'holds');
    for (const { text } of behind) link(text, to, 'covers');
    if (carriedBy !== undefined) link(carriedBy.text, to, 'carries');
  }
  return { parts: parts.sort((a, b) => first(a) - first(b)), links: [...links.values()] };
}

const linkOrder: readonly Link[] = ['holds', 'covers', 'carries'];

/** `Cover bolt × 8 (1): holds “Cover”; covers “Cup washer”.`, a line a part: all that the drawing says. `own` may set the author's words apart. */
export function diagramText({ parts, links }: Diagram, own: (title: string) => string = (title) => title): string[] {
  const titles = new Map(parts.map(({ part, title }) => [part, own(title)]));
  const targets = new Map<string, string[]>();
  for (const { from, to, kind } of links) addTo(targets, `${kind} ${from}`, `“${titles.get(to)!}”`);
  return parts.map((each) => {
    const said = linkOrder.flatMap((kind) => {
      const names = targets.get(`${kind} ${each.part}`);
      return names === undefined ? [] : [`${kind} ${names.join(', ')}`];
    });
    return `${titles.get(each.part)!}${times(each)} (${turnsOf(each) || 'not taken off'})${said.length === 0 ? '' : `: ${said.join('; ')}`}.`;
  });
}

export const times = ({ count }: DiagramPart): string => (count === 1 ? '' : ` × ${count}`);
/** `3`, `3, 7`, `3 … 9`: of many removals the first and the last. */
export const turnsOf = ({ turns }: DiagramPart): string =>
  turns.length > 2 ? `${turns[0]} … ${turns.at(-1)}` : turns.join(', ');
