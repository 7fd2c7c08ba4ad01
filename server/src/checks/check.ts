import { lineFinder, type Name, type Span, type Statement, type SyntaxTree } from '../../../grammar/syntax.ts';
import type { Action, Entry, Ledger, Variant } from '../ledger/ledger.ts';
import { HEATING_LIMITS, ROOM } from '../mechanics/heating.ts';
import { FRICTION_BANDS, type FrictionBand, STAINLESS_FRICTION, type ThreadCondition } from '../mechanics/torque.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';

export type Severity = 'error' | 'warning' | 'information' | 'hint';

export interface Related {
  readonly span: Span;
  readonly message: string;
}

export interface Finding {
  readonly code: string;
  readonly severity: Severity;
  readonly span: Span;
  /** One sentence: what is wrong, with numbers, and what would mend it. */
  readonly message: string;
  readonly related: readonly Related[];
  /** What the repairs of this check need to know; plain data. */
  readonly data?: Readonly<Record<string, unknown>>;
  /** Where it stands in a shared file whose steps this one takes in; `span` is then the path of the `use`. */
  readonly elsewhere?: Span;
}

/** Replaces the offsets `start` to `end` of the file `uri` (its whole text) by `text`. */
export interface Edit {
  readonly uri: string;
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

export interface Repair {
  readonly title: string;
  readonly edits: readonly Edit[];
  /** Safe to apply without a look: it changes the text only where the meaning is certain. */
  readonly safe: boolean;
  /** Set where only who wrote the text can say whether this was meant: it is not made together with others. */
  readonly isGuess?: true;
}

type FrictionBands = Readonly<Record<ThreadCondition, FrictionBand>>;

/** What a project may set: figures that checks compare against, and which checks count how much. */
export interface Settings {
  /** Checks that are not run. */
  readonly off: readonly string[];
  /** Severities that replace a check's own, by code. */
  readonly severities: Readonly<Record<string, Severity>>;
  /** Holds where the head does not say `measures`. */
  readonly measures: 'metric' | 'imperial' | undefined;
  /** In the thread and under the head, by the condition of the thread; of stainless steel others. */
  readonly friction: FrictionBands & { readonly stainless: FrictionBands };
  /** °C: open parts, and sealed or greased bearings. */
  readonly heatLimit: number;
  readonly filledHeatLimit: number;
  /** °C of the workshop. */
  readonly ambient: number;
  /** Words in one text, at most. */
  readonly longText: number;
}

export const defaultSettings: Settings = {
  off: [],
  severities: {},
  measures: undefined,
  friction: { ...FRICTION_BANDS, stainless: STAINLESS_FRICTION },
  heatLimit: HEATING_LIMITS.open,
  filledHeatLimit: HEATING_LIMITS.sealed,
  ambient: ROOM,
  longText: 20,
};

export interface Context {
  readonly model: Model;
  readonly ledger: Ledger;
  readonly settings: Settings;
}

export type Section =
  | 'Coming back'
  | 'Tightening'
  | 'Units'
  | 'Mounting, waiting, measuring'
  | 'Getting ready, safety, wording';

/** Properties of tools that local checks ask about. */
export const askedOfTools = ['hazards', 'range'] as const;

/** One rule: its text for people, its function, its repairs. The rule table and the help pages come from here. */
export interface Check {
  readonly code: string;
  readonly severity: Severity;
  readonly section: Section;
  /** When it fires, as one sentence. */
  readonly fires: string;
  /** Why it matters on the bench. */
  readonly why: string;
  /** What it takes for granted where the procedure says nothing, one sentence each. */
  readonly assumes?: () => readonly string[];
  /**
   * Set where all that it finds in a declaration or step stands there and follows from its own text, from what the ledger
   * has of its statements, and from the declarations that its names lead to: then an edit elsewhere leaves it as it is.
   */
  readonly local?: true | ((context: Context) => boolean);
  /** Set for a local check that names tools which nothing leads to: it is asked again where any is declared otherwise, or elsewhere. */
  readonly namesOtherTools?: true;
  /** What a local check asks of the declarations of the tools that a step names. */
  readonly asksOfTools?: (typeof askedOfTools)[number];
  /** The smallest text that gives exactly one finding of this check, and the same mended. */
  readonly bad: string;
  readonly good: string;
  /** A file that these two use. */
  readonly beside?: { readonly name: string; readonly text: string };
  run(context: Context): Iterable<Raw>;
  /** What else it finds; of this holds what `local` says, though not of what `run` finds. */
  runLocally?(context: Context): Iterable<Raw>;
  repairs?(finding: Finding, context: Context): Repair[];
}

export type Raw = Omit<Finding, 'code' | 'severity'> & {
  readonly severity?: Severity;
  /** What mends it besides where it is not so for all codes; ends the message. */
  readonly inSomeCodes?: string;
};

export const related = (span: Span | undefined, message: string): Related[] =>
  span === undefined ? [] : [{ span, message }];

/** Where a finding about `statement` stands: its name, or the word that it begins with. */
export const placeOf = (statement: Statement): Span => statement.name ?? statement.keyword;

const linesOf = noted(({ text }: SyntaxTree) => lineFinder(text));
/** Line of an offset, counted from 1. */
export const lineOf = (tree: SyntaxTree, offset: number): number => linesOf(tree)(offset) + 1;

export { type FrictionBand, type ThreadCondition, threadConditions } from '../mechanics/torque.ts';
export type { Action, Entry, Ledger, Model, Name, Span, Statement, Variant };
