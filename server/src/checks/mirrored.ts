import { countFirst } from '../../../grammar/sorted.ts';
import { offsetsOf, type Statement, type Step, type Use } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import { isOwn, type Model, placeOfStep, type StepEntry } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isAbove, isSafety, statementsOf } from '../model/statements.ts';
import { aroundIt } from './around.ts';
import type { Edit, Finding } from './check.ts';
import { plugsOf } from './drain-open.ts';
import { insertAfter, insertBefore, insertInStep, newlineOf } from './edits.ts';
import { firstPast, flowsOf, lastPlaceOf, placesOn } from './entries.ts';
import { blocksAround, codesOf, forCodes, rowOf, stepOf } from './for-codes.ts';
import { warned } from './hazards.ts';
import { turnsOf } from './turns.ts';

/**
 * Where `lines` that put `part` back belong: above the first refitting of something that came off before it, else
 * behind the last refitting of something that came off after it, else at the end of the reassembly. What came off in the
 * same step counts where any of it goes back, else all; what is done in proving only for what came off there. Though it is
 * behind what it holds or covers, what chooses it and what heats, cools or presses it, and above what holds or covers it, or fills in again what it lets out.
 * They are for the codes of `finding`, stand in an alternative only where the part came off in it, and below a warning where
 * the part can hurt.
 */
export function insertMirrored(
  model: Model,
  variant: Variant,
  part: string,
  finding: Finding,
  lines: readonly string[],
): Edit {
  const { tree } = model;
  const edit = insertAsMirrored(model, variant, part, finding, lines);
  const chosen = chosenIn(model).get(part);
  if (chosen !== undefined && edit.uri === tree.uri && offsetsOf(tree, chosen).start >= edit.start)
    return insertAfter(
      tree,
      chosen,
      forCodes(model, finding, warned(model, part, lines, stepOf(chosen), chosen.end), chosen),
    );
  const removal = turnsOf(variant).removals.get(part) ?? -1;
  const warmed = madeReadyIn(model).get(part);
  if (
    warmed !== undefined &&
    edit.uri === tree.uri &&
    offsetsOf(tree, warmed).start >= edit.start &&
    !isShutIn(model, variant, part, lastPlaceOf(variant, warmed))
  ) {
    const at = openTo(warmed, variant.entries[removal]?.statement, codesOf(model, finding));
    return insertAfter(tree, at, forCodes(model, finding, warned(model, part, lines, stepOf(at), at.end), at));
  }
  const fill = fillBehind(model, variant, part, removal);
  if (fill === undefined || edit.uri !== tree.uri || offsetsOf(tree, fill).start >= edit.start) return edit;
  // What it holds or covers is not to be shut out by it.
  const { places, refittings } = turnsOf(variant);
  const filled = lastPlaceOf(variant, fill);
  for (const name of aroundIt(model, variant, part).covered)
    if ((places.get(name) ?? []).some((i) => refittings[i]!.index > filled)) return edit;
  const at = openTo(fill, variant.entries[removal]?.statement, codesOf(model, finding));
  return insertBefore(tree, at, forCodes(model, finding, warned(model, part, lines, stepOf(at), at.start), at));
}

/**
 * Where `lines` that put a fastener back belong, and those that tighten it: above what tightens it already, which is then
 * enough, else as {@link insertMirrored} says.
 */
export function insertFastened(
  model: Model,
  variant: Variant,
  part: string,
  finding: Finding,
  lines: readonly string[],
  tightening: string,
): Edit {
  const removal = turnsOf(variant).removals.get(part) ?? -1;
  const codes = codesOf(model, finding);
  for (const place of placesOn(variant, part)) {
    const { role, statement, actions } = variant.entries[place]!;
    if (place <= removal || role !== 'statement' || statement.chunk.uri !== model.tree.uri) continue;
    const isVain = actions.some(
      ({ part: name, verb, available }) =>
        name === part && (verb === 'tighten' || verb === 'hand-tighten') && available === 0,
    );
    if (!isVain || openTo(statement, variant.entries[removal]?.statement, codes) !== statement) continue;
    const fitting = forCodes(model, finding, warned(model, part, lines, stepOf(statement), statement.start), statement);
    return insertBefore(model.tree, statement, fitting);
  }
  return insertMirrored(model, variant, part, finding, [...lines, tightening]);
}

