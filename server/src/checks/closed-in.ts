import { countFirst } from '../../../grammar/sorted.ts';
import { type Declaration, type Name, type SyntaxTree, spanText } from '../../../grammar/syntax.ts';
import { type Blocker, type Ledger, stateBefore, type Variant } from '../ledger/ledger.ts';
import { on } from '../ledger/state.ts';
import { areRivals } from '../model/branches.ts';
import { bringersOf, filesReached, useThatReaches } from '../model/bringers.ts';
import { addTo } from '../model/grouped.ts';
import { loopFree } from '../model/loop-free.ts';
import type { Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { isSafety, statementsIn, statementsOf } from '../model/statements.ts';
import { actionsWhere, isAmong, pickedOfAll } from './actions.ts';
import { aroundIt } from './around.ts';
import { type Action, type Check, type Finding, type Raw, type Repair, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore, linesToMove, removeLine } from './edits.ts';
import { pathTo, shownAt } from './elsewhere.ts';
import { entryNaming, lastPlaceOf, placeNaming, placesOn } from './entries.ts';
import { blocksAround, isMovable, leavesNoLine, stepOf } from './for-codes.ts';
import { warnedOfAll } from './hazards.ts';
import { madeReady, withReady } from './mirrored.ts';
import { andMore, betweenPieces, listedInShort, mostTold, named, participle, shortened } from './wording.ts';

const goingBack: Readonly<Record<string, string>> = {
  fit: 'fitted',
  tighten: 'tightened',
  'hand-tighten': 'tightened',
};

const isClosedIn = pickedOfAll(
  (action) =>
    action.holders.length + action.covers.length > 0 &&
    goingBack[action.verb] !== undefined &&
    action.available > 0 &&
    !action.unsure &&
    (action.holders.length > 0 || action.covers.some((cover) => cover.cameOff)),
);

export const closedIn: Check = {
  code: 'closed-in',
  severity: 'error',
  section: 'Coming back',
  fires:
    'a part is fitted or tightened after what covers or holds it went back on, or `held by` and `behind`, or `carried by`, run in a loop.',
  why: 'The unit is closed and something inside is not: it all comes apart again.',
  bad: `part cover "Cover"
part gear "Gear" behind cover
teardown
  step open
    remove cover
    remove gear
reassembly
  step close
    fit cover
    fit gear`,
  good: `part cover "Cover"
part gear "Gear" behind cover
teardown
  step open
    remove cover
    remove gear
reassembly
  step close
    fit gear
    fit cover`,
  *run({ ledger, model }) {
    if (loopFree.get(model) === undefined) yield* loopsOf(model);
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs: (finding, { model, ledger }) => moveUp(finding, model, ledger),
};

/** Moves what was closed in, and what makes it ready, above the first that closes it in, where nothing else hangs on its place. */
function moveUp(finding: Finding, model: Model, ledger: Ledger): Repair[] {
  const { tree } = model;
  const part = String(finding.data?.['subject']);
  const covers = finding.data?.['covers'] as readonly string[] | undefined;
  const [variant] = ledger.variants;
  const at = variant && placeNaming(variant, finding.span);
  if (covers === undefined || at === undefined || finding.data?.['codes'] !== undefined) return [];
  const { entries } = variant!;
  const action = entries[at]!.actions.find(({ name }) => name === finding.span)!;
  const fits = lastFitsBefore(variant!, covers, action);
  const [first] = fits.values();
  const above = first && entryNaming(ledger, first);
  if (above === undefined) return [];
  const from = lastPlaceOf(variant!, above.statement);
  // What went on in parts may be in the way still further up.
  for (const { text } of fits.values()) {
    const state = stateBefore(variant!, text, from);
    if (state === undefined || on(state) > 0) return [];
  }
  const moved: Statement[] = [];
  for (const place of placesOn(variant!, part)) {
    const { role, statement, actions } = entries[place]!;
    const own = actions.find((each) => each.part === part)!;
    if (place <= from || role !== 'statement' || own.along || !isClosedIn(own, model.parts)) continue;
    const isOfIt = (line: Statement): boolean => makesReady(line, part, model);
    for (const each of statement.kind === 'fit' ? withReady(statement, isOfIt) : [statement]) moved.push(each);
  }
  const riders = ridersOf(variant!, part);
  moved.unshift(...putOnMeanwhile(model, variant!, riders, from, moved));
  if (moved.length === 0 || ![above.statement, ...moved].every((each) => isMovable(model, each))) return [];
  const last = lastPlaceOf(variant!, moved.at(-1)!);
  const isBetween = (place: number): boolean => place > from && place < last;
  // What it covers or holds went in since, or is what closes it in, too: it cannot go first.
  const own = new Set([part, ...riders]);
  for (const name of [...own].flatMap((each) => [...aroundIt(model, variant!, each).covered]))
    if (
      !own.has(name) &&
      placesOn(variant!, name).some(
        (place) => (place === from || isBetween(place)) && goingBack[entries[place]!.actions[0]!.verb] !== undefined,
      )
    )
      return [];
  // It came off, was swapped in, renewed, coated or chosen since, and would go back before that.
  const stays = (each: Statement): boolean => !moved.includes(each) && isBetween(lastPlaceOf(variant!, each));
  if (
    [...own].some((name) => placesOn(variant!, name).some((place) => stays(entries[place]!.statement))) ||
    statementsOf(model, 'apply').some(
      (each) => each.targets?.some(({ text }) => own.has(text)) === true && stays(each),
    ) ||
    statementsOf(model, 'shim').some((each) => own.has(each.name?.text ?? '') && stays(each))
  )
    return [];
  const to = madeReady(above.statement);
  const alone = warningsOfAlone(moved);
  const rows = [...alone, ...moved].sort((a, b) => lastPlaceOf(variant!, a) - lastPlaceOf(variant!, b));
  if (leavesNoLine(rows)) return [];
  const written = rows.flatMap((each) => linesToMove(tree, each));
  const lines = alone.length > 0 ? written : warnedOfAll(model, moved, written, stepOf(to), to.start);
  return [
    {
      title: `Move it above \`${above.statement.kind} ${above.statement.name!.text}\``,
      edits: [insertBefore(tree, to, lines), ...rows.map((each) => removeLine(tree, each))],
      safe: false,
    },
  ];
}

/** What sits on `part` at the end, and what sits on that. */
function ridersOf(variant: Variant, part: string): readonly string[] {
  const all = new Set([part]);
  for (const carrier of all) for (const rider of carriedBy(variant).get(carrier) ?? []) all.add(rider);
  return [...all].slice(1);
}
const carriedBy = noted((variant: Variant): ReadonlyMap<string, readonly string[]> => {
  const riders = new Map<string, string[]>();
  for (const [name, { carried }] of variant.final) for (const { by } of carried) addTo(riders, by, name);
  return riders;
});

/** What puts `riders` on behind entry `from` and above the last of `moved`, with what makes them ready: they are on it when it goes back. */
function putOnMeanwhile(
  model: Model,
  variant: Variant,
  riders: readonly string[],
  from: number,
  moved: readonly Statement[],
): readonly Statement[] {
  if (riders.length === 0 || moved.length === 0) return [];
  const until = lastPlaceOf(variant, moved.at(-1)!);
  const found = new Set<Statement>();
  for (const rider of riders)
    for (const place of placesOn(variant, rider)) {
      const { role, statement, actions } = variant.entries[place]!;
      const own = actions.find((each) => each.part === rider);
      if (place <= from || place >= until || role !== 'statement' || own === undefined || own.along) continue;
      if (goingBack[own.verb] === undefined || moved.includes(statement)) continue;
      const isOfIt = (line: Statement): boolean => makesReady(line, rider, model);
      for (const each of statement.kind === 'fit' ? withReady(statement, isOfIt) : [statement]) found.add(each);
    }
  return [...found].filter((each) => !moved.includes(each));
}

/** The safety messages of a step that warn of nothing but `moved`: left there, they would stand behind all work. */
function warningsOfAlone(moved: readonly Statement[]): readonly Statement[] {
  return [...new Set(moved.map(stepOf))].flatMap((step) => {
    const all = step === undefined ? [] : statementsIn(step);
    const lastStaying = all.findLastIndex((each) => !isSafety(each) && !moved.includes(each));
    const lastMoved = all.findLastIndex((each) => moved.includes(each));
    return all.slice(lastStaying + 1, lastMoved).filter((each) => isSafety(each) && blocksAround(each).length === 0);
  });
}

const isAppliedTo = ({ targets }: Statement, part: string): boolean =>
  targets?.some(({ text }) => text === part) === true;

/** Whether a line heats, cools, presses, cleans or looks at `part`, or coats it alone with what cannot hurt. */
function makesReady(line: Statement, part: string, { supplies }: Model): boolean {
  if (line.kind !== 'apply') return readying.has(line.kind) && line.name?.text === part;
  const harms = supplies.get(line.name?.text ?? '')?.hazards.length !== 0;
  return !harms && line.targets?.length === 1 && isAppliedTo(line, part);
}
const readying: ReadonlySet<string> = new Set(['heat', 'cool', 'press', 'clean', 'inspect']);

/** An action, the place of its statement in the replay, and its own among all actions. */
interface Move {
  readonly action: Action;
  readonly entry: number;
  readonly at: number;
}

/** By what they act on, in order: what was put back on, and what was taken off. */
interface Moves {
  readonly fits: ReadonlyMap<string, readonly Move[]>;
  readonly removals: ReadonlyMap<string, readonly Move[]>;
  /** The place of the statement of each action. */
  readonly entryOf: ReadonlyMap<Action, number>;
}

const movesIn = noted((entries: Variant['entries']): Moves => {
  const fits = new Map<string, Move[]>();
  const removals = new Map<string, Move[]>();
  const entryOf = new Map<Action, number>();
  for (const [entry, { actions }] of entries.entries()) {
    for (const action of actions) {
      const at = entryOf.size;
      entryOf.set(action, entry);
      const moves = action.verb === 'remove' ? removals : action.verb === 'fit' && action.acted > 0 ? fits : undefined;
      if (moves === undefined) continue;
      addTo(moves, action.part, { action, entry, at });
    }
  }
  return { fits, removals, entryOf };
});

const noMoves: readonly Move[] = [];

/** Where each of `parts` went back on for the last time before `behind`, by itself or with its carrier, in that order. */
function lastFitsBefore(variant: Variant, parts: readonly string[], behind: Action): ReadonlyMap<string, Name> {
  const { fits, entryOf } = movesIn(variant.entries);
  const own = new Set(parts);
  // What sits on the same carrier closes it in on the bench, before that goes back.
  const shared = new Set(carriersOf(variant, behind.part));
  const seats = new Map(
    parts.flatMap((part) =>
      carriersOf(variant, part).flatMap((carrier) => (shared.has(carrier) ? [] : [[carrier, part] as const])),
    ),
  );
  const last = new Map<string, Move>();
  const take = (told: string, moved: string): void => {
    const moves = fits.get(moved) ?? noMoves;
    const entry = entryOf.get(behind)!;
    let at = countFirst(moves, (move) => move.entry < entry) - 1;
    // What another way of an alternative puts back is not on in this one.
    while (at >= 0 && areRivals(moves[at]!.action.statement, behind.statement)) at--;
    const fit = moves[at];
    if (fit !== undefined && fit.at >= (last.get(told)?.at ?? 0)) last.set(told, fit);
  };
  for (const part of own) take(part, part);
  for (const [carrier, part] of seats) if (!own.has(carrier)) take(part, carrier);
  const inOrder = [...last].sort(([, a], [, b]) => a.at - b.at);
  return new Map(inOrder.map(([part, { action }]) => [part, action.name]));
}

/** What carries `part` at the end, from the nearest on. */
function carriersOf(variant: Variant, part: string): string[] {
  const carriers = new Set<string>();
  for (let next: string | undefined = part; ; ) {
    next = variant.final.get(next)?.carried[0]?.by;
    if (next === undefined || next === part || carriers.has(next)) return [...carriers];
    carriers.add(next);
  }
}

const known = new Beside<Model['parts'], readonly Raw[]>();

function loopsOf(model: Model): readonly Raw[] {
  let found = known.get(model.parts);
  if (found === undefined) {
    found = [...loops(model, waits), ...loops(model, seats)];
    known.set(model.parts, found);
  }
  return found;
}

/** What runs in a loop, and how a loop of it is told. */
interface Chain {
  readonly next: (part: Declaration) => readonly Name[];
  readonly words: string;
  readonly itself: string;
  readonly says: string;
}
const none: readonly Name[] = [];
const waits: Chain = {
  next: ({ heldBy, behind }) => (behind.length === 0 ? heldBy : heldBy.length === 0 ? behind : [...heldBy, ...behind]),
  words: 'waits for',
  itself: 'waits for itself',
  says: 'in a loop of `held by` and `behind`, so none can come off first: take one of them out.',
};
// A bolt may well be carried by what it holds; but nothing can sit on what sits on it.
const seats: Chain = {
  next: ({ carriedBy }) => (carriedBy === undefined ? none : [carriedBy]),
  words: 'is carried by',
  itself: 'is carried by itself',
  says: 'in a loop of `carried by`, so none of them sits on the unit: take one of them out.',
};

/** A part on the way along a chain, and its clauses, those before `at` gone along. */
interface Node {
  readonly name: string;
  readonly next: readonly Name[];
  at: number;
}

/** Each loop once, at the clause that closes it, of those in this file. */
function* loops(model: Model, { next: nextOf, words, itself, says }: Chain): Generator<Raw> {
  const done = new Set<string>();
  const isLeaf = ({ text }: Name): boolean => {
    const part = model.parts.get(text);
    return part === undefined || nextOf(part).length === 0;
  };
  const isDone = (name: Name): boolean => isLeaf(name) || done.has(name.text);
  for (const first of model.parts.values()) {
    const waitsFor = nextOf(first);
    // Most parts wait for, and sit on, nothing, or what itself waits for nothing, or what is declared above them.
    if (waitsFor.length === 0 || waitsFor.every(isLeaf)) continue;
    const start = first.name!.text;
    if (done.has(start)) continue;
    if (waitsFor.every(isDone)) {
      done.add(start);
      continue;
    }
    // Depth first, without recursion: a chain may be as long as the parts list.
    const path: Node[] = [];
    const onPath = new Map<string, number>();
    const enter = (name: string): void => {
      onPath.set(name, path.length);
      const part = model.parts.get(name);
      path.push({ name, next: part === undefined ? none : nextOf(part), at: 0 });
    };
    enter(start);
    while (path.length > 0) {
      const top = path.at(-1)!;
      const next = top.next[top.at++];
      if (next === undefined) {
        path.pop();
        onPath.delete(top.name);
        done.add(top.name);
      } else if (onPath.has(next.text)) {
        const from = onPath.get(next.text)!;
        // Each of thousands of parts may close a loop through all those above it: none is gone through whole.
        const length = path.length - from;
        const shown = length > mostTold + 1 ? mostTold : length;
        const ring = Array.from({ length: shown }, (_, i) => path[from + i]!.name);
        const more = andMore(length - shown);
        yield* tellLoop(model, path, from, {
          message: `${ring.map(named).join(` ${words} `)}${more}${ring.length > 1 ? '' : ` ${itself}`} ${says}`,
          related: ring.flatMap((name) => related(model.parts.get(name)?.name, `${named(name)} is declared here`)),
          data: { subject: ring.sort().join(' ') + more },
        });
      } else if (!done.has(next.text)) enter(next.text);
    }
  }
}

/**
 * Of the clauses by which the loop along `chain` from `from` on runs, at the last in this file; where only shared files hold them, and
 * none of these has them all, at the `use` that brings the last.
 */
function* tellLoop(model: Model, chain: readonly Node[], from: number, loop: Omit<Raw, 'span'>): Generator<Raw> {
  const clauseOf = ({ next, at }: Node): Name => next[at - 1]!;
  const own = chain.findLastIndex((node) => clauseOf(node).chunk.uri === model.tree.uri);
  if (own >= from) {
    yield { span: clauseOf(chain[own]!), ...loop };
    return;
  }
  const clauses = chain.slice(from).map(clauseOf);
  const isToldIn = (file: SyntaxTree): boolean => {
    const reached = filesReached(model, file);
    return clauses.every(({ chunk }) => reached.has(chunk.uri));
  };
  if (model.files.slice(1).some(isToldIn)) return;
  const span = clauses.at(-1)!;
  const path = useThatReaches(model, span.chunk.uri)?.path;
  if (path !== undefined) yield shownAt(path, { span, ...loop }, model);
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const all = actionsWhere(variant, isClosedIn, model);
  const { followed, following } = tightenedToo(variant, all);
  for (const action of all) {
    if (following.has(action)) continue;
    const done = participle(action, goingBack)!;
    const inTheWay = inTheWayOf(action);
    const names = namesIn(inTheWay);
    const fits = lastFitsBefore(variant, names, action);
    // What never came off is in the way, too, but nothing was put back too early.
    const back = names.filter((name) => fits.has(name));
    if (back.length === 0 && cameOffUnder(variant, names, action)) continue;
    const told = back.length > 0 ? back : names;
    // What was on when it came off did not go back too early: that came off too late.
    const early = back.filter((name) => !cameOffBehind(variant, fits.get(name)!, action));
    const inWay = early.length > 0 ? early : told;
    const several = inWay.length > 1;
    const which = `${listedInShort(inWay, named)}, which ${several ? 'cover or hold' : 'covers or holds'} it,`;
    yield {
      span: action.name,
      message:
        early.length > 0
          ? `${named(action.part)} is ${done} after ${which} went back on: ${remedy(
              model,
              action.name,
              [...fits].flatMap(([name, fit]) => (early.includes(name) ? [fit] : [])),
              several,
              followed.has(action),
            )}${action.holders.length === 0 && isAmong(inTheWay, model) ? betweenPieces(inWay[0]!) : ''}.`
          : `${named(action.part)} is ${done} while ${which} ${several ? 'are' : 'is'} still on: \`remove\` ${several ? 'them' : 'it'} first.`,
      related: shortened(told).told.flatMap((name) => related(fits.get(name), `${named(name)} went back on here`)),
      data: { subject: action.part, covers: told },
    };
  }
}

const inTheWayOf = ({ covers, holders }: Action): readonly Blocker[] => [
  ...covers.filter((cover) => cover.cameOff),
  ...holders,
];
const namesIn = (blockers: readonly Blocker[]): readonly string[] => [...new Set(blockers.map(({ part }) => part))];

/** Of what is closed in, what is tightened (`following`) where it was fitted (`followed`) behind the same: that is one slip. */
function tightenedToo(
  variant: Variant,
  all: readonly Action[],
): { readonly followed: ReadonlySet<Action>; readonly following: ReadonlySet<Action> } {
  const followed = new Set<Action>();
  const following = new Set<Action>();
  if (all.length < 2) return { followed, following };
  const fitted = new Map<string, Action>();
  const { fits, entryOf } = movesIn(variant.entries);
  for (const action of all) {
    const { part, verb, statement } = action;
    const fit = fitted.get(part);
    if (verb === 'fit') fitted.set(part, action);
    else if (fit !== undefined && !areRivals(fit.statement, statement)) {
      const moves = fits.get(part) ?? noMoves;
      const last = moves[countFirst(moves, ({ entry }) => entry < entryOf.get(action)!) - 1];
      const known = namesIn(inTheWayOf(fit));
      if (last?.action !== fit || !namesIn(inTheWayOf(action)).every((name) => known.includes(name))) continue;
      followed.add(fit);
      following.add(action);
    }
  }
  return { followed, following };
}

/** Whether the part came off behind `fit`, and before `behind`. */
function cameOffBehind(variant: Variant, fit: Name, behind: Action): boolean {
  const { removals, entryOf } = movesIn(variant.entries);
  const [from = 0, to] = [placeNaming(variant, fit), entryOf.get(behind)!];
  return (removals.get(behind.part) ?? noMoves).some(({ entry }) => entry > from && entry < to);
}

/** Whether the part came off although `holders` held it: `still-held` tells of that, and what they hold now follows from it. */
function cameOffUnder(variant: Variant, holders: readonly string[], behind: Action): boolean {
  const { removals, entryOf } = movesIn(variant.entries);
  const entry = entryOf.get(behind)!;
  const names = new Set(holders);
  return (removals.get(behind.part) ?? noMoves).some(
    (removal) => removal.entry < entry && removal.action.holders.some(({ part }) => names.has(part)),
  );
}

/**
 * What to move where, so that `name` comes before all of `fits`, which stand in their order: steps of shared files move with
 * the `use` that brings them, which may itself stand in a shared file.
 */
function remedy(model: Model, name: Name, [first]: readonly Name[], several: boolean, isTightenedToo: boolean): string {
  const bringers = bringersOf(model, name.chunk);
  const others = first === undefined ? bringers : bringersOf(model, first.chunk);
  let apart = 0;
  while (apart < bringers.length && bringers[apart] === others[apart]) apart++;
  const own = bringers[apart];
  const those = several ? 'theirs' : 'that one';
  const above = others[apart] === undefined ? those : `the \`use\` that brings ${those}`;
  if (own === undefined) return `move this line${isTightenedToo ? ' and its `tighten`' : ''} above ${above}`;
  // The finding is shown at the line of this file.
  if (apart === 0) return `move the \`use\` above ${above}`;
  return `in ${pathTo(own.chunk.uri, model.tree.uri)}, move \`${spanText(own)}\` above ${above}`;
}
