import type { Declaration, Quantity, Statement } from '../../../grammar/syntax.ts';
import { type Unit, unitOf } from '../../../grammar/units.ts';
import { type Action, type Ledger, toldApart, type Variant } from '../ledger/ledger.ts';
import { countOf, type Model, placeOfStep, type StepEntry } from '../model/model.ts';
import { extentOf, fromSI, say, siValueOf } from '../model/quantity.ts';
import { spoken, torqueInBoth } from './amounts.ts';

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

interface KitLine {
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

const present = <K extends string, V>(key: K, value: V | undefined): { [P in K]?: V } =>
  value === undefined ? {} : ({ [key]: value } as { [P in K]: V });

const severalOf = (declaration: Declaration | undefined): number | undefined =>
  countOf(declaration) > 1 ? countOf(declaration) : undefined;

const placeOf = (model: Model, entry: StepEntry): KitPlace => ({
  step: placeOfStep(model, entry) + 1,
  name: entry.step.name?.text,
  title: entry.step.title?.value,
});

/** The day `seconds` before another, rounded to the earlier one; nothing where the calendar ends. */
export function daysBefore(day: string | undefined, seconds: number): string | undefined {
  if (day === undefined) return undefined;
  const time = Date.parse(`${day}T00:00:00Z`) - Math.ceil(seconds / 86400 - 1e-9) * 86_400_000;
  const date = new Date(time);
  return Number.isNaN(date.getTime()) || date.getUTCFullYear() < 0 || date.getUTCFullYear() > 9999
    ? undefined
    : date.toISOString().slice(0, 10);
}

/** True for a day of the calendar written `YYYY-MM-DD`. */
export function isDay(text: string): boolean {
  const time = /^\d{4}-\d{2}-\d{2}$/.test(text) ? Date.parse(`${text}T00:00:00Z`) : Number.NaN;
  return !Number.isNaN(time) && new Date(time).toISOString().startsWith(text);
}

// --- one code's job ---------------------------------------------------------------------------------------------------

/** A statement that applies, with what the alternatives around it say. */
interface Use {
  readonly statement: Statement;
  readonly step: StepEntry;
  readonly when: readonly string[];
  readonly optional: boolean;
}

/** How much every alternative needs, and how much one may need at most. */
interface Range {
  readonly sure: number;
  readonly most: number;
}

const nothing: Range = { sure: 0, most: 0 };
type Tally = Map<string, Range>;
type Coded<T> = T & { readonly code: string | undefined; readonly uses: readonly Use[] };
type Merged<T> = T & { readonly uses: readonly Use[]; readonly codes?: readonly string[] } & Pick<
    KitLine,
    'places' | 'when'
  >;
/** A line before it is known which codes, and which of their steps, it is for. */
type Unplaced<T extends KitLine> = Omit<T, 'codes' | 'places' | 'when' | 'orderBy' | 'statements' | 'once'>;
type Needed = Unplaced<KitLine>;

class Job {
  readonly uses: readonly Use[];
  private readonly model: Model;
  private readonly variant: Variant;
  private readonly actions = new Map<Statement, readonly Action[]>();

  constructor(model: Model, variant: Variant) {
    this.model = model;
    this.variant = variant;
    for (const entry of variant.entries)
      if (entry.role === 'statement') this.actions.set(entry.statement, entry.actions);
    this.uses = model.steps.flatMap((step) => [...this.usesIn(step, step.step.statements, [], false)]);
  }

  get code(): string | undefined {
    return this.variant.code;
  }

  private *usesIn(
    step: StepEntry,
    statements: readonly Statement[],
    when: readonly string[],
    optional: boolean,
  ): Generator<Use> {
    for (const statement of statements) {
      if (!this.applies(statement)) continue;
      if (statement.branches === undefined) yield { statement, step, when, optional };
      const alternative = statement.kind !== 'for';
      for (const branch of statement.branches ?? []) {
        const text = branch.text?.value;
        yield* this.usesIn(
          step,
          branch.statements,
          alternative && text !== undefined ? [...when, text] : when,
          optional || alternative,
        );
      }
    }
  }

  private applies(statement: Statement): boolean {
    return (
      statement.kind !== 'for' ||
      this.code === undefined ||
      (statement.codes ?? []).some(({ text }) => text === this.code)
    );
  }

