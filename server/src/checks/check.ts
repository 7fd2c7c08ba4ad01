import { lineFinder, type Name, type Span, type Statement, type SyntaxTree } from '../../../grammar/syntax.ts';
import type { Action, Entry, Ledger, Variant, Verb } from '../ledger/ledger.ts';
import { HEATING_LIMITS, ROOM } from '../mechanics/heating.ts';
import { FRICTION_BANDS, type FrictionBand, STAINLESS_FRICTION, type ThreadCondition } from '../mechanics/torque.ts';
import { type Changed, changedSteps, placeBefore } from '../model/changed-chunks.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';

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

/** The variants of a ledger; codes that see the same procedure share what it did. */
function alikeIn({ variants }: Ledger): Iterable<readonly Variant[]> {
  if (variants.length === 1) return [variants];
  const alike = new Map<unknown, Variant[]>();
  for (const variant of variants) addTo(alike, variant.entries, variant);
  return alike.values();
}

/**
 * Judges each variant (one a code) and reports what several agree on once; what holds for some codes only says so.
 * Findings are the same when they stand at the same place about the same thing. `judge` must be no generator made anew for
 * each file: the engine keeps such a one, with all it sees, in its table of shapes until the next full garbage collection.
 */
export function* eachVariant(ledger: Ledger, judge: (variant: Variant) => Iterable<Raw>): Generator<Raw> {
  // Nearly every check finds nothing: room is made for the first finding only.
  let found: Map<string, { raw: Raw; variants: Set<Variant> }> | undefined;
  let chunkIds: Map<object, number> | undefined;
  for (const variants of alikeIn(ledger)) {
    let seen: Set<string> | undefined;
    for (const raw of judge(variants[0]!)) {
      chunkIds ??= new Map();
      found ??= new Map();
      seen ??= new Set();
      let id = chunkIds.get(raw.span.chunk);
      if (id === undefined) {
        id = chunkIds.size;
        chunkIds.set(raw.span.chunk, id);
      }
      const key = `${id}:${raw.span.start}:${raw.span.end}:${raw.data?.['subject'] ?? ''}`;
      if (seen.has(key)) continue;
      seen.add(key);
      const known = found.get(key);
      if (known === undefined) found.set(key, { raw, variants: new Set(variants) });
      // Told of once, with the figures of the code that comes first.
      else if (known.raw.message === raw.message) for (const each of variants) known.variants.add(each);
    }
  }
  if (found === undefined) return;
  for (const { raw, variants } of found.values()) {
    const { inSomeCodes, ...finding } = raw;
    if (variants.size === ledger.variants.length) yield finding;
    else {
      const codes = ledger.variants.filter((each) => variants.has(each)).map(({ code }) => code!);
      const message = inSomeCodes === undefined ? raw.message : raw.message.replace(/\.$/, `${inSomeCodes}.`);
      yield { ...finding, message: `for ${joinedInShort(codes)}: ${message}`, data: { ...raw.data, codes } };
    }
  }
}

/** Stands for an empty list and is never added to. */
const none: readonly Action[] = [];

const actions = new Beside<Variant, readonly Action[]>();

/** Every action of a variant, in order. */
function actionsOf(variant: Variant): readonly Action[] {
  let all = actions.get(variant);
  if (all === undefined) {
    const found: Action[] = [];
    for (const entry of variant.entries) for (const action of entry.actions) found.push(action);
    all = found;
    actions.set(variant, all);
  }
  return all;
}

type Picker = (action: Action, parts: Model['parts']) => boolean;

/** The actions that a picker takes. */
interface Picks {
  /** By the place of their step. */
  readonly byStep: Map<number, readonly Action[]>;
  /** In order, where they have been asked for since they last became others. */
  inOrder: readonly Action[] | undefined;
}
type Picked = Map<Picker, Picks>;
const noDeclarations: Pick<Model, 'parts'> = { parts: new Map() };
/** Of replays after an edit alone: to sort by steps what is gone through once would cost more than it spares. */
const picked = new Beside<Variant, Picked>();

