import { walk } from '../../../grammar/syntax.ts';
import type { Severity } from '../checks/check.ts';
import type { Judged } from '../checks/run.ts';
import { countOf, type Model } from '../model/model.ts';
import { safetyLevels } from '../model/statements.ts';
import { duration, workDuration } from './durations.ts';
import { declarationsOf } from './facts.ts';
import { planOf } from './plan.ts';
import { severities, summaryOf } from './report.ts';
import { counted } from './wording.ts';

/** Seconds. */
interface Time {
  readonly handsOn: number;
  readonly waiting: number;
  /** Some of the waiting is needed in one of several alternatives only; told where it is so. */
  readonly waitsInCase?: true;
  readonly whole: number;
}

/** How much is in a procedure, or in several. */
export interface Stats {
  readonly lines: number;
  readonly codes: number;
  /** Kinds declared or used, and pieces in all. */
  readonly parts: { readonly kinds: number; readonly pieces: number; readonly renewed: number };
  readonly fasteners: { readonly kinds: number; readonly pieces: number; readonly torqued: number };
  readonly tools: number;
  readonly supplies: number;
  readonly patterns: number;
  readonly steps: number;
  /** By verb, blocks included. */
  readonly statements: Readonly<Record<string, number>>;
  readonly safety: Readonly<Record<(typeof safetyLevels)[number], number>>;
  readonly findings: Readonly<Record<Severity, number>>;
  /** Findings that `fettle-allow` silences. */
  readonly allowed: number;
  /** Seconds, everything in stock, one pair of hands; nothing where the plan cannot be made. */
  readonly time: Time | undefined;
}

export function statsOf(model: Model, judged: Judged): Stats {
  const parts = [...declarationsOf(model, 'part')];
  const fasteners = parts.filter(([name]) => model.fasteners.has(name));
  const pieces = (of: typeof parts): number => of.reduce((sum, [, part]) => sum + countOf(part), 0);
  const statements: Record<string, number> = {};
  for (const { step } of model.steps)
    for (const { kind } of walk(step.statements)) statements[kind] = (statements[kind] ?? 0) + 1;
  const plan = planOf(model, { inStock: true });
  return {
    lines: model.tree.text.split(/\r\n|\n|\r/).length - (/[\r\n]$/.test(model.tree.text) ? 1 : 0),
    codes: model.codes.length,
    parts: {
      kinds: parts.length,
      pieces: pieces(parts),
      renewed: parts.filter(([, { renew }]) => renew !== undefined).length,
    },
    fasteners: {
      kinds: fasteners.length,
      pieces: pieces(fasteners),
      torqued: fasteners.filter(([, { torque }]) => torque !== undefined).length,
    },
    tools: declarationsOf(model, 'tool').size,
    supplies: declarationsOf(model, 'supply').size,
    patterns: declarationsOf(model, 'pattern').size,
    steps: model.steps.filter(({ step }) => step.keyword !== undefined).length,
    statements,
    safety: Object.fromEntries(safetyLevels.map((level) => [level, statements[level] ?? 0])) as Stats['safety'],
    findings: summaryOf(judged.findings),
    allowed: judged.allowed.length,
    time:
      'message' in plan
        ? undefined
        : {
            handsOn: plan.handsOn,
            waiting: plan.waiting,
            ...(plan.waitsInCase && { waitsInCase: true }),
            whole: plan.duration,
          },
  };
}

/** Sums; what several procedures share counts in each. The time of what cannot be planned is left out. */
export function total(all: readonly Stats[]): Stats {
  const sum = (of: (stats: Stats) => number | undefined): number =>
    all.reduce((whole, stats) => whole + (of(stats) ?? 0), 0);
  const keyed = <K extends string>(keys: Iterable<K>, of: (stats: Stats) => Readonly<Partial<Record<K, number>>>) =>
    Object.fromEntries([...keys].map((key) => [key, sum((stats) => of(stats)[key])])) as Record<K, number>;
  return {
    lines: sum(({ lines }) => lines),
    codes: sum(({ codes }) => codes),
    parts: keyed(['kinds', 'pieces', 'renewed'], ({ parts }) => parts),
    fasteners: keyed(['kinds', 'pieces', 'torqued'], ({ fasteners }) => fasteners),
    tools: sum(({ tools }) => tools),
    supplies: sum(({ supplies }) => supplies),
    patterns: sum(({ patterns }) => patterns),
    steps: sum(({ steps }) => steps),
    statements: keyed(
      new Set(all.flatMap(({ statements }) => Object.keys(statements))),
      ({ statements }) => statements,
    ),
    safety: keyed(safetyLevels, ({ safety }) => safety),
    findings: keyed(severities, ({ findings }) => findings),
    allowed: sum(({ allowed }) => allowed),
    time: all.every(({ time }) => time === undefined)
      ? undefined
      : {
          handsOn: sum(({ time }) => time?.handsOn),
          waiting: sum(({ time }) => time?.waiting),
          ...(all.some(({ time }) => time?.waitsInCase) && { waitsInCase: true }),
          whole: sum(({ time }) => time?.whole),
        },
  };
}

/** One row of figures a line of the table, with its words. */
export function statsRows(stats: Stats): [string, string][] {
  const { parts, fasteners, statements, safety, findings, time } = stats;
  const inCase = time?.waitsInCase === true ? 'up to ' : '';
  const counts = (of: Readonly<Record<string, number>>, said: (count: number, name: string) => string): string =>
    Object.entries(of)
      .filter(([, count]) => count > 0)
      .sort(([, a], [, b]) => b - a)
      .map(([name, count]) => said(count, name))
      .join(', ') || 'none';
  const plain = (count: number, name: string): string => `${count} ${name}`;
  const actions = Object.entries(statements).filter(([kind]) => !(safetyLevels as readonly string[]).includes(kind));
  return [
    ['lines', String(stats.lines)],
    [
      'parts',
      `${counted(parts.kinds, 'kind')}, ${counted(parts.pieces, 'piece')}; ${counted(parts.renewed, 'kind')} single-use`,
    ],
    [
      'fasteners',
      `${counted(fasteners.kinds, 'kind')}, ${counted(fasteners.pieces, 'piece')}; ${counted(fasteners.torqued, 'kind')} with a torque`,
    ],
    [
      'others',
      [
        counted(stats.tools, 'tool'),
        counted(stats.supplies, 'supply', 'supplies'),
        counted(stats.patterns, 'pattern'),
        counted(stats.codes, 'code'),
      ].join(', '),
    ],
    [
      'steps',
      `${stats.steps}, with ${counted(
        actions.reduce((sum, [, count]) => sum + count, 0),
        'statement',
      )}`,
    ],
    ['statements', counts(Object.fromEntries(actions), plain)],
    ['safety messages', counts(safety, (count, level) => counted(count, level))],
    [
      'findings',
      `${counts(findings, (count, severity) => (severity === 'information' ? plain : counted)(count, severity))}${stats.allowed > 0 ? `; ${stats.allowed} silenced` : ''}`,
    ],
    [
      'time',
      time === undefined
        ? 'cannot be planned'
        : `${workDuration(time.handsOn)} hands-on, ${inCase}${duration(time.waiting)} waiting, ${inCase}${duration(time.whole)} in all`,
    ],
  ];
}
