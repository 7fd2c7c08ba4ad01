import { countOf, type Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Action, type Check, type Raw, related, type Variant } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { holeCount, holesNamed, holesTightened, isHole, namedAgain, patternOf, sidesOf } from './holes.ts';
import { named } from './wording.ts';

export const badOrder: Check = {
  code: 'bad-order',
  severity: 'error',
  section: 'Tightening',
  local: true,
  fires:
    'a stated order is no permutation of the holes: one is left out, stands twice, or does not exist; or `at holes` names a hole that does not exist, one twice, or not as many as there are pieces.',
  why: 'The bolt that the order forgets is the one that leaks.',
  bad: `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt order 1 3 2`,
  good: `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt order 1 3 2 4`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

const turnsOf = (variant: Variant): Action[] =>
  (['tighten', 'hand-tighten', 'loosen'] as const).flatMap((verb) => actionsThat(variant, verb));

const brief = (holes: readonly number[]): string =>
  holes.length > 6 ? `${holes.slice(0, 5).join(', ')} … ${holes.at(-1)}` : holes.join(', ');

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of turnsOf(variant)) {
    const { statement } = action;
    const count = statement.holes === undefined ? undefined : holeCount(patternOf(model, model.parts.get(action.part)));
    for (const hole of statement.holes ?? []) {
      if (count === undefined || action.verb === 'loosen' || isHole(hole.value, count)) continue;
      yield {
        span: hole,
        message: `there is no hole ${hole.image}: the pattern of ${named(action.part)} has holes 1 to ${count}.`,
        related: related(model.parts.get(action.part)?.holes, 'the pattern is named here'),
        data: { subject: action.part },
      };
    }
    if (action.verb !== 'loosen' && !statement.broken) yield* ofHolesNamed(action, model, count);
    if (statement.order?.form !== 'list' || statement.broken) continue;
    const all = new Set(holesTightened(model, statement, action.available));
    const order = statement.order.holes.map((hole) => hole.value);
    // Of a part whose holes are numbered, xN fasteners stand in the holes that the order names.
    const xN = statement.holes === undefined ? statement.count?.value : undefined;
    const some = xN !== undefined && xN < all.size && order.length === xN;
    const holes = some ? new Set(order.filter((hole) => all.has(hole))) : all;
    const twice = [...new Set(order.filter((hole, i) => order.indexOf(hole) !== i))];
    const strange = [...new Set(order.filter((hole) => !holes.has(hole)))];
    const missing = [...holes].filter((hole) => !order.includes(hole));
    const troubles = [
      ...(missing.length > 0 ? [`${missing.length > 1 ? 'holes' : 'hole'} ${brief(missing)} left out`] : []),
      ...(twice.length > 0 ? [`${brief(twice)} ${twice.length > 1 ? 'stand' : 'stands'} twice`] : []),
      ...(strange.length > 0
        ? [
            holesNamed(model, statement) !== undefined
              ? `${brief(strange)} ${strange.length > 1 ? 'do' : 'does'} not stand behind \`${statement.holes ? 'at holes' : 'at'}\``
              : `there ${strange.length > 1 ? 'are no holes' : 'is no hole'} ${brief(strange)}`,
          ]
        : []),
    ];
    if (troubles.length === 0) continue;
    const size = some ? order.length : holes.size;
    const part = model.parts.get(action.part);
    yield {
      span: statement.order,
      message: `the order does not name each of the ${size} holes of ${named(action.part)} once: ${troubles.join('; ')}.`,
      related: related(part?.holes ?? part?.count ?? part?.name, `${size} holes by this declaration`),
      data: { subject: action.part },
    };
  }
}

/** Each hole once, and as many as there are pieces on a side: `inPattern` holes make one side. */
function* ofHolesNamed({ statement, part }: Action, model: Model, inPattern: number | undefined): Generator<Raw> {
  const { holes = [], count } = statement;
  const again = namedAgain(holes);
  if (again !== undefined) {
    yield {
      span: again,
      message: `hole ${again.image} of ${named(part)} stands twice behind \`at holes\`: name each hole once.`,
      related: [],
      data: { subject: part },
    };
    return;
  }
  if (count === undefined || holes.length === 0) return;
  const sides = inPattern === undefined ? 1 : Math.max(1, sidesOf(countOf(model.parts.get(part)), inPattern));
  if (count.value % holes.length === 0 && count.value / holes.length <= sides) return;
  yield {
    span: count,
    message: `\`x${count.value}\` is not the ${holes.length === 1 ? 'hole' : `${holes.length} holes`} behind \`at holes\`: name the hole of each of ${named(part)}, or correct the count.`,
    related: [],
    data: { subject: part },
  };
}
