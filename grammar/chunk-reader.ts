import type { IToken } from 'chevrotain';
import { strayMend } from './advice.ts';
import { BlockReader, endOfKind } from './block-reader.ts';
import { shown, shownText } from './chunk-tokens.ts';
import { clausesOf, headClauses, lackOf, needsText, propertiesOf, stepClauses } from './clauses.ts';
import {
  codeLike,
  hazards,
  isBlock,
  isBlockPart,
  isDeclaration,
  isNameless,
  isPhase,
  isStatement,
  isSwapForgotten,
  type Read,
} from './heads.ts';
import { timeInWords } from './led-meant.ts';
import { maxNesting, mostCodes } from './limits.ts';
import { applies, declarationFor, headFor, phaseFor, statementFor } from './meant.ts';
import { type Advice, isClauseWord, takeOut, write } from './mend.ts';
import { nearest } from './nearest.ts';
import { type Form, noClauses, rules } from './node-reader.ts';
import { hazardCalled } from './property-meant.ts';
import { inQuotes } from './prose-meant.ts';
import type { Chunk, Head, Name, PhaseLine, Use } from './syntax.ts';
import { Declaration, type Statement, Step } from './syntax.ts';
import { atNextLine, behindIt, isStatementOrDeclaration, textMend, trouble } from './token-troubles.ts';
import {
  type BlockWord,
  blockPartWords,
  blockWords,
  Comma,
  endOf,
  headWords,
  isNumber,
  isReserved,
  isUnit,
  keyword as k,
  OpenText,
  ReservedName,
  reservedWords,
  type StatementWord,
  Stray,
  setType,
  statementWords,
  Text,
  Word,
} from './tokens.ts';
import { unitOf } from './units.ts';
import { writeOneOf } from './wanted.ts';

const headForm: Form = {
  rule: rules.procedureHead,
  clauses: rules.headClauses,
  allowed: new Set(headClauses),
};
const useForm: Form = { rule: rules.useLine, allowed: noClauses };
const pathForm: Form = { ...useForm, rule: rules.usePath };
const stepForm: Form = {
  rule: rules.stepLine,
  clauses: rules.stepClauses,
  allowed: new Set(stepClauses),
};
const declarationForms = new Map<string, Form>(
  Object.entries(propertiesOf).map(([word, allowed]) => [
    word,
    { rule: rules.declarationLine, clauses: rules.properties, allowed: new Set(allowed) },
  ]),
);
/** What a property declares that one kind of thing alone has. */
const declaredBy = new Map<string, string>();
for (const [kind, properties] of Object.entries(propertiesOf))
  for (const property of properties) {
    const others = Object.values(propertiesOf).filter((each) => each.includes(property));
    if (others.length === 1) declaredBy.set(property, kind);
  }
const statementForms = new Map<string, Form>(
  Object.entries(clausesOf).map(([word, allowed]) => [
    word,
    { rule: ruleOf(word as StatementWord), clauses: rules.clauses, allowed: new Set(allowed) },
  ]),
);

/** Reads one chunk: its segments, each from one leading keyword to the next, and what stands between them. */
export class ChunkReader extends BlockReader {
  private readonly unwritten: Read['unwritten'];
  /** A merge left marks, and the first of its two sides is being read. */
  private inMerge = false;
  /** False where the mark at the end of a merge was looked for, and is not in the chunk. */
  private mergeEnds = true;
  /** The token at which reading goes on behind the second side of a merge. */
  private behindMerge = 0;

  constructor(text: string, chunk: Chunk, base: number, source: Read) {
    super(text, chunk, base, source);
    this.unwritten = source.unwritten;
  }

  read(first: number, last: number, firstHead: number, lastHead: number): void {
    rules.chunk = this.chunk;
    rules.base = this.base;
    rules.keeper = this;
    this.begin(last, firstHead, lastHead);
    this.reportTokens(first, last);
    const before = firstHead < lastHead ? this.heads[firstHead]! : last;
    if (before > first) this.unreadable(first, before);
    const endOfHead = (h: number): number => (h + 1 < lastHead ? this.heads[h + 1]! : last);
    for (let h = firstHead; h < lastHead; h++) {
      const from = this.heads[h]!;
      const next = endOfHead(h);
      if (from < this.behindMerge) {
        this.unreadable(this.behindMerge, next);
        continue;
      }
      this.proseFollows = false;
      this.reportSlip(from);
      if (this.isWaitFor(from, next)) {
        this.waitFor(from, endOfHead(++h));
        continue;
      }
      if (this.isCodesOfHead(from) && h + 1 === lastHead) {
        this.codesOfHead(from, next);
        continue;
      }
      if (this.wordOfHead(from, next)) continue;
      if (this.isKindOfEnd(from)) {
        this.tell(from, 'a statement', shown(this.tokens[from]!), '`end` stands alone, take it out', behindIt, '');
        if (from + 1 < next) this.unreadable(from + 1, next);
        continue;
      }
      this.proseFollows = h + 1 < lastHead && this.isProse(next);
      const told = this.chunk.issues.length;
      this.segment(from, next < last ? this.withoutMark(from, next) : next);
      if (this.behindMerge > next) continue;
      const behind = this.chunk.issues.length > told ? this.behindCondition(from, next) : next;
      if (behind > next) {
        while (h + 1 < lastHead && this.heads[h + 1]! < behind) h++;
        if (isStatement(this.tokens[from]!.image)) this.noteLostBetween(next, behind);
        this.forgetIssues(next, behind);
        if (behind < endOfHead(h)) this.unreadable(behind, endOfHead(h));
        continue;
      }
      if (this.proseFollows) this.reportProse(next);
      else if (this.chunk.issues.length === told || h + 1 === lastHead || !this.isInSentence(from, next)) continue;
      const line = this.nextLine(next, last);
      if (isStatement(this.tokens[from]!.image)) this.noteLostBetween(this.proseFollows ? next + 1 : next, line);
      this.forgetIssues(next + 1, line);
      while (h + 1 < lastHead && this.heads[h + 1]! < line) h++;
      const rest = endOfHead(h);
      if (line < rest) this.unreadable(line, rest);
    }
    this.closeBlocks(0, 'the step ends');
    this.leaveOutForgotten();
    const { issues } = this.chunk;
    if (issues.length > 1) issues.sort((a, b) => a.start - b.start);
  }

