import { nearest } from '../../../grammar/nearest.ts';
import { type Chunk, type Name, type Statement, walk } from '../../../grammar/syntax.ts';
import { type Model, stepsOfChunk } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { eachReference } from '../model/references.ts';

const moving: ReadonlySet<Statement['kind']> = new Set<Statement['kind']>([
  'remove',
  'disconnect',
  'discard',
  'replace',
  'fit',
  'connect',
  'swap',
  'transfer',
  'omit',
  'loosen',
  'tighten',
  'drain',
  'fill',
]);

/** Parts and supplies that unknown names in statements which move them most likely stand for: where these are is not known. */
export const misspelt: (model: Model) => ReadonlySet<string> = noted((model: Model) => {
  const meant = new Set<string>();
  const candidatesOf = new Map<Name, readonly string[]>();
  const chunks = new Set<Chunk>();
  for (const { name, kind, candidates, otherKind } of model.unknown) {
    if ((kind !== 'part' && kind !== 'supply') || otherKind !== undefined) continue;
    candidatesOf.set(name, candidates);
    chunks.add(name.chunk);
  }
  for (const chunk of chunks)
    for (const step of stepsOfChunk(chunk))
      for (const statement of walk(step.statements)) {
        if (!moving.has(statement.kind)) continue;
        eachReference(statement, (name) => {
          const candidates = candidatesOf.get(name);
          const near = candidates && nearest(name.text, candidates);
          if (near !== undefined) meant.add(near);
        });
      }
  return meant;
});
