import { EOF, type IToken } from 'chevrotain';
import { clauseMeant, isCount, meantBy, mendOf, whatFollows } from './advice.ts';
import { shown, shownText } from './chunk-tokens.ts';
import { propertiesOf, repeatable, rivalsOf } from './clauses.ts';
import { isBlock, isDeclaration, isQuoteBehind, isStatement } from './heads.ts';
import { maxCount } from './limits.ts';
import { type Advice, isClauseWord, type Node, type Stopped } from './mend.ts';
import { slugOf } from './name-meant.ts';
import { endOfWords } from './prose-meant.ts';
import { type ClauseKeeper, Rules } from './rules.ts';
import { Declaration, fieldsOf, type Name, Statement, type Step } from './syntax.ts';
import { atNextLine, behindIt, TokenTroubles, textMend, trouble } from './token-troubles.ts';
import {
  ClauseWord,
  Comma,
  type ContextualWord,
  declarationWords,
  endOf,
  isContextual,
  isNumber,
  keyword as k,
  NumberToken,
  OpenText,
  ReservedName,
  setType,
  Text,
  Word,
} from './tokens.ts';
import { unitOf } from './units.ts';
import { alone, isInPlaceOfName, wanted } from './wanted.ts';

/** How often reading starts anew within one line that has troubles. */
const maxRestarts = 8;

export const rules = new Rules();
export const noClauses: ReadonlySet<string> = new Set();

/** How one kind of node is read. */
export interface Form {
  /** The whole of it, from its keyword on. */
  readonly rule: () => void;
  /** The clauses alone, to go on with behind a trouble. */
  readonly clauses?: () => void;
  readonly allowed: ReadonlySet<string>;
}

/** Where a rule stopped, and what it wanted there; nothing where it had all it needs. */
interface Stop {
  readonly at: number;
  readonly expected: string;
}

/** One for all readers: it is emptied for each node. */
const clausesSeen = new Set<string>();

/** Reads one node by its rule, and goes on where the rule stops. */
export abstract class NodeReader extends TokenTroubles implements ClauseKeeper, Stopped {
  /** Clauses of the node being read that have stood already. */
  readonly seen = clausesSeen;
  allowed: ReadonlySet<string> = noClauses;
  node: Node | undefined;
  /** The first token of a line that begins with a clause which cannot be one of this node, and why; -1 if there is none. */
  private foreignLine = -1;
  private foreignReason = '';
  /** The last clause on the line being read that was told of as none of the node's; -1 if there is none. */
  private foreignAt = -1;
  /** A number stands where a count belongs: what the statement acts on is not known. */
  private countUnsure = false;

  /** Lines that belong to no node, with the reason where it is known. */
  protected abstract unreadable(from: number, to: number, reason?: string): void;

