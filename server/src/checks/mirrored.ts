import { countFirst } from '../../../grammar/sorted.ts';
import { offsetsOf, type Statement, type Step, type Use } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import { isOwn, type Model, placeOfStep, type StepEntry } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import type { Edit, Finding } from './check.ts';
import { plugsOf } from './drain-open.ts';
import { insertAfter, insertBefore, insertInStep, newlineOf } from './edits.ts';
import { firstPast, flowsOf, lastPlaceOf, placesOn } from './entries.ts';
import { blocksAround, codesOf, forCodes, stepOf } from './for-codes.ts';
import { warned } from './hazards.ts';

const goesBack: ReadonlySet<string> = new Set(['fit', 'connect', 'tighten']);

/**
 * Where `lines` that put `part` back belong: above the first refitting of something that came off before it, else
 * behind the last refitting of something that came off after it, else at the end of the reassembly. What came off in the
 * same step counts where any of it goes back, else all; what is done in proving only for what came off there. Though it is
 * behind what it holds or covers and what chooses it, and above what holds or covers it, or fills in again what it lets out.
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
  const { removals, laid, refittings, places, proved, byStep } = turnsOf(variant);
  const removal = removals.get(part) ?? -1;
  const cameOff = variant.entries[removal]?.statement;
  /** For a step, as far as the offset `before`; without one, for a step of their own. */
  const within = (step?: Step, before?: number): readonly string[] =>
    forCodes(model, finding, warned(model, part, lines, step, before));
  const besideOf = (place: Statement, where: 'start' | 'end'): [Statement, readonly string[]] => {
    const at = openTo(place, cameOff, codesOf(model, finding));
    return [at, forCodes(model, finding, warned(model, part, lines, stepOf(at), at[where]), at)];
  };
  // What a shared file puts back is put back where its steps are taken in.
  const placeOf = (i: number): Statement | Use | undefined => {
    const { statement, part: refitted } = refittings[i] ?? {};
    if (statement === undefined || refitted === part) return undefined;
    return statement.chunk.uri === tree.uri ? statement : model.takenIn.get(statement.chunk);
  };
  const off = Math.max(removal, laid.get(part) ?? -1);
  const from = countFirst(refittings, ({ index }) => index <= off);
  const turns = (names: Iterable<string>): readonly number[] =>
    [...names].flatMap((name) => (places.get(name) ?? []).filter((i) => i >= from && placeOf(i) !== undefined));
  const { covered, covers } = aroundIt(model, variant, part);
  const lowest = Math.max(-1, ...turns(covered));
  const since = variant.entries[removal]?.step;
  const beforeProving = since?.phase === 'proving' || lowest >= proved ? refittings.length : proved;
  const highest = Math.min(beforeProving, ...turns(covers));
  const siblings = (byStep.get(since?.step) ?? []).filter((i) => i >= from && i < highest && placeOf(i) !== undefined);
  const beside = siblings.length > 0;
  let last = -1;
  let next = beside ? highest : from;
  const isPast = (i: number): boolean => i > lowest && refittings[i]!.cameOff < removal;
  for (const i of siblings) {
    if (isPast(i)) {
      next = i;
      break;
    }
    last = i;
  }
  for (; next < highest && !beside; next++) {
    if (placeOf(next) === undefined) continue;
    if (isPast(next)) break;
    last = next;
  }
  if (beside) last = Math.max(last, lowest);
  const isShut = next >= highest && (beside || highest === beforeProving);
  const above = (last >= 0 && last === lowest) || isShut ? undefined : placeOf(next);
  if (above !== undefined)
    return above.kind === 'use'
      ? besideUse(model, above, within, 'above')
      : insertBefore(tree, ...besideOf(madeReady(above), 'start'));
  const behind = placeOf(last);
  if (behind !== undefined)
    return behind.kind === 'use'
      ? besideUse(model, behind, within, 'below')
      : insertAfter(tree, ...besideOf(behind, 'end'));
  const step = model.steps.findLast((entry) => entry.phase === 'reassembly' && isOwn(model, entry));
  // What comes off after the reassembly goes back in its own step.
  const home =
    since !== undefined && step !== undefined && placeOfStep(model, since) > placeOfStep(model, step) ? since : step;
  if (home !== undefined) return insertInStep(tree, home.step, within(home.step), 'last');
  const phase = model.phases.find((line) => line.kind === 'reassembly');
  const newline = newlineOf(tree);
  const opening = phase === undefined ? [...(/[\r\n]$/.test(tree.text) ? [''] : ['', '']), 'reassembly'] : [''];
  const body = ['  step put-back "Put it back"', ...within().map((line) => `    ${line}`)];
  if (phase !== undefined) return insertAfter(tree, phase, body);
  const end = tree.text.length;
  const proving = model.phases.find((line) => line.kind === 'proving');
  if (proving !== undefined) return insertBefore(tree, proving, ['reassembly', ...body, '']);
  return { uri: tree.uri, start: end, end, text: `${[...opening, ...body].join(newline)}${newline}` };
}

/** `fit`, or the first of the lines right above it that heat, cool or press what it fits: they are one piece of work. */
export function madeReady(fit: Statement): Statement {
  const row = blocksAround(fit).at(-1)?.branch.statements ?? stepOf(fit)?.statements ?? [];
  let at = row.indexOf(fit);
  while (at > 0 && makesReady.has(row[at - 1]!.kind) && row[at - 1]!.name?.text === fit.name?.text) at--;
  return row[at] ?? fit;
}
const makesReady: ReadonlySet<string> = new Set(['heat', 'cool', 'press']);

const relations = new Beside<Model['parts'], ReadonlyMap<string, readonly string[]>>();

/** By part, what it holds or covers, and what those carry. */
function coveredBy({ parts }: Model): ReadonlyMap<string, readonly string[]> {
  let found = relations.get(parts);
  if (found === undefined) {
    const table = new Map<string, string[]>();
    const add = (key: string, name: string): void => {
      addTo(table, key, name);
    };
    parts.forEach(({ heldBy, behind, carriedBy }, name) => {
      for (const { text } of [...heldBy, ...behind, ...(parts.get(carriedBy?.text ?? '')?.behind ?? [])])
        add(text, name);
    });
    found = table;
    relations.set(parts, found);
  }
  return found;
}

/** What `part`, or what it was swapped in for, holds or covers, and what holds or covers it. */
export function aroundIt(
  model: Model,
  { swaps }: Variant,
  part: string,
): { readonly covered: ReadonlySet<string>; readonly covers: ReadonlySet<string> } {
  const names = [part];
  swaps.forEach((now, old) => {
    if (now === part) names.push(old);
  });
  const today = (name: string): string[] => {
    const now = swaps.get(name);
    return now === undefined ? [name] : [name, now];
  };
  return {
    covered: new Set(names.flatMap((name) => coveredBy(model).get(name) ?? []).flatMap(today)),
    covers: new Set(
      names
        .map((name) => model.parts.get(name))
        .flatMap((each) => [...(each?.heldBy ?? []), ...(each?.behind ?? [])])
        .flatMap(({ text }) => today(text)),
    ),
  };
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

interface Refitting {
  readonly index: number;
  readonly statement: Statement;
  readonly step: StepEntry;
  readonly part: string;
  readonly cameOff: number;
}

/** Reckoned once a replay: thousands of findings may ask for a place. */
const turns = new Beside<Variant['entries'], Turns>();
function turnsOf({ entries }: Variant): Turns {
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
