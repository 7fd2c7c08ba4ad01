import type { Edit } from '../checks/check.ts';

export interface Insertion {
  /** Offset in the text as it is now. */
  readonly at: number;
  readonly text: string;
  /** Blank characters behind `at` that it stands in place of. */
  readonly blanks?: number;
}

/** A text that only grows: what it began with keeps its bytes and their order, save for blank lines. */
export class GrowingText {
  /** `from` is the offset in the first text; absent in what was inserted. */
  private pieces: { readonly text: string; readonly from: number | undefined }[];

  private readonly length: number;

  constructor(text: string) {
    this.length = text.length;
    this.pieces = [{ text, from: 0 }];
  }

  get text(): string {
    return this.pieces.map((piece) => piece.text).join('');
  }

  /** Of several insertions at one place, the first given stands first. */
  insert(insertions: readonly Insertion[]): void {
    const sorted = [...insertions].sort((a, b) => a.at - b.at);
    const grown: typeof this.pieces = [];
    let next = 0;
    let offset = 0;
    for (const { text, from } of this.pieces) {
      let done = 0;
      for (; next < sorted.length && sorted[next]!.at <= offset + text.length; next++) {
        const upTo = Math.max(done, sorted[next]!.at - offset);
        if (upTo > done)
          grown.push({ text: text.slice(done, upTo), from: from === undefined ? undefined : from + done });
        grown.push({ text: sorted[next]!.text, from: undefined });
        done = Math.min(text.length, upTo + (sorted[next]!.blanks ?? 0));
      }
      if (done < text.length || text === '')
        grown.push({ text: text.slice(done), from: from === undefined ? undefined : from + done });
      offset += text.length;
    }
    this.pieces = grown;
  }

  /** A function that takes back all that is inserted from now on. */
  bookmark(): () => void {
    const { pieces } = this;
    return () => {
      this.pieces = pieces;
    };
  }

  /** Gives `before`, which must lie within one insertion at `at`, other words. */
  reword(at: number, before: string, after: string): void {
    let offset = 0;
    this.pieces = this.pieces.map(({ text, from }) => {
      const start = at - offset;
      offset += text.length;
      return from === undefined && start >= 0 && text.startsWith(before, start)
        ? { text: text.slice(0, start) + after + text.slice(start + before.length), from }
        : { text, from };
    });
  }

  /** What was inserted, as edits of the first text, in order. */
  edits(uri: string): Edit[] {
    const edits: Edit[] = [];
    let at = 0;
    let text = '';
    for (const piece of [...this.pieces, { text: '', from: this.length }]) {
      if (piece.from === undefined) {
        text += piece.text;
        continue;
      }
      if (text !== '' || piece.from > at) edits.push({ uri, start: at, end: piece.from, text });
      text = '';
      at = piece.from + piece.text.length;
    }
    return edits;
  }
}
