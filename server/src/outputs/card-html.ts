import { escapeMarkup } from './markup.ts';

/** Markup that is safe to put into a page as it stands. Only {@link html} makes it. */
export class Html {
  readonly markup: string;
  constructor(markup: string) {
    this.markup = markup;
  }
}

export type Content = Html | string | number | undefined | false | readonly Content[];

const render = (content: Content): string => {
  if (content === undefined || content === false) return '';
  if (content instanceof Html) return content.markup;
  return Array.isArray(content) ? content.map(render).join('') : escapeMarkup(String(content));
};

/** Markup with values in it: strings are escaped, {@link Html} stands as it is, `undefined` and `false` leave nothing. */
export function html(literals: TemplateStringsArray, ...values: readonly Content[]): Html {
  return new Html(literals.reduce((markup, literal, i) => markup + render(values[i - 1]) + literal));
}

/** The author's own words, kept apart so that text written from right to left does not reorder what stands around it. */
export const own = (text: string): Html => html`<bdi>${text}</bdi>`;

/** `content` between each two of `items`. */
export const joined = (items: readonly Content[], content: Content): Content[] =>
  items.flatMap((item, i) => (i === 0 ? [item] : [content, item]));

/** A box to tick, with the words that it answers to. */
export const tick = (words: Content, name = 'tick'): Html =>
  html`<label class="${name}"><input type="checkbox" autocomplete="off"><span>${words}</span></label>`;

/** A line to write on, with the words in front of it; `size` in characters. */
export const field = (words: Content, size = 8, after: Content = ''): Html =>
  html`<label class="field"><span>${words}</span> <input type="text" size="${size}" autocomplete="off" spellcheck="false">${after !== '' && html` <span>${after}</span>`}</label>`;
