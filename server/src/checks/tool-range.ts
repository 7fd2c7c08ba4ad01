import type { Declaration, Statement } from '../../../grammar/syntax.ts';
import { unitOf } from '../../../grammar/units.ts';
import { rangeUse } from '../mechanics/index.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { type Extent, extentOf, figure, fromSI, say, written } from '../model/quantity.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { digitsApart } from './rounding.ts';
import { named } from './wording.ts';
import { type Ends, reads, settingsOf, suitingIn, type WrenchUse, wrenchUse } from './wrenches.ts';

const newtonMetre = unitOf('N·m')!;

const areAlike = (a: readonly Ends[], b: readonly Ends[]): boolean =>
  a.length === b.length && a.every(([least, most], i) => least === b[i]![0] && most === b[i]![1]);

export const toolRange: Check = {
  code: 'tool-range',
  severity: 'error',
  section: 'Tightening',
  local: true,
  asksOfTools: 'range',
  namesOtherTools: true,
  fires:
    "a torque lies outside the range of the wrenches named for it, or a temperature, a limit of a reading or a force (a warning) outside that of the tool it is done with; a warning where the final torque is below a fifth of the wrench's upper end.",
  why: 'At the bottom of its range a wrench clicks when it likes.',
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
tool wrench "Torque wrench" range 40..200 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt using wrench`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
tool wrench "Torque wrench" range 5..100 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt using wrench`,
  *run({ model }): Generator<Raw> {
    yield* outOfRange(model);
    const suitingFor = suitingIn(model);
    /** By what they tell of: thousands of bolts are tightened alike. */
    const told = new Map<string, { readonly settings: readonly Ends[]; readonly finding: Omit<Raw, 'span'> }[]>();
    for (const statement of statementsOf(model, 'tighten')) {
      const use = wrenchUse(model, statement);
      if (use === undefined) continue;
      const { torques, adapted } = use;
      const settings = settingsOf(use);
      for (const { name, tool, low, high } of use.wrenches) {
        const others = use.wrenches.filter((other) => other.name !== name);
        const bad = misread(settings, low, high, others);
        if (bad === undefined) continue;
        const { outside } = bad;
        const stated = written(torques[bad.place]!.quantity);
        const own = torques.at(-1)!.quantity.inUnit;
        const key = `${name.text} ${stated} ${own?.symbol} ${settings.at(-1)![0]}`;
        let finding = told.get(key)?.find((other) => areAlike(other.settings, settings))?.finding;
        if (finding === undefined) {
          const unit = tool.range?.inUnit ?? newtonMetre;
          const reading = fromSI(bad.reading, unit);
          const digits = digitsApart(reading, fromSI(bad.reading < low ? low : high, unit));
          const what = adapted ? `the setting for ${stated}, ${say(reading, unit, digits)},` : stated;
          const share = (bad.reading / high) * 100;
          const better = suitingFor(settings, own);
          const beside =
            better === undefined && outside && settings.length > 1
              ? suitingFor([settings[bad.place]!], own)
              : undefined;
          finding = {
            severity: outside ? 'error' : 'warning',
            message: outside
              ? `${what} lies outside the range of ${named(name.text)} (${written(tool.range!)})${beside === undefined ? `: use ${better === undefined ? 'a wrench that covers it' : named(better)}` : `, and no wrench reads all of these: name ${named(beside)} for it as well`}.`
              : `${what} is only ${figure(share, digitsApart(share, 20, 2))} % of the upper end of ${named(name.text)} (${written(tool.range!)}), where it reads poorly: use ${better === undefined ? 'a smaller wrench' : named(better)}.`,
            related: related(tool.range, 'the range is declared here'),
            data: { subject: name.text, better: better ?? '', beside: beside ?? '' },
          };
          addTo(told, key, { settings, finding });
        }
        yield { span: name, ...finding };
      }
    }
  },
  repairs(finding, { model }) {
    const better = String(finding.data?.['better'] ?? '');
    const beside = String(finding.data?.['beside'] ?? '');
    if (beside !== '')
      return [
        {
          title: `Name ${beside} as well`,
          edits: [replaceSpan(model.tree, { ...finding.span, start: finding.span.end }, `, ${beside}`)],
          safe: false,
        },
      ];
    return better === ''
      ? []
      : [{ title: `Use ${better}`, edits: [replaceSpan(model.tree, finding.span, better)], safe: false }];
  },
};

