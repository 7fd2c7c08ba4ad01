import type { Step } from '../../../grammar/syntax.ts';
import { longestCureAt } from '../ledger/cures.ts';
import type { EarlyLoad, Variant } from '../ledger/ledger.ts';
import { appliesTo } from '../ledger/start.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { figure } from '../model/quantity.ts';
import { type Check, type Raw, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore } from './edits.ts';
import { ByPlace } from './entries.ts';
import { digitsApart } from './rounding.ts';
import { joinedInShort, named } from './wording.ts';

const minute = { symbol: 'min', seconds: 60 } as const;

/** A unit in which both are told shortly: hours where they come out even, seconds for what takes a few minutes and does not. */
function unitFor(cure: number, elapsed: number): { readonly symbol: 's' | 'min' | 'h'; readonly seconds: number } {
  const isEven = (step: number): boolean => cure % step === 0 && elapsed % step === 0;
  if (cure >= 7200 && isEven(900)) return { symbol: 'h', seconds: 3600 };
  return cure < 600 && !isEven(60) ? { symbol: 's', seconds: 1 } : minute;
}

/** Times that nobody grasps in minutes: `18 h 35 min`; absent for others. */
function inHours(seconds: number): string | undefined {
  if (seconds < 7200 || seconds % 60 !== 0) return undefined;
  const minutes = (seconds % 3600) / 60;
  return `${Math.floor(seconds / 3600)} h${minutes === 0 ? '' : ` ${minutes} min`}`;
}

/** From here on halves of an hour are told as such, s: nobody sets a clock to 0.5 h, nor to 690 min. */
const manyHours = 4 * 3600;

/** A time to wait (s), not less: in whole minutes, or in hours where it is many that come out even to the half. */
export function timeToWait(seconds: number): string {
  const minutes = Math.ceil(seconds / 60 - 1e-9);
  const isEven = minutes * 60 >= manyHours && minutes % 30 === 0;
  return isEven ? `${figure(minutes / 60, 9)} h` : `${figure(minutes, 9)} min`;
}

/** What is missing of a cure (s), not less. */
function missingOf(cure: number, elapsed: number): string {
  const { symbol, seconds } = unitFor(cure, elapsed);
  const missing = cure - elapsed;
  const isWhole = seconds < 60 || missing % seconds === 0;
  return isWhole && seconds !== 60
    ? `${figure(Math.ceil(missing / seconds - 1e-9), 6)} ${symbol}`
    : timeToWait(missing);
}

/** Lets `supply` cure. */
export const waitLine = (missing: string, supply: string): string => `wait ${missing} "${supply} cures"`;

/** By what the longest cure lacks, in one of `codes`, when the first `count` statements of `step` are done: its time and its supply. */
export function curesAt(
  model: Model,
  codes: readonly string[],
  step: Step,
  count: number,
): { readonly missing: string; readonly supply: string } | undefined {
  const ways = codes.length === 0 ? [undefined] : codes;
  const [longest] = ways
    .flatMap((code) => longestCureAt(model, (block) => appliesTo(block, code), step, count) ?? [])
    .sort((a, b) => b.cure - b.elapsed - (a.cure - a.elapsed));
  return longest && { missing: missingOf(longest.cure, longest.elapsed), supply: longest.supply };
}

export const notCured: Check = {
  code: 'not-cured',
  severity: 'error',
  section: 'Mounting, waiting, measuring',
  fires: 'the unit is filled, or loaded by a check in proving, before the cure time of something applied has passed.',
  why: 'Oil on soft sealant washes a channel that never closes.',
  bad: `procedure unit "Unit"
part cover "Cover"
supply sealant "Sealant" cure 60 min
supply oil "Oil" 1 L
reassembly
  step close
    apply sealant to cover
    wait 20 min
    fill oil 1 L`,
  good: `procedure unit "Unit"
part cover "Cover"
supply sealant "Sealant" cure 60 min
supply oil "Oil" 1 L
reassembly
  step close
    apply sealant to cover
    wait 60 min
    fill oil 1 L`,
  *run({ ledger }) {
    const worst = worstOf(ledger.variants);
    yield* eachVariant(ledger, (variant) => inVariant(variant, worst));
  },
  repairs(finding, { model, ledger }) {
    const wait = String(finding.data?.['missing']);
    const loading = ledger.variants
      .map(({ earlyLoads }) => loadingsIn(earlyLoads).get(finding.span))
      .find((each) => each !== undefined);
    if (loading === undefined) return [];
    return [
      {
        title: `Wait ${wait} first`,
        edits: [insertBefore(model.tree, loading, [waitLine(wait, String(finding.data?.['supply']))])],
        safe: false,
      },
    ];
  },
};