  /** Asked by the rules before each clause is read. */
  clause(word: string, token: IToken): void {
    const node = this.node!;
    const foreign = !this.allowed.has(word);
    const again = this.seen.has(word) && !repeatable.has(word);
    const rival = rivalsOf.get(word)?.find((other) => this.seen.has(other));
    if (!foreign && !again && rival === undefined) {
      this.seen.add(word);
      return;
    }
    if (this.foreignLine >= 0) return;
    const at = this.indexOf(token.startOffset);
    const found = word === 'text' || word === 'quantity' || word === 'xN' ? shown(token) : `\`${word}\``;
    const count =
      word === 'quantity' &&
      this.allowed.has('xN') &&
      isCount(this, at) &&
      (node as Statement | Declaration).count === undefined
        ? `x${token.image}`
        : undefined;
    const told = foreign
      ? {
          expected: whatFollows(this),
          found,
          mend: foreignTo(node.kind, word, found),
        }
      : !again
        ? { expected: `\`${rival}\` or ${found}`, found: 'both', mend: 'take one of them out' }
        : (twice[word] ?? { expected: `${found} once`, found: 'it again', mend: firstCounts });
    const advice = foreign || again ? clauseMeant(this, word, at) : undefined;
    const meant = advice && !this.isTroubled(at - 1, at) ? this.withUnit(advice, at) : advice;
    // `heat race 80`
    const isHeat = count !== undefined && /^(?:heat|cool)$/.test(node.kind);
    const mend = isHeat
      ? `write \`to\` before it and its unit behind, as in \`to ${token.image} °C\``
      : count !== undefined
        ? `a count is written \`${count}\``
        : (meant?.[0] ?? told.mend);
    const replacement = isHeat ? undefined : (count ?? meant?.[1]);
    const reason = [told.expected, told.found, mend] as const;
    if (count !== undefined) this.countMeant(token);
    if (this.lineFirst(at)) {
      this.foreignLine = at;
      this.foreignReason =
        word === 'text' && (isStatement(node.kind) || node.kind === 'step')
          ? trouble('a statement', found, `${textMend}, or join it to the text above`, atNextLine)
          : trouble(...reason, atNextLine);
      return;
    }
    node.broken = true;
    if (word === 'quantity' && this.allowed.has('xN') && this.tokens[at - 1]?.tokenType === Word)
      this.countUnsure = isStatement(node.kind);
    this.foreignAt = at;
    if (!this.isTroubled(at - 1, at))
      this.issue(
        this.tokens[meant?.[3] ?? at]!,
        this.tokens[meant?.[2] ?? at]!,
        trouble(...reason, behindIt),
        replacement,
      );
  }

  /** Whether what stands at `at` belongs to a clause that was told of: it goes with it. */
  private isOfForeign(at: number): boolean {
    if (this.foreignAt < 0 || this.foreignAt >= at) return false;
    for (let i = this.foreignAt + 1; i < at; i++)
      if (this.lineFirst(i) || isClauseWord(this.tokens[i]!, this.allowed)) return false;
    return at === this.tokens.length || !this.lineFirst(at);
  }

  /** A number that was told of, and can be nothing but a count, counts; of a statement, what it acts on stays unsure. */
  countMeant(number: IToken): void {
    const node = this.node as Declaration;
    if (!isDeclaration(node.kind)) return;
    node.count ??= { ...this.spanOf(number), value: Math.min(Number(number.image), maxCount) };
  }

  protected run(from: number, to: number, node: Node, form: Form): void {
    const told = this.chunk.issues.length;
    this.node = node;
    this.allowed = form.allowed;
    this.findClauses(from + 2, to);
    let end = to;
    let stop = this.attemptWhole(from, to, form);
    let reason: string | undefined;
    if (stop !== undefined) {
      // A line that begins with a word which does not go on with this node is a statement of its own.
      let line = Math.min(stop.at, to - 1);
      while (line > from && !this.lineFirst(line)) line--;
      if (line > from && !this.goesOn(line, stop, form.allowed)) {
        if (line === this.foreignLine) reason = this.foreignReason;
        this.chunk.issues.length = told;
        end = line;
        clear(node);
        stop = this.attemptWhole(from, end, form);
      }
    }
    let next = stop === undefined ? end : this.recover(from, from, end, node, form, stop);
    node.end = endOf(this.tokens[next - 1]!) - this.base;
    if (this.countUnsure) (node as Statement).words = this.wordsBetween(from + 1, next);
    while (next < to) next = this.nextLines(from, next, to, node, form, next === end ? reason : undefined);
  }

  /** Reads on behind a line that had troubles: clauses of the same node, or a line that cannot be read. */
  protected nextLines(from: number, first: number, to: number, node: Node, form: Form, reason?: string): number {
    let end = this.nextLine(first, to);
    if (reason === undefined && form.clauses !== undefined && isClauseWord(this.tokens[first]!, form.allowed)) {
      while (end < to && this.tokens[end - 1]!.tokenType === Comma && !isClauseWord(this.tokens[end]!, form.allowed))
        end = this.nextLine(end, to);
      const told = this.chunk.issues.length;
      this.foreignLine = -1;
      const stop = this.attempt(first, end, form.clauses);
      if (this.foreignLine !== first) {
        const next = stop === undefined ? end : this.recover(from, first, end, node, form, stop);
        node.end = endOf(this.tokens[next - 1]!) - this.base;
        return next;
      }
      this.chunk.issues.length = told;
      reason = this.foreignReason;
    }
    this.unreadable(first, end, reason);
    return end;
  }

