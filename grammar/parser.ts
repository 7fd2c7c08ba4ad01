import { ChunkReader } from './chunk-reader.ts';
import { beginReading, cleanEnd, endReading, readClean } from './clean.ts';
import { beginsChunk, headWord, read } from './heads.ts';
import { rules } from './node-reader.ts';
import type { Chunk, Comment, SyntaxTree } from './syntax.ts';
import { endOf, isLineFirst } from './tokens.ts';

/** Parses a whole file. Total: any text gives a tree, with its troubles listed in the chunks. */
export function parse(uri: string, text: string): SyntaxTree {
  const { chunks, starts } = parseChunks(uri, text);
  return { uri, text, chunks, starts };
}

/** Does beforehand what takes long about the first text that is not clean. */
export const prepareGrammar = (): void => void parseByGrammar('', '');

/** Characters that the grammar reads at first where a chunk is not clean; more where that goes on. */
const leastStretch = 2048;
/** By how much the next stretch is longer than one that did not suffice. */
const growth = 4;
/**
 * Whether a word begins a chunk can depend on two tokens behind it (`step`, end of line, `proving`, `step`, …), so that
 * the last chunks of a stretch, of which one may be cut within a word, count only at the end of the text.
 */
const lookahead = 3;
/** Clean chunks in a row behind which the next stretch begins small again. */
const cleanAgain = 8;

/**
 * Cuts `text` into chunks and parses each. The text must begin where a chunk begins.
 * `starts` are offsets in `text`; chunks lie end to end and cover it.
 */
export function parseChunks(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  beginReading(text);
  try {
    return readStretches(uri, text);
  } finally {
    endReading();
  }
}

function readStretches(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  const chunks: Chunk[] = [];
  const starts: number[] = [];
  let stretch = leastStretch;
  let clean = cleanAgain;
  for (let at = 0; ; ) {
    const chunk = readClean(uri, text, at);
    if (chunk !== undefined) {
      chunks.push(chunk);
      starts.push(at);
      at = cleanEnd();
      clean++;
      if (at === text.length) return { chunks, starts };
      continue;
    }
    stretch = clean >= cleanAgain ? leastStretch : stretch * growth;
    clean = 0;
    let part = parseByGrammar(uri, text.slice(at, at + stretch));
    let taken = countOfWhole(part, text, at, stretch);
    for (; taken === 0; taken = countOfWhole(part, text, at, stretch)) {
      stretch *= growth;
      part = parseByGrammar(uri, text.slice(at, at + stretch));
    }
    for (let c = 0; c < taken; c++) {
      chunks.push(part.chunks[c]!);
      starts.push(at + part.starts[c]!);
    }
    if (taken === part.chunks.length) return { chunks, starts };
    at += part.starts[taken]!;
  }
}

/** How many of the chunks read from a stretch of `text` are as in the whole text; reading goes on where a line begins. */
function countOfWhole({ starts }: { starts: number[] }, text: string, at: number, stretch: number): number {
  if (at + stretch >= text.length) return starts.length;
  let count = Math.max(0, starts.length - lookahead);
  while (count > 0 && !isLineFirst(text, at + starts[count]!)) count--;
  return count;
}

/** As `parseChunks`, all of it by the grammar. */
export function parseByGrammar(uri: string, text: string): { chunks: Chunk[]; starts: number[] } {
  rules.prepare();
  const source = read(text);
  const { tokens, comments, heads } = source;
  // A chunk begins with the line behind the last line of the one before, so that a comment goes with what it stands above.
  const starts: number[] = [0];
  const firstHead: number[] = [0];
  for (let h = 0; h < heads.length; h++) {
    const at = heads[h]!;
    const token = tokens[at]!;
    if (!beginsChunk(headWord(source, at)) || at === 0) continue;
    starts.push(cutBefore(text, endOf(tokens[at - 1]!), token.startOffset));
    firstHead.push(h);
  }
  const chunks: Chunk[] = [];
  let comment = 0;
  for (let c = 0; c < starts.length; c++) {
    const start = starts[c]!;
    const end = starts[c + 1] ?? text.length;
    const own: Comment[] = [];
    const chunk: Chunk = {
      uri,
      text: c === 0 && end === text.length ? text : text.slice(start, end),
      comments: own,
      issues: [],
      lostWords: [],
    };
    for (; comment < comments.length && comments[comment]!.startOffset < end; comment++) {
      const token = comments[comment]!;
      own.push({
        chunk,
        start: token.startOffset - start,
        end: endOf(token) - start,
        text: token.image,
        ownLine: isLineFirst(text, token.startOffset),
      });
    }
    const lastHead = firstHead[c + 1] ?? heads.length;
    const firstToken = c === 0 ? 0 : heads[firstHead[c]!]!;
    const lastToken = c + 1 < starts.length ? heads[lastHead]! : tokens.length;
    new ChunkReader(text, chunk, start, source).read(firstToken, lastToken, firstHead[c]!, lastHead);
    chunks.push(chunk);
  }
  return { chunks, starts };
}

function cutBefore(text: string, previousEnd: number, headStart: number): number {
  for (let at = previousEnd; at < headStart; at++) {
    const code = text.charCodeAt(at);
    if (code === 10) return at + 1;
    if (code === 13) return text.charCodeAt(at + 1) === 10 ? at + 2 : at + 1;
  }
  return headStart;
}
