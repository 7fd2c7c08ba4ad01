import { actionsOf, type Check, eachVariant, named, related } from './check.ts';
import { insertBefore } from './edits.ts';

export const stillHeld: Check = {
  code: 'still-held',
  severity: 'error',
  section: 'Coming back',
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
    yield* eachVariant(ledger, function* (variant) {
      for (const { action } of actionsOf(variant)) {
        if (action.verb !== 'remove' || action.along || action.unsure) continue;
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
    });
  },
  repairs(finding, { model, ledger }) {
    const holders = finding.data?.['holders'] as string[];
    const statement = ledger.variants
      .flatMap((variant) => variant.entries)
      .find((entry) => entry.actions.some((action) => action.name === finding.span))?.statement;
    if (statement === undefined) return [];
    return [
      {
        title: `Remove ${holders.join(', ')} first`,
        edits: [
          insertBefore(
            model.tree,
            statement,
            holders.map((holder) => `remove ${holder}`),
          ),
        ],
        safe: false,
      },
    ];
  },
};