  /** Words on the line of a statement that belong to it, or to a block that was opened there as its word was forgotten. */
  private noteLostBetween(from: number, to: number): void {
    const words = this.wordsBetween(from, to);
    const statement = this.open.at(-1);
    if (statement !== undefined) this.noteLost(statement, words);
    else if (words.length > 0)
      this.open.push(this.unread(this.spanOf(this.tokens[from]!), endOf(this.tokens[to - 1]!) - this.base, words));
  }

  /** `if lip worn or cracked`, `check lip for cracks`: where the words end that were told of as a text, though some begin something elsewhere. */
  private behindCondition(from: number, next: number): number {
    const { end } = this.chunk.issues.at(-1)!;
    let behind = next;
    const { image } = this.tokens[from]!;
    if (image !== 'if' && !isNameless(image)) return next;
    while (behind < this.lastToken && this.tokens[behind]!.startOffset - this.base < end) behind++;
    return behind;
  }

  /** `remove shaft for inspection`, `fit lid for DWX` */
  private reportProse(at: number): void {
    // `inspect race, replace if worn`
    if (this.tokens[at - 1]?.tokenType === ReservedName && this.isTroubled(at - 1, at - 1)) return;
    const mayBeCode = codeOnly.test(this.onLine(at + 1)?.image ?? '') && !isUnit(this.onLine(at + 2));
    let last = at;
    while (this.onLine(last + 1) !== undefined) last++;
    // `for cleaning and inspection`: a phase begins there.
    const goesOn = last + 1 < this.tokens.length && !this.lineFirst(last + 1);
    const [, quoted] = (mayBeCode ? undefined : inQuotes(this, at, last)) ?? [];
    const mend = `words for the reader stand in quotes${mayBeCode ? ', what is for one code ends with `end`' : ''}`;
    const message = trouble('a text in double quotes', shown(this.tokens[at]!), mend, atNextLine);
    this.trouble(at);
    if (quoted !== undefined && !goesOn && this.joinProse(at, last, quoted)) return;
    this.issue(this.tokens[at]!, this.tokens[quoted === undefined ? at : last]!, message, goesOn ? undefined : quoted);
  }

  /** `heat race at 110 °C for 20 min`: what was told of right before, on the same line, is mended with the words from `at` on. */
  private joinProse(at: number, last: number, quoted: string): boolean {
    const slip = this.chunk.issues.at(-1);
    if (slip?.replacement === undefined || slip.replacement === '') return false;
    const { startOffset } = this.tokens[at]!;
    const between = this.text.slice(slip.end + this.base, startOffset);
    const said = `write \`${slip.replacement}\``;
    if (!/^(?: ?[0-9.]+ ?[\p{L}°·]+)? $/u.test(between) || !slip.message.includes(said)) return false;
    const written = slip.replacement + between + quoted;
    const end = endOf(this.tokens[last]!) - this.base;
    const message = slip.message.replace(said, `write ${shownText(written)}`);
    this.chunk.issues[this.chunk.issues.length - 1] = { ...slip, end, message, replacement: written };
    return true;
  }

  /** A word that is read as the keyword which it is near to, or as what stands behind one that was forgotten. */
  private reportSlip(at: number): void {
    const token = this.tokens[at]!;
    const { name } = token.tokenType;
    const unwritten = this.unwritten.get(at);
    if (unwritten !== undefined) {
      const mend = `write \`${unwritten}\` before it`;
      const meant = `${unwritten} ${token.image}`;
      this.tell(at, 'a declaration, phase or step', shown(token), mend, behindIt, meant);
      return;
    }
    if (name === token.image) return;
    const expected = isStatement(name) ? 'a statement' : 'a declaration, phase or step';
    this.tell(at, expected, shown(token), `perhaps \`${name}\` was meant`, behindIt, name);
  }

  // --- segments: from one leading keyword to the next -----------------------------------------------------------------

