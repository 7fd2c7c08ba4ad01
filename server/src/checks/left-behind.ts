import type { Variant } from '../ledger/ledger.ts';
import { on, type PartState } from '../ledger/state.ts';
import { namesWhere } from '../model/amended.ts';
import { countOf, type Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter } from './edits.ts';
import { behindAlternatives, forCodes } from './for-codes.ts';
import { named } from './wording.ts';

export const leftBehind: Check = {
  code: 'left-behind',
  severity: 'error',
  section: 'Coming back',
  fires: 'a carrier goes to scrap and something that it carried is neither transferred, discarded nor renewed.',
  why: 'The new drum arrives bare; the brake wheel leaves with the old one.',
  bad: `part old-drum "Drum"
part new-drum "Drum"
part wheel "Brake wheel" carried by old-drum
teardown
  step open
    remove old-drum
    swap old-drum for new-drum
reassembly
  step close
    fit new-drum`,
  good: `part old-drum "Drum"
part new-drum "Drum"
part wheel "Brake wheel" carried by old-drum
teardown
  step open
    remove old-drum
    swap old-drum for new-drum
    transfer wheel from old-drum to new-drum
reassembly
  step close
    fit new-drum`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const successor = String(finding.data?.['successor']);
    if (successor === '') return [];
    const part = String(finding.data?.['subject']);
    const carrier = String(finding.data?.['carrier']);
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const swap = variant.final.get(carrier)?.lastScrap?.statement;
    if (swap === undefined) return [];
    const at = behindAlternatives(swap);
    const pieces = Number(finding.data?.['count']);
    const xN = pieces === countOf(model.parts.get(part)) ? '' : ` x${pieces}`;
    const line = `transfer ${part}${xN} from ${carrier} to ${successor}`;
    return [
      {
        title: `Transfer ${part} to ${successor}`,
        edits: [insertAfter(model.tree, at, forCodes(model, finding, [line], at))],
        safe: false,
      },
    ];
  },
};

const isStranded = ({ stranded }: PartState): boolean => stranded > 0;

/** Parts that may still be booked on what goes to scrap. */
const maybeStranded = ({ final, swaps, unsure }: Variant): readonly string[] =>
  (swaps.size > 0 ? [...final.keys()] : namesWhere(final, isStranded)).filter((part) => !unsure.has(part));

/** `wrong-carrier` tells of the line that was to settle it. */
const isTransferredInVain = (variant: Variant, part: string): boolean =>
  actionsThat(variant, 'transfer').some((each) => each.part === part && each.available === 0 && !each.unsure);

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const part of maybeStranded(variant)) {
    const state = variant.final.get(part)!;
    // Stripped from the old carrier and fitted again without a word about where to: it was never transferred.
    const old = state.carried.find(({ by, count }) => count > 0 && variant.swaps.has(by));
    const elsewhere = state.carried.reduce((sum, { by, count }) => sum + (by === old?.by ? 0 : count), 0);
    const refitted = old === undefined ? 0 : Math.min(old.count, Math.max(0, on(state) - elsewhere));
    const pieces = Math.max(state.stranded, refitted);
    if (pieces === 0 || isTransferredInVain(variant, part)) continue;
    const mark = state.stranded > 0 ? state.strandedBy : variant.final.get(old!.by)?.lastScrap;
    if (mark === undefined) continue;
    const { statement, name } = mark;
    if (variant.unsure.has(name.text)) continue;
    const successor = variant.swaps.get(name.text);
    const total = countOf(model.parts.get(part));
    const share = total === 1 ? '' : pieces < total ? ` (${pieces} of ${total})` : ` (${pieces} pieces)`;
    yield {
      span: name,
      message: `${named(part)}${share} ${pieces > 1 ? 'are' : 'is'} still booked on ${named(name.text)}, which goes to scrap here: ${successor === undefined ? '`discard` it as well, or `fit new` one' : `\`transfer ${part} from ${name.text} to ${successor}\`, or \`discard\` it`}.`,
      related: related(model.parts.get(part)?.name, `${named(part)} is declared here`),
      data: {
        subject: part,
        count: pieces,
        carrier: name.text,
        successor: successor ?? '',
        kind: statement.kind,
        variant: variant.code ?? '',
      },
    };
  }
}
