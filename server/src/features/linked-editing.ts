import type { LinkedEditingRangeParams, LinkedEditingRanges } from 'vscode-languageserver';
import { nameOfDefinition } from '../model/model.ts';
import type { Snapshot } from '../snapshot.ts';
import { namingAt, occurrencesOf } from './at.ts';
import { feature } from './feature.ts';

/**
 * What a name may look like while it is typed. Editors read it without the flag that `\p{L}` needs, and let go of the other places
 * once a name does not match: so all letters beyond ASCII are taken by their range.
 */
const wordPattern = '[A-Za-z\u00aa-\uffff0-9-]+';

/**
 * Places of a name that change together as it is typed: its declaration and all its uses, where they all stand in this
 * file. A name that another file declares is changed by renaming it.
 */
export function linkedAt(snapshot: Snapshot, offset: number): LinkedEditingRanges | undefined {
  const naming = namingAt(snapshot, offset);
  const own = naming?.definition === undefined ? undefined : nameOfDefinition(naming.definition);
  if (own === undefined || !snapshot.isOwn(own)) return undefined;
  const names = occurrencesOf(snapshot, naming!.definition!);
  if (names.length < 2 || !names.every((name) => snapshot.isOwn(name))) return undefined;
  return { ranges: names.map((name) => snapshot.rangeOf(name)), wordPattern };
}

export const linkedEditingRange = feature<LinkedEditingRangeParams, LinkedEditingRanges>(
  'textDocument/linkedEditingRange',
  { linkedEditingRangeProvider: true },
  (snapshot, { position }) => linkedAt(snapshot, snapshot.offsetAt(position)) ?? null,
);
