import { TextDocument } from 'vscode-languageserver-textdocument';
import { type Declaration, offsetsOf, type Span, type Statement } from '../../../grammar/syntax.ts';
import { holeCount, holesNamed, holesOfPart, patternOf } from '../checks/holes.ts';
import { isUnread } from '../checks/run.ts';
import { type Action, type Ledger, toldApart } from '../ledger/ledger.ts';
import { appliesTo } from '../ledger/start.ts';
import { branchPaths, exclusive, type Path } from '../model/branches.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model, placeIn, placeOfStep } from '../model/model.ts';
import { siValueOf } from '../model/quantity.ts';
import { statementsIn } from '../model/statements.ts';
import { spoken } from './amounts.ts';
import { own } from './directed-text.ts';
import { type Content, type Html, html, joined } from './html.ts';
import { codesOf, type PlanRow, planOf, type WorkPlan } from './plan.ts';

/** What the card is made from, and what its pieces ask for: lines, titles, and how many pieces a statement moves. */
export class Bench {
  readonly model: Model;
  readonly ledger: Ledger;
  /** The one code that the card is for. */
  readonly code: string | undefined;
  private readonly document: TextDocument;
  private readonly moves = new Map<Statement, { code: string | undefined; actions: readonly Action[] }[]>();
  private readonly nextPasses = new Map<Statement, Statement>();
  private besides: Map<Statement, readonly number[]> | undefined;
  private namesakes: ReadonlyMap<string, readonly Declaration[]> | undefined;
  private ids = 0;

  constructor(model: Model, ledger: Ledger, code: string | undefined) {
    this.model = model;
    this.ledger = code === undefined ? { ...ledger, variants: toldApart(ledger.variants) } : ledger;
    this.code = code;
    this.document = TextDocument.create(model.tree.uri, 'fettle', 0, model.tree.text);
    for (const variant of this.ledger.variants) {
      if (code !== undefined && variant.code !== code) continue;
      for (const { statement, role, actions } of variant.entries) {
        if (role !== 'statement') continue;
        addTo(this.moves, statement, { code: variant.code, actions });
      }
    }
    this.linkPasses();
  }

  /** Leads from each tightening of a part with an angle to the one that goes over the same pieces again. */
  private linkPasses(): void {
    const open = new Map<string, [Statement, Path][]>();
    for (const [statement, path] of this.model.steps.flatMap(({ step }) => [...branchPaths(step.statements)])) {
      const part = statement.name?.text ?? '';
      if (statement.kind !== 'tighten' || statement.byHand !== undefined) continue;
      if (this.model.parts.get(part)?.angle === undefined) continue;
      const isAgain = this.actionsOn(statement, part).some(
        ({ action: { acted, before } }) => acted > before.loose + before.snug,
      );
      const left = (open.get(part) ?? []).filter(([earlier, other]) => {
        if (!isAgain || exclusive(other, path)) return true;
        this.nextPasses.set(earlier, statement);
        return false;
      });
      open.set(part, [...left, [statement, path]]);
    }
  }

  /** The tightening that goes over the same pieces once more, if there is one. */
  nextPass(statement: Statement): Statement | undefined {
    return this.nextPasses.get(statement);
  }

  /**
   * Where the pieces that `fit` puts on go, by number, where their pattern has more holes: those that the tightenings below name, if they are as many.
   * Nothing where an alternative or only some codes decide.
   */
  holesFor(fit: Statement): readonly number[] {
    this.holesToFit ??= holesToFit(this.model);
    const holes = this.holesToFit.get(fit) ?? [];
    const pieces = [...this.piecesOf(fit, fit.name?.text ?? '').keys()];
    return pieces.length === 1 && pieces[0] === holes.length ? holes : [];
  }
  private holesToFit: ReadonlyMap<Statement, readonly number[]> | undefined;

  /** The line of the source, from 0; for steps of a shared file, of the `use` that takes them in. */
  lineOf(span: Span): number {
    return this.document.positionAt(offsetsOf(this.model.tree, placeIn(this.model, span) ?? span).start).line;
  }

  newId(): string {
    return `f${++this.ids}`;
  }

  applies(statement: Statement): boolean {
    return appliesTo(statement, this.code);
  }

  /** Numbers of the steps to go on with during a wait: those below that do not follow it, as many as it has time for. */
  meanwhile(wait: Statement): readonly number[] {
    this.besides ??= this.stepsBesideWaits();
    return this.besides.get(wait) ?? [];
  }

