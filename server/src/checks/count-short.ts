import type { Variant } from '../ledger/ledger.ts';
import { missing, on } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { statementsOf } from '../model/statements.ts';
import { actionsWhere, pickedOfAll } from './actions.ts';
import { owedAtEnd } from './at-end.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, replaceSpan } from './edits.ts';
import { behindAlternatives, forCodes, isOnlyFor } from './for-codes.ts';
import { named } from './wording.ts';

const isTooMany = pickedOfAll(
  ({ verb, available, wanted, unsure }) => verb === 'fit' && available !== 0 && (wanted ?? 0) > available && !unsure,
);

export const countShort: Check = {
  code: 'count-short',
  severity: 'error',
  section: 'Coming back',
  fires: 'fewer, or more, pieces of a part are refitted than came off.',
  why: 'Ten bolts back where twelve came off leave two holes empty and the joint uneven.',
  bad: `part bolt x12 "Bolt"
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt x10`,
  good: `part bolt x12 "Bolt"
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt x12`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const { tree } = model;
    const correct = finding.data?.['correct'];
    if (typeof correct === 'number') {
      // The figure that is right for one code is wrong for others that see the same statement.
      const fit = statementsOf(model, 'fit').find(({ count }) => count === finding.span);
      if (fit !== undefined && !isOnlyFor(model, finding, fit)) return [];
      return [
        {
          title: `Correct the count to x${correct}`,
          edits: [replaceSpan(tree, finding.span, `x${correct}`)],
          safe: finding.data?.['isWhole'] !== true,
        },
      ];
    }
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const back = variant.final.get(part)?.lastBack?.statement;
    const short = Number(finding.data?.['missing']);
    if (back === undefined || back.chunk.uri !== tree.uri) return [];
    const at = behindAlternatives(back);
    const { off, fresh, spoiled = 0, scrap = 0 } = variant.final.get(part) ?? { off: short, fresh: 0 };
    const isNew = back.fresh !== undefined;
    const old = isNew ? 0 : off + fresh;
    const lines = [
      ...(old > 0 ? [`fit ${part} x${old}`] : []),
      ...(short > old ? [`fit new ${part} x${short - old}`] : []),
    ];
    const repairs = [
      {
        title: `Fit the other ${short}`,
        edits: [insertAfter(tree, at, forCodes(model, finding, lines, at))],
        safe: false,
      },
    ];
    if (
      back.count !== undefined &&
      at === back &&
      isOnlyFor(model, finding, back) &&
      (isNew || spoiled + scrap === 0)
    ) {
      const all = back.count.value + short;
      repairs.unshift({
        title: `Correct the count to x${all} where it goes back`,
        edits: [replaceSpan(tree, back.count, `x${all}`)],
        safe: false,
      });
    }
    return repairs;
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const { part, state, shortage, mark } of owedAtEnd(variant)) {
    if (shortage !== 'count-short') continue;
    const off = missing(state);
    yield {
      span: mark.name,
      message: `${state.taken} off, ${state.back} back: ${off} of ${named(part)} ${off === 1 ? 'is' : 'are'} still to be ${mark.statement.kind === 'disconnect' ? 'connected' : 'fitted'}.`,
      related: [
        ...related(state.lastBack?.name, `${state.back} went back by here`),
        ...related(model.parts.get(part)?.name, `${named(part)} is declared here`),
      ],
      data: { subject: part, missing: off, variant: variant.code ?? '' },
    };
  }
  for (const action of actionsWhere(variant, isTooMany, model)) {
    // All that there are: the count where they came off may be the wrong one.
    const isWhole =
      action.wanted === countOf(model.parts.get(action.part)) && on(action.before) + action.available === action.wanted;
    yield {
      span: action.statement.count ?? action.name,
      message: `${action.available} off, ${action.wanted} back: ${(action.wanted ?? 0) - action.available} of ${named(action.part)} more than there ${action.available === 1 ? 'is' : 'are'} to fit; ${isWhole ? `take all ${action.wanted} off above, or ` : ''}write \`x${action.available}\`.`,
      related: related(action.before.lastOff?.name, `${named(action.part)} came off here`),
      data: { subject: action.part, correct: action.available, isWhole },
    };
  }
}
