import { type Chunk, type Span, type SyntaxTree, spanText } from '../../../grammar/syntax.ts';
import { noted } from '../model/noted.ts';
import type { Check, Raw } from './check.ts';
import { replaceSpan } from './edits.ts';

/** Bidirectional controls that embed, override or isolate (UAX #9, table 1): they change the order in which a line is shown. */
const reordering = /[\u202a-\u202e\u2066-\u2069]/;
/**
 * What is shown as nothing, or obeyed instead of shown: C0 and C1 controls but tab and line ends, the direction marks, and
 * of Default_Ignorable_Code_Point (Unicode DerivedCoreProperties.txt) what can stand in a procedure; lone surrogates.
 */
const hidden =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  // biome-ignore lint/suspicious/noMisleadingCharacterClass: each is looked for by itself
  /[\u0000-\u0008\u000e-\u001f\u007f-\u009f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb\u{e0000}-\u{e0fff}\p{Cs}]+/gu;

const names: Readonly<Record<number, string>> = {
  0: 'a NUL',
  8: 'a backspace',
  27: 'an escape',
  127: 'a delete',
  173: 'a soft hyphen',
  1564: 'an Arabic letter mark',
  8203: 'a zero-width space',
  8204: 'a zero-width non-joiner',
  8205: 'a zero-width joiner',
  8206: 'a left-to-right mark',
  8207: 'a right-to-left mark',
  8232: 'a line separator',
  8233: 'a paragraph separator',
  8234: 'a left-to-right embedding',
  8235: 'a right-to-left embedding',
  8236: 'an end of embedding',
  8237: 'a left-to-right override',
  8238: 'a right-to-left override',
  8288: 'a word joiner',
  8294: 'a left-to-right isolate',
  8295: 'a right-to-left isolate',
  8296: 'a first-strong isolate',
  8297: 'an end of isolate',
  65279: 'a byte order mark',
};

/** `U+202E` */
export const codePoint = (character: string): string =>
  `U+${character.codePointAt(0)!.toString(16).toUpperCase().padStart(4, '0')}`;

// biome-ignore lint/suspicious/noMisleadingCharacterClass: each is looked for by itself
const joining = /^[\u200c\u200d\ufe00-\ufe0f]{1,2}$/;
const plain = /[\p{Script=Latin}\p{Script=Greek}\p{Script=Cyrillic}]/u;
const carrier = /(?:[\p{L}\p{M}\p{Emoji_Presentation}\p{Extended_Pictographic}]|\ufe0f)$/u;

/** Joiners and variation selectors belong to some scripts (UAX #31, section 2.3) and to emoji (UTS #51): there they stay. */
function belongs(text: string, start: number, run: string): boolean {
  if (!joining.test(run)) return false;
  const before = text.slice(Math.max(0, start - 2), start);
  return carrier.test(before) && !plain.test(before.slice(-1));
}

/** The byte order mark that a file may begin with. */
const isFileMark = (tree: SyntaxTree, run: Span): boolean =>
  run.start === 0 && run.chunk === tree.chunks[0] && tree.starts[0] === 0 && spanText(run) === '\ufeff';

/** What one text, one comment, or one stretch between them hides. */
interface Hidden {
  readonly runs: readonly Span[];
  readonly where: string;
}

/** Texts, comments, and what stands between them on a line. */
const piece = /"(?:[^"\\\r\n]|\\[^\r\n])*\\?"?|#[^\r\n]*|[^"#\r\n]+/g;

/** By the offset of each run. */
type Places = ReadonlyMap<number, Hidden>;
const nothing: Places = new Map();
/** Nearly every chunk has none of these and need not be looked at more closely. */
const maybe =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  // biome-ignore lint/suspicious/noMisleadingCharacterClass: each is looked for by itself
  /[\0-\x08\x0e-\x1f\x7f-\x9f\xad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164\ud800-\udfff\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb]/;

const hiddenIn = noted((chunk: Chunk): Places => {
  if (!maybe.test(chunk.text)) return nothing;
  return new Map(search(chunk).flatMap((place) => place.runs.map(({ start }) => [start, place] as const)));
});

function search(chunk: Chunk): Hidden[] {
  const found: Hidden[] = [];
  for (const { 0: words, index } of chunk.text.matchAll(piece)) {
    const runs: Span[] = [];
    for (const match of words.matchAll(hidden)) {
      const start = index + match.index;
      const end = start + match[0].length;
      if (!belongs(chunk.text, start, match[0])) runs.push({ chunk, start, end });
    }
    if (runs.length === 0) continue;
    const where = words.startsWith('"') ? 'this text' : words.startsWith('#') ? 'this comment' : 'this line';
    found.push({ runs, where: `in ${where}` });
  }
  return found;
}

export const hiddenText: Check = {
  code: 'hidden-text',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  local: true,
  fires:
    'a text, name or comment holds characters that are not seen; an error where they change the order in which it is shown.',
  why: 'What the reviewer sees must be what the mechanic gets: `torque 52 N·m` can be made to look like `torque 25 N·m`. (Unicode UTR #36 and UTS #55 name the trick.)',
  bad: `teardown
  step look
    do "Turn the sha\u200bft by hand."`,
  good: `teardown
  step look
    do "Turn the shaft by hand."`,
  *run({ model }): Generator<Raw> {
    const { tree } = model;
    const { chunks, starts } = tree;
    // One look at a long stretch is cheaper than one a chunk.
    if (chunks.length > 16 && !maybe.test(tree.text.slice(starts[0], starts.at(-1)! + chunks.at(-1)!.text.length)))
      return;
    for (const chunk of chunks) {
      const places = hiddenIn(chunk);
      if (places === nothing) continue;
      for (const { runs, where } of new Set(places.values())) {
        const told = runs.filter((run) => !isFileMark(model.tree, run));
        const reorders = told.find((run) => reordering.test(spanText(run)));
        const span = reorders ?? told[0];
        if (span === undefined) continue;
        const sign = [...spanText(span)].find((each) => reorders === undefined || reordering.test(each))!;
        const count = told.reduce((sum, run) => sum + [...spanText(run)].length, 0);
        const name = names[sign.codePointAt(0)!];
        const does = reorders === undefined ? 'is not seen' : 'shows it in another order than it is read';
        yield {
          span,
          severity: reorders === undefined ? undefined : 'error',
          message: `${codePoint(sign)}${name === undefined ? '' : ` (${name})`} ${where} ${does}${count > 1 ? `, with ${count - 1} more` : ''}: take ${count > 1 ? 'them' : 'it'} out.`,
          related: [],
          data: { subject: codePoint(sign), count },
        };
      }
    }
  },
  repairs(finding, { model }) {
    const { chunk, start } = finding.span;
    const runs =
      hiddenIn(chunk)
        .get(start)
        ?.runs.filter((run) => !isFileMark(model.tree, run)) ?? [];
    if (runs.length === 0) return [];
    const count = Number(finding.data?.['count']);
    return [
      {
        title: count === 1 ? 'Take the hidden character out' : `Take the ${count} hidden characters out`,
        edits: runs.map((run) => replaceSpan(model.tree, run, '')),
        safe: false,
      },
    ];
  },
};
