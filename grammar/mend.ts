/** Words for the message, a text that mends it where that is certain, and the last and first token that it stands for. */
export type Advice = [words: string, replacement?: string, last?: number, first?: number];

export const write = (text: string): [string, string] => [`write \`${text}\``, text];
export const takeOut: [string, string] = ['take it out', ''];
