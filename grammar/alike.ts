import { type Chunk, fieldsOf } from './syntax.ts';

type IsPassedOver = (node: object, field: string) => boolean;

/**
 * True where two nodes of the tree differ in nothing but identity and the chunk they stand in. What of a node `isPassedOver`
 * may differ as well, as long as both have it.
 */
export const alike = (a: unknown, b: unknown, isPassedOver: IsPassedOver = never): boolean =>
  compared(a, b, isPassedOver, fieldsOf);

/** As {@link alike}, for chunks: where their texts are the same, what nodes make of them when asked need not be made. */
export const alikeChunks = (a: Chunk, b: Chunk): boolean => a.text === b.text && compared(a, b, never, Object.keys);

const never: IsPassedOver = () => false;

function compared(
  a: unknown,
  b: unknown,
  isPassedOver: IsPassedOver,
  listed: (node: object) => readonly string[],
): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (Array.isArray(a))
    return (
      Array.isArray(b) && a.length === b.length && a.every((each, i) => compared(each, b[i], isPassedOver, listed))
    );
  const fields = listed(a);
  if (fields.length !== listed(b).length) return false;
  for (const field of fields) {
    const left = (a as Record<string, unknown>)[field];
    const right = (b as Record<string, unknown>)[field];
    // Most of what a statement may have it has not.
    if (left === right || field === 'chunk') continue;
    if (isPassedOver(a, field) && (left === undefined) === (right === undefined)) continue;
    if (!compared(left, right, isPassedOver, listed)) return false;
  }
  return true;
}