  private segment(from: number, to: number): void {
    const token = this.tokens[from]!;
    // The name of a keyword is the keyword itself, and one string for all.
    const unwritten = this.unwritten.get(from);
    const word = unwritten ?? token.tokenType.name;
    if (isStatement(word) || isBlock(word)) {
      this.statement(word, from, to);
      return;
    }
    if (isBlockPart(word)) {
      this.blockPart(from, to);
      return;
    }
    const keyword = this.spanOf(token);
    const place = { chunk: this.chunk, start: keyword.start, end: keyword.end, keyword };
    if (word === 'procedure') {
      const head: Head = { ...place, kind: 'procedure', codes: [] };
      this.chunk.item = rules.head = head;
      this.run(from, to, head, headForm);
      this.limitCodes(head);
    } else if (word === 'use') {
      const use: Use = { ...place, kind: 'use' };
      this.chunk.item = rules.use = use;
      this.run(from, to, use, unwritten === 'use' ? pathForm : useForm);
    } else if (word === 'step') {
      const step = new Step(this.chunk, keyword.start, keyword.end, keyword, []);
      this.chunk.item = rules.step = step;
      if (unwritten === 'step') {
        this.run(from + 1, to, step, { ...stepForm, rule: rules.stepClauses });
        step.name = this.nameAt(token);
      } else this.run(from, to, step, stepForm);
    } else if (isDeclaration(word)) {
      const declaration = new Declaration(keyword, word, [], [], []);
      this.chunk.item = rules.declaration = declaration;
      this.run(from, to, declaration, declarationForms.get(word)!);
      if (this.points !== undefined && word === 'pattern') declaration.pattern = this.points;
      declaration.broken ||= this.isLeftOpen(declaration, from);
      const isKnown = (hazard: Name): boolean => hazards.includes(hazard.text) && !this.isToldOf(hazard);
      if (!declaration.hazards.every(isKnown)) {
        const isUnknown = (hazard: Name): boolean => !isKnown(hazard) && this.toldAs(hazard) === undefined;
        const unknown = declaration.hazards.filter(isUnknown);
        const isOneSlip = unknown.length > 1 && this.reportHazards(declaration.hazards, unknown);
        declaration.hazards = declaration.hazards.flatMap((hazard) =>
          isKnown(hazard)
            ? [hazard]
            : (this.toldAs(hazard) ??
              (isOneSlip
                ? [{ ...hazard, text: hazardCalled(hazard.text) ?? hazard.text }]
                : [this.oneOf(hazards, hazard, 'a hazard', hazardCalled, tellOfIt)])),
        );
      }
      const { head } = declaration;
      if (head !== undefined && !headWords.includes(head.text))
        declaration.head = this.oneOf(headWords, head, 'the head of a bolt or nut', headFor);
    } else if (isPhase(word)) {
      const phase: PhaseLine = { ...place, kind: word };
      this.chunk.item = phase;
      this.phaseLine(from, to);
    }
  }

  private isToldOf({ start }: Name): boolean {
    const at = this.indexOf(start + this.base);
    return this.isTroubled(at, at);
  }

  /** What `word` was told to be with the words behind it, as in `hazard high pressure`, mostly one; itself where that is not known. */
  private toldAs(word: Name): Name[] | undefined {
    if (!this.isToldOf(word)) return undefined;
    const told = this.chunk.issues.find(({ start }) => start === word.start);
    return (told?.replacement ?? word.text).split(', ').map((text) => ({ ...word, text }));
  }

  /** Whether a text of the node without its closing quote may have taken in clauses or statements that stood behind it. */
  private isLeftOpen({ end }: Statement | Declaration, from: number): boolean {
    const isTakenIn = (word: string): boolean => this.allowed.has(word) || isReserved(word) || /[0-9]/.test(word);
    for (let i = from; (this.tokens[i]?.startOffset ?? Number.POSITIVE_INFINITY) - this.base < end; i++) {
      const { tokenType, image } = this.tokens[i]!;
      if (tokenType === OpenText && image.split(/[^\p{L}\p{N}-]+/u).some(isTakenIn)) return true;
    }
    return false;
  }

  /** The job is replayed and told code by code. */
  private limitCodes(head: Head): void {
    const beyond = head.codes[mostCodes];
    if (beyond === undefined) return;
    this.chunk.issues.push({
      ...beyond,
      message: `a procedure covers ${mostCodes} codes at most: split it; reading left out this code and those behind it`,
    });
    head.codes.length = mostCodes;
  }

  /** `for DW-40` right behind the head; the caller knows that no statement follows. */
  private isCodesOfHead(from: number): boolean {
    return (
      this.tokens[from]!.tokenType === k.for &&
      this.chunk.item?.kind === 'procedure' &&
      this.chunk.strayStep === undefined &&
      codeLike.test(this.tokens[from + 1]?.image ?? '')
    );
  }

  /** `apply to DW-40`, `measure metric` in the head. */
  private wordOfHead(from: number, to: number): boolean {
    const { item, strayStep } = this.chunk;
    const { tokenType } = this.tokens[from]!;
    // `measure: metric`
    const last = this.onLine(from + 1)?.image === ':' ? from + 1 : from;
    const behind = this.onLine(last + 1);
    if (item?.kind !== 'procedure' || strayStep !== undefined || behind === undefined) return false;
    const head = item;
    let next = last + 2;
    if (tokenType === k.measure && /^(?:metric|imperial)$/.test(behind.image)) {
      const message = trouble(
        'a clause of the head',
        this.shownFrom(from, last),
        'perhaps `measures` was meant',
        behindIt,
      );
      this.trouble(from).add(last);
      this.issue(this.tokens[from]!, this.tokens[last]!, message, 'measures');
      head.measures ??= this.nameAt(behind);
    } else if (tokenType === k.apply && behind.image === 'to' && this.onLine(next)?.image !== 'to') {
      this.tell(from, 'a clause of the head', '`apply`', 'perhaps `applies` was meant', behindIt, 'applies');
      for (; this.onLine(next)?.tokenType === Word; next += 2) {
        head.codes.push(this.nameAt(this.tokens[next]!));
        if (this.onLine(next + 1)?.tokenType !== Comma) break;
      }
      this.limitCodes(head);
      next = this.nextLine(from, to);
    } else return false;
    this.node = head;
    this.allowed = headForm.allowed;
    while (next < to) next = this.nextLines(from, next, to, head, headForm);
    return true;
  }

