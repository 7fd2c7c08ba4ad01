import { lineEndingOf } from '../../../grammar/printer.ts';
import {
  type Chunk,
  offsetsOf,
  type Span,
  type Statement,
  type Step,
  type SyntaxTree,
  walk,
} from '../../../grammar/syntax.ts';
import type { PhaseWord } from '../../../grammar/tokens.ts';
import { stateBefore, type Variant } from '../ledger/ledger.ts';
import type { PartState } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import { isOwn, type Model, type StepEntry } from '../model/model.ts';
import { isSafety } from '../model/statements.ts';
import type { Insertion } from './draft-text.ts';

/** Where statements can be inserted: inside a step of the reassembly, or, in steps of their own, between two. */
export interface Slot {
  /** Slots and units count together, in the order of the text. */
  readonly place: number;
  /** The step that it lies in; absent between steps. */
  readonly inside: StepEntry | undefined;
  /** Of the first step behind a slot that lies between steps. */
  readonly nextStep: number;
  /** Codes of the `for` that it lies in. */
  readonly codes: readonly string[] | undefined;
  /** What it stands behind: a statement, or the line that opens its step or block; nothing in a step without a line. */
  readonly behind: { readonly span: Span; readonly statement: boolean } | undefined;
  /** A safety message follows in the step: what is inserted here would come between. */
  readonly splits: boolean;
  /** Nothing but safety messages stands before it, back to the last work, and nothing behind it in the step. */
  readonly unheeded: boolean;
}

/** A statement of the reassembly, or a block of alternatives as a whole; a `for` is opened. */
export interface Unit {
  readonly place: number;
  readonly statement: Statement;
  readonly step: StepEntry;
}

export interface NewStep {
  readonly name: string;
  readonly title: string;
  readonly takes: string | undefined;
  readonly lines: readonly string[];
}

/** The reassembly as a row of statements with slots between them. */
export class Layout {
  readonly model: Model;
  readonly steps: readonly StepEntry[];
  readonly slots: readonly Slot[];
  readonly units: readonly Unit[];
  readonly end: number;
  private readonly places = new Map<Statement, number>();
  private readonly unitsByPlace: ReadonlyMap<number, Unit>;
  private readonly boundaries = new Map<Variant, Int32Array>();
  private readonly eol: string;

  constructor(model: Model) {
    this.model = model;
    this.eol = lineEndingOf(model.tree.text);
    this.steps = model.steps.filter((entry) => entry.phase === 'reassembly');
    const slots: Slot[] = [];
    const units: Unit[] = [];
    let place = 0;
    const between = (nextStep: number): void => {
      slots.push({
        place: place++,
        inside: undefined,
        nextStep,
        codes: undefined,
        behind: undefined,
        splits: false,
        unheeded: false,
      });
    };
    this.steps.forEach((entry, i) => {
      const { step } = entry;
      if (!isOwn(model, entry)) {
        // Nothing is written into a shared file, nor between steps that one `use` takes in.
        const before = this.steps[i - 1];
        if (before === undefined || this.chunkOf(before) !== this.chunkOf(entry)) between(i);
        for (const statement of step.statements) {
          units.push({ place, statement, step: entry });
          for (const each of walk([statement])) this.places.set(each, place);
          place++;
        }
        return;
      }
      // Before statements that stand in no step, a new one would take them in.
      if (step.keyword !== undefined) between(i);
      const flat = walk(step.statements).filter((statement) => statement.branches === undefined);
      const lastWork = flat.findLastIndex((statement) => !isSafety(statement));
      const unheeded = new Set(flat.slice(lastWork + 1));
      const run = (
        statements: readonly Statement[],
        opening: Span | undefined,
        codes: readonly string[] | undefined,
      ) => {
        const slot = (at: number): void => {
          const before = statements[at - 1];
          const next = statements[at];
          const span = before ?? opening;
          slots.push({
            place: place++,
            inside: entry,
            nextStep: i + 1,
            codes,
            behind: span === undefined ? undefined : { span, statement: before !== undefined },
            splits: span === undefined || (next !== undefined && isSafety(next)),
            unheeded: next === undefined && (codes === undefined ? unheeded.size > 0 : unheeded.has(before!)),
          });
        };
        for (const [at, statement] of statements.entries()) {
          slot(at);
          if (statement.kind === 'for' && statement.branches?.length === 1) {
            const [branch] = statement.branches;
            const header = { ...branch!.keyword, end: statement.codes?.at(-1)?.end ?? branch!.keyword.end };
            // Within a `for` inside a `for` nothing is inserted: no statement's codes are none.
            const inner = codes === undefined ? (statement.codes ?? []).map((code) => code.text) : [];
            run(branch!.statements, header, inner);
            this.places.set(statement, place);
            continue;
          }
          units.push({ place, statement, step: entry });
          for (const each of walk([statement])) this.places.set(each, place);
          place++;
        }
        slot(statements.length);
      };
      run(step.statements, headerOf(step), undefined);
    });
    between(this.steps.length);
    this.slots = slots;
    this.units = units;
    this.unitsByPlace = new Map(units.map((unit) => [unit.place, unit]));
    this.end = place;
  }

