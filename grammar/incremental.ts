import { alikeChunks } from './alike.ts';
import { parseChunks } from './parser.ts';
import { type Chunk, chunkAt, LazyTree, type SyntaxTree, textOf } from './syntax.ts';

/** A replacement of the text from `start` to `end` (UTF-16 offsets, exclusive) by `text`. */
export interface Change {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

/**
 * Whether a word begins a chunk can depend on two tokens behind it (`step`, end of line, `proving`, `step`, …), so that
 * this many whole chunks before and behind a change are read with it.
 */
const lookahead = 2;

/**
 * The tree of the changed text. Only chunks that the change touches, and a few around them, are read again; all others
 * are the same objects as before. Equal to a fresh parse.
 */
export function reparse(tree: SyntaxTree, change: Change): SyntaxTree {
  const { uri, chunks, starts } = tree;
  const moved = change.text.length - (change.end - change.start);
  // An edit at the very start of a chunk may join it to the one before.
  let first = Math.max(0, chunkAt(tree, change.start - 1) - lookahead);
  // What stands in a line can depend on a quote anywhere in it: whole lines are read.
  while (first > 0 && !endsLine(chunks[first - 1]!)) first--;
  const from = starts[first]!;
  let next = chunkAt(tree, change.end) + 1;
  for (let margin = lookahead + 1; ; margin *= 2) {
    const stop = Math.min(next + margin, chunks.length);
    const atEnd = stop === chunks.length;
    const before = textOf(chunks.slice(first, stop));
    const text = before.slice(0, change.start - from) + change.text + before.slice(change.end - from);
    const fresh = parseChunks(uri, copy(text));
    // The first old chunk that begins where a new one does, with all that it can look at: from there on nothing changes.
    let f = 0;
    for (; next < (atEnd ? stop : stop - lookahead); next++) {
      if (!endsLine(chunks[next - 1]!)) continue;
      const start = starts[next]! + moved - from;
      while (f < fresh.starts.length && fresh.starts[f]! < start) f++;
      if (fresh.starts[f] === start) return splice(next, fresh, f);
    }
    if (atEnd) return splice(chunks.length, fresh, fresh.chunks.length);
  }

  function splice(resume: number, fresh: { chunks: Chunk[]; starts: number[] }, taken: number): SyntaxTree {
    const read = fresh.chunks.slice(0, taken);
    keepAlike(chunks.slice(first, resume), read);
    // Few that look at a tree after a keystroke ask for its text.
    return new LazyTree(uri, chunks.slice(0, first).concat(read, chunks.slice(resume)), shifted(first + taken));

    /** All starts; those from `behind` on have moved. */
    function shifted(behind: number): number[] {
      const read = fresh.starts.slice(0, taken).map((start) => start + from);
      const all = starts.slice(0, first).concat(read, starts.slice(resume));
      if (moved !== 0) for (let i = behind; i < all.length; i++) all[i]! += moved;
      return all;
    }
  }
}

const endsLine = ({ text }: Chunk): boolean => /[\r\n]$/.test(text);

/** Puts back the old chunks at both ends of `now` that came out as they were: whoever knows them need not look again. */
function keepAlike(before: readonly Chunk[], now: Chunk[]): void {
  const shorter = Math.min(before.length, now.length);
  let kept = 0;
  for (; kept < shorter && alikeChunks(before[kept]!, now[kept]!); kept++) now[kept] = before[kept]!;
  for (let back = 1; back <= shorter - kept && alikeChunks(before.at(-back)!, now.at(-back)!); back++)
    now[now.length - back] = before.at(-back)!;
}

/** A string of its own: a slice would keep the whole text that it was cut from in memory as long as its chunk lives. */
const copy = (part: string): string => ` ${part}`.slice(1);
