import type {
  CountedName,
  Declaration,
  Name,
  NumberLiteral,
  Quantity,
  Statement,
  Text,
} from '../../../grammar/syntax.ts';
import { spanText, walk } from '../../../grammar/syntax.ts';
import { lastTorque, stagesBefore } from '../checks/torques.ts';
import type { Ledger } from '../ledger/ledger.ts';
import { countOf, type Model } from '../model/model.ts';
import { extentOf, written } from '../model/quantity.ts';
import { type NameKind, type Reference, referencesOf, referencesOfDeclaration } from '../model/references.ts';
import { isSafety } from '../model/statements.ts';

/** What a fact is about; a reader sorts changes by it. */
export type FactKind =
  | 'safety'
  | 'torque'
  | 'order'
  | 'count'
  | 'renewal'
  | 'procedure'
  | 'part'
  | 'tool'
  | 'supply'
  | 'pattern'
  | 'limit'
  | 'time'
  | 'step'
  | 'statement'
  | 'note';

/** One thing that a declaration or statement says. */
export interface Fact {
  readonly kind: FactKind;
  /** As people read it. */
  readonly said: string;
  /** Equal where two facts mean the same, however they are written. */
  readonly same: string;
  /** It follows from a declaration or from the replay, and is not stated in this place. */
  readonly implied?: boolean;
}

/** By what people call each: `torque`, `held by`. */
export type Facts = ReadonlyMap<string, Fact>;

/** The name by which a thing is compared; a renamed one keeps its new name on both sides. */
export type Renamed = (kind: NameKind, name: string) => string;

/** What both facts mean is the same; what both leave open is no difference of theirs. */
export const sameFact = (a: Fact | undefined, b: Fact | undefined): boolean =>
  a === undefined || b === undefined ? a === b : (a.implied === true && b.implied === true) || a.same === b.same;

const fact = (kind: FactKind, said: string, same = said): Fact => ({ kind, said, same });

/** A quantity by what it allows, in SI; its second value in brackets restates it and says nothing more. */
export function quantityFact(kind: FactKind, quantity: Quantity): Fact {
  const extent = extentOf(quantity);
  const same =
    extent === undefined
      ? written(quantity)
      : `${extent.kind} ${extent.low.toPrecision(10)} ${extent.high.toPrecision(10)}`;
  return fact(kind, written(quantity), same);
}

function torqueFact(torque: Quantity, angle: Quantity | undefined): Fact {
  const first = quantityFact('torque', torque);
  if (angle === undefined) return first;
  const then = quantityFact('torque', angle);
  return fact('torque', `${first.said} then ${then.said}`, `${first.same} then ${then.same}`);
}

const quoted = (text: string): string => `"${text}"`;
const named = (name: string): string => `\`${name}\``;

/** Collects facts, leaving out what is not there. */
class Collector {
  readonly facts = new Map<string, Fact>();
  private readonly renamed: Renamed;

  constructor(renamed: Renamed) {
    this.renamed = renamed;
  }

  set(label: string, value: Fact | undefined): void {
    if (value !== undefined) this.facts.set(label, value);
  }
  word(kind: FactKind, label: string, word: string | undefined): void {
    if (word !== undefined) this.set(label, fact(kind, word));
  }
  text(kind: FactKind, label: string, text: Text | undefined): void {
    if (text !== undefined) this.set(label, fact(kind, quoted(text.value)));
  }
  flag(kind: FactKind, label: string, there: object | undefined): void {
    if (there !== undefined) this.set(label, fact(kind, 'yes'));
  }
  quantity(kind: FactKind, label: string, quantity: Quantity | undefined): void {
    if (quantity !== undefined) this.set(label, quantityFact(kind, quantity));
  }
  quantities(kind: FactKind, label: string, quantities: readonly Quantity[] | undefined): void {
    if (quantities === undefined || quantities.length === 0) return;
    const facts = quantities.map((quantity) => quantityFact(kind, quantity));
    this.set(label, fact(kind, facts.map(({ said }) => said).join(', '), facts.map(({ same }) => same).join(', ')));
  }
  /** Names whose order says nothing. */
  names(kind: FactKind, label: string, of: NameKind, names: readonly Name[] | undefined): void {
    if (names === undefined || names.length === 0) return;
    const known = names.map(({ text }) => this.renamed(of, text));
    this.set(label, fact(kind, known.map(named).join(', '), [...known].sort().join(' ')));
  }
  counted(kind: FactKind, label: string, names: readonly CountedName[] | undefined): void {
    if (names === undefined || names.length === 0) return;
    const known = names.map(({ name, count }) => {
      const renamed = this.renamed('part', name.text);
      return count === undefined ? named(renamed) : `${named(renamed)} x${count.value}`;
    });
    this.set(label, fact(kind, known.join(', '), [...known].sort().join(' ')));
  }
}

/** Holes by number, alike in whatever order they are named. */
function holesFact(holes: readonly NumberLiteral[]): Fact {
  const numbers = holes.map(({ value }) => value);
  return fact('order', numbers.join(', '), [...numbers].sort((a, b) => a - b).join(', '));
}