  /** The chunk of this file that a step stands in, or comes in by. */
  private chunkOf({ step: { chunk } }: StepEntry): Chunk {
    return this.model.takenIn.get(chunk)?.chunk ?? chunk;
  }

  /** Of the unit that holds `statement`; nothing outside the reassembly. */
  placeOf(statement: Statement): number | undefined {
    return this.places.get(statement);
  }

  unitAt(place: number): Unit | undefined {
    return this.unitsByPlace.get(place);
  }

  /** Units that hold a statement about `name`, in their order. */
  unitsAbout(name: string): readonly Unit[] {
    if (this.knownAbout === undefined) {
      this.knownAbout = new Map();
      for (const unit of this.units)
        for (const about of new Set(walk([unit.statement]).map((each) => each.name?.text ?? ''))) {
          addTo(this.knownAbout, about, unit);
        }
    }
    return this.knownAbout.get(name) ?? [];
  }
  private knownAbout: Map<string, Unit[]> | undefined;

  stateAt(variant: Variant, part: string, place: number): PartState | undefined {
    return stateBefore(variant, part, this.boundariesOf(variant)[Math.min(place, this.end)]!);
  }

  /** For each place, the index of the first entry behind it. */
  private boundariesOf(variant: Variant): Int32Array {
    let found = this.boundaries.get(variant);
    if (found !== undefined) return found;
    found = new Int32Array(this.end + 1);
    const { entries } = variant;
    const own = entries.flatMap(({ step, statement }, index) =>
      step.phase === 'reassembly' ? [{ statement, index }] : [],
    );
    const proving = entries.findIndex((entry) => entry.step.phase === 'proving');
    const last = own.at(-1)?.index;
    let next = last !== undefined ? last + 1 : proving < 0 ? entries.length : proving;
    let at = own.length - 1;
    for (let place = this.end; place >= 0; place--) {
      for (; at >= 0 && (this.places.get(own[at]!.statement) ?? -1) > place; at--) next = own[at]!.index;
      found[place] = next;
    }
    this.boundaries.set(variant, found);
    return found;
  }

  // --- text -----------------------------------------------------------------------------------------------------------

  /** `lines` as statements at a slot inside a step. */
  inside(slot: Slot, lines: readonly string[]): Insertion {
    const { span, statement } = slot.behind!;
    return insertBehind(this.model.tree, span, statement, lines, this.eol);
  }

  /** Steps of their own at a slot between steps; the phase is opened where there is none. */
  between(slot: Slot, steps: readonly NewStep[]): Insertion {
    const { eol } = this;
    const body = steps
      .map(({ name, title, takes, lines }) =>
        [
          `  step ${name} ${quoted(title)}${takes === undefined ? '' : ` takes ${takes}`}`,
          ...lines.map((line) => `    ${line}`),
        ].join(eol),
      )
      .join(eol + eol);
    return this.betweenSteps(slot, body);
  }

