import { type Content, type Html, html } from './html.ts';

/** A box to tick, with the words that it answers to. */
export const tick = (words: Content, name = 'tick'): Html =>
  html`<label class="${name}"><input type="checkbox" autocomplete="off"><span>${words}</span></label>`;

/** A line to write on, with the words in front of it; `size` in characters. */
export const field = (words: Content, size: number, after: Content = ''): Html =>
  html`<label class="field"><span>${words}</span> <input type="text" size="${size}" autocomplete="off" spellcheck="false">${after !== '' && html` <span>${after}</span>`}</label>`;
