import type { Declaration, Statement } from '../../../grammar/syntax.ts';
import { tellsAngle } from '../checks/tighten-line.ts';
import { lastTorque, reachesTurn } from '../checks/torques.ts';
import { wrenchesIn } from '../checks/wrenches.ts';
import { type Ledger, toldApart } from '../ledger/ledger.ts';
import { parsePipeThread, parseThread } from '../mechanics/index.ts';
import { countOf, type Model, placeOfStep, type StepEntry, titleOf } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { headOf, limitsOf, readingTitle, spoken, torqueInBoth } from './amounts.ts';
import { daysBefore } from './days.ts';
import { type Coded, Job, type Merged, type Needed, present, type Use } from './kit-job.ts';

export interface KitOptions {
  /** Day on which the work begins, `YYYY-MM-DD`; order dates count back from it. */
  readonly start?: string;
  /** For this code only. */
  readonly code?: string;
}

/** A step as the card numbers it, from 1 through the whole procedure. */
export interface KitPlace {
  readonly step: number;
  readonly name: string | undefined;
  readonly title: string | undefined;
}

export interface KitLine {
  readonly name: string;
  readonly title: string;
  /** The codes that it is for, where not for all. */
  readonly codes?: readonly string[];
  readonly places: readonly KitPlace[];
  /** Only an alternative calls for it. */
  readonly onlyIf: boolean;
  /** What those alternatives say. */
  readonly when: readonly string[];
  /** To match at a supplier. */
  readonly marking?: string;
  /** Time from order to delivery, in seconds and as written. */
  readonly lead?: { readonly seconds: number; readonly text: string };
  /** Latest day to order it, `YYYY-MM-DD`, so that it is there on the day of the start. */
  readonly orderBy?: string;
}

/** A part to have new. */
export interface KitPart extends KitLine {
  /** Pieces used whatever the alternatives; 0 where only an alternative calls for it. */
  readonly count: number;
  /** Further pieces that an alternative may call for. */
  readonly perhaps: number;
  readonly how: readonly ('fit new' | 'swap in' | 'replace')[];
  /** Thread and length of a fastener. */
  readonly size?: string;
  /** Property class or grade of a fastener, as in `class 10.9`. */
  readonly strength?: string;
  /** Of a fastener, as in `socket head`. */
  readonly head?: string;
}

export interface KitTool extends KitLine {
  /** Pieces declared, where it is more than one. */
  readonly count?: number;
  readonly range?: string;
  readonly hazards: readonly string[];
  /** Statements that use it. */
  readonly statements: number;
  /** A single statement uses it: easily forgotten. */
  readonly once: boolean;
}

export interface KitSupply extends KitLine {
  /** Tubes, cans or bottles declared, where it is more than one. */
  readonly count?: number;
  /** Sum of the fills, else what is declared; `more` is what an alternative may add. */
  readonly amount?: { readonly value: number; readonly more: number; readonly unit: string; readonly text: string };
  readonly spec?: string;
  readonly cure?: string;
  readonly hazards: readonly string[];
  /** Parts that it is applied to. */
  readonly appliedTo: readonly string[];
  readonly filled: boolean;
}

/** What no declaration names, but a statement needs. */
export interface KitExtra {
  readonly what: string;
  readonly why: string;
  readonly codes?: readonly string[];
  readonly places: readonly KitPlace[];
}

/** Fasteners of one thread: the sockets, keys and bits for their heads. */
export interface KitThread {
  readonly thread: string;
  readonly fasteners: readonly string[];
  /** Those that are declared, as in `socket`. */
  readonly heads?: readonly string[];
}

export interface Kit {
  readonly procedure: string;
  readonly title: string;
  readonly codes: readonly string[];
  readonly codePlate?: string;
  readonly start?: string;
  /** The earliest of the order dates, of what is used whatever the alternatives. */
  readonly orderBy?: string;
  readonly parts: readonly KitPart[];
  readonly tools: readonly KitTool[];
  readonly supplies: readonly KitSupply[];
  readonly extras: readonly KitExtra[];
  readonly threads: readonly KitThread[];
  /** Bags and trays that parts are kept in. */
  readonly containers: readonly string[];
  /** Work for which the procedure names no tool. */
  readonly unnamed: readonly { readonly need: string; readonly places: readonly KitPlace[] }[];
}