  /** Sums over a sequence; of alternatives, the least is sure and the greatest possible. */
  private tally(amountsOf: (statement: Statement) => Iterable<readonly [key: string, amount: number]>): Tally {
    const sequence = (statements: readonly Statement[]): Tally => {
      const total: Tally = new Map();
      const add = (key: string, { sure, most }: Range): void => {
        const before = total.get(key) ?? nothing;
        total.set(key, { sure: before.sure + sure, most: before.most + most });
      };
      for (const statement of statements) {
        if (!this.applies(statement)) continue;
        if (statement.branches === undefined) {
          for (const [key, amount] of amountsOf(statement)) add(key, { sure: amount, most: amount });
          continue;
        }
        const branches = statement.branches.map((branch) => sequence(branch.statements));
        if (statement.kind === 'if' && branches.length === 1) branches.push(new Map());
        for (const key of new Set(branches.flatMap((branch) => [...branch.keys()]))) {
          const ranges = branches.map((branch) => branch.get(key) ?? nothing);
          add(key, {
            sure: Math.min(...ranges.map(({ sure }) => sure)),
            most: Math.max(...ranges.map(({ most }) => most)),
          });
        }
      }
      return total;
    };
    return sequence(this.model.steps.flatMap(({ step }) => step.statements));
  }

  /** The statements that need a thing, by its name. */
  private usesBy(namesOf: (statement: Statement) => string | readonly string[]): Map<string, Use[]> {
    const index = new Map<string, Use[]>();
    for (const use of this.uses) {
      for (const name of new Set([namesOf(use.statement)].flat())) {
        const known = index.get(name);
        if (known === undefined) index.set(name, [use]);
        else known.push(use);
      }
    }
    return index;
  }

  private line(name: string, declaration: Declaration | undefined, uses: readonly Use[], onlyIf: boolean) {
    const seconds = siValueOf(declaration?.lead, 'time');
    return {
      code: this.code,
      name,
      title: declaration?.title?.value ?? name,
      onlyIf,
      uses,
      ...present('marking', declaration?.number?.value),
      ...(seconds === undefined || seconds <= 0 ? {} : { lead: { seconds, text: spoken(declaration!.lead!) } }),
    };
  }

  *parts(): Generator<Coded<Unplaced<KitPart>>> {
    const drawn = new Map<Statement, [part: string, pieces: number, how: KitPart['how'][number]][]>();
    for (const { statement } of this.uses) {
      const pieces = (this.actions.get(statement) ?? []).flatMap(
        (action): [string, number, KitPart['how'][number]][] => {
          if (action.verb === 'swap-in') return [[action.part, action.acted, 'swap in']];
          if (action.verb === 'replace') return [[action.part, action.acted, 'replace']];
          // What `replace` or `swap` laid on the bench is no further piece.
          const fromBench = Math.max(0, action.before.fresh - action.after.fresh);
          // Nor can an old or scrapped one do where it is put back by mistake.
          const pieces = action.fresh ? action.acted - fromBench : action.refittedOld + action.refittedScrap;
          return action.verb === 'fit' ? [[action.part, pieces, 'fit new']] : [];
        },
      );
      if (pieces.some(([, count]) => count > 0)) drawn.set(statement, pieces);
    }
    const tally = this.tally(function* (statement) {
      for (const [part, count] of drawn.get(statement) ?? []) yield [part, count];
    });
    const byPart = this.usesBy((statement) => (drawn.get(statement) ?? []).map(([part]) => part));
    for (const [name, { sure, most }] of tally) {
      if (most === 0) continue;
      const uses = byPart.get(name) ?? [];
      const declaration = this.model.parts.get(name);
      yield {
        ...this.line(name, declaration, uses, sure === 0),
        count: sure,
        perhaps: most - sure,
        how: [
          ...new Set(
            uses.flatMap(({ statement }) =>
              drawn.get(statement)!.flatMap(([part, , how]) => (part === name ? [how] : [])),
            ),
          ),
        ],
        ...present('size', sizeOf(declaration)),
      };
    }
  }

  *tools(): Generator<Coded<Unplaced<KitTool>>> {
    const using = (statement: Statement): string[] => (statement.using ?? []).map(({ text }) => text);
    const tally = this.tally(function* (statement) {
      for (const tool of using(statement)) yield [tool, 1];
    });
    const byTool = this.usesBy(using);
    for (const [name, { sure }] of tally) {
      const uses = byTool.get(name) ?? [];
      const declaration = this.model.tools.get(name);
      const range = declaration?.range;
      yield {
        ...this.line(name, declaration, uses, sure === 0),
        ...present('count', severalOf(declaration)),
        ...present('range', range === undefined ? undefined : torqueInBoth(range)),
        hazards: (declaration?.hazards ?? []).map(({ text }) => text),
      };
    }
  }

