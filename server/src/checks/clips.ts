import type { Declaration } from '../../../grammar/syntax.ts';

const clip = /\b(?:clips?|v-?bands?)\b/i;
/** A clamp may as well hold down a cover or an injector. */
const clamp = /\bclamps?\b/i;
const roundPipe = /\b(?:band|bellows|boot|duct|exhaust|gaiter|hose|pipe|silencer|sleeve|tube|worm)s?\b/i;
/** The screw of a clip may be declared by itself. */
const screwOfOne = /\b(?:bolt|nut|screw|stud)s?\b/i;

/**
 * Whether a part is a hose clip or band clamp: drawn together by a screw of its own, for which it states a torque and no class,
 * and holding by itself. Common practice, no source.
 */
export function isClip({ name, title, thread, propertyClass, grade }: Declaration): boolean {
  if ((thread ?? propertyClass ?? grade) !== undefined) return false;
  const called = `${name?.text ?? ''} ${title?.value ?? ''}`;
  return (clip.test(called) || (clamp.test(called) && roundPipe.test(called))) && !screwOfOne.test(called);
}