  /** A `use` at a slot between steps. */
  taking(slot: Slot, path: string): Insertion {
    return this.betweenSteps(slot, `  use ${quoted(path)}`);
  }

  /** A `use` ahead of all steps for proving, which is opened where there is none. */
  takingToProve(path: string): Insertion {
    const { chunks } = this.model.tree;
    const proving = this.model.phases.find((line) => line.kind === 'proving');
    const next = proving === undefined ? chunks.length : chunks.indexOf(proving.chunk) + 1;
    return this.atChunk(
      next,
      proving !== undefined,
      proving === undefined ? 'proving' : undefined,
      `  use ${quoted(path)}`,
    );
  }

  private betweenSteps(slot: Slot, body: string): Insertion {
    const { tree } = this.model;
    const phase = this.model.phases.find((line) => line.kind === 'reassembly');
    const before = this.steps[slot.nextStep - 1];
    const anchor = before === undefined ? phase?.chunk : this.chunkOf(before);
    const proving = this.model.phases.find((line) => line.kind === 'proving');
    const next =
      this.steps[slot.nextStep] !== undefined
        ? tree.chunks.indexOf(this.chunkOf(this.steps[slot.nextStep]!))
        : anchor !== undefined
          ? tree.chunks.indexOf(anchor) + 1
          : proving === undefined
            ? tree.chunks.length
            : tree.chunks.indexOf(proving.chunk);
    const behindPhase = anchor !== undefined && anchor === phase?.chunk && anchor.strayStep === undefined;
    return this.atChunk(next, behindPhase, anchor === undefined ? 'reassembly' : undefined, body);
  }

  /** `body` ahead of the chunk at `next`, a blank line before it unless it stands `behindPhase`; the phase `opened` above it. */
  private atChunk(next: number, behindPhase: boolean, opened: PhaseWord | undefined, body: string): Insertion {
    const { tree } = this.model;
    const { eol } = this;
    const at = tree.starts[next] ?? endOfContent(tree.text);
    const startsLine = at === 0 || /[\r\n]/.test(tree.text[at - 1]!);
    const rest = tree.text.slice(at);
    // One blank line is enough behind it, and none at the end of the file.
    const extra = rest.trim() === '' ? rest : /^(?:[^\S\r\n]*(?:\r\n|\n|\r)(?=[^\S\r\n]*[\r\n]))*/.exec(rest)![0];
    return {
      at,
      blanks: extra.length,
      text: [
        startsLine ? '' : eol,
        behindPhase || at === 0 ? '' : eol,
        opened === undefined ? '' : opened + eol,
        body,
        eol,
        next === tree.chunks.length || /^[^\S\r\n]*[\r\n]/.test(rest) ? '' : eol,
      ].join(''),
    };
  }

  private get standingAbove(): ReadonlyMap<Statement, Above> {
    if (this.knownAbove === undefined) {
      this.knownAbove = new Map();
      for (const { step } of this.model.steps) notePlaces(step.statements, headerOf(step), this.knownAbove);
    }
    return this.knownAbove;
  }
  private knownAbove: Map<Statement, Above> | undefined;

  /** `lines` directly above `statement` (also one in a branch), below what stands before it. */
  above(statement: Statement, lines: readonly string[]): Insertion {
    const { tree } = this.model;
    const before = this.standingAbove.get(statement);
    if (before !== undefined) return insertBehind(tree, before.span, before.statement, lines, this.eol);
    const { start } = offsetsOf(tree, statement);
    const indent = indentAt(tree.text, start);
    return { at: start, text: lines.map((line) => line + this.eol + indent).join('') };
  }