  *supplies(): Generator<Coded<Unplaced<KitSupply>>> {
    const taken = (statement: Statement): string | undefined =>
      statement.kind === 'fill' || statement.kind === 'apply' ? statement.name?.text : undefined;
    const amounts = this.tally(function* (statement) {
      const extent = statement.kind === 'fill' ? extentOf(statement.amount) : undefined;
      if (extent !== undefined && statement.name !== undefined)
        yield [statement.name.text, (extent.low + extent.high) / 2];
    });
    const needed = this.tally(function* (statement) {
      const name = taken(statement);
      if (name !== undefined) yield [name, 1];
    });
    const bySupply = this.usesBy((statement) => taken(statement) ?? []);
    for (const [name, { sure }] of needed) {
      const uses = bySupply.get(name) ?? [];
      const fills = uses.filter(({ statement }) => statement.kind === 'fill').map(({ statement }) => statement);
      const declaration = this.model.supplies.get(name);
      yield {
        ...this.line(name, declaration, uses, sure === 0),
        ...present('count', severalOf(declaration)),
        ...present('amount', totalOf(fills, amounts.get(name) ?? nothing, declaration?.amount)),
        ...present('spec', declaration?.spec?.value),
        ...present('cure', declaration?.cure === undefined ? undefined : spoken(declaration.cure)),
        hazards: (declaration?.hazards ?? []).map(({ text }) => text),
        appliedTo: [
          ...new Set(
            uses.flatMap(({ statement }) =>
              statement.kind === 'apply' ? (statement.targets ?? []).map(({ text }) => titleOf(this.model, text)) : [],
            ),
          ),
        ],
        filled: fills.length > 0,
      };
    }
  }

  *extras(): Generator<Coded<Pick<KitExtra, 'what' | 'why'>>> {
    for (const use of this.uses) {
      const { statement } = use;
      const place = { code: this.code, uses: [use] };
      const { extension, stock, name } = statement;
      const title =
        name === undefined ? '' : (this.model.supplies.get(name.text)?.title?.value ?? titleOf(this.model, name.text));
      if (extension?.length !== undefined) {
        const on = extension.on === undefined ? '' : ` on a wrench of ${spoken(extension.on)}`;
        yield {
          ...place,
          what: `Torque wrench adapter, ${spoken(extension.length)}${on}`,
          why: `to tighten ${title}`,
        };
      }
      if (stock !== undefined && stock.length > 0) {
        const pieces = stock.map(
          ({ thickness, count }) => `${spoken(thickness)}${count === undefined ? '' : ` × ${count.value}`}`,
        );
        yield {
          ...place,
          what: `Shims ${pieces.join(', ')}`,
          why: `to choose ${title} from`,
        };
      }
      if (statement.kind === 'drain') {
        const amount = statement.amount ?? this.model.supplies.get(name?.text ?? '')?.amount;
        yield {
          ...place,
          what: `Vessel${amount === undefined ? '' : ` for ${spoken(amount)}`}`,
          why: `to catch ${title}`,
        };
      }
    }
  }
}

const titleOf = (model: Model, part: string): string => model.parts.get(part)?.title?.value ?? part;

/** `M12 × 60 mm` */
export function sizeOf(part: Declaration | undefined): string | undefined {
  const length = part?.length === undefined ? undefined : spoken(part.length);
  if (part?.thread === undefined) return length;
  return length === undefined ? part.thread.text : `${part.thread.text} × ${length}`;
}

/** Fills that state no quantity take the declared one; without fills, what is declared counts. */
function totalOf(
  fills: readonly Statement[],
  { sure, most }: Range,
  declared: Quantity | undefined,
): KitSupply['amount'] {
  const open = fills.length === 0 || fills.some(({ amount }) => extentOf(amount) === undefined);
  const stated = extentOf(declared);
  const whole = stated === undefined ? 0 : stated.high;
  const written = fills.find(({ amount }) => extentOf(amount) !== undefined)?.amount ?? declared;
  const unit = (declared ?? written)?.unit?.unit;
  const least = open ? Math.max(sure, whole) : sure;
  const greatest = open ? Math.max(most, whole) : most;
  if (unit === undefined || greatest <= 0) return undefined;
  const value = fromSI(least, unit);
  const more = fromSI(greatest, unit) - value;
  return { value, more, unit: unit.symbol, text: amountText(least, greatest, unit, declared ?? written) };
}

function amountText(least: number, greatest: number, unit: Unit, written: Quantity | undefined): string {
  const extent = extentOf(written);
  const asWritten = extent !== undefined && Math.abs(extent.high - greatest) <= 1e-9 * Math.abs(greatest);
  const most = asWritten ? spoken(written!) : inBoth(greatest, unit);
  if (greatest - least <= 1e-9 * greatest) return most;
  return least === 0 ? most : `${inBoth(least, unit)}, perhaps ${most}`;
}

const otherUnits: Readonly<Record<string, string>> = {
  L: 'qt',
  mL: 'pt',
  qt: 'L',
  pt: 'L',
  g: 'lb',
  kg: 'lb',
  lb: 'kg',
};

function inBoth(value: number, unit: Unit): string {
  const other = unitOf(otherUnits[unit.symbol] ?? '');
  const own = say(fromSI(value, unit), unit);
  return other === undefined ? own : `${own} (${say(fromSI(value, other), other)})`;
}

/** What all codes need alike stands once; where they differ, each difference has its own line. */
function byCodes<T extends object>(model: Model, lines: readonly Coded<T>[], codes: number): Merged<T>[] {
  const groups = new Map<string, { line: T; codes: string[]; uses: Use[] }>();
  for (const { code, uses, ...rest } of lines) {
    const key = JSON.stringify(rest);
    const known = groups.get(key) ?? { line: rest as unknown as T, codes: [], uses: [] };
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
      when: isOpen(line)
        ? [...new Set(uses.filter(({ optional }) => optional).flatMap(({ when }) => when.slice(-1)))]
        : [],
    }))
    .sort((a, b) => (a.places[0]?.step ?? 0) - (b.places[0]?.step ?? 0));
}

