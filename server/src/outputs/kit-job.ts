import type { Declaration, Quantity, Statement } from '../../../grammar/syntax.ts';
import { type Unit, unitOf } from '../../../grammar/units.ts';
import type { Action, Variant } from '../ledger/ledger.ts';
import { appliesTo } from '../ledger/start.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model, type StepEntry, titleOf } from '../model/model.ts';
import { extentOf, fromSI, mostOf, say } from '../model/quantity.ts';
import { conditionOf } from './alternatives.ts';
import { headOf, sizeOf, spoken, strengthOf, torqueInBoth } from './amounts.ts';
import type { KitExtra, KitLine, KitPart, KitSupply, KitTool } from './kit.ts';

export const present = <K extends string, V>(key: K, value: V | undefined): { [P in K]?: V } =>
  value === undefined ? {} : ({ [key]: value } as { [P in K]: V });

const severalOf = (declaration: Declaration | undefined): number | undefined =>
  countOf(declaration) > 1 ? countOf(declaration) : undefined;

/** A statement that applies. */
export interface Use {
  readonly statement: Statement;
  readonly step: StepEntry;
}

/** How much every alternative needs, how much one may need at most, and which of them need more than others. */
interface Range {
  readonly sure: number;
  readonly most: number;
  readonly when: readonly string[];
}

const nothing: Range = { sure: 0, most: 0, when: [] };
type Tally = Map<string, Range>;
export type Coded<T> = T & {
  readonly code: string | undefined;
  readonly uses: readonly Use[];
  readonly when: readonly string[];
};
export type Merged<T> = T & { readonly uses: readonly Use[]; readonly codes?: readonly string[] } & Pick<
    KitLine,
    'places' | 'when'
  >;
/** A line before it is known which codes, and which of their steps, it is for. */
type Unplaced<T extends KitLine> = Omit<T, 'codes' | 'places' | 'when' | 'orderBy' | 'statements' | 'once'>;
export type Needed = Unplaced<KitLine>;

/** What the job of one code takes, summed over its statements. */
export class Job {
  readonly uses: readonly Use[];
  private readonly model: Model;
  private readonly variant: Variant;
  private readonly actions = new Map<Statement, readonly Action[]>();

  constructor(model: Model, variant: Variant) {
    this.model = model;
    this.variant = variant;
    for (const entry of variant.entries)
      if (entry.role === 'statement') this.actions.set(entry.statement, entry.actions);
    this.uses = model.steps.flatMap((step) => [...this.usesIn(step, step.step.statements)]);
  }

  get code(): string | undefined {
    return this.variant.code;
  }

  private *usesIn(step: StepEntry, statements: readonly Statement[]): Generator<Use> {
    for (const statement of statements) {
      if (!this.applies(statement)) continue;
      if (statement.branches === undefined) yield { statement, step };
      for (const branch of statement.branches ?? []) yield* this.usesIn(step, branch.statements);
    }
  }

  private applies(statement: Statement): boolean {
    return appliesTo(statement, this.code);
  }

