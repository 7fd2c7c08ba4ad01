import { type Declaration, type Quantity, type Statement, spanText } from '../../../grammar/syntax.ts';
import { type Action, stateBefore, type Variant } from '../ledger/ledger.ts';
import { putAwayAnew } from '../ledger/put-away.ts';
import { onBench } from '../ledger/state.ts';
import { parseThread } from '../mechanics/index.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { extentOf, written } from '../model/quantity.ts';
import { actionsWhere, pickedOfAll } from './actions.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { replaceSpan } from './edits.ts';
import { lastPlaceOf } from './entries.ts';
import { blocksAround } from './for-codes.ts';
import { goesToScrap } from './scrapped.ts';
import { named } from './wording.ts';

export const keptTogether: Check = {
  code: 'kept-together',
  severity: 'warning',
  section: 'Coming back',
  fires:
    '`keep in` puts a fastener where one of the same thread lies that is declared longer or shorter, or of another class or grade; an information where two shims, springs or the like lie in one place unmarked, and are told apart by their side alone.',
  why: 'They go into the holes of each other: the long one breaks through the casting or clamps nothing, the weak one stretches.',
  assumes: () => [
    'A place with the word hole, template, card or rack has one for each, and who keeps nuts with bolts does not mix them up. Common practice, no source.',
    'A side is said by the name: left, right, front, rear, upper, lower, port, starboard and the like, or a number or letter. Who tags or ties what comes off keeps it apart. Common practice, no source.',
  ],
  bad: `part long-bolt "Long bolt" thread M8 class 8.8 length 40 mm
part short-bolt "Short bolt" thread M8 class 8.8 length 25 mm
teardown
  step open
    remove long-bolt keep in "bag A"
    remove short-bolt keep in "bag A"
reassembly
  step close
    fit long-bolt
    fit short-bolt
    tighten long-bolt to 20 N·m
    tighten short-bolt to 20 N·m`,
  good: `part long-bolt "Long bolt" thread M8 class 8.8 length 40 mm
part short-bolt "Short bolt" thread M8 class 8.8 length 25 mm
teardown
  step open
    remove long-bolt keep in "bag A"
    remove short-bolt keep in "bag B"
reassembly
  step close
    fit long-bolt
    fit short-bolt
    tighten long-bolt to 20 N·m
    tighten short-bolt to 20 N·m`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs({ span, data }, { model }) {
    const part = String(data?.['subject']);
    return [
      {
        title: `Keep ${part} in a place of its own`,
        edits: [replaceSpan(model.tree, span, `${spanText(span).replace(/"$/, '')}, ${part}"`)],
        safe: false,
      },
    ];
  },
};

/** A fastener by what tells it from another of its thread. */
interface Kind {
  readonly thread: string;
  readonly length: Quantity | undefined;
  readonly class: string | undefined;
  readonly grade: string | undefined;
  readonly isNut: boolean;
}

function kindOf({ thread, length, propertyClass, grade, name, title }: Declaration): Kind | undefined {
  const designation = thread === undefined ? undefined : parseThread(thread.text)?.designation;
  if (designation === undefined) return undefined;
  const isNut =
    /\bnuts?\b/i.test(`${name?.text ?? ''} ${title?.value ?? ''}`) || /^\d+$/.test(propertyClass?.image ?? '');
  return { thread: designation, length, class: propertyClass?.image, grade: grade?.image, isNut };
}

/** How the second of two differs from the first; nothing where it is not known to. */
function difference(first: Kind, second: Kind): string | undefined {
  // Nobody takes a nut for a bolt.
  if (first.isNut !== second.isNut) return undefined;
  const [long, short] = [extentOf(first.length)?.low, extentOf(second.length)?.low];
  if (long !== undefined && short !== undefined && Math.abs(long - short) > leastStep)
    return `one ${written(second.length!)}, the other ${written(first.length!)} long`;
  for (const field of ['class', 'grade'] as const) {
    const [one, other] = [first[field], second[field]];
    if (one !== undefined && other !== undefined && one !== other)
      return `one of ${field} ${other}, the other of ${one}`;
  }
  return undefined;
}
/** m: lengths that are rounded from another unit are the same. */
const leastStep = 0.0005;

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  if (model.fasteners.size > 1)
    for (const lying of sharedPlaces(actionsWhere(variant, putsAway, model))) yield* mixedUp(variant, model, lying);
  for (const lying of sharedPlaces(actionsWhere(variant, putsAwaySided, model))) yield* swapped(variant, model, lying);
}

const isPutAway = ({ verb, statement, unsure, after }: Action): boolean =>
  verb === 'remove' && statement.keep !== undefined && !unsure && onBench(after) > 0;

const putsAway = pickedOfAll((action, parts) => {
  if (!isPutAway(action)) return false;
  const part = parts.get(action.part);
  return part?.thread !== undefined && !part.broken && part.renew === undefined;
});

const putsAwaySided = pickedOfAll((action, parts) => {
  if (!isPutAway(action) || action.before.marked || isTagged(action.statement)) return false;
  const part = parts.get(action.part);
  return part?.thread === undefined && part?.renew === undefined && part !== undefined && sideless(part).name !== '';
});

const isTagged = ({ keep, text }: Statement): boolean =>
  /\b(?:apart|label|mark|number|paint|separate|tag|tie|wire)/i.test(`${keep?.value ?? ''} ${text?.value ?? ''}`);

const side =
  /(?:^|-)(?:left|right|front|rear|upper|lower|top|bottom|male|female|port|starboard|fore|aft|inboard|outboard|[a-f]|\d)(?=-|$)/;
