import type { Statement, Step } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import type { StepEntry } from '../model/model.ts';
import { Beside } from '../model/noted.ts';

const goesBack: ReadonlySet<string> = new Set(['fit', 'connect', 'tighten']);

export interface Turns {
  /** Entry at which each part last came off, or was first loosened to stay on; of one that was swapped in, that at which the old one did. */
  readonly removals: ReadonlyMap<string, number>;
  /** Entry at which a part was last swapped in, replaced or scrapped: it goes where the old one came off, though not above that. */
  readonly laid: ReadonlyMap<string, number>;
  /** What puts such a part back or tightens it, in the order of the text. */
  readonly refittings: readonly Refitting[];
  /** Where among those each part is, by itself or along with another. */
  readonly places: ReadonlyMap<string, readonly number[]>;
  /** Where among those what came off in each step is. */
  readonly byStep: ReadonlyMap<Step | undefined, readonly number[]>;
  /** The first of those that stands in proving; behind all where none does. */
  readonly proved: number;
}

export interface Refitting {
  readonly index: number;
  readonly statement: Statement;
  readonly step: StepEntry;
  readonly part: string;
  readonly cameOff: number;
}

/** Reckoned once a replay: thousands of findings may ask for a place. */
const turns = new Beside<Variant['entries'], Turns>();
export function turnsOf({ entries }: Variant): Turns {
  let known = turns.get(entries);
  if (known === undefined) {
    const removals = new Map<string, number>();
    const laid = new Map<string, number>();
    const refittings: Refitting[] = [];
    entries.forEach(({ role, statement, step, actions }, index) => {
      let old: number | undefined;
      for (const { verb, along, part } of actions) {
        if (verb === 'remove' && !along) removals.set(part, index);
        else if (verb === 'swap-out') old = removals.get(part);
        else if (verb === 'swap-in') {
          removals.set(part, old ?? index);
          laid.set(part, index);
        } else if (verb === 'replace' || verb === 'discard') laid.set(part, index);
        else if (verb === 'loosen' && !removals.has(part)) removals.set(part, index);
      }
      const part = actions[0]?.part ?? '';
      // What comes off only below goes back nowhere yet.
      const cameOff = removals.get(part);
      if (role === 'statement' && goesBack.has(statement.kind) && cameOff !== undefined)
        refittings.push({ index, statement, step, part, cameOff });
    });
    const places = new Map<string, number[]>();
    refittings.forEach(({ index }, i) => {
      for (const { verb, part } of entries[index]!.actions)
        if (verb === 'fit' || verb === 'tighten' || verb === 'hand-tighten') {
          addTo(places, part, i);
        }
    });
    const byStep = new Map<Step, number[]>();
    refittings.forEach(({ cameOff }, i) => {
      addTo(byStep, entries[cameOff]!.step.step, i);
    });
    const inProving = refittings.findIndex(({ step }) => step.phase === 'proving');
    const proved = inProving < 0 ? refittings.length : inProving;
    known = { removals, laid, refittings, places, byStep, proved };
    turns.set(entries, known);
  }
  return known;
}
