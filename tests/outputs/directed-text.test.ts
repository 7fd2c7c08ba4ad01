import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inDrawing, isolated, own, withFigures } from '../../server/src/outputs/directed-text.ts';
import { html } from '../../server/src/outputs/html.ts';
import { launch, show } from '../browser/chromium.ts';

let browser: Browser;
beforeAll(async () => {
  browser = await launch();
});
afterAll(() => browser?.close());

/** The texts as the browser orders them (UAX #9), each in a page, in one without markup and in a drawing, from the left edge of the line to its right one. */
async function seen(texts: readonly string[]): Promise<string[]> {
  const { page } = await show(
    browser,
    html`<!doctype html><meta charset="utf-8"><title>Texts</title>${texts.map((text) => html`<p>${own(text)}</p>`)}
<svg width="900" height="${texts.length * 20}">${texts.map((text, i) => html`<text x="8" y="${20 * i + 14}" unicode-bidi="plaintext">${inDrawing(text)}</text>`)}</svg>`
      .markup,
  );
  const lines = await page.evaluate<string[]>('measure.leftToRight("p, text")');
  await page.context().close();
  return lines;
}

describe('words that run from right to left', () => {
  const said = [
    'خطر 25 N·m هنا',
    'زيت ساخن 80 °C.',
    'من 0.05 to 0.20 mm فقط',
    'برد الى -20 °C الآن',
    'محمل 6206-C3 جديد',
    'مسمار 1/4-20 طويل',
    'كيس A 3',
    'القفازات (EN 388).',
    'סובב 1450 rpm לאט',
    'ב 50 % בלבד',
    'בורג M8x1.25 × 40 mm',
    'חמם ל-70 °C',
    'צינור Müller 40 ישר',
    'צינור Ø42',
  ];

  it('have quantities, markings and threads in them that read from left to right', async () => {
    const lines = await seen(said);
    for (const figure of [
      '25 N·m',
      '80 °C',
      '0.05 to 0.20 mm',
      '-20 °C',
      '6206-C3',
      '1/4-20',
      'A 3',
      'EN 388',
      '1450 rpm',
      '50 %',
      'M8x1.25 × 40 mm',
      // The hyphen belongs to the word on its right: heat to 70, not to 70 below nought.
      '70 °C-',
      'Müller 40',
      'Ø42',
    ])
      expect(lines.filter((line) => line.includes(figure)).length, figure).toBe(2);
  });

  it('leave a text that begins from left to right as it begins', async () => {
    for (const line of await seen(['Fill the שסתום 1.8 L, then close it']))
      expect(line).toMatch(/^Fill the .* 1\.8 L, then close it$/);
  });

  it('keep figures in a row in the order in which the words run', async () => {
    const lines = await seen(['رتب 1, 5, 3']);
    expect(lines).toHaveLength(2);
    for (const line of lines) expect(line).toMatch(/3 ?,5 ?,1/);
  });
});

describe('where there is no markup', () => {
  it('figures read from left to right, and what stands around keeps its place', async () => {
    const { page } = await show(browser, '<!doctype html><meta charset="utf-8"><title>Text</title><p></p>');
    await page.evaluate(
      `document.querySelector('p').textContent = ${JSON.stringify(`seal – ${isolated('חותם ציר 40 mm')}, 3 d`)}`,
    );
    const [line] = await page.evaluate<string[]>('measure.leftToRight("p")');
    await page.context().close();
    expect(line).toMatch(/^seal – .*40 mm.*, 3 d$/);
    expect(line!.replace(/[\u2066-\u2069]/g, '')).toBe('seal – 40 mm ריצ םתוח, 3 d');
  });

  it('a text from left to right stays as it is', () => {
    expect(isolated('Turn 25 N·m')).toBe('Turn 25 N·m');
  });
});

describe('a text without them', () => {
  it('has each quantity on one line and nothing else around it', () => {
    expect(html`${withFigures('A key of 15 mm × 3 mm, or 10 mm × 4x')}`.markup).toBe(
      'A key of <span class="figure">15 mm × 3 mm</span>, or <span class="figure">10 mm</span> × 4x',
    );
    // So many of one size.
    expect(html`${withFigures('Shims 0.1 mm × 2, 0.5 mm × 10, 1.0 mm × wide')}`.markup).toBe(
      'Shims <span class="figure">0.1 mm × 2</span>, <span class="figure">0.5 mm × 10</span>, <span class="figure">1.0 mm</span> × wide',
    );
    expect(html`${withFigures('Turn 25 N·m, then 0.05 to 0.20 mm of 6206-C3')}`.markup).toBe(
      'Turn <span class="figure">25 N·m</span>, then <span class="figure">0.05 to 0.20 mm</span> of 6206-C3',
    );
  });

  it('stands in a drawing as it is, escaped', () => {
    expect(inDrawing('Lid <b> & 25 N·m').markup).toBe('Lid &lt;b&gt; &amp; 25 N·m');
  });
});