/** What to have before the work begins. Plain data; of alternatives, what each of them needs is sure. */
export function kit(model: Model, ledger: Ledger, options: KitOptions = {}): Kit {
  const variants = ledger.variants.filter(({ code }) => options.code === undefined || code === options.code);
  const codes = variants.flatMap(({ code }) => (code === undefined ? [] : [code]));
  const jobs = toldApart(variants).map((variant) => new Job(model, variant));
  const dated = <T extends Merged<Needed>>({ uses: _uses, ...line }: T): Omit<T, 'uses'> & { orderBy?: string } => {
    const orderBy = line.lead === undefined ? undefined : daysBefore(options.start, line.lead.seconds);
    return orderBy === undefined ? line : { ...line, orderBy };
  };
  const gather = <T extends object>(of: (job: Job) => Iterable<Coded<T>>) =>
    byCodes(
      model,
      jobs.flatMap((job) => [...of(job)]),
      jobs.length,
    );
  const lines = {
    parts: gather((job) => job.parts()).map(dated),
    tools: gather((job) => job.tools()).map((tool) => {
      const statements = new Set(tool.uses.map(({ statement }) => statement)).size;
      return { ...dated(tool), statements, once: statements === 1 };
    }),
    supplies: gather((job) => job.supplies()).map(dated),
  };
  const dates = Object.values(lines)
    .flat()
    .flatMap(({ orderBy, onlyIf }) => (orderBy === undefined || onlyIf ? [] : [orderBy]))
    .sort();
  const { head } = model;
  return {
    procedure: head?.name?.text ?? '',
    title: head?.title?.value ?? head?.name?.text ?? '',
    codes,
    ...present('codePlate', head?.codePlate?.value),
    ...present('start', options.start),
    ...present('orderBy', dates[0]),
    ...lines,
    extras: gather((job) => job.extras()).map(({ uses: _uses, when: _when, ...extra }) => extra),
    threads: threadsOf(model, jobs),
    containers: [
      ...new Set(jobs.flatMap((job) => [...job.uses].flatMap(({ statement }) => statement.keep?.value ?? []))),
    ],
    unnamed: unnamedIn(model, jobs),
  };
}

const placeOf = (model: Model, entry: StepEntry): KitPlace => ({
  step: placeOfStep(model, entry) + 1,
  name: entry.step.name?.text,
  title: entry.step.title?.value,
});

/** What all codes need alike stands once; where they differ, each difference has its own line. */
function byCodes<T extends object>(model: Model, lines: readonly Coded<T>[], codes: number): Merged<T>[] {
  const groups = new Map<string, { line: T & Pick<KitLine, 'when'>; codes: string[]; uses: Use[] }>();
  for (const { code, uses, ...rest } of lines) {
    const key = JSON.stringify(rest);
    const known = groups.get(key) ?? { line: rest as unknown as T & Pick<KitLine, 'when'>, codes: [], uses: [] };
    groups.set(key, known);
    if (code !== undefined && !known.codes.includes(code)) known.codes.push(code);
    for (const use of uses) known.uses.push(use);
  }
  return [...groups.values()]
    .map(({ line, codes: own, uses }) => ({
      ...line,
      ...(own.length === 0 || own.length === codes ? {} : { codes: own }),
      uses,
      places: placesOf(model, uses),
    }))
    .sort((a, b) => (a.places[0]?.step ?? 0) - (b.places[0]?.step ?? 0));
}

const placesOf = (model: Model, uses: readonly Use[]): KitPlace[] =>
  [...new Set(uses.map(({ step }) => step))].map((entry) => placeOf(model, entry)).sort((a, b) => a.step - b.step);

