import { nearest } from '../../../grammar/nearest.ts';
import type { Span, SyntaxIssue } from '../../../grammar/syntax.ts';
import { chunksOf, type Model } from '../model/model.ts';
import { allChecks } from './all.ts';
import { allowancesOf } from './allow.ts';
import type { Check, Raw } from './check.ts';
import { replaceSpan } from './edits.ts';
import { named } from './wording.ts';

/** So many characters are named in the title of a repair. */
const mostSaid = 30;

export const syntax: Check = {
  code: 'syntax',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  local: true,
  fires: 'a line cannot be read; the message says what was expected and where reading went on.',
  why: 'What cannot be read is not checked.',
  bad: `part cover "Cover"
teardown
  step open
    remvoe cover
reassembly
  step close
    fit cover`,
  good: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  *run({ model }): Generator<Raw> {
    for (const chunk of chunksOf(model).filter(({ issues }) => issues.length > 0)) {
      for (const issue of chunk.issues) {
        const { message, replacement } = issue;
        if (isToldWhereDeclared(issue, model)) continue;
        yield {
          span: { chunk: issue.chunk, start: issue.start, end: issue.end },
          message: message.endsWith('.') || message.endsWith('?') ? message : `${message}.`,
          related: [],
          data: replacement === undefined ? undefined : { replacement },
        };
      }
    }
    for (const { span, code, reason } of allowancesOf(model.tree)) {
      const known = allChecks.map((check) => check.code);
      if (code === '' || reason === '') {
        yield {
          span,
          message: `${named('fettle-allow')} needs a code and a reason, as in \`# fettle-allow no-order: two bolts share a bracket\`; it silences nothing without.`,
          related: [],
        };
      } else if (!known.includes(code)) {
        const near = nearest(code, known);
        yield {
          span,
          message: `${named(code)} is no check of Fettle: ${near === undefined ? 'see `fettle explain` for the list' : `did you mean ${named(near)}?`}`,
          related: [],
        };
      }
    }
  },
  repairs(finding, { model }) {
    const { span } = finding;
    const replacement = finding.data?.['replacement'];
    if (typeof replacement !== 'string') {
      const quoted = curlyTexts.exec(span.chunk.text.slice(span.start))?.[0];
      if (quoted === undefined) return [];
      const edit = replaceSpan(
        model.tree,
        { ...span, end: span.start + quoted.length },
        quoted.replace(curlyText, '"$1"'),
      );
      return [{ title: 'Write straight quotes', edits: [edit], safe: true }];
    }
    const said = span.chunk.text.slice(span.start, span.end).trim();
    const [title, end] =
      replacement === ''
        ? // One blank stays between what stands around it.
          [
            said.length > mostSaid ? 'Take it out' : `Take ${named(said)} out`,
            span.end + (isBlank(span.chunk.text[span.start - 1]) && span.chunk.text[span.end] === ' ' ? 1 : 0),
          ]
        : [`Write ${named(replacement.trim())}`, span.end];
    // No blank stands before a comma, or at the end of a line.
    const start = span.start - (/^[,\r\n]/.test(replacement) && span.chunk.text[span.start - 1] === ' ' ? 1 : 0);
    const written = parted(span.chunk.text, span, replacement);
    return [{ title, edits: [replaceSpan(model.tree, { ...span, start, end }, written)], safe: false }];
  },
};

/** `replacement` with blanks where the sign that it stands for was all that parted two words, as in `torque:25`. */
function parted(text: string, { start, end }: Span, replacement: string): string {
  const isWord = /^[a-z]{2,}$/.test(replacement);
  if (!/^[:=+]$/.test(text.slice(start, end)) || !(isWord || replacement === '')) return replacement;
  const [before, behind] = [text[start - 1], text[end]].map((sign) => /[\p{L}\p{N}"°]/u.test(sign ?? ''));
  if (!isWord) return before && behind ? ' ' : '';
  return `${before ? ' ' : ''}${replacement}${behind ? ' ' : ''}`;
}

/** A reserved word that this file declares as a name is told of there: to rename it mends all of them. */
function isToldWhereDeclared({ isReservedName, chunk, start, end }: SyntaxIssue, model: Model): boolean {
  if (isReservedName === undefined) return false;
  const word = chunk.text.slice(start, end);
  const { parts, tools, supplies, patterns } = model;
  const names = [parts, tools, supplies, patterns].flatMap((table) => table.get(word)?.name ?? []);
  const isDeclaredHere = names.some((name) => name.chunk === chunk && name.start === start);
  return !isDeclaredHere && names.some((name) => name.chunk.uri === chunk.uri);
}

/** What word processors make of a text in straight quotes. */
const curlyText = /[“”„«»]([^“”„«»"\\\r\n]*)[“”„«»]/g;
/** From a curly quote on, all of its line before a comment, if no other quote stands there. */
const curlyTexts = new RegExp(`^(?:${curlyText.source}[^“”„«»"#\\r\\n]*)+(?=[#\\r\\n]|$)`);

const isBlank = (sign: string | undefined): boolean => sign === undefined || /\s/.test(sign);