/** Parts of which two look alike though each was chosen for, or has run in, its own place. */
const alike = /(?:^|-)(?:bearing|bush|cap|cone|cup|pack|pad|race|shim|shoe|spacer|spring|washer)s?(?=-|$)/;

/** The name of a part without its side; empty where it has none, or is not one of a kind that looks alike. */
const sideless = noted(({ name }: Declaration): { readonly name: string } => {
  const text = name?.text.toLowerCase() ?? '';
  return { name: side.test(text) && alike.test(text) ? text.replace(side, '-*') : '' };
});

/** Of removals, those that `keep in` puts in one place, by places. */
const sharedPlaces = noted((removals: readonly Action[]): readonly (readonly Action[])[] => {
  const places = new Map<string, Action[]>();
  for (const action of removals) {
    const { place } = placeOf(action.statement);
    if (place === undefined) continue;
    addTo(places, place, action);
  }
  return [...places.values()].filter(({ length }) => length > 1);
});

const eachApart = /\b(?:hole|template|card|cardboard|rack)s?\b/i;
/** Where fasteners lie loose; capitals and blanks make no other place. */
const placeOf = noted(({ keep }: Statement): { readonly place: string | undefined } => {
  const said = keep!.value;
  return { place: eachApart.test(said) ? undefined : said.trim().replace(/\s\s+/g, ' ').toLowerCase() };
});

function* mixedUp(variant: Variant, model: Model, lying: readonly Action[]): Generator<Raw> {
  /** By thread and kind, the removals that may still lie there. */
  const kinds = new Map<string, Map<string, Lying>>();
  const told = new Set<string>();
  for (const action of lying) {
    const kind = kindOf(model.parts.get(action.part)!);
    if (kind === undefined) continue;
    const place = lastPlaceOf(variant, action.statement);
    const others = kinds.get(kind.thread) ?? new Map<string, Lying>();
    kinds.set(kind.thread, others);
    for (const [said, { kind: other, removals }] of others) {
      const differs = difference(other, kind);
      if (differs === undefined) continue;
      while (removals.length > 0 && !liesThere(variant, removals.at(-1)!, place)) removals.pop();
      const first = removals.at(-1);
      if (first === undefined) {
        others.delete(said);
        continue;
      }
      if (first.part === action.part) continue;
      // Told where the other came to this one.
      if (told.has(`${action.part} ${first.part}`)) break;
      if (goesToScrap(variant, action.part, place, onBench(action.after))) break;
      told.add(`${first.part} ${action.part}`);
      yield {
        span: action.statement.keep!,
        message: `${named(action.part)} goes into the place of ${named(first.part)}, and both are ${kind.thread}, ${differs}: keep them apart, or they go back into each other's holes.`,
        related: related(first.statement.keep, `${named(first.part)} is kept here`),
        data: { subject: action.part },
      };
      break;
    }
    const said = `${kind.class} ${kind.grade} ${kind.isNut} ${kind.length === undefined ? '' : written(kind.length)}`;
    const alike = others.get(said);
    if (alike === undefined) others.set(said, { kind, removals: [action] });
    else alike.removals.push(action);
  }
}

function* swapped(variant: Variant, model: Model, lying: readonly Action[]): Generator<Raw> {
  /** By names without their sides, the last removal of each of the parts. */
  const twins = new Map<string, Map<string, Action>>();
  for (const action of lying) {
    const part = model.parts.get(action.part)!;
    const { name } = sideless(part);
    const others = twins.get(name) ?? new Map<string, Action>();
    twins.set(name, others);
    const isKnown = others.has(action.part);
    const place = lastPlaceOf(variant, action.statement);
    const first = [...others.values()].find(
      (each) =>
        each.part !== action.part &&
        haveOneBore(part, model.parts.get(each.part)!) &&
        liesThere(variant, each, place) &&
        !goesToScrap(variant, action.part, place, onBench(action.after)),
    );
    others.set(action.part, action);
    if (first === undefined || isKnown) continue;
    yield {
      span: action.statement.keep!,
      severity: 'information',
      message: `${named(action.part)} goes into the place of ${named(first.part)}, and nothing but the side tells them apart: keep them apart or tag them, or they change sides.`,
      related: related(first.statement.keep, `${named(first.part)} is kept here`),
      data: { subject: action.part },
    };
  }
}

/** Whether two parts may have the same bore, as far as is stated. */
const haveOneBore = (one: Declaration, other: Declaration): boolean =>
  one.bore === undefined || other.bore === undefined || written(one.bore) === written(other.bore);

interface Lying {
  readonly kind: Kind;
  readonly removals: Action[];
}

/** Whether what `removal` took off is not back on at `place`, is not for scrap, and was not put away elsewhere before. */
function liesThere(variant: Variant, { part, statement, after }: Action, place: number): boolean {
  const state = stateBefore(variant, part, place);
  if (state === undefined || onBench(state) === 0) return false;
  const from = lastPlaceOf(variant, statement);
  return !goesToScrap(variant, part, from, onBench(after)) && !isPutElsewhere(variant, part, statement, from, place);
}

/** Whether all of `part` that lies where `removal` put it is put into another place between two places of the replay, whatever comes. */
const isPutElsewhere = (
  { entries }: Variant,
  part: string,
  removal: Statement,
  from: number,
  to: number,
): boolean | undefined =>
  putAwayAnew(entries)
    .get(part)
    ?.some((place) => {
      const { statement } = entries[place]!;
      const isSure = statement.count === undefined && blocksAround(statement).length === 0;
      return from < place && place < to && isSure && placeOf(statement).place !== placeOf(removal).place;
    });