  /** Reads the codes behind `for` as those behind `applies to`, and the clauses of the head behind them. */
  private codesOfHead(from: number, to: number): void {
    const head = this.chunk.item as Head;
    this.tell(from, '`applies to`', '`for`', 'codes of the unit stand behind it', behindIt, 'applies to');
    const opening = { kind: 'for' } as Statement;
    rules.statement = opening;
    const end = this.nextLine(from, to);
    this.node = head;
    this.allowed = headForm.allowed;
    const stop = this.attempt(from, end, rules.blockOpening);
    head.codes.push(...(opening.codes ?? []));
    this.limitCodes(head);
    let next = stop?.at ?? end;
    if (stop !== undefined && !isClauseWord(this.tokens[next]!, headForm.allowed)) {
      for (const name of this.wordsBetween(next, end)) this.chunk.lostWords.push(name.text);
      next = end;
    }
    while (next < to) next = this.nextLines(from, next, to, head, headForm);
  }

  private phaseLine(from: number, to: number): void {
    const line = this.nextLine(from, to);
    if (line > from + 1) {
      const found = this.tokens[from + 1]!;
      const isColon = found.image === ':';
      if (!this.isTroubled(from + 1, line - 1))
        this.issue(
          found,
          found,
          trouble(
            'a step',
            shown(found),
            isColon ? takeOut[0] : found.tokenType === Stray ? strayMend : 'write `step` and its name',
            atNextLine,
          ),
          isColon ? '' : undefined,
        );
      for (const name of this.wordsBetween(from + 1, line)) this.chunk.lostWords.push(name.text);
    }
    if (line < to) this.unreadable(line, to);
  }

  /** `hazard heavy, sharp`: several of one list that are none are one slip. */
  private reportHazards(listed: readonly Name[], unknown: readonly Name[]): boolean {
    const [first, last] = [unknown[0]!, unknown.at(-1)!];
    const [from, to] = [this.indexOf(first.start + this.base), this.indexOf(last.start + this.base)];
    const isList =
      to - from < mostInList && this.tokens.slice(from + 1, to).every((token) => /^[\p{L},]/u.test(token.image));
    if (!isList || this.tokens.slice(from, to).some(({ tokenType }) => tokenType === k.hazard)) return false;
    const within = listed.filter(({ start }) => start >= first.start && start <= last.start);
    const meant = [...new Set(within.flatMap(({ text }) => hazardCalled(text) ?? []))].join(', ');
    const isAll = within.every(({ text }) => hazardCalled(text) !== undefined);
    const others = isAll ? '' : ', and tell of the others in a `caution`';
    const mend =
      meant === '' ? `${writeOneOf(hazards)}, or tell of them in a \`caution\`` : `write \`${meant}\`${others}`;
    const message = trouble('hazards', this.shownFrom(from, to), mend, behindIt);
    this.issue(this.tokens[from]!, this.tokens[to]!, message, meant === '' ? undefined : meant);
    return true;
  }

  /** Tells of a word that is none of `words`, and gives the one that it is near to. */
  private oneOf(
    words: readonly string[],
    word: Name,
    expected: string,
    meant: (image: string) => string | undefined,
    otherwise?: string,
  ): Name {
    const near = meant(word.text) ?? nearest(word.text, words);
    this.chunk.issues.push({
      ...word,
      message: trouble(
        expected,
        `\`${word.text}\``,
        near === undefined
          ? [writeOneOf(words), ...(otherwise === undefined ? [] : [otherwise])].join(', ')
          : `perhaps \`${near}\` was meant`,
        behindIt,
      ),
      ...(near === undefined ? {} : { replacement: near }),
    });
    return near === undefined ? word : { ...word, text: near };
  }

  /** `clauses` is where its clauses begin, where something stands between that does not belong there. */
  private statement(word: StatementWord | BlockWord, from: number, to: number, clauses?: number): void {
    const token = this.tokens[from]!;
    if (this.chunk.item?.kind !== 'step' && this.chunk.strayStep === undefined) {
      const isPhaseMeant = word === 'inspect' && to === from + 1 && this.tokens[to]?.tokenType === k.step;
      // A step below it then stands in a phase.
      if (isPhaseMeant) this.chunk.lostWords.push('inspection');
      const mend = isPhaseMeant
        ? 'perhaps the phase `inspection` was meant'
        : this.chunk.item?.kind === 'use'
          ? '`use` ended the step above, write `step NAME` above this line'
          : 'a statement stands in a step, write `step NAME` above it';
      // That it belongs below the line of the step is told where it is closed.
      const isAroundStep = isBlock(word) && to === this.lastToken && this.tokens[to]?.tokenType === k.step;
      // `use wrench` in a step: that it is no path is told of.
      const isTool = this.chunk.item?.kind === 'use' && this.chunk.item.path === undefined;
      if (!isAroundStep && !isTool && !this.chunk.issues.some(({ replacement }) => /^step\b/.test(replacement ?? '')))
        this.tell(from, 'a step', shown(token), mend, 'with it');
    }
    const keyword = this.spanOf(token);
    const statement = this.begun(keyword, word);
    this.open.push(statement);
    if (isBlock(word)) {
      this.blockOpening(statement, from, to);
      return;
    }
    rules.statement = statement;
    const form = statementForms.get(word)!;
    if ((word === 'fill' || word === 'drain') && this.quantityFirst(statement, from, to, form)) return;
    if (clauses === undefined && this.isNameForgotten(word, from)) {
      this.statementUnnamed(statement, from, to, form);
      return;
    }
    if (clauses === undefined) this.run(from, to, statement, form);
    else {
      this.run(clauses, to, statement, { ...form, rule: rules.clauses });
      statement.broken = true;
    }
    // What stands behind it is no part.
    if (statement.together !== undefined && !form.allowed.has('with')) {
      this.noteLost(
        statement,
        statement.together.map(({ name }) => name),
      );
      statement.together = undefined;
    }
    const { stages, angle, to: torque } = statement;
    // `to 10 N·m, then 25 N·m` was told of as stages.
    const isTold = this.chunk.issues.at(-1)?.replacement?.startsWith('in stages') === true;
    if (isTold && stages === undefined && torque !== undefined && angle?.inUnit?.kind === 'torque') {
      statement.stages = [torque, angle];
      statement.to = undefined;
      statement.angle = undefined;
    }
    if (stages !== undefined && statement.to === undefined && angle?.inUnit?.kind === 'torque') {
      const then = this.indexOf(angle.start + this.base) - 1;
      this.tell(then, '`,`', '`then`', 'stages are parted by commas', behindIt, ',');
      stages.push(angle);
      statement.angle = undefined;
      statement.broken = true;
    }
    statement.broken ||= this.proseFollows || this.isLeftOpen(statement, from);
    if (statement.broken) return;
    const missing = lackOf(statement);
    if (missing === undefined) return;
    statement.broken = true;
    this.chunk.issues.push({
      ...keyword,
      message: trouble(missing, 'none', `\`${word}\` needs it`, 'at the next statement'),
    });
  }

