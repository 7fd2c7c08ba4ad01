import { unbroken } from './directed-text.ts';

/** `text` in at most `most` lines of `width`, with `…` where it does not fit, and no line's end between a figure and its unit. Widths are guessed on the wide side. */
export function wrapped(text: string, width: number, size: number, most: number): string[] {
  const lines: string[] = [];
  let line = '';
  const words = unbroken(text).split(/[^\S\u00a0]+/);
  for (const word of words.map((each) => each.replaceAll('\u00a0', ' ')).filter((each) => each !== '')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line === '' || widthOf(longer, size) <= width) line = longer;
    else {
      lines.push(line);
      line = word;
    }
  }
  if (line !== '') lines.push(line);
  const shown = lines.slice(0, most);
  const cut = lines.length > most;
  return shown.map((each, i) => {
    const more = cut && i === shown.length - 1;
    if (!more && widthOf(each, size) <= width) return each;
    let kept = '';
    let used = widthOf('…', size);
    for (const sign of each) {
      used += widthOf(sign, size);
      if (used > width) break;
      kept += sign;
    }
    return `${kept.trimEnd()}…`;
  });
}

/** Shares of the font size, generous for any sans-serif; of the East Asian scripts a full square. */
export const widthOf = (text: string, size: number): number =>
  [...text].reduce(
    (sum, sign) =>
      sum +
      (/[\u1100-\u11FF\u2E80-\uFFEF]|[\u{1F300}-\u{3FFFD}]/u.test(sign)
        ? 1.05
        : /[A-ZMW@%—…]/.test(sign)
          ? 0.76
          : /[ijlt.,:;'|() -]/.test(sign)
            ? 0.36
            : 0.6),
    0,
  ) * size;