/** In this file, the first that fills again what `part`, or what it was swapped in for, was taken out to drain: it runs out there. */
function fillBehind(model: Model, variant: Variant, part: string, removal: number): Statement | undefined {
  const drained = drainedBy(model);
  if (drained.size === 0) return undefined;
  const fluids = [...(drained.get(part) ?? [])];
  variant.swaps.forEach((now, old) => {
    if (now === part) fluids.push(...(drained.get(old) ?? []));
  });
  let first: Statement | undefined;
  let at = Infinity;
  for (const fluid of fluids) {
    const fills = flowsOf(variant, 'fill', fluid);
    for (let i = firstPast(fills, removal); i < fills.length && fills[i]! < at; i++) {
      const { statement } = variant.entries[fills[i]!]!;
      if (statement.chunk.uri === model.tree.uri) [first, at] = [statement, fills[i]!];
    }
  }
  return first;
}

/** By part, the last that chooses it as a shim, in this file. */
const chosenIn = noted(
  (model: Model): ReadonlyMap<string | undefined, Statement> =>
    new Map(
      statementsOf(model, 'shim')
        .filter(({ chunk }) => chunk.uri === model.tree.uri)
        .map((shim) => [shim.name?.text, shim]),
    ),
);

/** Whether what holds or covers `part` has gone back above the entry at `place`. */
function isShutIn(model: Model, variant: Variant, part: string, place: number): boolean {
  const { places, refittings } = turnsOf(variant);
  return [...aroundIt(model, variant, part).covers].some((name) =>
    (places.get(name) ?? []).some((i) => refittings[i]!.index < place),
  );
}

/** By part, the last that heats, cools or presses it, in this file, where no line puts it on or takes it off behind that. */
const madeReadyIn = noted((model: Model): ReadonlyMap<string | undefined, Statement> => {
  const lastOf = (kinds: readonly Statement['kind'][]): Map<string | undefined, Statement> => {
    const last = new Map<string | undefined, Statement>();
    for (const kind of kinds)
      for (const statement of statementsOf(model, kind)) {
        const known = last.get(statement.name?.text);
        if (known === undefined || isAbove(model, known, statement)) last.set(statement.name?.text, statement);
      }
    return last;
  };
  const ready = lastOf(['heat', 'cool', 'press']);
  if (ready.size === 0) return ready;
  const moved = lastOf(['fit', 'remove']);
  for (const [part, statement] of ready) {
    const move = moved.get(part);
    if (statement.chunk.uri !== model.tree.uri || (move !== undefined && isAbove(model, statement, move)))
      ready.delete(part);
  }
  return ready;
});

/** By plug, the fluids that it is taken out to drain. */
const drainedBy = noted((model: Model): ReadonlyMap<string, readonly string[]> => {
  const fluids = new Map<string, string[]>();
  for (const [fluid, plugs] of plugsOf(model)) {
    for (const plug of plugs) {
      addTo(fluids, plug, fluid);
    }
  }
  return fluids;
});

function insertAsMirrored(
  model: Model,
  variant: Variant,
  part: string,
  finding: Finding,
  lines: readonly string[],
): Edit {
  const { tree } = model;
  const cameOff = variant.entries[turnsOf(variant).removals.get(part) ?? -1];
  /** For a step, as far as the offset `before`; without one, for a step of their own. */
  const within = (step?: Step, before?: number): readonly string[] =>
    forCodes(model, finding, warned(model, part, lines, step, before));
  const beside = (place: Statement, where: 'start' | 'end'): [Statement, readonly string[]] => {
    const open = openTo(place, cameOff?.statement, codesOf(model, finding));
    const at = where === 'end' ? belowLastSafety(open) : open;
    return [at, forCodes(model, finding, warned(model, part, lines, stepOf(at), at[where]), at)];
  };
  const neighbour = neighbourOf(model, variant, part);
  if (neighbour === undefined) return insertAtEnd(model, cameOff?.step, within);
  const { place, side } = neighbour;
  if (place.kind === 'use') return besideUse(model, place, within, side);
  return side === 'above'
    ? insertBefore(tree, ...beside(madeReady(place), 'start'))
    : insertAfter(tree, ...beside(place, 'end'));
}

/** `statement`, or the last of the safety messages behind it where nothing else follows: they would warn of nothing. */
function belowLastSafety(statement: Statement): Statement {
  const row = rowOf(statement);
  let end = row.length - 1;
  while (end >= 0 && isSafety(row[end]!)) end--;
  return row[end] === statement ? row.at(-1)! : statement;
}

/** What the lines go beside: a statement of this file, or the `use` that takes in the shared one. */
interface Neighbour {
  readonly place: Statement | Use;
  readonly side: 'above' | 'below';
}