  private goesOn(line: number, stop: Stop, allowed: ReadonlySet<string>): boolean {
    if (line === this.foreignLine) return false;
    const token = this.tokens[line]!;
    // What is missing on the line above is told there.
    if (isClauseWord(token, allowed)) return line !== stop.at || stop.expected === '';
    if (line === stop.at) return false;
    return (
      this.tokens[line - 1]!.tokenType === Comma || !/^\p{L}/u.test(token.image) || unitOf(token.image) !== undefined
    );
  }

  /** Reads what can be read behind `stop` on its line, which is part of `first` to `to`; the first token behind that line. */
  private recover(from: number, first: number, to: number, node: Node, form: Form, stop: Stop): number {
    node.broken = true;
    this.noteWords(node, from, to, stop.at);
    const { allowed, clauses } = form;
    const isClause = (i: number): boolean => clauses !== undefined && isClauseWord(this.tokens[i]!, allowed);
    if (stop.at >= to) {
      const last = this.tokens[to - 1]!;
      const next = this.tokens[to];
      const [found, where] =
        next === undefined
          ? ['the end of the file', 'to the end']
          : this.lineFirst(to)
            ? ['the end of the line', atNextLine]
            : [shown(next), 'there'];
      // `inspect` with steps below it
      const isPhase = node.kind === 'inspect' && to === from + 1 && next?.tokenType === k.step && this.lineFirst(to);
      const [expected, oneOf] = wanted(this, to, stop.expected);
      const mend = isPhase ? 'perhaps the phase `inspection` was meant' : oneOf;
      if (!this.isTroubled(to - 1, to - 1) && !this.isOfForeign(to - 1) && this.foreignAt !== to - 1)
        this.issue(last, last, trouble(`${expected || 'more'} behind ${shown(last)}`, found, mend, where));
      return to;
    }
    const end = this.nextLine(stop.at, to);
    const behind = (last: Stop, from: number): number =>
      last.at >= end ? last.at : this.behindOwn(last, last.at > from && isClause(last.at));
    let next = behind(stop, first);
    while (next < end && !isClause(next)) next++;
    if (this.isTorn(stop, end)) {
      this.reportTorn(stop, end);
      this.noteLost(node, this.wordsBetween(stop.at, end));
      return end;
    }
    const lost = this.wordsBetween(stop.at, next);
    const word = this.reportStop(stop, next, (from) => {
      for (next = Math.max(next, from); next < end && !isClause(next); ) next++;
      return next < end ? `at ${shown(this.tokens[next]!)}` : atNextLine;
    });
    if (word !== undefined && clauses !== undefined) {
      setType(this.tokens[stop.at]!, k[word]);
      next = stop.at;
      lost.length = 0;
    }
    const quiet = this.chunk.issues.length;
    for (let tries = 0; next < end && tries < maxRestarts; tries++) {
      const again = this.attempt(next, end, clauses!);
      next = again === undefined ? end : Math.max(behind(again, next), next + 1);
      const skipped = next;
      while (next < end && !isClause(next)) next++;
      lost.push(...this.wordsBetween(skipped, next));
    }
    lost.push(...this.wordsBetween(next, end));
    this.noteLost(node, lost);
    this.chunk.issues.length = quiet;
    return end;
  }

  private attemptWhole(from: number, to: number, form: Form): Stop | undefined {
    this.seen.clear();
    this.foreignLine = -1;
    this.foreignAt = -1;
    this.countUnsure = false;
    const stop = this.attempt(from, to, form.rule);
    return this.foreignLine < 0 ? stop : { at: this.foreignLine, expected: '' };
  }