/** What loads the unit too early, by its name and by its keyword. */
const loadingsIn = noted((early: readonly EarlyLoad[]): ByPlace<Statement> => {
  const found = new ByPlace<Statement>();
  for (const { loading } of early) {
    if (loading.name !== undefined) found.set(loading.name, loading);
    found.set(loading.keyword, loading);
  }
  return found;
});

/** Of what one loading is too early for, each supply once: where it lacks most, as it does by one of several ways. */
function lackingMost(early: readonly EarlyLoad[]): readonly EarlyLoad[] {
  if (early.length < 2) return early;
  const found = new Map<Statement, Map<string, EarlyLoad>>();
  for (const each of early) {
    const bySupply = found.get(each.loading) ?? new Map<string, EarlyLoad>();
    const known = bySupply.get(each.supply);
    if (known === undefined || each.elapsed < known.elapsed) bySupply.set(each.supply, each);
    found.set(each.loading, bySupply);
  }
  return [...found.values()].flatMap((bySupply) => [...bySupply.values()]);
}

/** For each loading and supply the least time that it has had, and the codes that lack some of it with others. */
type Worst = ReadonlyMap<
  Statement,
  ReadonlyMap<string, { readonly elapsed: number; readonly others: readonly string[] }>
>;

function worstOf(variants: readonly Variant[]): Worst {
  const found = new Map<Statement, Map<string, { elapsed: number; others: string[] }>>();
  if (variants.length < 2) return found;
  const early = variants.flatMap(({ code, earlyLoads }) => lackingMost(earlyLoads).map((each) => ({ code, ...each })));
  for (const { loading, supply, elapsed } of early) {
    const bySupply = found.get(loading) ?? new Map<string, { elapsed: number; others: string[] }>();
    const known = bySupply.get(supply);
    if (known === undefined || elapsed < known.elapsed) bySupply.set(supply, { elapsed, others: [] });
    found.set(loading, bySupply);
  }
  for (const { code, loading, supply, elapsed } of early) {
    const worst = found.get(loading)!.get(supply)!;
    if (elapsed > worst.elapsed) worst.others.push(code!);
  }
  return found;
}

function* inVariant(variant: Variant, worst: Worst): Generator<Raw> {
  for (const { applied, supply, loading, cure, elapsed } of lackingMost(variant.earlyLoads)) {
    const most = worst.get(loading)?.get(supply);
    // Told of with the code that lacks more.
    if (most !== undefined && elapsed > most.elapsed) continue;
    const loads = loading.kind === 'fill' ? `${named(loading.name?.text ?? '')} goes in` : 'the unit is loaded';
    const { symbol, seconds } = unitFor(cure, elapsed);
    const digits = digitsApart(cure / seconds, elapsed / seconds);
    const time = (value: number): string => inHours(value) ?? `${figure(value / seconds, digits)} ${symbol}`;
    const missing = missingOf(cure, elapsed);
    yield {
      span: loading.kind === 'fill' ? (loading.name ?? loading.keyword) : loading.keyword,
      message: `${loads} ${inHours(cure - elapsed) ?? missing} too early: ${named(supply)} cures in ${time(cure)} and has had ${time(elapsed)}; \`wait ${missing}\` before${most === undefined || most.others.length === 0 ? '' : `, enough for ${joinedInShort(most.others)} as well`}.`,
      related: related(applied.keyword, `${named(supply)} was applied here`),
      data: { subject: supply, missing, supply },
    };
  }
}
