import type { Declaration } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import { countOf, type Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isClip } from './clips.ts';

/** From this many fasteners on, the order matters to a joint. */
export const fewestInJoint = 4;

/** By part, what says that it holds it. */
const heldByEach = noted((parts: Model['parts']): ReadonlyMap<string, readonly string[]> => {
  const found = new Map<string, string[]>();
  parts.forEach(({ heldBy }, name) => {
    for (const { text } of heldBy) addTo(found, text, name);
  });
  return found;
});

/** One bolt may hold thousands of parts, and be tightened as often. */
const mosts = noted((_: Model['parts']) => new Map<string, number | undefined>());

const washer = /\b(?:washers?|lock[ -]?(?:plate|ring|tab|wire)s?)\b/i;

/** A bolt, its washer and a plate under that, and no further: in a loop there is no end. */
const deepest = 3;

/** Of a fastener, how many hold one piece of what they hold, at most; nothing where that is not declared, or in no whole number. */
function mostForOne({ parts }: Model, name: string): number | undefined {
  const known = mosts(parts);
  if (!known.has(name)) known.set(name, reckonMost(parts, name));
  return known.get(name);
}

function reckonMost(parts: Model['parts'], name: string): number | undefined {
  const count = countOf(parts.get(name));
  const held = heldByEach(parts);
  let most: number | undefined;
  let holders: readonly string[] = [name];
  for (let depth = 0; depth < deepest && holders.length > 0; depth++) {
    const under: string[] = [];
    for (const other of holders.flatMap((holder) => held.get(holder) ?? [])) {
      const part = parts.get(other)!;
      const share = count / countOf(part);
      if (share >= fewestInJoint) return share;
      // What goes under each head holds nothing by itself, but what is held by it is held by the head.
      if (share === 1) under.push(other);
      if (share === 1 && washer.test(`${other} ${part.title?.value ?? ''}`)) continue;
      if (share > 1 && !Number.isInteger(share)) return undefined;
      most = Math.max(most ?? 0, share);
    }
    holders = under;
  }
  return most;
}

/** Whether `part` holds each of several things with fewer than a joint has, as a nut on each coil: no order draws one down evenly. Common practice, no source. */
export function holdsAlone(model: Model, part: Declaration | undefined): boolean {
  if (part === undefined) return false;
  if (isClip(part)) return true;
  const most = part.name === undefined ? undefined : mostForOne(model, part.name.text);
  return most !== undefined && most < fewestInJoint;
}

/** Whether so many are declared to hold one thing that the order matters. */
export function isOneJoint(model: Model, { name }: Declaration): boolean {
  const most = name === undefined ? undefined : mostForOne(model, name.text);
  return most !== undefined && most >= fewestInJoint;
}
