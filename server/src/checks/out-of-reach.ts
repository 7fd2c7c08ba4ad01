import type { Variant } from '../ledger/ledger.ts';
import { areRivals } from '../model/branches.ts';
import type { Model } from '../model/model.ts';
import { actionsWhere, isAmong } from './actions.ts';
import { type Action, type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { betweenPieces, listedInShort, named, noneThere, participle, shortened } from './wording.ts';

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
  const told = new Map<string, Told>();
  for (const action of actionsWhere(variant, isBehind)) {
    const done = participle(action, doing);
    if (done === undefined || action.available === 0 || action.unsure) continue;
    const goingBack = action.verb === 'fit' || action.verb === 'tighten' || action.verb === 'hand-tighten';
    const covers = action.covers.filter((cover) => !(goingBack && cover.cameOff));
    if (covers.length === 0) continue;
    const names = covers.map((cover) => cover.part);
    const earlier = told.get(action.part);
    if (earlier !== undefined && followsOn(earlier, action, names)) continue;
    told.set(action.part, { action, names });
    const carrier = carrierBehind(action, names, model);
    const place = carrier === undefined ? 'it sits' : `it sits on ${named(carrier)}, and that`;
    yield {
      span: action.name,
      message: `${named(action.part)} cannot be ${done}: ${place} behind ${listedInShort(names, named)}, which ${names.length > 1 ? 'are' : 'is'} on; \`remove\` ${names.length > 1 ? 'them' : 'it'} first${isAmong(covers, model) ? betweenPieces(names[0]!) : ''}.`,
      inSomeCodes: noneThere(names.length > 1),
      related: shortened(names).told.flatMap((name) => {
        const declared =
          model.parts.get(carrier ?? action.part)?.behind.find((each) => each.text === name) ??
          model.parts.get(name)?.name;
        return related(declared, `behind ${named(name)}, declared here`);
      }),
      data: { subject: action.part, covers: names },
    };
  }
}

interface Told {
  readonly action: Action;
  readonly names: readonly string[];
}

/** What is done next to a part that is out of reach already: it is loosened and removed, or fitted and tightened, behind the same. */
const nextDone: Readonly<Record<string, readonly string[]>> = {
  loosen: ['remove'],
  fit: ['tighten', 'hand-tighten'],
};

/** Whether `action` is done in the step, and behind the covers, of what was told `earlier`: that is one slip. */
const followsOn = ({ action: earlier, names: known }: Told, action: Action, names: readonly string[]): boolean =>
  nextDone[earlier.verb]?.includes(action.verb) === true &&
  earlier.statement.chunk === action.statement.chunk &&
  !areRivals(earlier.statement, action.statement) &&
  names.every((name) => known.includes(name));

/** What the part sits on, itself or on another carrier, and is behind all of `covers` as the part is declared behind none of them. */
function carrierBehind({ part, before }: Action, covers: readonly string[], { parts }: Model): string | undefined {
  const isBehind = (name: string, cover: string): boolean =>
    parts.get(name)?.behind.some(({ text }) => text === cover) === true;
  if (covers.some((cover) => isBehind(part, cover))) return undefined;
  const seen = new Set([part]);
  let carrier = before.carried[0]?.by;
  while (carrier !== undefined && !seen.has(carrier)) {
    const at = carrier;
    if (covers.every((cover) => isBehind(at, cover))) return at;
    seen.add(at);
    carrier = parts.get(at)?.carriedBy?.text;
  }
  return undefined;
}