  /** The words behind the statement being read begin no alternatives. */
  private proseFollows = false;

  /**
   * `inspect shaft for wear`, `check if it turns`: what would open a block, behind a statement on its line, where there are
   * more of these than are closed.
   */
  private isProse(at: number): boolean {
    const { tokenType } = this.tokens[at]!;
    // `check end float`
    if (tokenType === k.end && !this.lineFirst(at)) {
      const { tokenType: before } = this.tokens[at - 1]!;
      return isNameless(before.name) && this.onLine(at + 1)?.tokenType === Word;
    }
    if ((tokenType !== k.for && tokenType !== k.if) || this.lineFirst(at)) return false;
    if (this.isKindOfEnd(at)) return false;
    const behind = this.tokens[at + 1];
    if (tokenType === k.if ? behind?.tokenType === Text : codeLike.test(behind?.image ?? '')) return false;
    // `for dw-x clean cover`
    let list = at + 2;
    while (this.tokens[list]?.tokenType === Comma) list += 2;
    const act = this.onLine(list);
    if (
      tokenType === k.for &&
      act !== undefined &&
      isStatementOrDeclaration(act) &&
      this.onLine(list + 1)?.tokenType === Word
    )
      return false;
    return this.openBlocks() > 0;
  }

  /**
   * `fill oil to the mark`: behind a trouble on its line, a word that stands behind an article, or has no name behind it,
   * begins no statement.
   */
  private isInSentence(from: number, at: number): boolean {
    const { image } = this.tokens[at]!;
    const word = this.tokens[from]!.image;
    if (this.lineFirst(at)) return false;
    let line = at - 1;
    while (line > from && !this.lineFirst(line)) line--;
    // `// fit it later`
    if (this.isComment(line)) return true;
    if (!isStatement(word) || !isStatement(image)) return false;
    // `do not fit it yet`
    if (needsText.has(word) && this.open.at(-1)?.text === undefined && line === from) return true;
    return (
      /^(?:an?|the)$/i.test(this.tokens[at - 1]!.image) || (!isNameless(image) && this.onLine(at + 1) === undefined)
    );
  }

  /** `//`, `--` or `/*` at the begin of a line */
  private isComment(i: number): boolean {
    return /^(?:\/\/|--|\/\*)/.test(this.text.slice(this.tokens[i]!.startOffset, this.tokens[i]!.startOffset + 2));
  }

  /** A line that version control leaves where two versions differ: seven of a sign, at its very begin. */
  private isMergeMark(i: number): boolean {
    const start = this.tokens[i]!.startOffset;
    return /^(?:^|[\r\n])([<=>|])\1{6}(?!\1)/.test(this.text.slice(Math.max(0, start - 1), start + 8));
  }

  /** Leaves out the second side of a merge, whose mark stands at `at`, in a step; where reading goes on. */
  private leaveOtherSide(at: number): number | undefined {
    const last = this.lastToken;
    const isMark = (i: number, sign: string): boolean => this.tokens[i]!.image === sign && this.isMergeMark(i);
    if (isMark(at, '<')) this.inMerge = this.mergeEnds;
    if (!this.inMerge || !(isMark(at, '=') || isMark(at, '|'))) return undefined;
    let end = this.nextLine(at, last);
    while (end < last && !isMark(end, '>')) end = this.nextLine(end, last);
    this.inMerge = false;
    if (end >= last) {
      this.mergeEnds = false;
      return undefined;
    }
    this.forgetIssues(at, end);
    const token = this.tokens[at]!;
    const keyword = this.spanOf(token);
    const words = this.wordsBetween(at, end);
    this.open.push(this.unread(keyword, endOf(this.tokens[end - 1]!) - this.base, words));
    this.tell(at, 'a statement', shown(token), mergeMend, 'at `>>>>>>>`');
    this.behindMerge = end;
    return end;
  }

  /** `wait for 20 min`: the `for` opens no block of one code. */
  private isWaitFor(from: number, next: number): boolean {
    return (
      next === from + 1 &&
      this.tokens[from]!.tokenType === k.wait &&
      this.tokens[next]?.tokenType === k.for &&
      !this.lineFirst(next) &&
      (isNumber(this.tokens[next + 1]) || timeInWords(this, next + 1) !== undefined)
    );
  }