/** Whether it depends on an alternative how much is needed. */
const isOpen = (line: { onlyIf?: boolean; perhaps?: number; amount?: { more: number } }): boolean =>
  line.onlyIf === true || (line.perhaps ?? 0) > 0 || (line.amount?.more ?? 0) > 0;

const placesOf = (model: Model, uses: readonly Use[]): KitPlace[] =>
  [...new Set(uses.map(({ step }) => step))].map((entry) => placeOf(model, entry)).sort((a, b) => a.step - b.step);

function threadsOf(model: Model, jobs: readonly Job[]): KitThread[] {
  const turned = new Set<string>();
  for (const job of jobs)
    for (const { statement } of job.uses)
      if (statement.name !== undefined && turning.has(statement.kind)) turned.add(statement.name.text);
  const threads = new Map<string, string[]>();
  for (const [name, part] of model.parts) {
    if (part.thread === undefined || !turned.has(name)) continue;
    const count = countOf(part);
    const said = `${titleOf(model, name)}${count > 1 ? ` × ${count}` : ''}`;
    threads.set(part.thread.text, [...(threads.get(part.thread.text) ?? []), said]);
  }
  return [...threads].map(([thread, fasteners]) => ({ thread, fasteners }));
}
const turning: ReadonlySet<string> = new Set(['remove', 'fit', 'loosen', 'tighten']);

/** Heating, pressing, torque and readings without `using`. */
function unnamedIn(model: Model, jobs: readonly Job[]): Kit['unnamed'] {
  const needs = new Map<string, Map<number, KitPlace>>();
  for (const { statement, step } of new Map(
    jobs.flatMap((job) => job.uses.map((use) => [use.statement, use] as const)),
  ).values()) {
    const need = statement.using === undefined || statement.using.length === 0 ? needOf(model, statement) : undefined;
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
    case 'tighten': {
      const torque = statement.to ?? statement.stages?.at(-1) ?? model.parts.get(name)?.torque;
      return torque === undefined || statement.byHand !== undefined
        ? undefined
        : `Tightening ${part} to ${torqueInBoth(torque)}`;
    }
    default:
      return undefined;
  }
}

/** The name of a reading, for people. */
export const readingTitle = (name: string): string => name.replace(/-/g, ' ');

/** `, 0.40 to 0.80 mm` */
export function limitsOf({ limit, min, max }: Statement): string {
  const said = [
    limit === undefined ? '' : spoken(limit),
    min === undefined ? '' : `at least ${spoken(min)}`,
    max === undefined ? '' : `at most ${spoken(max)}`,
  ].filter((each) => each !== '');
  return said.length === 0 ? '' : `, ${said.join(', ')}`;
}
