import type { Chunk } from '../../../grammar/syntax.ts';
import type { Model } from './model.ts';
import { Beside, noted } from './noted.ts';
import { chunksNaming } from './occurrences.ts';

/** Names that one history holds: it is copied at each letter of a name. */
const mostChanged = 256;

interface History {
  /** Alike for all that came from one binding by edits. */
  readonly line: object;
  /** Edits since then that changed what names stand for. */
  readonly age: number;
  /** Names that did change, by the age at which they did last. */
  readonly changed: ReadonlyMap<string, number>;
}

const histories = new Beside<Model['naming'], History>();

/** The `naming` of a model after an edit from which on `names` may stand for something else. */
export function renaming(earlier: Model['naming'], names: ReadonlySet<string>): Model['naming'] {
  const naming = {};
  const { line, age, changed } = histories.get(earlier) ?? {
    line: earlier,
    age: 0,
    changed: new Map<string, number>(),
  };
  if (changed.size + names.size > mostChanged) return naming;
  const now = new Map(changed);
  for (const name of names) now.set(name, age + 1);
  histories.set(naming, { line, age: age + 1, changed: now });
  return naming;
}

/** True where each name in `chunk`, which stands in this file, stands for what it stood for when its `naming` was `before`. */
export function isNamedAlike(model: Model, chunk: Chunk, before: Model['naming']): boolean {
  if (model.naming === before) return true;
  const now = histories.get(model.naming);
  const then = histories.get(before) ?? { line: before, age: 0 };
  return now?.line === then.line && (agesOf(model).get(chunk) ?? 0) <= then.age;
}

/** The chunks that name what changed, and the age at which that did last. */
const agesOf = noted(({ tree, naming }: Model): ReadonlyMap<Chunk, number> => {
  const ages = new Map<Chunk, number>();
  for (const [name, age] of histories.get(naming)?.changed ?? [])
    for (const place of chunksNaming(tree, name)) {
      const chunk = tree.chunks[place]!;
      ages.set(chunk, Math.max(age, ages.get(chunk) ?? 0));
    }
  return ages;
});