  /** Where the segment ends without the number or dash that stands before the word of the next: `1. remove bolt`. */
  private withoutMark(from: number, next: number): number {
    const mark = next - 1;
    const sign = this.tokens[mark]!;
    const isBracket = sign.image === ')';
    if (mark === from || (sign.tokenType !== Stray && !isBracket) || this.lineFirst(next)) return next;
    const before = this.tokens[mark - 1];
    const isNumbered =
      ((sign.image === '.' || isBracket) && isNumber(before)) || (isBracket && /^[a-z]$/i.test(before?.image ?? ''));
    const first = isNumbered ? mark - 1 : mark;
    // `( 0 N·m` and `)` on the line below
    for (let i = first - 1; isBracket && i > from; i--) {
      if (this.tokens[i]!.tokenType.name === 'CloseBracket') break;
      if (this.tokens[i]!.tokenType.name === 'OpenBracket') return next;
    }
    if (first === from || !this.lineFirst(first) || !(isNumbered || /^[-.*•–]$/.test(sign.image))) return next;
    const mend = `${first < mark ? 'lines have no numbers, ' : ''}take it out`;
    const token = this.tokens[first]!;
    this.issue(token, sign, trouble('a statement', shown(token), mend, behindIt), '');
    return first;
  }

  /** `fill 1.8 L oil`, `drain 1.8 L of oil`, `fill with 1.8 L of oil` */
  private quantityFirst(statement: Statement, from: number, to: number, form: Form): boolean {
    const number = this.behindFillers(from + 1);
    const unit = this.endOfQuantity(number);
    if (unit === undefined || !isUnit(this.onLine(unit))) return false;
    const last = this.behindFillers(unit + 1);
    const name = this.onLine(last);
    let next = last + 1;
    if (name?.tokenType !== Word || (next < to && this.onLine(next) && !isClauseWord(this.tokens[next]!, form.allowed)))
      return false;
    const first = this.tokens[from + 1]!;
    const meant = `${name.image} ${this.written(number, unit)}`;
    if (!this.isTroubled(from + 1, last))
      this.issue(
        first,
        name,
        trouble(
          'a name',
          shown(first),
          `write ${this.shownFrom(number, unit, `${statement.kind} ${name.image} `)}`,
          behindIt,
        ),
        meant,
      );
    statement.broken = true;
    statement.words = this.wordsBetween(from + 1, next);
    statement.end = endOf(name) - this.base;
    this.node = statement;
    this.allowed = form.allowed;
    this.seen.clear();
    while (next < to) next = this.nextLines(from, next, to, statement, form);
    return true;
  }

  private waitFor(from: number, to: number): void {
    const inWords = timeInWords(this, from + 2);
    const meant: Advice = inWords === undefined ? takeOut : [...write(inWords.written), inWords.last];
    const [mend, replacement, last = from + 1] = this.withUnit(meant, from + 1);
    for (let i = from + 1; i <= (inWords?.last ?? from + 1); i++) this.trouble(i);
    const message = trouble('a time such as `60 min`', '`for`', mend, behindIt);
    this.issue(this.tokens[from + 1]!, this.tokens[last]!, message, replacement);
    this.statement('wait', from, to, from + 2);
  }

  /** `tighten to 25 N·m`, `heat to 90 °C` */
  private isNameForgotten(word: StatementWord, from: number): boolean {
    return (
      (word === 'tighten' || word === 'heat' || word === 'cool') &&
      this.onLine(from + 1)?.image === 'to' &&
      isNumber(this.onLine(from + 2))
    );
  }

  private statementUnnamed(statement: Statement, from: number, to: number, form: Form): void {
    this.tell(from + 1, 'a name', 'the word `to`', 'name the part before it', behindIt);
    this.run(from + 1, to, statement, { ...form, rule: rules.clauses });
    statement.broken = true;
    // `fit bolt and tighten to 25 N·m`: that a statement of its own belongs there is told already.
    if (!this.lineFirst(from) && this.tokens[from - 1]!.image === 'and') this.forgetIssues(from + 1, from + 2);
  }

  /** What a line of a step may begin with: what parts or closes a block only where one lacks it. */
  private wordsHere(at: number): readonly string[] {
    const block = this.blocks.at(-1);
    const parts = blockPartWords.filter((word) =>
      word === 'end'
        ? this.endsMissing(at) > 0 && !(block !== undefined && this.isPartedBelow(at))
        : block?.kind === (word === 'or' ? 'either' : 'if') && !(word === 'else' && this.isPartedBelow(at)),
    );
    return [...wordsOfStep, ...parts];
  }

