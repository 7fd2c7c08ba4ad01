import type { Statement, Step, Use } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { isOwn, type Model } from '../model/model.ts';
import { Beside } from '../model/noted.ts';
import type { Edit, Finding } from './check.ts';
import { insertAfter, insertBefore, insertInStep, newlineOf } from './edits.ts';
import { blocksAround, codesOf, forCodes } from './for-codes.ts';
import { warned } from './hazards.ts';

const goesBack: ReadonlySet<string> = new Set(['fit', 'connect']);

/**
 * Where `lines` that put `part` back belong: above the first refitting of something that came off before it, else
 * behind the last refitting of something that came off after it, else at the end of the reassembly. They are for the codes
 * of `finding`, stand in an alternative only where the part came off in it, and below a warning where the part can hurt.
 */
export function insertMirrored(
  model: Model,
  variant: Variant,
  part: string,
  finding: Finding,
  bare: readonly string[],
): Edit {
  const { tree } = model;
  const { removals, laid, refittings } = turnsOf(variant);
  const removal = removals.get(part) ?? -1;
  /** For a step, as far as the offset `before`; without one, for a step of their own. */
  const within = (step?: Step, before?: number): readonly string[] =>
    forCodes(model, finding, warned(model, part, bare, step, before));
  const cameOff = variant.entries[removal]?.statement;
  const beside = (place: Statement, where: 'start' | 'end'): [Statement, readonly string[]] => {
    const at = openTo(place, cameOff, codesOf(model, finding));
    return [at, forCodes(model, finding, warned(model, part, bare, at.chunk.item as Step, at[where]), at)];
  };
  let last: Statement | Use | undefined;
  for (let i = firstBehind(refittings, laid.get(part) ?? removal); i < refittings.length; i++) {
    const { statement, cameOff: since } = refittings[i]!;
    if (statement.name?.text === part) continue;
    // What a shared file puts back is put back where its steps are taken in.
    const place = statement.chunk.uri === tree.uri ? statement : model.takenIn.get(statement.chunk);
    if (place === undefined) continue;
    if (since < removal)
      return place.kind === 'use'
        ? besideUse(model, place, within, 'above')
        : insertBefore(tree, ...beside(place, 'start'));
    last = place;
  }
  if (last !== undefined)
    return last.kind === 'use' ? besideUse(model, last, within, 'below') : insertAfter(tree, ...beside(last, 'end'));
  const from = variant.entries[removal]?.step;
  const step = model.steps.findLast((entry) => entry.phase === 'reassembly' && isOwn(model, entry));
  // What comes off after the reassembly goes back in its own step.
  if (from !== undefined && step !== undefined && from.index > step.index)
    return insertInStep(tree, from.step, within(from.step), 'last');
  if (step !== undefined) return insertInStep(tree, step.step, within(step.step), 'last');
  const phase = model.phases.find((line) => line.kind === 'reassembly');
  const newline = newlineOf(tree);
  const opening = phase === undefined ? [...(/[\r\n]$/.test(tree.text) ? [''] : ['', '']), 'reassembly'] : [''];
  const body = ['  step put-back "Put it back"', ...within().map((line) => `    ${line}`)];
  if (phase !== undefined) {
    const edit = insertAfter(
      tree,
      phase,
      body.map((line) => line),
    );
    return edit;
  }
  const end = tree.text.length;
  const proving = model.phases.find((line) => line.kind === 'proving');
  if (proving !== undefined) return insertBefore(tree, proving, ['reassembly', ...body, '']);
  return { uri: tree.uri, start: end, end, text: `${[...opening, ...body].join(newline)}${newline}` };
}

/** `place`, or the first block around it that is not for all of `codes`, or an alternative other than `cameOff` stands in. */
function openTo(place: Statement, cameOff: Statement | undefined, codes: readonly string[]): Statement {
  const ways = cameOff === undefined ? [] : blocksAround(cameOff);
  const shut = blocksAround(place).find(({ block, branch }) =>
    block.codes === undefined
      ? !ways.some((way) => way.branch === branch)
      : !codes.every((code) => block.codes!.some(({ text }) => text === code)),
  );
  return shut?.block ?? place;
}

/** In the step next to a `use` that takes in steps, or in one of its own. */
function besideUse(
  model: Model,
  use: Use,
  within: (step?: Step, before?: number) => readonly string[],
  where: 'above' | 'below',
): Edit {
  const { tree, steps } = model;
  const neighbour = tree.chunks[tree.chunks.indexOf(use.chunk) + (where === 'above' ? -1 : 1)]?.item;
  if (neighbour?.kind === 'step')
    return where === 'above'
      ? insertInStep(tree, neighbour, within(neighbour), 'last')
      : insertInStep(tree, neighbour, within(neighbour, 0), 'first');
  const taken = new Set(steps.map(({ step }) => step.name?.text));
  let name = 'put-back';
  for (let n = 2; taken.has(name); n++) name = `put-back-${n}`;
  const step = [`step ${name} "Put it back"`, ...within().map((line) => `  ${line}`)];
  return where === 'above' ? insertBefore(tree, use, step) : insertAfter(tree, use, step);
}

interface Turns {
  /** Entry at which each part last came off. */
  readonly removals: ReadonlyMap<string, number>;
  /** Entry at which a part was swapped in: it goes where the old one came off, though not above that. */
  readonly laid: ReadonlyMap<string, number>;
  /** What puts such a part back, in the order of the text. */
  readonly refittings: readonly { readonly index: number; readonly statement: Statement; readonly cameOff: number }[];
}

/** Reckoned once a replay: thousands of findings may ask for a place. */
const turns = new Beside<Variant['entries'], Turns>();
function turnsOf({ entries }: Variant): Turns {
  let known = turns.get(entries);
  if (known === undefined) {
    const removals = new Map<string, number>();
    const laid = new Map<string, number>();
    entries.forEach(({ actions }, index) => {
      let old: number | undefined;
      for (const { verb, along, part } of actions) {
        if (verb === 'remove' && !along) removals.set(part, index);
        else if (verb === 'swap-out') old = removals.get(part);
        else if (verb === 'swap-in') {
          removals.set(part, old ?? index);
          laid.set(part, index);
        }
      }
    });
    const refittings = entries.flatMap(({ role, statement }, index) => {
      const cameOff = removals.get(statement.name?.text ?? '');
      return role === 'statement' && goesBack.has(statement.kind) && cameOff !== undefined
        ? [{ index, statement, cameOff }]
        : [];
    });
    known = { removals, laid, refittings };
    turns.set(entries, known);
  }
  return known;
}

/** Where the refittings behind entry `index` begin. */
function firstBehind(refittings: Turns['refittings'], index: number): number {
  let low = 0;
  let high = refittings.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (refittings[middle]!.index <= index) low = middle + 1;
    else high = middle;
  }
  return low;
}
