import { parse } from '../../grammar/parser.ts';
import { spanText } from '../../grammar/syntax.ts';
import { type Ledger, replay, stateBefore, type Variant } from '../../server/src/ledger/ledger.ts';
import { describe as inWords } from '../../server/src/ledger/state.ts';
import { bind } from '../../server/src/model/model.ts';

export const ledgerOf = (text: string): Ledger => replay(bind(parse('test.fettle', text)));

/** The replay of a procedure without codes. */
export const variantOf = (text: string): Variant => ledgerOf(text).variants[0]!;

/** Declarations, then statements in one step of the teardown. */
export const procedure = (declarations: readonly string[], statements: readonly string[]): string =>
  `${declarations.join('\n')}\nteardown\n  step work\n    ${statements.join('\n    ')}\n`;

/** Where `part` is before and after the last of `statements`, in words. */
export function lastStep(
  declarations: readonly string[],
  statements: readonly string[],
  part: string,
): { before: string; after: string } {
  const variant = variantOf(procedure(declarations, statements));
  const index = variant.entries.length - 1;
  const entry = variant.entries[index]!;
  if (!spanText(entry.statement).startsWith(statements.at(-1)!.split(' ')[0]!))
    throw new Error('another statement is last');
  return {
    before: inWords(stateBefore(variant, part, index)!),
    after: inWords(stateBefore(variant, part, index + 1)!),
  };
}
