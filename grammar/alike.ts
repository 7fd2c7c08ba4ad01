import { fieldsOf } from './syntax.ts';

/**
 * True where two nodes of the tree differ in nothing but identity and the chunk they stand in. What of a node `isPassedOver`
 * may differ as well, as long as both have it.
 */
export function alike(
  a: unknown,
  b: unknown,
  isPassedOver: (node: object, field: string) => boolean = () => false,
): boolean {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  if (Array.isArray(a))
    return Array.isArray(b) && a.length === b.length && a.every((each, i) => alike(each, b[i], isPassedOver));
  const left = a as Record<string, unknown>;
  const right = b as Record<string, unknown>;
  const fields = fieldsOf(left);
  if (fields.length !== fieldsOf(right).length) return false;
  return fields.every(
    (field) =>
      field === 'chunk' ||
      (isPassedOver(left, field) && (left[field] === undefined) === (right[field] === undefined)) ||
      alike(left[field], right[field], isPassedOver),
  );
}
