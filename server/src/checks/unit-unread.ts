import type { Statement } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import { type Check, placeOf, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertBefore } from './edits.ts';
import { beginAlike } from './entries.ts';
import { blocksAround } from './for-codes.ts';
import { isUntoldText } from './hazards.ts';
import { joinedInShort, named } from './wording.ts';

const takesOff: ReadonlySet<string> = new Set(['remove', 'disconnect']);

export const unitUnread: Check = {
  code: 'unit-unread',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires: 'codes are declared and no `identify` stands before the first removal, or only in an `if` without an `else`.',
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

const onlyIfAround = (statement: Statement): Statement | undefined =>
  blocksAround(statement).find(({ block }) => block.kind === 'if' && block.branches?.length === 1)?.block;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  /** The `if` without an `else` in which the code is read: whoever passes it by has not read it. */
  let passedBy: Statement | undefined;
  for (const { statement, role } of variant.entries) {
    if (role !== 'statement') continue;
    if (statement.kind === 'identify' || isUntoldText(statement)) {
      const alone = onlyIfAround(statement);
      // A second `if` is taken to be for whoever passed the first by.
      if (alone === undefined || (passedBy !== undefined && alone !== passedBy)) return;
      passedBy = alone;
      continue;
    }
    if (!takesOff.has(statement.kind)) continue;
    if (passedBy !== undefined && blocksAround(statement).some(({ block }) => block === passedBy)) continue;
    const codes = joinedInShort(model.codes.map(named));
    if (passedBy !== undefined) {
      yield {
        span: placeOf(statement),
        message: `the unit's code is read above in an \`if\` only, and whoever passes that by has not read it before this removal: write \`identify "…"\` in an \`else\`, too, or before the \`if\`, to be compared with ${codes}.`,
        related: related(passedBy.keyword, 'it is read in here only'),
      };
      return;
    }
    yield {
      span: placeOf(statement),
      message: `nobody has read the unit's code before this first removal: write \`identify "…"\` above it, to be compared with ${codes}.`,
      related: related(model.head?.codes[0], 'the codes that this procedure covers'),
    };
    return;
  }
}