/** Everything that a declaration says, but for its name. */
export function factsOfDeclaration(declaration: Declaration, renamed: Renamed): Facts {
  const { kind } = declaration;
  const own = new Collector(renamed);
  own.text('note', 'title', declaration.title);
  if (kind !== 'pattern')
    own.set(kind === 'supply' ? 'pieces' : 'quantity', fact('count', String(countOf(declaration))));
  own.word('part', 'thread', declaration.thread?.text);
  own.word('part', 'class', declaration.propertyClass?.image);
  own.word('part', 'grade', declaration.grade?.image);
  // The same torque clamps harder on oil than dry.
  own.word('torque', 'condition', declaration.condition?.text);
  own.quantity('part', 'length', declaration.length);
  if (declaration.torque !== undefined) own.set('torque', torqueFact(declaration.torque, declaration.angle));
  own.quantity('torque', 'prevailing torque', declaration.prevailing);
  own.word('part', 'head', declaration.head?.text);
  own.names('order', 'holes', 'pattern', declaration.holes === undefined ? [] : [declaration.holes]);
  if (declaration.holesAt !== undefined) own.set('which holes', holesFact(declaration.holesAt));
  own.flag('renewal', 'single-use (`renew`)', declaration.renew);
  own.quantity('time', 'lead time', declaration.lead);
  own.names('part', 'held by', 'part', declaration.heldBy);
  own.names('part', 'behind', 'part', declaration.behind);
  own.names('part', 'carried by', 'part', declaration.carriedBy === undefined ? [] : [declaration.carriedBy]);
  own.flag('part', 'goes back as it came off (`index`)', declaration.index);
  const hazards = declaration.hazards.map(({ text }) => text).sort();
  if (hazards.length > 0) own.set('hazard', fact('safety', hazards.join(', ')));
  own.quantity('part', 'bore', declaration.bore);
  own.word('part', 'fit', declaration.fit?.text);
  own.quantity('part', 'outside diameter', declaration.outside);
  own.quantity('part', 'interference', declaration.interference);
  own.quantity('limit', 'limit', declaration.limit);
  own.word('part', 'filling', declaration.filled?.text);
  own.text('part', 'number', declaration.number);
  own.quantity('tool', 'range', declaration.range);
  own.quantity('supply', 'quantity', declaration.amount);
  own.text('supply', 'spec', declaration.spec);
  own.quantity('time', 'cure time', declaration.cure);
  own.set('layout', layoutOf(declaration));
  return own.facts;
}

function layoutOf({ pattern }: Declaration): Fact | undefined {
  if (pattern === undefined) return undefined;
  const unit = pattern.unit?.unit?.symbol ?? pattern.unit?.text ?? '';
  if (pattern.form === 'points') {
    const points = (pattern.points ?? []).map(({ x, y }) => `(${x.value}, ${y.value})`).join(' ');
    return fact('pattern', `points ${points} ${unit}`.trimEnd());
  }
  const angles = pattern.angles?.map((angle) => quantityFact('pattern', angle));
  const diameter = pattern.diameter === undefined ? undefined : quantityFact('pattern', pattern.diameter);
  const layout = (of: 'said' | 'same'): string =>
    [
      'circle',
      pattern.count?.value,
      angles?.map((angle) => angle[of]).join(', '),
      diameter === undefined ? undefined : `diameter ${diameter[of]}`,
    ]
      .filter((piece) => piece !== undefined)
      .join(' ');
  return fact('pattern', layout('said'), layout('same'));
}

/** Declarations that stand in the file itself or that its work comes to, by name; other files may declare much besides. */
export function declarationsOf(model: Model, kind: Declaration['kind']): Map<string, Declaration> {
  let reached = reachedFrom.get(model);
  if (reached === undefined) {
    reached = reach(model);
    reachedFrom.set(model, reached);
  }
  return new Map([...tablesOf(model)[kind]].filter(([, each]) => reached.has(each)));
}

const reachedFrom = new WeakMap<Model, ReadonlySet<Declaration>>();
const tablesOf = (model: Model): Record<Declaration['kind'], ReadonlyMap<string, Declaration>> => ({
  part: model.parts,
  tool: model.tools,
  supply: model.supplies,
  pattern: model.patterns,
});

function reach(model: Model): ReadonlySet<Declaration> {
  const tables = tablesOf(model);
  const isSupply = (name: string): boolean => model.supplies.has(name) && !model.parts.has(name);
  const reached = new Set(model.ownDeclarations);
  const follow = (references: readonly Reference[]): void => {
    for (const { kind, name } of references) {
      const target = kind in tables ? tables[kind as Declaration['kind']].get(name.text) : undefined;
      if (target !== undefined) reached.add(target);
    }
  };
  for (const { step } of model.steps)
    for (const statement of walk(step.statements)) follow(referencesOf(statement, isSupply));
  // What is added on the way is visited, too.
  for (const each of reached) follow(referencesOfDeclaration(each));
  return reached;
}

const counting: ReadonlySet<string> = new Set([
  'remove',
  'disconnect',
  'discard',
  'replace',
  'fit',
  'connect',
  'transfer',
  'omit',
  'loosen',
  'tighten',
]);