  /** Runs `rule` over the tokens; nothing where all were read, else the place it stopped at and what it wanted. */
  protected attempt(from: number, to: number, rule: () => void): Stop | undefined {
    if (from < to) this.freeClause(from);
    const error = rules.read(rule, this.tokens, from, to);
    if (error === undefined) return undefined;
    const at = error.token.tokenType === EOF ? to : this.indexOf(error.token.startOffset);
    if (at < to) this.freeClause(at);
    const inside = error.message === '' ? undefined : expectedIn[error.context.ruleStack.at(-1) ?? ''];
    return { at: Math.min(at, to), expected: inside ?? error.message };
  }

  /** Marks words that begin a clause where a name is missing. */
  private findClauses(from: number, to: number): void {
    // To each name of a list the same word leads as to the one before.
    let [beforeLast, last] = [from - 3, from - 2];
    for (let i = from; i < to; i++) {
      const lead = this.tokens[i - 1]!.tokenType === Comma ? beforeLast : i - 1;
      if (isInPlaceOfName(this, i, lead)) setType(this.tokens[i]!, ClauseWord);
      [beforeLast, last] = [last, lead];
    }
  }

  /** What stood in place of a name begins its clause. */
  private freeClause(i: number): void {
    const token = this.tokens[i]!;
    if (token.tokenType === ClauseWord) setType(token, k[token.image as ContextualWord]);
  }

  /** The token behind what belongs to where reading stopped, which may begin a clause: `cure time 24 h`, `spec ISO 1234`. */
  private behindOwn({ at, expected }: Stop, isClause: boolean): number {
    const words = expected === 'a text in double quotes' ? endOfWords(this, at) : undefined;
    if (words !== undefined) return words + 1;
    if (isClause) return at;
    let next = at + 1;
    const { tokenType, image } = this.tokens[at]!;
    if (expected !== 'a number' || (tokenType !== Word && !/^(?:max|min)$/.test(image))) return next;
    // `cure min. 60 min`
    while (this.onLine(next)?.tokenType === Word || this.onLine(next)?.image === '.') next++;
    return (this.endOfQuantity(next) ?? next - 1) + 1;
  }

  /**
   * Tells where reading stopped; the clause that a word there is read as, where it was told of as that. `where` gives where reading goes
   * on, from a token on.
   */
  private reportStop(stop: Stop, next: number, where: (from: number) => string): ContextualWord | undefined {
    const token = this.tokens[stop.at]!;
    const before = this.tokens[stop.at - 1];
    // One trouble a place: a stray unit or a reserved name has been told of already.
    if (this.isTroubledBesideUnits(stop.at - 1, next - 1)) {
      // `part drain plug`
      if (before?.tokenType === ReservedName && this.isTroubled(stop.at, stop.at))
        if (
          (before.image === 'new' && isStatement(this.node!.kind)) ||
          (before.image === 'for' && this.node!.kind === 'swap')
        )
          this.nameFrom(before, this.nameAt(token));
        else if (before.image !== 'if') this.joinName(stop.at - 1, stop.at, `${before.image}-${token.image}`);
      return undefined;
    }
    if (this.isOfForeign(stop.at)) return undefined;
    // What stands behind a clause that was told of as none of this node goes with it.
    if (before !== undefined && this.chunk.issues.at(-1)?.start === before.startOffset - this.base) return undefined;
    const meant = meantBy(this, stop.at, stop.expected) ?? mendOf(this, stop.at, stop.expected);
    const [advice, replacement, last = stop.at, first = stop.at] = this.withUnit(meant, stop.at);
    // A unit was told of that is no part of what was meant.
    if (this.hasUnitTold(stop.at - 1, first - 1) || this.hasUnitTold(last + 1, next - 1)) return undefined;
    const [expected, mend] =
      stop.expected === ''
        ? [whatFollows(this), advice]
        : advice === ''
          ? wanted(this, stop.at, stop.expected)
          : [stop.expected, advice];
    const isClause = first === (meant[2] ?? stop.at) && token.tokenType === Word;
    const word = isClause && this.leadsClause(meant[1]) ? meant[1] : undefined;
    // `curing time 60 min`: what is written anew is not read for something else.
    const isWhole = replacement !== undefined && replacement !== '' && (meant[2] ?? stop.at) > stop.at;
    const message = trouble(
      expected,
      shown(token),
      mend,
      word === undefined ? where(first < stop.at || isWhole ? last + 1 : 0) : behindIt,
    );
    this.issue(this.tokens[first]!, this.tokens[last]!, message, replacement);
    if (first < stop.at && replacement !== undefined) this.joinName(first, last, replacement.replace(/ x[0-9]+$/, ''));
    return word;
  }