  private stepsBesideWaits(): Map<Statement, readonly number[]> {
    const besides = new Map<Statement, readonly number[]>();
    const { model } = this;
    // A step that states no `after` follows the one above it. What stands on a line that cannot be read may be what a step waits for.
    if (isUnread(model) || model.steps.every(({ step }) => step.after.length === 0)) return besides;
    for (const code of codesOf(model, this.code)) {
      for (const [wait, steps] of stepsBesideWaits(model, code)) {
        // As far as all codes agree: a later step may follow an earlier one.
        const known = besides.get(wait) ?? steps;
        const differing = known.findIndex((step, i) => step !== steps[i]);
        besides.set(wait, differing === -1 ? known : known.slice(0, differing));
      }
    }
    return besides;
  }

  /** Numbers of the steps in which the reading is taken. */
  stepsMeasuring(reading: string): readonly number[] {
    if (this.measuring === undefined) {
      this.measuring = new Map();
      for (const entry of this.model.steps)
        for (const statement of statementsIn(entry.step)) {
          if (statement.kind !== 'measure' || statement.name === undefined || !this.applies(statement)) continue;
          const known = this.measuring.get(statement.name.text) ?? new Set();
          this.measuring.set(statement.name.text, known.add(placeOfStep(this.model, entry) + 1));
        }
    }
    return [...(this.measuring.get(reading) ?? [])];
  }
  private measuring: Map<string, Set<number>> | undefined;

  /** What the author calls it; where another is called the same, with what tells them apart: a wrench's range, or the name. */
  title(name: string): string {
    const title = this.declarationOf(name)?.title?.value ?? name;
    if (this.namesakesOf(name).length < 2) return title;
    const range = this.tellingRange(name);
    return range === undefined ? `${title} (${name})` : `${title}, ${range}`;
  }

  /** The range of a wrench that no other of its title has. */
  tellingRange(name: string): string | undefined {
    const declaration = this.declarationOf(name);
    if (declaration?.range === undefined) return undefined;
    const range = spoken(declaration.range);
    const namesakes = this.namesakesOf(name);
    let counts = this.ranges.get(namesakes);
    if (counts === undefined) {
      counts = new Map();
      for (const other of namesakes) {
        const said = other.range && spoken(other.range);
        if (said !== undefined) counts.set(said, (counts.get(said) ?? 0) + 1);
      }
      this.ranges.set(namesakes, counts);
    }
    return counts.get(range) === 1 ? range : undefined;
  }
  /** How many of those of one title have each range. */
  private readonly ranges = new Map<readonly Declaration[], Map<string, number>>();

  private declarationOf(name: string): Declaration | undefined {
    const { parts, supplies, tools } = this.model;
    return parts.get(name) ?? supplies.get(name) ?? tools.get(name);
  }

  /** All that are called the same, itself among them. */
  private namesakesOf(name: string): readonly Declaration[] {
    const declaration = this.declarationOf(name);
    if (declaration === undefined) return [];
    this.namesakes ??= namesakesIn(this.model);
    return this.namesakes.get(declaration.title?.value ?? name) ?? [];
  }

  named(name: string): Html {
    return html`<b>${own(this.title(name))}</b>`;
  }

  /** What the statement did to `part`, once for each code it was replayed for. */
  actionsOn(statement: Statement, part: string): { code: string | undefined; action: Action }[] {
    return (this.moves.get(statement) ?? []).flatMap(({ code, actions }) =>
      actions.flatMap((action) => (action.part === part ? [{ code, action }] : [])),
    );
  }

  /** Pieces that the statement moves, by code where that differs; as written, or as declared, where the replay moved none. */
  piecesOf(statement: Statement, part: string, written = statement.count?.value): Map<number, string[]> {
    const counts = new Map<number, string[]>();
    for (const { code, action } of this.actionsOn(statement, part)) {
      if (action.acted > 0) addTo(counts, action.acted, code ?? '');
    }
    return counts.size > 0 ? counts : new Map([[written ?? countOf(this.model.parts.get(part)), []]]);
  }

  /** ` × 10`, ` × 8 of 10`, or nothing for the only piece. */
  times(statement: Statement, part: string, written?: number): Content {
    const whole = countOf(this.model.parts.get(part));
    const said = (pieces: number): string =>
      pieces === whole ? `× ${pieces}` : pieces < whole ? `× ${pieces} of ${whole}` : `× ${pieces}`;
    const counts = this.piecesOf(statement, part, written);
    if (counts.size > 1) {
      const each = [...counts].map(([pieces, codes]): Content => [`${said(pieces)} (`, own(codes.join(', ')), ')']);
      return html` <b class="count">${joined(each, ', ')}</b>`;
    }
    const [pieces = whole] = counts.keys();
    return whole === 1 && pieces === 1 ? '' : html` <b class="count">${said(pieces)}</b>`;
  }
}

