/** Words that outputs share, in the terminal and in the browser. */

export const caution =
  "The maker's data, local codes and licensed practice prevail over anything that Fettle computes.";

export const counted = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;

/** C0, DEL, C1, line separators, and the bidirectional controls of UAX #9: what moves a cursor or reorders the text around it. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for.
const unseen = /[\u0000-\u001f\u007f-\u009f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]/gu;
const picture = (character: string): string => {
  const code = character.charCodeAt(0);
  return code < 0x20 ? String.fromCharCode(0x2400 + code) : code === 0x7f ? '\u2421' : '\ufffd';
};

/** `text` on one line, with nothing in it that a terminal obeys. */
export const visible = (text: string): string => text.replace(unseen, picture);
