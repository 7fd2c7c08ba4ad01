import { countOf } from '../model/model.ts';
import { owedAtEnd } from './at-end.ts';
import { type Check, eachVariant, named, related } from './check.ts';
import { tightenLine } from './edits.ts';
import { insertMirrored } from './mirrored.ts';

export const notReplaced: Check = {
  code: 'not-replaced',
  severity: 'error',
  section: 'Coming back',
  fires: 'a part is discarded and nothing new is fitted or swapped in.',
  why: 'A seal that went to scrap and was never renewed leaves the unit open.',
  bad: `part seal "Shaft seal"
teardown
  step open
    remove seal
    discard seal`,
  good: `part seal "Shaft seal"
teardown
  step open
    remove seal
    discard seal
reassembly
  step close
    fit new seal`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, function* (variant) {
      for (const { part, state, shortage, mark } of owedAtEnd(variant)) {
        if (shortage !== 'not-replaced') continue;
        yield {
          span: mark.name,
          message: `${state.scrap > 1 ? `${state.scrap} of ${named(part)} go` : `${named(part)} goes`} to scrap and nothing takes ${state.scrap > 1 ? 'their' : 'its'} place: \`fit new ${part}\`, or \`omit\` it with the reason.`,
          related: [
            ...(state.lastScrap === undefined || state.lastScrap.name === mark.name
              ? []
              : related(state.lastScrap.name, 'discarded here')),
            ...related(model.parts.get(part)?.name, `${named(part)} is declared here`),
          ],
          data: { subject: part, count: state.scrap, variant: variant.code ?? '' },
        };
      }
    });
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const count = Number(finding.data?.['count']);
    const declaration = model.parts.get(part);
    const whole = countOf(declaration);
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const lines = [`fit new ${part}${count === whole ? '' : ` x${count}`}`];
    if (model.fasteners.has(part)) lines.push(tightenLine(part, declaration, count, whole));
    return [
      {
        title: `Fit a new ${part} in the mirrored place`,
        edits: [insertMirrored(model, variant, part, lines)],
        safe: false,
      },
    ];
  },
};