function threadsOf(model: Model, jobs: readonly Job[]): KitThread[] {
  const turned = new Set<string>();
  for (const job of jobs)
    for (const { statement } of job.uses)
      if (statement.name !== undefined && turning.has(statement.kind)) turned.add(statement.name.text);
  const threads = new Map<string, { readonly thread: string; readonly fasteners: string[]; heads?: string[] }>();
  for (const [name, part] of model.parts) {
    if (part.thread === undefined || !turned.has(name)) continue;
    const count = countOf(part);
    const head = headOf(part);
    const said = `${titleOf(model, name)}${count > 1 ? ` × ${count}` : ''}${head === undefined ? '' : ` (${head})`}`;
    // The hand changes nothing about the head, nor does the spelling: `M8`, `M8x1.25`.
    const thread = rightHanded(part.thread.text);
    const size = rightHanded((parseThread(thread) ?? parsePipeThread(thread))?.designation ?? thread);
    const known = threads.get(size) ?? { thread, fasteners: [] };
    threads.set(size, known);
    known.fasteners.push(said);
    if (part.head !== undefined) known.heads = [...new Set([...(known.heads ?? []), part.head.text])];
  }
  return [...threads.values()];
}
const rightHanded = (thread: string): string => thread.replace(/-LH$/, '');
const turning: ReadonlySet<string> = new Set(['remove', 'fit', 'loosen', 'tighten']);

/** Heating, pressing, torque, angles and readings for which no tool is named. */
function unnamedIn(model: Model, jobs: readonly Job[]): Kit['unnamed'] {
  const needs = new Map<string, Map<number, KitPlace>>();
  for (const { statement, step } of new Map(
    jobs.flatMap((job) => job.uses.map((use) => [use.statement, use] as const)),
  ).values()) {
    const need = needOf(model, statement);
    if (need === undefined) continue;
    const places = needs.get(need) ?? new Map<number, KitPlace>();
    const place = placeOf(model, step);
    needs.set(need, places.set(place.step, place));
  }
  return [...needs].map(([need, places]) => ({ need, places: [...places.values()] }));
}

function needOf(model: Model, statement: Statement): string | undefined {
  const name = statement.name?.text;
  if (name === undefined) return undefined;
  if (statement.kind === 'tighten') return tighteningNeed(model, statement);
  if (statement.using !== undefined && statement.using.length > 0) return undefined;
  const part = titleOf(model, name);
  switch (statement.kind) {
    case 'heat':
    case 'cool':
      return `${statement.kind === 'heat' ? 'Heating' : 'Cooling'} ${part}${statement.to === undefined ? '' : ` to ${spoken(statement.to)}`}`;
    case 'press':
      return `Pressing ${part}${statement.max === undefined ? '' : `, ${spoken(statement.max)} at most`}`;
    case 'measure':
      return `Measuring ${readingTitle(name)}${limitsOf(statement)}`;
    case 'support':
      return `Supporting ${part}`;
    default:
      return undefined;
  }
}

/** Torque where no torque wrench is named, and an angle where nothing is that tells one. */
function tighteningNeed(model: Model, statement: Statement): string | undefined {
  const name = statement.name!.text;
  const declared = model.parts.get(name);
  const torque = lastTorque(statement) ?? declared?.torque;
  if (torque === undefined || statement.byHand !== undefined) return undefined;
  const tools = (statement.using ?? []).flatMap(({ text }) => model.tools.get(text) ?? []);
  const angle = reachesTurn(statement, declared) ? (statement.angle ?? declared?.angle) : undefined;
  // What turns further may find the torque reached by a pass before.
  if (angle !== undefined && tools.some(tellsAngle)) return undefined;
  const turn = angle === undefined ? undefined : `${spoken(angle)} further`;
  const part = titleOf(model, name);
  if (!hasTorqueWrench(model, statement, tools))
    return `Tightening ${part} to ${torqueInBoth(torque, model.measures)}${turn === undefined ? '' : `, then ${turn}`}`;
  return turn === undefined ? undefined : `Turning ${part} ${turn}`;
}

/** Where wrenches state their range, a tool without one is none; where none does, any may be one. */
function hasTorqueWrench({ tools }: Model, { using = [] }: Statement, used: readonly Declaration[]): boolean {
  const wrenches = torqueWrenches(tools);
  // What is not declared is told of elsewhere.
  return used.length < using.length || wrenches.size === 0 ? using.length > 0 : used.some((tool) => wrenches.has(tool));
}

const torqueWrenches = noted(
  (tools: Model['tools']): ReadonlySet<Declaration> => new Set(wrenchesIn(tools).map(({ tool }) => tool)),
);
