import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { type Check, placeOf, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore } from './edits.ts';
import { beginAlike } from './entries.ts';
import { isUntoldText } from './hazards.ts';
import { joinedInShort, named } from './wording.ts';

const takesOff: ReadonlySet<string> = new Set(['remove', 'disconnect']);

export const unitUnread: Check = {
  code: 'unit-unread',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires: 'codes are declared and no `identify` stands before the first removal.',
  why: 'The procedure covers another unit than the one on the bench, and it shows only when it is in pieces.',
  bad: `procedure lid "Lid"
  applies to DW-40
part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `procedure lid "Lid"
  applies to DW-40
part cover "Cover"
teardown
  step open
    identify "Read the code on the plate."
    remove cover
reassembly
  step close
    fit cover`,
  *run({ ledger, model }) {
    if (model.codes.length === 0) return;
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const first = ledger.variants
      .flatMap((variant) => variant.entries)
      .find(({ statement }) => beginAlike(placeOf(statement), finding.span))?.statement;
    if (first === undefined) return [];
    const where = model.head?.codePlate?.value;
    return [
      {
        title: 'Have the code read first',
        edits: [
          insertBefore(model.tree, first, [
            `identify "Read the code${where === undefined ? ' on the unit' : ''} and compare it with the codes of this procedure."`,
          ]),
        ],
        safe: false,
      },
    ];
  },
};

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const { statement, role } of variant.entries) {
    if (role !== 'statement') continue;
    if (statement.kind === 'identify' || isUntoldText(statement)) return;
    if (!takesOff.has(statement.kind)) continue;
    const codes = joinedInShort(model.codes.map(named));
    yield {
      span: placeOf(statement),
      message: `nobody has read the unit's code before this first removal: write \`identify "…"\` above it, to be compared with ${codes}.`,
      related: related(model.head?.codes[0], 'the codes that this procedure covers'),
    };
    return;
  }
}