/** By each fitting of what shares a pattern with others, the holes named below it until it comes off again or more of it goes on. */
function holesToFit(model: Model): ReadonlyMap<Statement, readonly number[]> {
  const found = new Map<Statement, Set<number>>();
  const open = new Map<string, Set<number>>();
  for (const { step } of model.steps)
    for (const statement of step.statements) {
      const { kind, name } = statement;
      const part = model.parts.get(name?.text ?? '');
      const count = holeCount(patternOf(model, part));
      if (part === undefined || count === undefined || countOf(part) >= count) continue;
      if (kind === 'fit') {
        const named = new Set(holesOfPart(part));
        open.set(name!.text, named);
        found.set(statement, named);
      } else if (kind === 'tighten')
        for (const hole of holesNamed(model, statement) ?? []) open.get(name!.text)?.add(hole);
      else open.delete(name!.text);
    }
  return new Map([...found].map(([fit, named]) => [fit, [...named].sort((a, b) => a - b)]));
}

/** Declarations by what the author calls them. */
function namesakesIn({ parts, supplies, tools }: Model): ReadonlyMap<string, readonly Declaration[]> {
  const namesakes = new Map<string, Declaration[]>();
  for (const table of [parts, supplies, tools])
    table.forEach((declaration, name) => {
      const title = declaration.title?.value ?? name;
      addTo(namesakes, title, declaration);
    });
  return namesakes;
}

/** By each wait that a unit with `code` is sure to have, the steps beside it. */
function stepsBesideWaits(model: Model, code: string | undefined): Map<Statement, readonly number[]> {
  const besides = new Map<Statement, readonly number[]>();
  const plan = planOf(model, { inStock: true, ...(code === undefined ? {} : { code }) });
  if ('message' in plan) return besides;
  const plannedIn = new Map<number, PlanRow[]>();
  for (const row of plan.rows) {
    if (row.kind !== 'wait' || row.step === undefined) continue;
    addTo(plannedIn, row.step, row);
  }
  const named = new Set<number>();
  for (const entry of model.steps) {
    const waits = waitsIn(entry.step.statements, code);
    const planned = plannedIn.get(placeOfStep(model, entry) + 1) ?? [];
    // Of alternatives, the plan has the longest: which wait is which cannot be told.
    if (waits.some(({ sure }) => !sure)) continue;
    for (const [i, { wait }] of waits.entries()) {
      const steps = stepsBeside(plan, planned[i]!, named);
      for (const step of steps) named.add(step);
      besides.set(wait, steps);
    }
  }
  return besides;
}

/** The waits for `code`, in the order of the text; not sure are those in alternatives. */
function waitsIn(statements: readonly Statement[], code: string | undefined): { wait: Statement; sure: boolean }[] {
  return statements.flatMap((statement) => {
    const { kind, branches, amount } = statement;
    if (branches !== undefined && appliesTo(statement, code)) {
      const within = branches.flatMap((branch) => waitsIn(branch.statements, code));
      return kind === 'for' ? within : within.map(({ wait }) => ({ wait, sure: false }));
    }
    return kind === 'wait' && (siValueOf(amount, 'time') ?? 0) > 0 ? [{ wait: statement, sure: true }] : [];
  });
}

/** Steps below a wait that do not follow it and have time in it, but those that are `done` by then. */
function stepsBeside({ rows }: WorkPlan, wait: PlanRow, done: ReadonlySet<number>): number[] {
  const held = new Set([wait.id]);
  // Rows stand behind those that they wait for.
  for (const { id, after } of rows) if (after.some((each) => held.has(each))) held.add(id);
  const below = rows.filter(({ step = 0 }) => step > wait.step! && !done.has(step));
  const heldSteps = new Set(below.flatMap(({ id, step }) => (held.has(id) ? [step] : [])));
  const steps = new Map<number, { work: number; whole: number }>();
  for (const { step, kind, duration } of below) {
    if (heldSteps.has(step)) continue;
    const { work, whole } = steps.get(step!) ?? { work: 0, whole: 0 };
    steps.set(step!, { work: work + (kind === 'work' ? duration : 0), whole: whole + duration });
  }
  const fitting: number[] = [];
  let left = wait.duration;
  for (const [step, { work, whole }] of steps) {
    // What was put on may not dry for longer either; a step without a time takes nobody knows how long.
    if (work === 0 || whole > left) break;
    fitting.push(step);
    left -= whole;
  }
  return fitting;
}
