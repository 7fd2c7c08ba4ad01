import { type CodeAction, CodeActionKind } from 'vscode-languageserver';
import { isStatement } from '../../../grammar/heads.ts';
import { lineEndingOf } from '../../../grammar/printer.ts';
import { chunkAt, offsetsOf } from '../../../grammar/syntax.ts';
import { reservedWords } from '../../../grammar/tokens.ts';
import type { Finding } from '../checks/check.ts';
import type { TextPatch } from '../checks/mend.ts';
import { syntax } from '../checks/syntax.ts';
import { quoted } from '../outputs/draft-layout.ts';
import type { Snapshot } from '../snapshot.ts';
import { diagnosticOf } from './diagnostics.ts';
import { textEditsOf, workspaceEditOf } from './edits.ts';
import type { Client } from './feature.ts';

/** A line that cannot be read, and what it is to be. */
interface Line {
  readonly finding: Finding;
  readonly start: number;
  readonly end: number;
  /** Without indentation; within a step statements, elsewhere a comment. */
  readonly lines: readonly string[];
  readonly isInStep: boolean;
}

/** What begins with one of these is meant to be read. */
const ownWords: ReadonlySet<string> = new Set(reservedWords);

/** So many lines of a selection are written anew: a page of prose, not a library. */
const mostLines = 1000;

/**
 * Sentences as they were pasted, in the lines from `start` to `end`: among the statements of a step they become statements, elsewhere
 * comments.
 */
export function proseActions(snapshot: Snapshot, start: number, end: number, client: Client): CodeAction[] {
  const from = lineStart(snapshot.text, start);
  const to = end + /^[^\r\n]*/.exec(snapshot.text.slice(end))![0].length;
  const lines = snapshot.judged.findings
    .filter(({ code, span }) => {
      if (code !== syntax.code || !snapshot.isOwn(span)) return false;
      const at = offsetsOf(snapshot.tree, span).start;
      return from <= at && at <= to;
    })
    .slice(0, mostLines)
    .flatMap((finding) => proseAt(snapshot, finding) ?? [])
    .filter((line, i, all) => line.start !== all[i - 1]?.start);
  const statements = lines.filter(({ isInStep }) => isInStep);
  const comments = lines.filter(({ isInStep }) => !isInStep);
  const word = statements[0]?.lines[0]?.split(' ')[0];
  // Where no more is wrong than the sign of a list, its own repair takes that out.
  const isSignAlone = statements.length === 1 && statements[0]!.finding.data?.['replacement'] === '';
  return [
    ...(isSignAlone
      ? []
      : written(snapshot, statements, `Write it as \`${word}\``, 'Write LINES as statements', client)),
    ...written(snapshot, comments, 'Make it a comment', 'Make LINES comments', client),
  ];
}

/** Writes `lines`, if there are any, as they are to be. */
function written(
  snapshot: Snapshot,
  lines: readonly Line[],
  titleOfOne: string,
  titleOfMany: string,
  client: Client,
): CodeAction[] {
  if (lines.length === 0) return [];
  const eol = lineEndingOf(snapshot.text);
  const patches = lines.map(({ start, end, lines: to, isInStep }): TextPatch => {
    const own = /^\s*/.exec(snapshot.text.slice(start, end))![0];
    const indent = isInStep && own.length < usual.length && !own.includes('\t') ? usual : own;
    return { start, end, text: to.map((each) => indent + each).join(eol) };
  });
  return [
    {
      title: lines.length === 1 ? titleOfOne : titleOfMany.replace('LINES', `${lines.length} lines`),
      kind: CodeActionKind.QuickFix,
      diagnostics: lines.map(({ finding }) => diagnosticOf(snapshot, finding, client)),
      edit: workspaceEditOf([{ file: snapshot.file, edits: textEditsOf(snapshot.file, patches) }], client),
    },
  ];
}

const lineStart = (text: string, at: number): number =>
  Math.max(text.lastIndexOf('\n', at - 1), text.lastIndexOf('\r', at - 1)) + 1;

/** Of statements within a step. */
const usual = '    ';

/** `1.`, `2)`, `a)`, `4.2`, a bullet or a dash, as lists of word processors have them. */
const listSign = /^(?:(?:\d+(?:\.\d+)*|\p{L})[.)]\s+|\d+(?:\.\d+)+\s+(?=\p{Lu}\p{Ll})|[-–—•▪●○◦*+·]\s+)/u;

const safetyWord = /^(danger|warning|caution|notice)\s*[:!.–—-]+\s*(?=\S)/i;

function proseAt(snapshot: Snapshot, finding: Finding): Line | undefined {
  const { text, tree } = snapshot;
  const at = offsetsOf(tree, finding.span).start;
  const start = lineStart(text, at);
  const line = /^[^\r\n]*/.exec(text.slice(start))![0];
  const isInStep = tree.chunks[chunkAt(tree, at)]?.item?.kind === 'step';
  // A sign of inches opens a text for the language, and hides the comment behind it.
  const said = line.replace(/(?:^|\s)#.*$/, '').trim();
  const bare = said.replace(listSign, '');
  const words = bare.split(/\s+/);
  const isListed = bare !== said;
  const isSentence = isListed || /^\p{Lu}/u.test(bare);
  // Of what is told further on in a line, only a sentence is wholly none of the language.
  if (bare === '' || (!isSentence && text.slice(start, at).trim() !== '')) return undefined;
  const end = start + line.lastIndexOf(said) + said.length;
  const found = (...lines: string[]): Line => ({ finding, start, end, lines, isInStep });
  const safety = safetyWord.exec(bare);
  if (ownWords.has(words[0]!)) return isInStep && isListed && isStatement(words[0]!) ? found(bare) : undefined;
  if (safety !== null)
    // In a comment nobody would read it.
    return isInStep ? found(`${safety[1]!.toLowerCase()} ${quoted(bare.slice(safety[0].length))}`) : undefined;
  if (!isInStep) {
    const isWhole = text.slice(start, at).trim() === '' && finding.data?.['replacement'] === undefined;
    return isWhole && (isSentence || words.length >= 5) ? found(`# ${said}`) : undefined;
  }
  // A word alone, or a few small ones, is a statement with a slip in it.
  if (words.length < (isSentence ? 2 : 5)) return undefined;
  const sentences = bare.split(/(?<=[.!?])\s+(?=\p{Lu})/u);
  return found(...sentences.map((each) => `do ${quoted(each)}`));
}
