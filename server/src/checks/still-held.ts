import type { Variant } from '../ledger/ledger.ts';
import { countOf, type Model } from '../model/model.ts';
import { actionsThat, type Check, eachVariant, named, type Raw, related, type Statement } from './check.ts';
import { insertAfter, insertBefore, tightenLine } from './edits.ts';

export const stillHeld: Check = {
  code: 'still-held',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a part is removed while something that holds it is still on.',
  why: 'This is the bolt that hides inside: prying on it breaks the housing.',
  bad: `part bolt x2 "Bolt"
part cover "Cover" held by bolt
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `part bolt x2 "Bolt"
part cover "Cover" held by bolt
teardown
  step open
    remove bolt
    remove cover
reassembly
  step close
    fit cover
    fit bolt`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const holders = finding.data?.['holders'] as string[];
    const part = String(finding.data?.['subject']);
    for (const { entries } of ledger.variants) {
      const at = entries.findIndex((entry) => entry.actions.some((action) => action.name === finding.span));
      if (at < 0) continue;
      const refit = (name: string): Statement | undefined =>
        entries.slice(at).find(({ actions }) => actions.some((each) => each.verb === 'fit' && each.part === name))
          ?.statement;
      const held = refit(part);
      // What comes off here for the first time goes back behind what it holds.
      const back = holders
        .filter((holder) => refit(holder) === undefined)
        .flatMap((holder) => {
          const declaration = model.parts.get(holder);
          const whole = countOf(declaration);
          const tighten = model.fasteners.has(holder) ? [tightenLine(holder, declaration, whole, whole)] : [];
          return [`fit ${holder}`, ...tighten];
        });
      const before = insertBefore(
        model.tree,
        entries[at]!.statement,
        holders.map((holder) => `remove ${holder}`),
      );
      const edits = held === undefined || back.length === 0 ? [before] : [before, insertAfter(model.tree, held, back)];
      return [{ title: `Remove ${holders.join(', ')} first`, edits, safe: false }];
    }
    return [];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'remove')) {
    if (action.along || action.unsure) continue;
    const { holders } = action;
    if (holders.length === 0) continue;
    const say = holders.map((holder) => {
      const whole = model.parts.get(holder.part)?.count?.value ?? 1;
      return whole > 1 ? `${named(holder.part)} (${holder.on} of ${whole} on)` : named(holder.part);
    });
    const list = say.length > 1 ? `${say.slice(0, -1).join(', ')} and ${say.at(-1)}` : say[0]!;
    yield {
      span: action.name,
      message: `${named(action.part)} is still held by ${list}: \`remove\` ${holders.length > 1 || holders[0]!.on > 1 ? 'them' : 'it'} first.`,
      related: holders.flatMap((holder) => {
        const place =
          model.parts.get(action.part)?.heldBy.find((name) => name.text === holder.part) ??
          model.parts.get(holder.part)?.name;
        return related(place, `held by ${named(holder.part)}, declared here`);
      }),
      data: { subject: action.part, holders: holders.map((holder) => holder.part) },
    };
  }
}
