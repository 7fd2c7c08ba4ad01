import fc from 'fast-check';
import { expect, it } from 'vitest';
import { html, joined } from '../../server/src/outputs/html.ts';

it('escapes any text in content and in attributes', () => {
  fc.assert(
    fc.property(fc.string({ unit: 'binary' }), (text) => {
      const { markup } = html`<p title="${text}">${text}</p>`;
      expect(markup.match(/[<>"]/g)!.join('')).toBe('<"">' + '<>');
    }),
  );
});

it('keeps its own markup, and leaves nothing of what is absent', () => {
  expect(html`${[html`<b>`, '<', undefined, false, 0]}`.markup).toBe('<b>&lt;0');
  expect(html`${joined([html`<b>`, '<'], ', ')}`.markup).toBe('<b>, &lt;');
});
