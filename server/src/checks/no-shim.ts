import { type ShimTarget, worstReading } from '../mechanics/index.ts';
import { figure, fromSI, say, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related, type Statement } from './check.ts';
import { digitsApart } from './rounding.ts';
import { type Shimming, shimmingOf } from './shimming.ts';
import { named } from './wording.ts';

export const noShim: Check = {
  code: 'no-shim',
  severity: 'error',
  section: 'Mounting, waiting, measuring',
  local: true,
  fires:
    "for some reading within the measure's limits, no stack of the listed shims reaches the target; information where every reading is within an end play as it is, or the least one takes more than twelve shims.",
  why: 'The gap is measured, the shim that it calls for is not in the kit, and the job stops.',
  bad: `part shim-pack "Shims"
teardown
  step off
    remove shim-pack
reassembly
  step set
    measure gap-a limit 0.40..1.20 mm
    shim shim-pack gap gap-a endplay 0.05..0.10 mm from 0.30 mm x1, 0.50 mm x1
    fit shim-pack`,
  good: `part shim-pack "Shims"
teardown
  step off
    remove shim-pack
reassembly
  step set
    measure gap-a limit 0.40..0.60 mm
    shim shim-pack gap gap-a endplay 0.05..0.10 mm from 0.05 mm
    fit shim-pack`,
  *run({ model }): Generator<Raw> {
    for (const statement of statementsOf(model, 'shim')) {
      const shimming = shimmingOf(model, statement);
      if (shimming?.limits === undefined) continue;
      const worst = worstReading(shimming.limits, shimming.target, shimming.shims);
      if (worst === undefined) {
        if (isNeedless(shimming.limits, shimming.target)) yield needless(statement, shimming.limits);
        else yield* tooMany(statement, shimming.limits, shimming);
        continue;
      }
      const [first] = statement.stock!;
      const last = statement.stock!.at(-1)!;
      const span = { ...first!.thickness, end: (last.count ?? last.thickness).end };
      const place = { chunk: span.chunk, start: span.start, end: span.end };
      if ('problem' in worst) {
        yield {
          span: place,
          severity: 'warning',
          message: `these shims cannot be judged: ${worst.problem}.`,
          related: [],
        };
        continue;
      }
      const { pieces, total, result } = worst.nearest;
      const unit = statement.aim!.quantity!.inUnit!;
      const inUnit = (micrometres: number): number => fromSI(micrometres * 1e-6, unit);
      const length = (micrometres: number, digits = 4): string => say(inUnit(micrometres), unit, digits);
      const stack =
        pieces.length === 0
          ? 'no shim at all'
          : pieces.length === 1
            ? length(total)
            : `${pieces
                .slice(0, 6)
                .map((piece) => figure(inUnit(piece), 4))
                .join(' + ')}${pieces.length > 6 ? ' + …' : ''} = ${length(total)}`;
      const { low, high } = shimming.target;
      const digits = digitsApart(inUnit(result), inUnit(result < low ? low : high), 4);
      const kind = shimming.target.kind === 'endplay' ? 'end play' : 'preload';
      yield {
        span: place,
        message: `a reading of ${length(worst.reading)} within ${length(shimming.limits.low)} to ${length(shimming.limits.high)} has no stack for ${kind} ${written(statement.aim!.quantity!)}: the nearest is ${stack}, which leaves ${length(result, digits)}; list more thicknesses.`,
        related: related(
          model.readings.get(statement.gap!.text)?.name,
          `${named(statement.gap!.text)} is measured here`,
        ),
        data: { subject: statement.name?.text ?? '' },
      };
    }
  },
};

/** Shims in one pack; as few as can be is common practice, no source. */
const mostInPack = 12;

/** Whoever measures expects a pack of a few: one that takes dozens has a slipped decimal somewhere. */
function* tooMany({ aim, gap, name }: Statement, { low }: Limits, { target, shims }: Shimming): Generator<Raw> {
  const thickest = Math.max(...shims.map(({ thickness }) => thickness));
  const least = target.kind === 'endplay' ? low - target.high : low + target.low;
  const count = Math.ceil(least / thickest);
  if (!Number.isFinite(count) || count <= mostInPack) return;
  const unit = aim!.quantity!.inUnit!;
  const [reading, shim] = [low, thickest].map((each) => say(fromSI(each * 1e-6, unit), unit, 4));
  yield {
    span: gap!,
    severity: 'information',
    message: `the least reading, ${reading}, takes ${count} shims of ${shim}, the thickest: check the limits and the thicknesses for a slipped decimal.`,
    related: [],
    data: { subject: name?.text ?? '' },
  };
}

type Limits = NonNullable<Shimming['limits']>;

const isNeedless = (limits: Limits, { kind, low, high }: ShimTarget): boolean =>
  kind === 'endplay' && limits.low >= low && limits.high <= high;

/** Whoever shims expects the gap to be too wide: one that never is has a slipped decimal somewhere. */
function needless({ aim, name }: Statement, limits: Limits): Raw {
  const target = aim!.quantity!;
  const [low, high] = [limits.low, limits.high].map((end) =>
    say(fromSI(end * 1e-6, target.inUnit!), target.inUnit!, 4),
  );
  return {
    span: target,
    severity: 'information',
    message: `every reading from ${low} to ${high} is within end play ${written(target)} as it is, and no shim is ever chosen: check the target and the limits for a slipped decimal.`,
    related: [],
    data: { subject: name?.text ?? '' },
  };
}