  private hasUnitTold(from: number, to: number): boolean {
    for (let i = from; i <= to; i++) if (this.unitToldAt(i) !== undefined) return true;
    return false;
  }

  private forgetUnit(i: number): void {
    this.forgetIssues(this.unitToldAt(i)?.whole === undefined ? i : i - 1, i + 1);
  }

  /** What was meant with the unit behind it, where that is written otherwise: both are one slip. */
  protected withUnit(advice: Advice, at: number): Advice {
    const [words, replacement, last = at, first = at] = advice;
    if (replacement === undefined) return advice;
    for (let i = first; i <= last; i++)
      if (this.unitToldAt(i) !== undefined) this.forgetUnit(i);
      // `0.05-0.1 mm`
      else if (i > first && /^[-−]/.test(this.tokens[i]!.image) && isNumber(this.tokens[i]))
        this.forgetIssues(i, i + 1);
    const isSaid = replacement === '' || words.startsWith('write ');
    const before = this.unitToldAt(first - 1);
    if (before !== undefined && before.whole === undefined && isSaid && replacement !== '') {
      // `25 ft-lb in a star pattern`
      const written = `${before.meant} ${replacement}`;
      this.forgetUnit(first - 1);
      return [`write ${shownText(written)}`, written, last, first - 1];
    }
    const unit = this.endOfQuantity(isNumber(this.tokens[last]) ? last : last + 1);
    const told = this.unitToldAt(unit) ?? this.dottedUnit(unit);
    if (told === undefined || unit! <= last) return advice;
    const gap = this.text.slice(endOf(this.tokens[last]!), this.tokens[unit!]!.startOffset);
    const joined = replacement + (told.meant === '°' ? gap.trimEnd() : gap) + told.meant;
    const written = (told.whole === undefined ? joined : joined.replace(/[0-9.]+ ?[^0-9. ]+$/, told.whole)).trimStart();
    this.forgetUnit(unit!);
    for (let i = last + 1; i <= told.last; i++) this.trouble(i);
    return [`${isSaid ? '' : `${words}, `}write ${shownText(written)}`, written, told.last, first];
  }

  /** True for a clause of the node that has not stood yet, and that goes on behind its word. */
  private leadsClause(word: string | undefined): word is ContextualWord {
    return (
      word !== undefined && this.allowed.has(word) && !this.seen.has(word) && isContextual(word) && !alone.has(word)
    );
  }

  /** Words that were meant as one name go by it elsewhere. */
  private joinName(first: number, last: number, text: string): void {
    this.nameFrom(this.tokens[first]!, { ...this.spanOf(this.tokens[first]!, this.tokens[last]!), text });
  }

  /** `name` is what was meant by the name of the node that begins at `first`. */
  private nameFrom(first: IToken, name: Name): void {
    const node = this.node as Declaration | Step;
    if (node.name?.start === first.startOffset - this.base) node.name = name;
  }

  /** `part lid Top lid"`: whether a text begins at `stop` whose opening quote is missing. */
  private isTorn({ at, expected }: Stop, end: number): boolean {
    if (this.tokens[end - 1]!.tokenType !== OpenText || !/^\p{L}/u.test(this.tokens[at]!.image)) return false;
    const takesText = this.allowed.has('text') && !this.seen.has('text');
    if (!takesText && expected !== 'a text in double quotes') return false;
    for (let i = at + 1; i < end; i++) if (isQuoteBehind(this.tokens, i)) return true;
    return false;
  }