  /** `lines` at the end of a branch of a block. */
  inBranch(block: Statement, branch: number, lines: readonly string[]): Insertion | undefined {
    const { tree } = this.model;
    const found = block.branches?.[branch];
    if (found !== undefined) {
      const last = found.statements.at(-1);
      const codes = branch === 0 ? block.codes?.at(-1)?.end : undefined;
      const header = {
        ...found.keyword,
        end: Math.max(found.keyword.end, found.text?.end ?? 0, codes ?? 0),
      };
      return insertBehind(tree, last ?? header, last !== undefined, lines, this.eol);
    }
    if (block.closing === undefined || block.kind !== 'if') return undefined;
    const before = block.branches?.at(-1);
    const last = before?.statements.at(-1) ?? before?.text ?? before?.keyword;
    if (last === undefined) return undefined;
    const indent = indentAt(tree.text, offsetsOf(tree, block).start);
    const text = [`${indent}else`, ...lines.map((line) => `${indent}  ${line}`)];
    const { end } = offsetsOf(tree, last);
    const at = lineEndFrom(tree.text, end);
    return at === undefined
      ? { at: end, text: text.map((line) => this.eol + line).join('') + this.eol + indent }
      : { at, text: text.map((line) => this.eol + line).join('') };
  }
}

/** What a statement stands behind: another, or the line that opens its step or branch. */
interface Above {
  readonly span: Span;
  readonly statement: boolean;
}

/** Of `statements` and all in their branches; not of what opens a step without a line. */
function notePlaces(statements: readonly Statement[], opening: Span | undefined, places: Map<Statement, Above>): void {
  for (const [i, statement] of statements.entries()) {
    const before = statements[i - 1];
    const span = before ?? opening;
    if (span !== undefined) places.set(statement, { span, statement: before !== undefined });
    for (const [b, branch] of (statement.branches ?? []).entries()) {
      const codes = b === 0 ? statement.codes?.at(-1)?.end : undefined;
      const header = { ...branch.keyword, end: Math.max(branch.keyword.end, branch.text?.end ?? 0, codes ?? 0) };
      notePlaces(branch.statements, header, places);
    }
  }
}

/** The line that opens a step, with all its clauses. */
function headerOf(step: Step): Span | undefined {
  const { keyword } = step;
  if (keyword === undefined) return undefined;
  const ends = [step.name, step.title, step.takes, ...step.after].map((clause) => clause?.end ?? 0);
  return { chunk: step.chunk, start: keyword.start, end: Math.max(keyword.end, ...ends) };
}

function lineStart(text: string, offset: number): number {
  let start = offset;
  while (start > 0 && !/[\r\n]/.test(text[start - 1]!)) start--;
  return start;
}
const indentAt = (text: string, offset: number): string => /^[^\S\r\n]*/.exec(text.slice(lineStart(text, offset)))![0];

/** Behind the last line that holds more than a comment: a comment goes with what follows it, and here nothing does. */
function endOfContent(text: string): number {
  let at = text.length;
  for (const line of (text.match(/[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+$/g) ?? []).reverse()) {
    if (!/^\s*(?:#|$)/.test(line)) break;
    at -= line.length;
  }
  return at;
}

/** End of the line, where nothing but blanks or a comment stands on it behind `offset`. */
function lineEndFrom(text: string, offset: number): number | undefined {
  const rest = /^[^\S\r\n]*(?:#[^\r\n]*)?(?=[\r\n]|$)/.exec(text.slice(offset));
  return rest === null ? undefined : offset + rest[0].length;
}

function insertBehind(
  tree: SyntaxTree,
  span: Span,
  isStatement: boolean,
  lines: readonly string[],
  eol: string,
): Insertion {
  const { start, end } = offsetsOf(tree, span);
  const { text } = tree;
  const first = text.slice(lineStart(text, start), start).trim() === '';
  const indent = indentAt(text, start) + (isStatement && first ? '' : '  ');
  const body = lines.map((line) => eol + indent + line).join('');
  const at = lineEndFrom(text, end);
  if (at !== undefined) return { at, text: body };
  const blanks = /^[^\S\r\n]*/.exec(text.slice(end))![0].length;
  return { at: end + blanks, text: body + eol + indent };
}

/** A text as the language writes it. */
export const quoted = (text: string): string => `"${text.replace(/[\\"]/g, (sign) => `\\${sign}`)}"`;
