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

/** `content` between each two of `items`. */
export const joined = (items: readonly Content[], content: Content): Content[] =>
  items.flatMap((item, i) => (i === 0 ? [item] : [content, item]));