/** What checks of a whole procedure pick, each time. */
const ofAll = new Set<Picker>();

/** Has `pick` made in one walk with all others that are made so: in a long procedure each action lies far from the one before. Ask with the model. */
export function pickedOfAll(pick: Picker): Picker {
  ofAll.add(pick);
  return pick;
}

const together = new Beside<Variant, ReadonlyMap<Picker, readonly Action[]>>();

/** Nothing where a pick throws: the check that makes it is to break off by itself. */
function pickedTogether(variant: Variant, parts: Model['parts']): ReadonlyMap<Picker, readonly Action[]> | undefined {
  let known = together.get(variant);
  if (known === undefined) {
    const picks = [...ofAll].map((pick) => ({ pick, taken: [] as Action[] }));
    try {
      for (const entry of variant.entries)
        for (const action of entry.actions)
          for (const { pick, taken } of picks) if (pick(action, parts)) taken.push(action);
    } catch {
      return undefined;
    }
    known = new Map(picks.map(({ pick, taken }) => [pick, taken]));
    together.set(variant, known);
  }
  return known;
}

/**
 * Those actions that `pick` takes, in order. What it takes is kept under it: let it be the same function each time, and ask of
 * nothing but the action and how its part is declared in `model`.
 */
export function actionsWhere(variant: Variant, pick: (action: Action) => boolean): readonly Action[];
export function actionsWhere(variant: Variant, pick: Picker, model: Pick<Model, 'parts'>): readonly Action[];
export function actionsWhere(variant: Variant, pick: Picker, { parts } = noDeclarations): readonly Action[] {
  const byPicker = picked.get(variant);
  if (byPicker === undefined) {
    const known = ofAll.has(pick) ? pickedTogether(variant, parts) : undefined;
    return known?.get(pick) ?? actionsOf(variant).filter((action) => pick(action, parts));
  }
  let known = byPicker.get(pick);
  if (known === undefined) {
    known = { byStep: new Map(), inOrder: undefined };
    for (const place of variant.records.keys()) takeUp(known, variant, place, pick, parts);
    byPicker.set(pick, known);
  }
  const { byStep } = known;
  known.inOrder ??= [...byStep.keys()].sort((a, b) => a - b).flatMap((place) => byStep.get(place)!);
  return known.inOrder;
}

function takeUp(known: Picks, { records }: Variant, place: number, pick: Picker, parts: Model['parts']): void {
  const taken: Action[] = [];
  for (const { actions } of records[place]!.entries)
    for (const action of actions) if (pick(action, parts)) taken.push(action);
  if (taken.length > 0) known.byStep.set(place, taken);
  else if (!known.byStep.delete(place)) return;
  known.inOrder = undefined;
}

/** The same by the places where steps stand now, without those that went. */
function shifted<Value>(byStep: Map<number, Value>, { from, to, until }: Changed): Map<number, Value> {
  if (to === until) return byStep;
  const now = new Map<number, Value>();
  for (const [place, value] of byStep)
    if (place < from || place >= to) now.set(place < from ? place : place + until - to, value);
  return now;
}

/**
 * What was picked of the actions before an edit is kept for `now`, and no longer for `before`, but for the steps that were
 * replayed: these are all that ask about a part that is declared otherwise.
 */
export function carryPicked(before: Ledger, now: Ledger): void {
  const changed = changedSteps(before.model, now.model);
  for (const [v, variant] of now.variants.entries()) {
    if (picked.get(variant) !== undefined) continue;
    const old = before.variants[v];
    const byPicker = old && picked.handOn(old, variant);
    if (old === undefined || byPicker === undefined) {
      picked.set(variant, new Map());
      continue;
    }
    const replayed = [...variant.records.keys()].filter(
      (place) => variant.records[place] !== old.records[placeBefore(changed, place)],
    );
    for (const [pick, { byStep, inOrder }] of byPicker) {
      const moved = shifted(byStep, changed);
      const known = { byStep: moved, inOrder: moved.size === byStep.size ? inOrder : undefined };
      byPicker.set(pick, known);
      try {
        for (const place of replayed) takeUp(known, variant, place, pick, now.model.parts);
      } catch {
        // The check that picks so is to break off by itself, and to be told of.
        byPicker.delete(pick);
      }
    }
  }
}