/**
 * The first torque of a row that lies outside of what a wrench reads, with its setting there, else the last where that reads
 * poorly. Those that one of `others`, named with it, reads are left to that.
 */
function misread(
  settings: readonly Ends[],
  low: number,
  high: number,
  others: WrenchUse['wrenches'],
): { readonly place: number; readonly reading: number; readonly outside: boolean } | undefined {
  const isLeft = (ends: Ends, place: number): boolean =>
    others.some((other) => reads(other, ends, place === settings.length - 1));
  for (const [place, ends] of settings.entries()) {
    if (isLeft(ends, place)) continue;
    for (const reading of ends) {
      const verdict = rangeUse(reading, low, high)?.verdict;
      if (verdict === 'below' || verdict === 'above') return { place, reading, outside: true };
    }
  }
  const place = settings.length - 1;
  if (isLeft(settings[place]!, place)) return undefined;
  const [reading] = settings[place]!;
  return rangeUse(reading, low, high)?.verdict === 'low' ? { place, reading, outside: false } : undefined;
}

/** Whether a tool reaches all of `extent`; nothing where its range is of another kind. */
function reaches(tool: Declaration | undefined, extent: Extent): boolean | undefined {
  const range = extentOf(tool?.range);
  if (range === undefined || range.kind !== extent.kind) return undefined;
  const slack = 1e-9 * Math.max(Math.abs(range.low), Math.abs(range.high));
  return extent.low >= range.low - slack && extent.high <= range.high + slack;
}

/** Work that a tool other than a wrench does. */
const isOtherWork = ({ kind }: Statement): boolean =>
  kind === 'heat' || kind === 'cool' || kind === 'press' || kind === 'measure';

/** What heats, cools or presses, and what measures, by its name. Common practice, no source. */
const worker = /(?:bath|burner|chiller|freezer|furnace|gun|heater|plate|jack|oven|press|torch)$/i;
const gauge = /(?:balance|cell|dial|gauge|indicator|logger|probe|recorder|scale|sensor|tester|meter|caliper)s?$/i;

/** Whether a tool may do the work of `kind`: an oven thermometer measures, an oven with a thermometer heats. */
function mayDo({ name, title }: Declaration, kind: Statement['kind']): boolean {
  for (const said of [title?.value, name?.text]) {
    const noun = /^[^,;(\d]*?(?=\s*(?:[,;(\d]|\b(?:for|of|on|with)\b|$))/i.exec(said ?? '')?.[0] ?? '';
    if (worker.test(noun)) return kind !== 'measure';
    if (gauge.test(noun)) return kind === 'measure';
  }
  return true;
}

/** What a heater, press or gauge is to reach and cannot, where no other tool named with it can. */
function* outOfRange(model: Model): Generator<Raw> {
  const { tools } = model;
  const doing = new Map<string, readonly Declaration[]>();
  const toolsFor = (kind: Statement['kind']): readonly Declaration[] => {
    const found =
      doing.get(kind) ?? [...tools.values()].filter((tool) => tool.range !== undefined && mayDo(tool, kind));
    doing.set(kind, found);
    return found;
  };
  const known = new Map<string, string | undefined>();
  const suiting = (kind: Statement['kind'], extent: Extent): string | undefined => {
    const key = `${kind} ${extent.kind} ${extent.low} ${extent.high}`;
    if (!known.has(key)) known.set(key, toolsFor(kind).find((each) => reaches(each, extent) === true)?.name?.text);
    return known.get(key);
  };
  for (const { step } of model.steps) {
    for (const statement of statementsIn(step)) {
      if (!isOtherWork(statement) || statement.using === undefined) continue;
      const { kind, to, limit, max, min, using } = statement;
      for (const quantity of [to, limit, max, min]) {
        const extent = extentOf(quantity);
        if (quantity === undefined || extent === undefined) continue;
        if (using.some(({ text }) => reaches(tools.get(text), extent) === true)) continue;
        for (const name of using) {
          const tool = tools.get(name.text);
          if (reaches(tool, extent) !== false) continue;
          const better = suiting(kind, extent);
          yield {
            span: name,
            // A press that is weaker than it may be can do all the same.
            ...(kind === 'press' && { severity: 'warning' as const }),
            message: `${written(quantity)} lies outside the range of ${named(name.text)} (${written(tool!.range!)}): use ${better === undefined ? 'one that covers it' : named(better)}.`,
            related: related(tool!.range, 'the range is declared here'),
            data: { subject: name.text, better: better ?? '' },
          };
        }
      }
    }
  }
}
