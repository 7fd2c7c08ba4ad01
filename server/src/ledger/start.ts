import { type Declaration, type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { amended, exchangeBetween, exchanged, namesAmended, namesChanged } from '../model/amended.ts';
import { changedSteps } from '../model/changed-chunks.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { chunksNaming } from '../model/occurrences.ts';
import { isSafety, statementsOf } from '../model/statements.ts';
import { type Coming, eachComing, Stock, stockOf } from '../model/stock.ts';
import { noTurnover, type PartState, Pieces } from './state.ts';

/** States of all parts before the first step. */
type Initial = ReadonlyMap<string, PartState>;

export const appliesTo = (statement: Statement, code: string | undefined): boolean =>
  statement.kind !== 'for' || code === undefined || (statement.codes ?? []).some((name) => name.text === code);

const none: ReadonlySet<Statement> = new Set();

/**
 * Each `for` with a code that this procedure has not: it is misspelt, and what stands there may be meant for any. Steps that
 * procedures share may single out codes of others.
 */
export const misspeltBlocks = noted((model: Model): ReadonlySet<Statement> => {
  const { codes, tree } = model;
  const blocks = statementsOf(model, 'for');
  if (codes.length === 0 || blocks.length === 0) return none;
  const known = new Set(codes);
  const isMisspelt = ({ chunk, codes: named }: Statement): boolean =>
    chunk.uri === tree.uri && (named ?? []).some(({ text }) => !known.has(text));
  const misspelt = blocks.filter(isMisspelt);
  return misspelt.length === 0 ? none : new Set(misspelt);
});

/** True where all work of a step is for other codes than those that `applies` holds for. */
export const isForOthers = ({ statements }: Step, applies: (statement: Statement) => boolean): boolean =>
  walk(statements).some((statement) => !applies(statement)) && !hasWork(statements, applies);

const hasWork = (statements: readonly Statement[], applies: (statement: Statement) => boolean): boolean =>
  statements.some(
    (statement) =>
      applies(statement) &&
      !isSafety(statement) &&
      (statement.branches === undefined || statement.branches.some((branch) => hasWork(branch.statements, applies))),
  );

/** Every part on and tight, but for those that only ever come from stock. */
export function startOf(model: Model, code: string | undefined): Initial {
  const stock = stockFor(model, code);
  const shared: Shared = new Map();
  const initial = new Map<string, PartState>();
  for (const [name, part] of model.parts) initial.set(name, initialState(model, part, stock.has(name), shared));
  return initial;
}

/**
 * The same, after an edit: what has stayed as it was in `known`, where `before` began, is
 * the same state, and the same map where all has.
 */
export function startAgain(model: Model, code: string | undefined, before: Model, known: Initial): Initial {
  const doubtful = comingOtherwise(before, model, code);
  if (doubtful.size === 0 && before.parts === model.parts) return known;
  const shared: Shared = new Map();
  const isStock = stockAsker(model, code);
  const stateOf = (name: string, part: Declaration): PartState => {
    const old = known.get(name);
    const stock = old !== undefined && !doubtful.has(name) ? old.stock : isStock(name);
    const alike = old !== undefined && old.stock === stock && isSeatedAlike(before, model, name, part);
    return alike ? old : initialState(model, part, stock, shared);
  };
  const otherwise = namesChanged(before.parts, model.parts);
  if (before.parts !== model.parts) carrySeats(before.parts, model.parts);
  const exchange = exchangeBetween(before.parts, model.parts);
  if (exchange !== undefined || namesAmended(before.parts, model.parts) !== undefined) {
    const asked = new Set([...doubtful, ...otherwise]);
    // Whether a part sits on anything hangs on whether that is declared.
    if (exchange !== undefined)
      for (const name of otherwise) for (const rider of seatsIn(model.parts).get(name) ?? []) asked.add(rider);
    const states = new Map<string, PartState>();
    for (const name of asked) {
      const part = model.parts.get(name);
      const state = part === undefined ? undefined : stateOf(name, part);
      if (state !== undefined && state !== known.get(name)) states.set(name, state);
    }
    if (exchange === undefined) return states.size === 0 ? known : amended(known, states);
    const stateIn = (name: string): PartState => states.get(name) ?? known.get(name)!;
    const staying = new Map([...states].filter(([name]) => !exchange.incoming.includes(name)));
    return exchanged(known, exchange, stateIn, staying);
  }
  const states: PartState[] = [];
  const order = known.entries();
  let same = known.size === model.parts.size;
  for (const [name, part] of model.parts) {
    const state = stateOf(name, part);
    states.push(state);
    const old = same ? order.next().value : undefined;
    same &&= old !== undefined && old[0] === name && old[1] === state;
  }
  if (same) return known;
  const initial = new Map<string, PartState>();
  for (const name of model.parts.keys()) initial.set(name, states[initial.size]!);
  return initial;
}

/** States by count, of parts on no carrier and not in stock. */
type Shared = Map<number, PartState>;

function initialState(model: Model, part: Declaration, stock: boolean, shared: Shared): PartState {
  const count = unboxed(countOf(part));
  const carrier = part.carriedBy?.text;
  const isCarried = carrier !== undefined && model.parts.has(carrier);
  const alike = stock || isCarried ? undefined : shared.get(count);
  if (alike !== undefined) return alike;
  const state = new Pieces();
  if (isCarried) state.carried = [{ by: carrier, count }];
  if (stock) state.turnover = { ...noTurnover, stock, inStock: count };
  else state.tight = count;
  if (!stock && !isCarried) shared.set(count, state);
  return state;
}

/**
 * What the parser read as a number, in the form in which small whole numbers are cheap: otherwise each place that keeps
 * it, or a sum of it, keeps a box of its own.
 */
export function unboxed(value: number): number {
  const small = value | 0;
  return small === value ? small : value;
}

/** The same count on the same carrier: its state at the start is the same. */
function isSeatedAlike(before: Model, now: Model, name: string, part: Declaration): boolean {
  const was = before.parts.get(name);
  const carrier = part.carriedBy?.text;
  return (
    (was === part || (countOf(was) === countOf(part) && was?.carriedBy?.text === carrier)) &&
    (carrier === undefined || before.parts.has(carrier) === now.parts.has(carrier))
  );
}

const seats = new Beside<Model['parts'], ReadonlyMap<string, readonly string[]>>();

/** Parts that are declared as carried by each part. */
export function seatsIn(parts: Model['parts']): ReadonlyMap<string, readonly string[]> {
  let known = seats.get(parts);
  if (known === undefined) {
    const found = new Map<string, string[]>();
    for (const [name, { carriedBy }] of parts) {
      if (carriedBy === undefined) continue;
      addTo(found, carriedBy.text, name);
    }
    known = found;
    seats.set(parts, known);
  }
  return known;
}

/** Where parts sit as they sat, and are listed as they were, that is known already. */
function carrySeats(before: Model['parts'], now: Model['parts']): void {
  const known = seats.get(before);
  if (known === undefined) return;
  const carrierIn = (parts: Model['parts'], name: string): string | undefined => parts.get(name)?.carriedBy?.text;
  const exchange = exchangeBetween(before, now);
  const isKept =
    exchange === undefined
      ? namesAmended(before, now)?.every((name) => carrierIn(before, name) === carrierIn(now, name))
      : [...exchange.outgoing, ...exchange.incoming].every(
          (name) => (carrierIn(before, name) ?? carrierIn(now, name)) === undefined,
        );
  if (isKept) seats.set(now, known);
}

/** Goes through `statements` and those of their branches that hold for `code`, in the order of the text. */
function eachWithin(
  statements: readonly Statement[],
  code: string | undefined,
  visit: (statement: Statement) => void,
): void {
  for (const statement of statements) {
    visit(statement);
    if (statement.branches !== undefined && appliesTo(statement, code))
      for (const branch of statement.branches) eachWithin(branch.statements, code, visit);
  }
}

/** Parts that only ever come from stock. */
function stockFor(model: Model, code: string | undefined): ReadonlySet<string> {
  const known = stockOf.get(model);
  if (known !== undefined) return known;
  const stock = new Stock();
  for (const { step } of model.steps) eachWithin(step.statements, code, (statement) => stock.take(statement));
  return stock.names();
}

/** Parts that are looked for one by one; of more, one walk over all statements tells sooner. */
const few = 16;

/** The same, asked of one part after the other. */
function stockAsker(model: Model, code: string | undefined): (name: string) => boolean {
  let asked = 0;
  let all: ReadonlySet<string> | undefined;
  return (name) => {
    if (++asked > few) all ??= stockFor(model, code);
    return all === undefined ? isStock(name, model, code) : all.has(name);
  };
}

/** The same, asked of one part. */
function isStock(name: string, model: Model, code: string | undefined): boolean {
  const known = stockOf.get(model);
  if (known !== undefined) return known.has(name);
  const stock = new Stock();
  const { tree, steps, takenIn } = model;
  const naming = new Set([...chunksNaming(tree, name).map((place) => tree.chunks[place]!), ...takenIn.keys()]);
  for (const { step } of steps)
    if (naming.has(step.chunk)) eachWithin(step.statements, code, (statement) => stock.take(statement));
  return stock.names().has(name);
}

/** Names that other things come by than before. */
function comingOtherwise(before: Model, now: Model, code: string | undefined): ReadonlySet<string> {
  const comings = (statements: readonly Statement[]): [how: Coming, name: string][] => {
    const told: [Coming, string][] = [];
    eachWithin(statements, code, (each) => eachComing(each, (...coming) => told.push(coming)));
    return told;
  };
  const names = new Set<string>();
  const { from, to, until } = changedSteps(before, now);
  for (let i = from; i < Math.max(to, until); i++) {
    const old = i < to ? before.steps[i]!.step : undefined;
    const step = i < until ? now.steps[i]!.step : undefined;
    if (old === step) continue;
    const was = comings(old?.statements ?? []);
    const is = comings(step?.statements ?? []);
    if (was.length === is.length && was.every(([how, name], c) => how === is[c]![0] && name === is[c]![1])) continue;
    for (const [, name] of [...was, ...is]) names.add(name);
  }
  return names;
}