  /** Lines that begin with no known word: each is one unknown statement. */
  protected override unreadable(from: number, to: number, reason?: string): void {
    for (let i = Math.max(from, this.behindMerge); i < to; ) {
      const next = this.nextLine(i, to);
      const token = this.tokens[i]!;
      const last = this.tokens[next - 1]!;
      const words = this.wordsBetween(i, next);
      const inStep = this.chunk.item?.kind === 'step' || this.chunk.strayStep !== undefined;
      const behind = inStep && token.tokenType === Stray ? this.leaveOtherSide(i) : undefined;
      if (behind !== undefined) {
        i = behind;
        continue;
      }
      // `1. step open`, `1.1 step open`; the formatter puts the number on a line of its own.
      if (isNumber(token) && (next === i + 1 || (next === i + 2 && /^[.)]$/.test(last.image)))) {
        const expected = inStep ? 'a statement' : 'a declaration, phase or step';
        this.issue(token, last, trouble(expected, shown(token), 'lines have no numbers, take it out', behindIt), '');
        i = next;
        continue;
      }
      const part = this.blockPartMeant(i, next);
      if (part !== undefined) {
        const isForgotten = token.tokenType === Text;
        const mend = isForgotten
          ? `write \`${part}\` before it`
          : endOfKind.test(token.image)
            ? 'write `end`'
            : `perhaps \`${part}\` was meant`;
        const written = isForgotten ? `${part} ${token.image}` : part;
        this.issue(token, token, trouble('a statement', shown(token), mend, behindIt), written);
        this.blockPart(i, next, part);
        i = next;
        continue;
      }
      const forgotten = inStep ? this.blockForgotten(i, next) : undefined;
      if (forgotten !== undefined) {
        this.openForgotten(forgotten, i, next);
        i = next;
        continue;
      }
      if (inStep && this.isWaitForgotten(i, next)) {
        this.tell(i, 'a statement', shown(token), 'write `wait` before it', behindIt, `wait ${token.image}`);
        this.statement('wait', i, next, i);
        i = next;
        continue;
      }
      const opened = inStep ? this.blockMeant(i, next) : undefined;
      if (opened !== undefined && this.blocks.length < maxNesting && this.endsMissing(i) < 0) {
        this.tell(i, 'a statement', shown(token), `perhaps \`${opened}\` was meant`, behindIt, opened);
        setType(token, k[opened]);
        this.statement(opened, i, next);
        i = next;
        continue;
      }
      if (inStep) {
        this.open.push(this.unread(this.spanOf(token), endOf(last) - this.base, words));
      } else for (const word of words) this.chunk.lostWords.push(word.text);
      if (i === from && reason !== undefined) this.issue(token, token, reason);
      else if (!this.isTroubled(i, next - 1)) {
        const other =
          (inStep ? (token.image === 'new' ? 'fit new' : statementFor(token.image)) : undefined) ??
          opened ??
          (next === i + 1 ? phaseFor(token.image) : undefined);
        const lead = this.wordForgotten(i, next, inStep);
        if (lead === 'measure') this.chunk.lostWords.push(token.image);
        const leads = /^(?:also|and|finally|next|now|then)$/i.test(token.image);
        const joined = `${token.image}${last.image}`.toLowerCase();
        const isSplit = next === i + 2 && isPhase(joined);
        const byHand = inStep ? this.handTightened(i) : undefined;
        const told: readonly [string, string, IToken?] | undefined =
          byHand !== undefined
            ? [`write \`${byHand[0]}\``, byHand[0], byHand[1]]
            : lead !== undefined
              ? [`write \`${lead}\` before it`, `${lead} ${token.image}`]
              : leads && next === i + 1
                ? ['take it out', '']
                : isSplit
                  ? [`perhaps \`${joined}\` was meant`, joined, last]
                  : this.isComment(i) && token.image !== '-'
                    ? ['a comment begins with `#`', '#', this.tokens[i + 1]!]
                    : inStep && token.image === 'hazard'
                      ? this.warningMeant(i)
                      : undefined;
        if (told !== undefined) {
          const expected = inStep ? 'a statement' : 'a declaration, phase or step';
          const where = leads ? behindIt : atNextLine;
          this.issue(token, told[2] ?? token, trouble(expected, shown(token), told[0], where), told[1]);
          i = next;
          continue;
        }
        const headFollows = !inStep && next < to && headClauses.includes(this.tokens[next]!.image);
        if (headFollows && token.tokenType === Word && this.onLine(i + 1)?.tokenType === Text) {
          const mend = 'write `procedure` before it';
          this.tell(i, 'a declaration, phase or step', shown(token), mend, atNextLine, `procedure ${token.image}`);
          i = this.behindHead(next, to);
          continue;
        }
        if (this.isOfHead(i)) {
          const expected = inStep ? 'a statement' : 'a declaration, phase or step';
          this.tell(i, expected, shown(token), 'it stands below a line `procedure NAME`', atNextLine);
          i = this.behindHead(next, to);
          continue;
        }
        const follows = inStep ? undefined : this.onLine(i + 1)?.tokenType;
        const isUnits = /^units?$/i.test(token.image) && /^(?:metric|imperial)$/.test(this.onLine(i + 1)?.image ?? '');
        const isElseIf = inStep && /^(?:else-?if|els?if)$/i.test(token.image);
        const near = isElseIf
          ? undefined
          : (other ??
            (isUnits && !inStep ? 'measures' : undefined) ??
            (follows === Word || follows === Text ? declarationFor(token.image) : undefined) ??
            (token.tokenType === Word && !isReserved(token.image)
              ? nearest(token.image, inStep ? this.wordsHere(i) : reservedWords)
              : undefined));
        this.issue(
          token,
          token,
          trouble(
            inStep ? 'a statement' : 'a declaration, phase or step',
            shown(token),
            near !== undefined
              ? `perhaps \`${near}\` was meant${near === opened ? ', with an `end` below' : ''}`
              : inStep && applies.has(token.image.toLowerCase()) && this.onLine(i + 1)?.tokenType === Word
                ? `write \`apply SUPPLY to ${this.tokens[i + 1]!.image}\``
                : this.isMergeMark(i)
                  ? mergeMend
                  : isElseIf
                    ? 'write `else`, below it `if`, and one `end` more'
                    : inStep && token.tokenType === Text
                      ? textMend
                      : !inStep && this.isInHead(token)
                        ? 'the head says no such thing, write it in a comment behind `#`'
                        : 'the line is left out',
            atNextLine,
          ),
          near === opened ? undefined : near,
        );
        i = near === 'procedure' ? this.behindHead(next, to) : next;
        continue;
      }
      i = next;
    }
  }

  /** True of a word on an indented line below that of `procedure`. */
  private isInHead({ startOffset, tokenType }: IToken): boolean {
    const { item, strayStep } = this.chunk;
    const isIndented = /[ \t]/.test(this.text[startOffset - 1] ?? '');
    return item?.kind === 'procedure' && strayStep === undefined && tokenType === Word && isIndented;
  }

  /** `hand tighten nut`, `hand-tighten nut`: how that is written, and the last token that it stands for. */
  private handTightened(at: number): [string, IToken] | undefined {
    const { image } = this.tokens[at]!;
    const isOne = /^(?:hand|finger)-?tighten$/i.test(image);
    if (!isOne && !(/^(?:hand|finger)$/i.test(image) && this.onLine(at + 1)?.tokenType === k.tighten)) return undefined;
    const name = this.onLine(this.behindFillers(isOne ? at + 1 : at + 2));
    return name?.tokenType === Word ? [`tighten ${name.image} by hand`, name] : undefined;
  }

  /** Which word a line lacks that goes on as behind no other: `a for b`, `play limit 0.1..0.2 mm`, `lid held by bolt`. */
  private wordForgotten(from: number, to: number, inStep: boolean): string | undefined {
    const { image, tokenType } = this.tokens[from]!;
    const behind = this.onLine(from + 1)?.tokenType;
    if (inStep) {
      if (tokenType !== Word) return undefined;
      if (isSwapForgotten(this.text, this.tokens, from)) return 'swap';
      const isLimit = behind === k.limit || behind === k.max || behind === k.min;
      return isLimit && isNumber(this.onLine(from + 2)) ? 'measure' : undefined;
    }
    const { item, strayStep } = this.chunk;
    if (item?.kind === 'procedure' && strayStep === undefined) {
      if (image === 'to' && codeLike.test(this.onLine(from + 1)?.image ?? '')) return 'applies';
      if (image === 'plate' && behind === Text) return 'code';
      if (/^(?:metric|imperial)$/.test(image) && to === from + 1) return 'measures';
    }
    if (tokenType !== Word || nearest(image, reservedWords) !== undefined) return undefined;
    for (let i = from + 1; i < to; i++) {
      const { image, tokenType } = this.tokens[i]!;
      const declared = tokenType.name === image ? declaredBy.get(image) : undefined;
      if (declared !== undefined) return declared;
    }
    const isBelowPhase = isPhase(item?.kind ?? '') && strayStep === undefined;
    if (!isBelowPhase || behind !== Text || to !== from + 2 || to >= this.lastToken) return undefined;
    return isStatement(this.tokens[to]!.tokenType.name) ? 'step' : undefined;
  }

  /** `applies to DW-40`, `code plate "…"`, `measures metric` */
  private isOfHead(at: number): boolean {
    const behind = this.onLine(at + 1)?.tokenType;
    const { tokenType } = this.tokens[at]!;
    return (
      (tokenType === k.applies && behind === k.to) ||
      (tokenType === k.code && behind === k.plate) ||
      (tokenType === k.measures && (behind === k.metric || behind === k.imperial))
    );
  }

  /** `hazard stored energy`, `hazard "Hot surface"` in a step */
  private warningMeant(at: number): readonly [string, string, IToken?] | undefined {
    const next = this.onLine(at + 1);
    if (next === undefined) return undefined;
    if (next.tokenType === Text) return ['write `warning`', 'warning'];
    let last = at + 1;
    while (this.onLine(last + 1) !== undefined) last++;
    const words = this.written(at + 1, last);
    if (!/^[\p{L}\d ,-]+$/u.test(words)) return undefined;
    const warning = `warning "${words[0]!.toUpperCase()}${words.slice(1)}"`;
    const declared = 'a hazard is declared with the part or supply that has it';
    return [`${declared}, for a reader write ${shownText(warning)}`, warning, this.tokens[last]!];
  }

  /** `60 min "Sealant cures"` */
  private isWaitForgotten(from: number, to: number): boolean {
    return (
      isNumber(this.tokens[from]) &&
      unitOf(this.onLine(from + 1)?.image ?? '')?.kind === 'time' &&
      (to === from + 2 || (to === from + 3 && this.tokens[from + 2]!.tokenType === Text))
    );
  }

  /** The line behind those from `first` on that go with a head which was not read. */
  private behindHead(first: number, to: number): number {
    let line = first;
    while (line < to && headClauses.includes(this.tokens[line]!.image)) {
      const end = this.nextLine(line, to);
      for (const word of this.wordsBetween(line, end)) this.chunk.lostWords.push(word.text);
      line = end;
    }
    return line;
  }
}

const tellOfIt = 'or tell of it in a `caution`';
/** A list of hazards that is written anew has no more words and commas. */
const mostInList = 40;
const wordsOfStep = [...statementWords, ...blockWords, 'step'];
const mergeMend = 'a merge left this mark, keep one of its two sides and take its marks out';
/** What may be a code, or an abbreviation. */
const codeOnly = /^[\p{Lu}\p{N}-]{2,}$/u;

function ruleOf(word: StatementWord): () => void {
  switch (word) {
    case 'fit':
      return rules.fitStatement;
    case 'swap':
      return rules.swapStatement;
    case 'transfer':
      return rules.transferStatement;
    case 'try':
      return rules.tryStatement;
    case 'apply':
      return rules.applyStatement;
    case 'shim':
      return rules.shimStatement;
    case 'drain':
    case 'fill':
    case 'measure':
      return rules.namedStatement;
    default:
      return isNameless(word) ? rules.bareStatement : rules.partStatement;
  }
}
