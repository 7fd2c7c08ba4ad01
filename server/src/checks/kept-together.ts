import { type Declaration, type Quantity, spanText } from '../../../grammar/syntax.ts';
import { type Action, stateBefore, type Variant } from '../ledger/ledger.ts';
import { onBench } from '../ledger/state.ts';
import { parseThread } from '../mechanics/index.ts';
import type { Model } from '../model/model.ts';
import { extentOf, written } from '../model/quantity.ts';
import { actionsThat, type Check, eachVariant, named, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { lastPlaceOf } from './entries.ts';

export const keptTogether: Check = {
  code: 'kept-together',
  severity: 'warning',
  section: 'Coming back',
  fires:
    '`keep in` puts a fastener where one of the same thread lies that is declared longer or shorter, or of another class or grade.',
  why: 'They go into each other’s holes: the long one breaks through the casting or clamps nothing, the weak one stretches.',
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
    if (model.fasteners.size > 1) yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs({ span, data }, { model }) {
    const part = String(data?.['subject']);
    return [
      {
        title: `Keep ${part} in a place of its own`,
        edits: [replaceSpan(model.tree, span, `${spanText(span).slice(0, -1)}, ${part}"`)],
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
}

function kindOf({ thread, length, propertyClass, grade }: Declaration): Kind | undefined {
  const designation = thread === undefined ? undefined : parseThread(thread.text)?.designation;
  if (designation === undefined) return undefined;
  return { thread: designation, length, class: propertyClass?.image, grade: grade?.image };
}

/** How the second of two differs from the first; nothing where it is not known to. */
function difference(first: Kind, second: Kind): string | undefined {
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
  for (const lying of placesIn(variant, model).values()) {
    if (lying.length > 1) yield* mixedUp(variant, model, lying);
  }
}

/** The removals of fasteners that may go back, by where `keep in` puts them. */
function placesIn(variant: Variant, model: Model): ReadonlyMap<string, readonly Action[]> {
  const places = new Map<string, Action[]>();
  for (const action of actionsThat(variant, 'remove')) {
    const { keep } = action.statement;
    if (keep === undefined || action.unsure || onBench(action.after) === 0) continue;
    const part = model.parts.get(action.part);
    if (part?.thread === undefined || part.renew !== undefined) continue;
    const place = placeNamed(keep.value);
    const lying = places.get(place);
    if (lying === undefined) places.set(place, [action]);
    else lying.push(action);
  }
  return places;
}

/** Capitals and blanks make no other place. */
const placeNamed = (place: string): string => place.trim().replace(/\s\s+/g, ' ').toLowerCase();

function* mixedUp(variant: Variant, model: Model, lying: readonly Action[]): Generator<Raw> {
  /** By thread, one of each kind. */
  const kinds = new Map<string, Map<string, { readonly action: Action; readonly kind: Kind }>>();
  for (const action of lying) {
    const kind = kindOf(model.parts.get(action.part)!);
    if (kind === undefined) continue;
    const others = kinds.get(kind.thread) ?? new Map<string, { readonly action: Action; readonly kind: Kind }>();
    kinds.set(kind.thread, others);
    for (const [said, { action: first, kind: other }] of others) {
      const differs = difference(other, kind);
      if (differs === undefined || first.part === action.part) continue;
      const state = stateBefore(variant, first.part, lastPlaceOf(variant, action.statement));
      if (state === undefined || onBench(state) === 0) {
        others.delete(said);
        continue;
      }
      yield {
        span: action.statement.keep!,
        message: `${named(action.part)} goes into the place of ${named(first.part)}, and both are ${kind.thread}, ${differs}: keep them apart, or they go back into each other's holes.`,
        related: related(first.statement.keep, `${named(first.part)} is kept here`),
        data: { subject: action.part },
      };
      break;
    }
    const said = `${kind.class} ${kind.grade} ${kind.length === undefined ? '' : written(kind.length)}`;
    if (!others.has(said)) others.set(said, { action, kind });
  }
}
