import type { Name, Statement } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Mark, PartState } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { actionsWhere, pickedOfAll } from './actions.ts';
import { owedAtEnd } from './at-end.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { fitNew, insertAfter } from './edits.ts';
import { lastPlaceOf, placesOn } from './entries.ts';
import { behindAlternatives, blocksAround, forCodes } from './for-codes.ts';
import { insertFastened, insertMirrored } from './mirrored.ts';
import { tightenAsDeclared } from './tighten-line.ts';
import { named } from './wording.ts';

const putsScrapBack = pickedOfAll(({ refittedScrap }) => refittedScrap > 0);

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
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const count = Number(finding.data?.['count']);
    const declaration = model.parts.get(part);
    const whole = countOf(declaration);
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const refit =
      finding.data?.['back'] === true
        ? placesOn(variant, part)
            .flatMap((place) => variant.entries[place]!.actions)
            .find((action) => action.part === part && putsScrapBack(action, model.parts))
        : undefined;
    if (refit !== undefined && !refit.along) {
      return refit.refittedScrap === refit.acted
        ? [{ title: `Fit a new ${part}`, edits: [fitNew(model.tree, refit.statement, refit.name)], safe: true }]
        : [];
    }
    const lines = [`fit new ${part}${count === whole ? '' : ` x${count}`}`];
    const others = besideOthers(model, variant, part);
    if (others !== undefined)
      return [
        {
          title: `Fit a new ${part} with the others`,
          edits: [insertAfter(model.tree, others, forCodes(model, finding, lines, others))],
          safe: false,
        },
      ];
    const edit = model.fasteners.has(part)
      ? insertFastened(model, variant, part, finding, lines, tightenAsDeclared(model, part, count))
      : insertMirrored(model, variant, part, finding, lines);
    return [
      {
        title: `Fit a new ${part} in the mirrored place`,
        edits: [edit],
        safe: false,
      },
    ];
  },
};

/** In this file, what puts the other pieces back once these are scrap; of a fastener, where a line further down tightens all that are on. */
function besideOthers(model: Model, variant: Variant, part: string): Statement | undefined {
  const { lastBack, lastScrap } = variant.final.get(part) ?? {};
  const back = lastBack?.statement;
  if (back === undefined || lastScrap === undefined || back.chunk.uri !== model.tree.uri) return undefined;
  const place = lastPlaceOf(variant, back);
  if (place < lastPlaceOf(variant, lastScrap.statement)) return undefined;
  const tightensAll = (at: number): boolean => {
    const { statement } = variant.entries[at]!;
    const { kind, count, holes, byHand } = statement;
    const isOfAll = kind === 'tighten' && count === undefined && holes === undefined && byHand === undefined;
    return at > place && isOfAll && blocksAround(statement).length === 0;
  };
  if (model.fasteners.has(part) && !placesOn(variant, part).some(tightensAll)) return undefined;
  return behindAlternatives(back);
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  const tell = (part: string, count: number, state: PartState, mark: Mark, refit?: Name): Raw => {
    const one = countOf(model.parts.get(part)) === 1;
    return {
      span: mark.name,
      message: `${one ? named(part) : `${count} of ${named(part)}`} ${count === 1 ? 'goes' : 'go'} to scrap and nothing takes ${count === 1 ? 'its' : 'their'} place: \`fit new ${part}\`, or \`omit\` it with the reason.`,
      related: [
        ...(state.lastScrap === undefined || state.lastScrap.name === mark.name
          ? []
          : related(state.lastScrap.name, 'discarded here')),
        ...related(refit, 'this puts the discarded one back'),
        ...related(model.parts.get(part)?.name, `${named(part)} is declared here`),
      ],
      data: { subject: part, count, variant: variant.code ?? '', back: refit !== undefined },
    };
  };
  for (const action of actionsWhere(variant, putsScrapBack, model)) {
    const mark = action.before.lastOff ?? action.before.lastScrap;
    if (mark === undefined || action.unsure) continue;
    yield tell(action.part, action.refittedScrap, action.before, mark, action.name);
  }
  // Of what went to scrap in one place, the pieces that are put back are told of first.
  for (const { part, state, shortage, mark } of owedAtEnd(variant))
    if (shortage === 'not-replaced') yield tell(part, state.scrap, state, mark);
}