  /** Sums over a sequence; of alternatives, the least is sure and the greatest possible. */
  private tally(amountsOf: (statement: Statement) => Iterable<readonly [key: string, amount: number]>): Tally {
    const sequence = (statements: readonly Statement[]): Tally => {
      const total: Tally = new Map();
      const add = (key: string, { sure, most, when }: Range): void => {
        const before = total.get(key) ?? nothing;
        total.set(key, { sure: before.sure + sure, most: before.most + most, when: [...before.when, ...when] });
      };
      for (const statement of statements) {
        if (!this.applies(statement)) continue;
        if (statement.branches === undefined) {
          for (const [key, amount] of amountsOf(statement)) add(key, { sure: amount, most: amount, when: [] });
          continue;
        }
        const branches = statement.branches.map((branch) => sequence(branch.statements));
        if (statement.kind === 'if' && branches.length === 1) branches.push(new Map());
        for (const key of new Set(branches.flatMap((branch) => [...branch.keys()]))) {
          const ranges = branches.map((branch) => branch.get(key) ?? nothing);
          const least = Math.min(...ranges.map(({ sure }) => sure));
          const when = ranges.flatMap(({ sure, when: within }, i) =>
            sure > least && statement.kind !== 'for' ? [conditionOf(statement, i), ...within] : within,
          );
          add(key, { sure: least, most: Math.max(...ranges.map(({ most }) => most)), when });
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
        addTo(index, name, use);
      }
    }
    return index;
  }

  private line(
    name: string,
    declaration: Declaration | undefined,
    uses: readonly Use[],
    onlyIf: boolean,
    when: readonly string[],
  ) {
    const seconds = mostOf(declaration?.lead, 'time');
    return {
      code: this.code,
      name,
      title: declaration?.title?.value ?? name,
      onlyIf,
      uses,
      when: [...new Set(when)],
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
    for (const [name, { sure, most, when }] of tally) {
      if (most === 0) continue;
      const uses = byPart.get(name) ?? [];
      const declaration = this.model.parts.get(name);
      yield {
        ...this.line(name, declaration, uses, sure === 0, most > sure ? when : []),
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
        ...present('strength', strengthOf(declaration)),
        ...present('head', headOf(declaration)),
      };
    }
  }

  *tools(): Generator<Coded<Unplaced<KitTool>>> {
    const using = (statement: Statement): string[] => (statement.using ?? []).map(({ text }) => text);
    const tally = this.tally(function* (statement) {
      for (const tool of using(statement)) yield [tool, 1];
    });
    const byTool = this.usesBy(using);
    for (const [name, { sure, when }] of tally) {
      const uses = byTool.get(name) ?? [];
      const declaration = this.model.tools.get(name);
      const range = declaration?.range;
      yield {
        ...this.line(name, declaration, uses, sure === 0, sure === 0 ? when : []),
        ...present('count', severalOf(declaration)),
        ...present('range', range === undefined ? undefined : torqueInBoth(range, this.model.measures)),
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
    for (const [name, { sure, when }] of needed) {
      const amount = amounts.get(name) ?? nothing;
      const uses = bySupply.get(name) ?? [];
      const fills = uses.filter(({ statement }) => statement.kind === 'fill').map(({ statement }) => statement);
      const declaration = this.model.supplies.get(name);
      yield {
        ...this.line(
          name,
          declaration,
          uses,
          sure === 0,
          sure === 0 ? when : amount.most > amount.sure ? amount.when : [],
        ),
        ...present('count', severalOf(declaration)),
        ...present('amount', totalOf(fills, amount, declaration?.amount)),
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

  /** The oil and paste of threads that are tightened, where no statement applies any. */
  private *onThreads(): Generator<Coded<Pick<KitExtra, 'what' | 'why'>>> {
    const byNeed = new Map<string, Use[]>();
    for (const use of this.uses) {
      const { kind, byHand, name } = use.statement;
      if (kind !== 'tighten' || byHand !== undefined || name === undefined || this.applied.has(name.text)) continue;
      const what = forThreads[this.model.parts.get(name.text)?.condition?.text ?? ''];
      if (what !== undefined) addTo(byNeed, what, use);
    }
    for (const [what, uses] of byNeed) {
      const parts = new Set(uses.map(({ statement }) => titleOf(this.model, statement.name!.text)));
      yield { code: this.code, uses, when: [], what, why: `of ${[...parts].join(', ')}` };
    }
  }

  /** Parts that something is applied to. */
  private get applied(): ReadonlySet<string> {
    this.appliedTo ??= new Set(
      this.uses.flatMap(({ statement: { kind, targets = [] } }) =>
        kind === 'apply' ? targets.map(({ text }) => text) : [],
      ),
    );
    return this.appliedTo;
  }
  private appliedTo: ReadonlySet<string> | undefined;

  *extras(): Generator<Coded<Pick<KitExtra, 'what' | 'why'>>> {
    yield* this.onThreads();
    for (const use of this.uses) {
      const { statement } = use;
      const place = { code: this.code, uses: [use], when: [] };
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

/** What a thread that is declared so needs. Thread lock has a check of its own, and new fasteners come with it. */
const forThreads: Readonly<Record<string, string>> = {
  oiled: 'Oil for threads',
  paste: 'Anti-seize paste for threads',
};

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
  const unit = (declared ?? written)?.inUnit;
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