  private reportTorn({ at, expected }: Stop, end: number): void {
    this.forgetIssues(at, end);
    const token = this.tokens[at]!;
    const mend = 'the quote before the text is missing';
    this.tell(at, expected === '' ? whatFollows(this) : expected, shown(token), mend, atNextLine, `"${token.image}`);
  }

  /** Names on a statement whose effect cannot be told: the ledger leaves them alone. */
  private noteWords(node: Node, from: number, to: number, stopped: number): void {
    const statement = node as Statement;
    if (!isBlock(node.kind) && !isStatement(node.kind)) return;
    const { name, count } = statement;
    const understood =
      name !== undefined &&
      (count !== undefined ||
        stopped > this.indexOf(name.start + this.base) + 1 ||
        // `remove chain and bar`: the name ends there.
        /^(?:,|and|&)$/.test(this.tokens[stopped]?.image ?? '')) &&
      this.tokens[stopped]?.tokenType !== NumberToken;
    if (understood && statement.kind !== 'swap' && statement.kind !== 'transfer') return;
    statement.words = this.wordsBetween(from + 1, to);
    const first = this.onLine(from + 1);
    // `fit "Front gear"`
    if (first?.tokenType === Text) statement.words.push({ ...this.spanOf(first), text: slugOf(first.image) });
  }

  /** Names on a line behind what could be read of it. */
  protected noteLost(node: Node, lost: readonly Name[]): void {
    if (lost.length === 0) return;
    if (isDeclaration(node.kind) || node.kind === 'procedure') {
      for (const { text } of lost) this.chunk.lostWords.push(text);
    } else if (isStatement(node.kind)) {
      const statement = node as Statement;
      if (statement.words === undefined) statement.lost = [...(statement.lost ?? []), ...lost];
    }
  }

  protected wordsBetween(from: number, to: number): Name[] {
    const words: Name[] = [];
    for (let i = from; i < to; i++) {
      const token = this.tokens[i]!;
      // `ring 2` may stand for `ring-2`.
      if (/^\p{L}|^[0-9]+$/u.test(token.image)) words.push(this.nameAt(token));
    }
    return words;
  }
}

/** What to do about a clause that is none of the node's; where one other kind of declaration has it, which. */
function foreignTo(kind: string, word: string, found: string): string {
  const what = word === 'text' ? 'a text' : word === 'quantity' ? 'a bare quantity' : found;
  const kinds = isDeclaration(kind) ? declarationWords.filter((other) => propertiesOf[other].includes(word)) : [];
  const owner = word === 'quantity' || kinds.length !== 1 ? '' : ` but to \`${kinds[0]}\``;
  return `${what} does not belong to \`${kind}\`${owner}, take it out`;
}
const firstCounts = 'the first counts, take one of them out';
/** What to say of a clause that stands again. */
const twice: Readonly<Record<string, { expected: string; found: string; mend: string }>> = {
  text: { expected: 'one text', found: 'a second', mend: 'join the two' },
  xN: { expected: 'one count', found: 'a second', mend: firstCounts },
  quantity: { expected: 'one quantity', found: 'a second', mend: 'write both as one, in one unit' },
};
/** What to say where a rule stopped within one of these. */
const expectedIn: Readonly<Record<string, string>> = {
  codes: 'a code such as `DW-40`',
  codeStart: 'a code such as `DW-40`',
  propertyClass: 'a class such as `8.8`',
  threadName: 'a thread such as `M8x1.25` or `1/4-20`',
  order: '`star`, `spiral` or hole numbers',
  pointList: 'a point such as `(60, 0)`',
};

const lasting: ReadonlySet<string> = new Set(['chunk', 'start', 'end', 'kind', 'keyword', 'branches', 'statements']);
/** Takes from `node` what was read, so that it can be read again. */
function clear(node: Node): void {
  const fields = node as unknown as Record<string, unknown>;
  for (const field of fieldsOf(node)) {
    const value = fields[field];
    if (value === undefined || lasting.has(field)) continue;
    if (Array.isArray(value) && !(node instanceof Statement)) value.length = 0;
    else fields[field] = undefined;
  }
  if (node instanceof Statement || node instanceof Declaration) node.broken = false;
}
