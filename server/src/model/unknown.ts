import type { SyntaxTree } from '../../../grammar/syntax.ts';
import { declarationWords, isReserved } from '../../../grammar/tokens.ts';
import type { Model, UnknownName } from './model.ts';
import type { Names } from './names.ts';
import { noted } from './noted.ts';
import type { NameKind } from './references.ts';
import type { Missing } from './survey.ts';

/** Kept on the table, so that what is known of the list holds over edits that leave the table. */
const namesOf = noted((table: ReadonlyMap<string, unknown>): readonly string[] => [...table.keys()]);

/**
 * Steps that procedures share may single out codes of any of them; those in `piece` may also come after steps, and use
 * readings, that are in the procedure only.
 */
export function unknownAmong(
  missing: readonly Missing[],
  names: Names,
  tree: SyntaxTree,
  piece: boolean,
): UnknownName[] {
  const { tables, stepNames, readings, codeNames, lost } = names;
  const tableOf: Readonly<Record<NameKind, ReadonlyMap<string, unknown>>> = {
    ...tables,
    step: stepNames,
    reading: readings,
    code: codeNames,
  };
  const unknown: UnknownName[] = [];
  for (const { name, kind } of missing) {
    const table = tableOf[kind];
    if (table.has(name.text) || lost.has(name.text)) continue;
    // That a reserved word is no name is told where it is read.
    if (kind !== 'step' && isReserved(name.text)) continue;
    if (kind === 'code' && (piece || name.chunk.uri !== tree.uri)) continue;
    if (piece && (kind === 'step' || kind === 'reading')) continue;
    const otherKind = declarationWords.find((other) => tables[other].has(name.text));
    unknown.push({ name, kind, candidates: namesOf(table), otherKind });
  }
  return unknown;
}

/** True where a file that may declare what is unknown cannot be read, or the path of its `use` cannot. */
export const lacksFile = ({ useTroubles, files }: Model): boolean =>
  useTroubles.some(({ trouble }) => trouble !== 'loop') || files.some(hasUnreadUse);

const hasUnreadUse = ({ chunks }: SyntaxTree): boolean =>
  chunks.some(({ item }) => item?.kind === 'use' && item.path === undefined);