const byVerb = new Beside<Variant, ReadonlyMap<Verb, readonly Action[]>>();
const verbPickers = new Map<Verb, (action: Action) => boolean>();

/** The actions of a variant that do `verb`, in order. */
export function actionsThat(variant: Variant, verb: Verb): readonly Action[] {
  if (picked.get(variant) !== undefined) {
    let pick = verbPickers.get(verb);
    if (pick === undefined) {
      pick = (action) => action.verb === verb;
      verbPickers.set(verb, pick);
    }
    return actionsWhere(variant, pick);
  }
  let sorted = byVerb.get(variant);
  if (sorted === undefined) {
    const found = new Map<Verb, Action[]>();
    for (const action of actionsOf(variant)) addTo(found, action.verb, action);
    sorted = found;
    byVerb.set(variant, sorted);
  }
  return sorted.get(verb) ?? none;
}

/** What mends it where only some codes have parts in the way. */
export const noneThere = (many: boolean): string =>
  `, or \`omit\` ${many ? 'them' : 'it'} with the reason in a \`for\` where there ${many ? 'are' : 'is'} none`;

/** `` `bolt` `` */
export const named = (name: string): string => `\`${name}\``;

const ofLines: Readonly<Record<string, string>> = { disconnect: 'disconnected', connect: 'connected' };

/** What an action does, as in `the part cannot be fitted`: the words for its verb, but of a line or hose those of the text. */
export const participle = ({ verb, statement }: Action, words: Readonly<Record<string, string>>): string | undefined =>
  words[verb] === undefined ? undefined : (ofLines[statement.kind] ?? words[verb]);

/** `a`, `a and b`, `a, b and c` */
export const listed = (said: readonly (string | number)[]): string =>
  said.length < 2 ? String(said[0] ?? '') : `${said.slice(0, -1).join(', ')} and ${said.at(-1)}`;

/** So many of a list a message tells of; the last of one longer by one takes no more room than `and 1 more`. */
export const mostTold = 10;

/** What of `all` a message tells of, and how many it leaves out. */
export function shortened<T>(all: readonly T[], most = mostTold): { told: readonly T[]; more: number } {
  return all.length <= most + 1 ? { told: all, more: 0 } : { told: all.slice(0, most), more: all.length - most };
}

/** ` and 2,997 more`, of which there may be none. */
export const andMore = (more: number): string =>
  more === 0 ? '' : ` and ${String(more).replace(/\B(?=(?:\d{3})+$)/g, ',')} more`;

/** `a`, `a and b`, `a, b and c`, `a, b, c and 2,997 more`: a message that tells of a stranger's file has an end. */
export function listedInShort<T>(all: readonly T[], say: (each: T) => string | number): string {
  const { told, more } = shortened(all);
  return more === 0 ? listed(told.map(say)) : told.map(say).join(', ') + andMore(more);
}

/** `a, b, c`, `a, b, c and 2,997 more` */
export function joinedInShort(all: readonly string[]): string {
  const { told, more } = shortened(all);
  return told.join(', ') + andMore(more);
}

/** Where a finding about `statement` stands: its name, or the word that it begins with. */
export const placeOf = (statement: Statement): Span => statement.name ?? statement.keyword;

const linesOf = noted(({ text }: SyntaxTree) => lineFinder(text));
/** Line of an offset, counted from 1. */
export const lineOf = (tree: SyntaxTree, offset: number): number => linesOf(tree)(offset) + 1;

export { type FrictionBand, type ThreadCondition, threadConditions } from '../mechanics/torque.ts';
export type { Action, Entry, Ledger, Model, Name, Span, Statement, Variant };
