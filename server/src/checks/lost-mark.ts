import type { Variant } from '../ledger/ledger.ts';
import { rotationalSymmetry } from '../mechanics/index.ts';
import { countOf, type Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore } from './edits.ts';
import { entryNaming } from './entries.ts';
import { holesOf } from './fastening.ts';
import { patternOf } from './holes.ts';
import { named } from './wording.ts';

export const lostMark: Check = {
  code: 'lost-mark',
  severity: 'warning',
  section: 'Coming back',
  local: true,
  fires:
    'an `index` part is removed without a `mark`, unless it is a single piece whose hole pattern fits in one position only.',
  why: 'A balanced flange or a timed gear goes back one tooth off, and nobody sees it until it runs.',
  bad: `part flange "Flange" index
teardown
  step open
    remove flange
reassembly
  step close
    fit flange`,
  good: `part flange "Flange" index
teardown
  step open
    mark flange
    remove flange
reassembly
  step close
    fit flange`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const statement = entryNaming(ledger, finding.span)?.statement;
    if (statement === undefined) return [];
    const line =
      model.parts.get(part)?.renew === undefined ? `mark ${part}` : `mark ${part} "On what stays beside it, too"`;
    return [{ title: `Mark ${part} first`, edits: [insertBefore(model.tree, statement, [line])], safe: false }];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'remove')) {
    const part = model.parts.get(action.part);
    if (action.along || part?.index === undefined || part.broken || action.available === 0) continue;
    if (action.before.marked || action.unsure) continue;
    // Of several like pieces, a pattern does not tell which goes where.
    const fixing = countOf(part) > 1 ? [] : [part, ...part.heldBy.map((holder) => model.parts.get(holder.text))];
    const patterns = fixing.map((each) => patternOf(model, each));
    const folds = patterns.flatMap((pattern) => {
      const holes = holesOf(pattern);
      const fold = holes === undefined ? undefined : rotationalSymmetry(holes);
      return fold === undefined ? [] : [{ fold, name: pattern!.name!.text }];
    });
    if (folds.some(({ fold }) => fold === 1)) continue;
    const fits = folds[0] === undefined ? '' : ` (${named(folds[0].name)} fits in ${folds[0].fold} positions)`;
    const mark = `write \`mark ${action.part}\` above this line`;
    yield {
      span: action.name,
      message:
        part.renew === undefined
          ? `${named(action.part)} must go back as it came off${fits}, and nothing marks it: ${mark}.`
          : `the new ${named(action.part)} must sit as this one does${fits}, and nothing marks how: ${mark}, with a text that says what stays on and bears the mark too.`,
      related: related(part.index, '`index` is declared here'),
      data: { subject: action.part },
    };
  }
}
