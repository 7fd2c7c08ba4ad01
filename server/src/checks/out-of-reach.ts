import type { Variant } from '../ledger/ledger.ts';
import type { Model } from '../model/model.ts';
import {
  type Action,
  actionsWhere,
  type Check,
  eachVariant,
  listedInShort,
  named,
  noneThere,
  participle,
  type Raw,
  related,
  shortened,
} from './check.ts';

const doing: Readonly<Record<string, string>> = {
  remove: 'removed',
  loosen: 'loosened',
  fit: 'fitted',
  tighten: 'tightened',
  'hand-tighten': 'tightened',
};

export const outOfReach: Check = {
  code: 'out-of-reach',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a part is worked on behind another part that is on.',
  why: 'No hand and no wrench gets there: the step that opens the way is missing or comes later.',
  bad: `procedure unit "Unit"
part cover "Cover"
part seal "Seal" behind cover
reassembly
  step close
    fit new seal
    inspect cover`,
  good: `part cover "Cover"
part seal "Seal" behind cover
teardown
  step open
    remove cover
reassembly
  step close
    fit new seal
    fit cover`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
};

const isBehind = ({ covers }: Action): boolean => covers.length > 0;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsWhere(variant, isBehind)) {
    const done = participle(action, doing);
    if (done === undefined || action.available === 0 || action.unsure) continue;
    const goingBack = action.verb === 'fit' || action.verb === 'tighten' || action.verb === 'hand-tighten';
    const covers = action.covers.filter((cover) => !(goingBack && cover.cameOff));
    if (covers.length === 0) continue;
    const names = covers.map((cover) => cover.part);
    yield {
      span: action.name,
      message: `${named(action.part)} cannot be ${done}: it sits behind ${listedInShort(names, named)}, which ${names.length > 1 ? 'are' : 'is'} on; \`remove\` ${names.length > 1 ? 'them' : 'it'} first.`,
      inSomeCodes: noneThere(names.length > 1),
      related: shortened(names).told.flatMap((name) => {
        const place =
          model.parts.get(action.part)?.behind.find((each) => each.text === name) ?? model.parts.get(name)?.name;
        return related(place, `behind ${named(name)}, declared here`);
      }),
      data: { subject: action.part, covers: names },
    };
  }
}