/** Which of the refittings `part` goes back beside, as {@link insertMirrored} says; none where nothing that goes back tells. */
function neighbourOf(model: Model, variant: Variant, part: string): Neighbour | undefined {
  const { removals, laid, refittings, places, proved, byStep } = turnsOf(variant);
  const removal = removals.get(part) ?? -1;
  const since = variant.entries[removal]?.step;
  // What a shared file puts back is put back where its steps are taken in.
  const placeOf = (i: number): Statement | Use | undefined => {
    const { statement, part: refitted } = refittings[i] ?? {};
    if (statement === undefined || refitted === part) return undefined;
    return statement.chunk.uri === model.tree.uri ? statement : model.takenIn.get(statement.chunk);
  };
  const off = Math.max(removal, laid.get(part) ?? -1);
  const from = countFirst(refittings, ({ index }) => index <= off);
  const of = (names: Iterable<string>): readonly number[] =>
    [...names].flatMap((name) => (places.get(name) ?? []).filter((i) => i >= from && placeOf(i) !== undefined));

  const { covered, covers } = aroundIt(model, variant, part);
  const lowest = Math.max(-1, ...of(covered));
  const end = since?.phase === 'proving' || lowest >= proved ? refittings.length : proved;
  const highest = Math.min(end, ...of(covers));

  const isAfter = (i: number): boolean => i > lowest && refittings[i]!.cameOff < removal;
  const siblings = (byStep.get(since?.step) ?? []).filter((i) => i >= from && i < highest && placeOf(i) !== undefined);
  const [last, next] =
    siblings.length > 0
      ? amongSiblings(siblings, isAfter, lowest, highest)
      : amongAll(from, highest, isAfter, (i) => placeOf(i) !== undefined);

  // Above what ends the room only where that covers it; what the proving begins with is no neighbour.
  const isOpen = next < highest || (siblings.length === 0 && highest < end);
  const above = isOpen && (last < 0 || last !== lowest) ? placeOf(next) : undefined;
  if (above !== undefined) return { place: above, side: 'above' };
  const behind = placeOf(last);
  return behind && { place: behind, side: 'below' };
}

/** The last that it goes behind, -1 if none, and the first that it goes above, of what came off in the same step. */
function amongSiblings(
  siblings: readonly number[],
  isAfter: (i: number) => boolean,
  lowest: number,
  highest: number,
): [last: number, next: number] {
  const first = siblings.findIndex(isAfter);
  const last = siblings.at(first < 0 ? -1 : first - 1)!;
  return [Math.max(first === 0 ? -1 : last, lowest), first < 0 ? highest : siblings[first]!];
}

/** The same of all that goes back from the place `from` on. */
function amongAll(
  from: number,
  highest: number,
  isAfter: (i: number) => boolean,
  isThere: (i: number) => boolean,
): [last: number, next: number] {
  let last = -1;
  for (let next = from; next < highest; next++) {
    if (!isThere(next)) continue;
    if (isAfter(next)) return [last, next];
    last = next;
  }
  return [last, Math.max(from, highest)];
}

/** At the end of the reassembly, or of the step of the proving in which it came off; in a reassembly of its own where there is none. */
function insertAtEnd(model: Model, since: StepEntry | undefined, within: (step?: Step) => readonly string[]): Edit {
  const { tree } = model;
  const step = model.steps.findLast((entry) => entry.phase === 'reassembly' && isOwn(model, entry));
  // What comes off after the reassembly goes back in its own step.
  const home =
    since !== undefined && step !== undefined && placeOfStep(model, since) > placeOfStep(model, step) ? since : step;
  if (home !== undefined) return insertInStep(tree, home.step, within(home.step), 'last');
  const body = ['  step put-back "Put it back"', ...within().map((line) => `    ${line}`)];
  const phase = model.phases.find((line) => line.kind === 'reassembly');
  if (phase !== undefined) return insertAfter(tree, phase, body);
  const proving = model.phases.find((line) => line.kind === 'proving');
  if (proving !== undefined) return insertBefore(tree, proving, ['reassembly', ...body, '']);
  const end = tree.text.length;
  const gap = /[\r\n]$/.test(tree.text) ? [''] : ['', ''];
  const newline = newlineOf(tree);
  return { uri: tree.uri, start: end, end, text: `${[...gap, 'reassembly', ...body].join(newline)}${newline}` };
}

/** `fit`, behind the lines right above it that make ready what it fits: they are one piece of work. */
export function withReady(fit: Statement, makesReady: (line: Statement) => boolean): readonly Statement[] {
  const row = rowOf(fit);
  const end = row.indexOf(fit);
  if (end < 0) return [fit];
  let start = end;
  while (start > 0 && makesReady(row[start - 1]!)) start--;
  return row.slice(start, end + 1);
}

/** The first of these, where lines that heat, cool or press make ready. */
export const madeReady = (fit: Statement): Statement =>
  withReady(fit, ({ kind, name }) => mounts.has(kind) && name?.text === fit.name?.text)[0]!;
const mounts: ReadonlySet<string> = new Set(['heat', 'cool', 'press']);

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
