import { once } from 'node:events';
import { constants } from 'node:os';
import { exit } from './command.ts';

/** Writes to the standard output, waiting where the reader is slow. */
export async function write(text: string | Uint8Array): Promise<void> {
  if (text.length > 0 && !process.stdout.write(text)) await once(process.stdout, 'drain');
}

/** Says on the standard error what went wrong, and what would mend it. */
export function complain(message: string): void {
  process.stderr.write(`fettle: ${message}\n`);
}

/** What is said where Fettle itself has failed. */
export const faultOf = (error: unknown): string =>
  `a fault of Fettle, not of the file: please report it\n${error instanceof Error ? error.stack : String(error)}`;

/** How text may be laid out: with colours on a terminal that has them, or where FORCE_COLOR says so; NO_COLOR outranks it. */
export const terminal = (): { colour: boolean; width: number } => ({
  colour:
    !process.env.NO_COLOR &&
    (process.env.FORCE_COLOR === undefined
      ? process.stdout.isTTY === true && process.stdout.hasColors()
      : !['0', 'false'].includes(process.env.FORCE_COLOR)),
  width: Number.isFinite(lineWidth()) ? lineWidth() : 120,
});

/**
 * Columns that a line of text may take: as wide as the terminal is, or as COLUMNS says (POSIX, 'Environment Variables'). What goes into a
 * file or another program has each thing on one line, however long.
 */
export function lineWidth(): number {
  // Some terminals, as of build servers, say that they are 0 wide.
  const wide = process.stdout.columns || Number(process.env.COLUMNS);
  return wide > 0 ? Math.max(40, wide) : Number.POSITIVE_INFINITY;
}

/**
 * Ends without a word when the reader has read enough (`fettle check … | head`), with the code that shells give a program
 * which a closed pipe ends: not everything was checked, so 0 would be a lie. Where nothing can be written for another reason, that is
 * said; where nobody can be told, the work goes on.
 */
export function endWithReader(): void {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(128 + constants.signals.SIGPIPE);
    complain(
      error.code === 'ENOSPC'
        ? 'the output does not fit, the disk is full: free some space'
        : `the output cannot be written (${error.message}): check where it goes`,
    );
    process.exit(exit.unusable);
  });
  process.stderr.on('error', () => {});
}