/** Pieces that each statement acted on in the replay, in the first code that it holds for. */
export function piecesActedOn(ledger: Ledger): ReadonlyMap<Statement, number> {
  const acted = new Map<Statement, number>();
  for (const { entries } of ledger.variants) {
    for (const { statement, role, actions } of entries) {
      const own = actions.find(({ part }) => part === statement.name?.text);
      if (role === 'statement' && own !== undefined && !acted.has(statement)) acted.set(statement, own.acted);
    }
  }
  return acted;
}

/** Everything that a statement says, but for its verb and what it acts on; of a block, its conditions. */
export function factsOfStatement(
  model: Model,
  statement: Statement,
  acted: ReadonlyMap<Statement, number>,
  renamed: Renamed,
): Facts {
  const own = new Collector(renamed);
  const { kind } = statement;
  if (kind === 'unknown') {
    own.set('words', fact('statement', oneLine(spanText(statement))));
    return own.facts;
  }
  if (statement.branches !== undefined) {
    for (const [i, { text }] of statement.branches.entries())
      own.text('statement', kind === 'either' ? `branch ${i + 1}` : 'condition', text);
    return own.facts;
  }
  const part = model.parts.get(statement.name?.text ?? '');
  if (counting.has(kind)) {
    const { count } = statement;
    own.set(
      'count',
      count === undefined
        ? { ...fact('count', String(acted.get(statement) ?? countOf(part))), implied: true }
        : fact('count', String(count.value)),
    );
  }
  if (statement.fresh !== undefined) own.set('fitted new', fact('renewal', 'yes'));
  if (kind === 'tighten') {
    own.set('torque', tighteningTorque(statement, part));
    own.quantities('torque', 'stages before it', stagesBefore(statement));
    const { order } = statement;
    if (order !== undefined)
      own.set(
        'order',
        fact('order', order.form === 'list' ? order.holes.map(({ value }) => value).join(' ') : order.form),
      );
    if (statement.holes !== undefined) own.set('holes', holesFact(statement.holes));
  } else if (kind === 'wait') own.quantity('time', 'time', statement.amount);
  else own.quantity('supply', 'quantity', statement.amount);
  if (kind !== 'tighten') {
    own.quantity('limit', kind === 'heat' || kind === 'cool' ? 'temperature' : 'to', statement.to);
  }
  own.flag('part', 'spoiled by its removal', statement.spoiled);
  own.counted('part', 'with', statement.together);
  own.names('part', 'from', 'part', statement.source === undefined ? [] : [statement.source]);
  if (kind !== 'swap') own.names('part', 'on', 'part', statement.targets);
  own.quantity('limit', 'limit', statement.limit);
  own.quantity('limit', 'max', statement.max);
  own.quantity('limit', 'min', statement.min);
  own.word('limit', 'gap', statement.gap?.text);
  if (statement.aim !== undefined) own.quantity('limit', statement.aim.kind, statement.aim.quantity);
  const stock = statement.stock?.map(({ thickness, count }) => {
    const each = quantityFact('limit', thickness);
    const times = count === undefined ? '' : ` x${count.value}`;
    return { said: each.said + times, same: each.same + times };
  });
  if (stock !== undefined)
    own.set(
      'shims',
      fact(
        'limit',
        stock.map(({ said }) => said).join(', '),
        stock
          .map(({ same }) => same)
          .sort()
          .join(', '),
      ),
    );
  own.names('tool', 'using', 'tool', statement.using);
  const { extension } = statement;
  if (extension !== undefined) {
    const sizes = (
      [
        ['', extension.length],
        ['at ', extension.at],
        ['on ', extension.on],
      ] as const
    ).flatMap(([word, size]) => {
      if (size === undefined) return [];
      const { said, same } = quantityFact('tool', size);
      return [{ said: word + said, same: word + same }];
    });
    own.set(
      'extension',
      fact('tool', sizes.map(({ said }) => said).join(' '), sizes.map(({ same }) => same).join(' ')),
    );
  }
  own.text('note', 'keep in', statement.keep);
  own.text('note', 'see', statement.see);
  own.text(
    isSafety(statement) ? 'safety' : statement.name === undefined ? 'statement' : 'note',
    'text',
    statement.text,
  );
  return own.facts;
}

/** The torque that a tightening ends with. */
function tighteningTorque(statement: Statement, part: Declaration | undefined): Fact {
  if (statement.byHand !== undefined) return fact('torque', 'by hand');
  const stated = lastTorque(statement);
  if (stated !== undefined) return torqueFact(stated, statement.angle);
  const declared = part?.torque === undefined ? fact('torque', 'none stated') : torqueFact(part.torque, part.angle);
  return { ...declared, implied: true };
}

/** On one line, without comments. */
export const oneLine = (text: string): string =>
  text
    .replace(/("(?:\\.|[^"\\\r\n])*"?)|#[^\r\n]*/g, (_, kept: string | undefined) => kept ?? '')
    .replace(/\s+/g, ' ')
    .trim();
