import type { Declaration } from '../../../grammar/syntax.ts';

const clip = /\b(?:clamps?|clips?|v-?bands?)\b/i;
/** The screw of a clip may be declared by itself. */
const screwOfOne = /\b(?:bolt|nut|screw|stud)s?\b/i;

/**
 * Whether a part is a hose clip or band clamp: drawn together by a screw of its own, for which it states a torque and no class,
 * and holding by itself. Common practice, no source.
 */
export function isClip({ name, title, thread, propertyClass, grade }: Declaration): boolean {
  if ((thread ?? propertyClass ?? grade) !== undefined) return false;
  const called = `${name?.text ?? ''} ${title?.value ?? ''}`;
  return clip.test(called) && !screwOfOne.test(called);
}
