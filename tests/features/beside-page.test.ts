/** The pages beside the text, with their own script and policy, in a real Chromium. */
import { join } from 'node:path';
import { build } from 'esbuild';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { shell } from '../../client/src/views/page/html.ts';
import type { FromPage, ToPage } from '../../client/src/views/page/messages.ts';
import { cardPage } from '../../server/src/features/card-view.ts';
import { diagramPage } from '../../server/src/features/holding-diagram.ts';
import { planPage } from '../../server/src/features/plan-view.ts';
import type { Page as Shown } from '../../server/src/requests.ts';
import type { Snapshot } from '../../server/src/snapshot.ts';
import { launch, show, violations } from '../browser/chromium.ts';
import { hostileText } from '../outputs/hostile.ts';
import { scene } from './scene.ts';

/** What the editor gives a page: the way back to it, a memory, and its colours. */
const host = `
  globalThis.said = [];
  globalThis.kept = undefined;
  globalThis.acquireVsCodeApi = () => ({
    postMessage: (message) => said.push(message),
    getState: () => kept,
    setState: (state) => { kept = state; },
  });
  const colours = { 'editor-foreground': '#222', 'editor-background': '#fff', 'button-secondaryForeground': '#000', 'button-secondaryBackground': '#eee', focusBorder: '#005' };
  for (const [name, colour] of Object.entries(colours)) document.documentElement.style.setProperty('--vscode-' + name, colour);
`;

const unit = `procedure pump "Overhaul the pump"
  applies to P-1
part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
part cover "Cover" held by bolt
part seal "Seal" behind cover
teardown
  step open "Open it" takes 10 min
    identify "Read the code"
    remove bolt keep in "tray A"
    remove cover
    remove seal
reassembly
  step close "Close it" takes 20 min
    fit seal
    fit cover
    warning "The press can crush fingers."
    fit bolt
    tighten bolt order star
`;
const lines = unit.split('\n');
const lineOf = (statement: string): number => lines.findIndex((line) => line.trim() === statement);

let browser: Browser;
let script: string;
beforeAll(async () => {
  browser = await launch();
  const { outputFiles } = await build({
    entryPoints: [join(import.meta.dirname, '../../client/src/views/page/script.ts')],
    bundle: true,
    format: 'iife',
    write: false,
  });
  script = outputFiles[0]!.text;
}, 60_000);
afterAll(() => browser?.close());

async function open(): Promise<{ page: Page; troubles: string[] }> {
  const words = { drawing: 'Size of the drawing', smaller: 'Smaller', larger: 'Larger', fit: 'Whole width' };
  const html = shell({ title: 'View', script: 'page.js', nonce: 'n0', words })
    // As the editor does, before the policy takes hold.
    .replace('<head>', `<head><script>${host}</script>`)
    .replace('src="page.js"></script>', () => `>${script}</script>`);
  // With the policy in force.
  return show(browser, html, { bypassCSP: false });
}
const tell = (page: Page, message: ToPage): Promise<void> =>
  page.evaluate(
    (each) => (globalThis as unknown as { postMessage(message: unknown): void }).postMessage(each),
    message,
  );
const said = (page: Page): Promise<FromPage[]> =>
  page.evaluate(() => (globalThis as unknown as { said: FromPage[] }).said);
async function content(page: Page, { style, body }: Shown): Promise<void> {
  await tell(page, { type: 'content', style, body, state: { source: 'file:///unit.fettle' } });
  await page.locator('#page > *').first().waitFor();
}
const snapshotOf = async (text: string): Promise<Snapshot> => (await scene({ 'unit.fettle': text })).snapshot;
const params = { textDocument: { uri: '' } };
const here = (page: Page): Promise<string[]> => page.locator('.here').allInnerTexts();

describe('the card beside the text', { timeout: 180_000 }, () => {
  test('says that it is ready, marks the line of the cursor and shows it', async () => {
    const { page, troubles } = await open();
    expect(await said(page)).toEqual([{ type: 'ready' }]);
    await content(page, cardPage(await snapshotOf(unit), params));
    for (const [statement, words] of [
      ['tighten bolt order star', 'Tighten Bolt'],
      ['remove cover', 'Remove Cover.'],
      ['warning "The press can crush fingers."', 'The press can crush fingers.'],
      ['step close "Close it" takes 20 min', 'Close it'],
    ] as const) {
      await tell(page, { type: 'cursor', line: lineOf(statement) });
      await page.locator('.here', { hasText: words }).waitFor();
      expect(await page.locator('.here').count()).toBe(1);
      expect(await page.locator('[aria-current]').count()).toBe(1);
      if (!words.startsWith('Close')) expect(await page.locator('.here').isVisible()).toBe(true);
    }
    await tell(page, { type: 'cursor', line: lineOf('tighten bolt order star') });
    await page.locator('.here', { hasText: 'Tighten' }).waitFor();
    const { y } = (await page.locator('.here').boundingBox())!;
    expect(y).toBeGreaterThanOrEqual(0);
    expect(y).toBeLessThan(1200);
    // Above the first step there is nothing to mark.
    await tell(page, { type: 'cursor', line: 1 });
    await expect.poll(() => here(page)).toEqual([]);
    expect(troubles).toEqual([]);
  });

  test('goes to the line of what is clicked, by mouse and by keyboard; a box is only ticked', async () => {
    const { page } = await open();
    await content(page, cardPage(await snapshotOf(unit), params));
    await page.locator('.statement', { hasText: 'Remove Cover.' }).locator('b').click();
    await page.locator('.safety', { hasText: 'crush' }).click();
    await page.locator('.step > header', { hasText: 'Close it' }).focus();
    await page.keyboard.press('Enter');
    const box = page.locator('.statement', { hasText: 'Fit Seal' }).locator('input');
    await box.click();
    expect(await box.isChecked()).toBe(true);
    await page.keyboard.press('Enter');
    const wanted = [
      'remove cover',
      'warning "The press can crush fingers."',
      'step close "Close it" takes 20 min',
      'fit seal',
    ];
    expect((await said(page)).slice(1)).toEqual(wanted.map((statement) => ({ type: 'go', line: lineOf(statement) })));
    // The words of a box went to their line and left it as it was.
    expect(await page.locator('.statement', { hasText: 'Remove Cover.' }).locator('input').isChecked()).toBe(false);
  });

  test('leads from an open error to its line', async () => {
    const { page } = await open();
    const snapshot = await snapshotOf(unit.replace('    fit cover\n', ''));
    await content(page, cardPage(snapshot, params));
    await page.locator('.findings li', { hasText: 'left-off' }).first().click();
    expect((await said(page)).at(-1)).toEqual({ type: 'go', line: lineOf('remove cover') });
  });

  test('keeps place, ticks and entries while the text changes, and its place when it comes back', async () => {
    const { page } = await open();
    await content(page, cardPage(await snapshotOf(unit), params));
    await page.setViewportSize({ width: 800, height: 400 });
    await page.locator('.statement', { hasText: 'Fit Seal' }).locator('input').check();
    await page.locator('.closing input').first().fill('A. Fitter');
    await page.evaluate('scrollTo(0, 700)');
    await expect.poll(() => page.evaluate('kept.scroll')).toBe(700);
    const changed = unit.replace('remove cover', 'remove cover "Straight up"');
    await content(page, cardPage(await snapshotOf(changed), params));
    await page.locator('.statement', { hasText: 'Straight up' }).waitFor();
    expect(await page.evaluate('scrollY')).toBe(700);
    expect(await page.locator('.statement', { hasText: 'Fit Seal' }).locator('input').isChecked()).toBe(true);
    expect(await page.locator('.statement', { hasText: 'Fit Cover' }).locator('input').isChecked()).toBe(false);
    expect(await page.locator('.closing input').first().inputValue()).toBe('A. Fitter');

    const back = await open();
    await back.page.setViewportSize({ width: 800, height: 400 });
    await back.page.evaluate("kept = { source: 'x', scroll: 500 }");
    await content(back.page, cardPage(await snapshotOf(unit), params));
    await expect.poll(() => back.page.evaluate('scrollY')).toBe(500);
  });

  test('says why nothing can be shown, as text', async () => {
    const { page } = await open();
    await tell(page, { type: 'trouble', text: '<b>unit</b> cannot be shown' });
    await page.getByText('<b>unit</b> cannot be shown').waitFor();
  });
});

describe.each([
  ['card', (snapshot: Snapshot) => cardPage(snapshot, params)],
  ['diagram', diagramPage],
  ['plan', planPage],
] as const)('the %s as a page', { timeout: 180_000 }, (_, make) => {
  test('passes axe', async () => {
    const { page, troubles } = await open();
    await content(page, make(await snapshotOf(unit)));
    await tell(page, { type: 'cursor', line: lineOf('remove cover') });
    expect(await violations(page)).toEqual([]);
    expect(troubles).toEqual([]);
  });

  test('runs and fetches nothing that the author wrote', async () => {
    const { page, troubles } = await open();
    await content(page, make(await snapshotOf(hostileText)));
    // Whatever slipped in would have run or asked by now.
    await page.evaluate('new Promise((done) => setTimeout(done, 100))');
    expect(troubles).toEqual([]);
    expect(
      await page
        .locator('#page :is(script, img, iframe, style, link, object, embed, [onload], [onerror], :not(svg)[style])')
        .count(),
    ).toBe(0);
  });
});

describe('the white sheet in a dark editor', { timeout: 180_000 }, () => {
  test('shows the code of a finding', async () => {
    const { page } = await open();
    // What the editor gives every view in a theme of high contrast.
    await page.evaluate(`{
      const sheet = new CSSStyleSheet();
      sheet.replaceSync('@layer vscode-default { code { color: #fff; background-color: #000; } }');
      document.adoptedStyleSheets = [sheet];
    }`);
    await content(page, cardPage(await snapshotOf(unit.replace('    fit seal\n', '')), params));
    const shown = 'getComputedStyle(document.querySelector(".findings code"))';
    expect(await page.evaluate(`${shown}.color`)).toBe('rgb(0, 0, 0)');
    expect(await page.evaluate(`${shown}.backgroundColor`)).toBe('rgba(0, 0, 0, 0)');
  });
});

describe('a drawing beside the text', { timeout: 180_000 }, () => {
  test('is enlarged and fitted by its buttons, and marks the part whose declaration has the cursor', async () => {
    const { page } = await open();
    await content(page, diagramPage(await snapshotOf(unit)));
    const width = async (): Promise<number> => (await page.locator('.drawing svg').boundingBox())!.width;
    const natural = await width();
    await page.getByRole('button', { name: 'Larger' }).click();
    expect(await width()).toBeCloseTo(natural * 1.25, 0);
    await page.setViewportSize({ width: 400, height: 600 });
    await page.getByRole('button', { name: 'Whole width' }).press('Enter');
    expect(await width()).toBeLessThan(400);
    await tell(page, { type: 'cursor', line: lineOf('part cover "Cover" held by bolt') });
    await expect.poll(() => page.locator('g.here title').textContent()).toBe('Cover: comes off in turn 2');
    await page.locator('g.part', { hasText: 'Seal' }).click();
    expect((await said(page)).at(-1)).toEqual({ type: 'go', line: lineOf('part seal "Seal" behind cover') });
  });

  test('little wider than its frame is shown whole, as long as its words can be read', async () => {
    const { page } = await open();
    await content(
      page,
      diagramPage(await snapshotOf('part lid "Lid"\npart a "Seal" behind lid\npart b "Disc" behind lid\n')),
    );
    const drawn = async (): Promise<number> => (await page.locator('.drawing svg').boundingBox())!.width;
    await page.setViewportSize({ width: 1000, height: 700 });
    const natural = await drawn();
    await page.setViewportSize({ width: Math.round(natural * 0.8), height: 700 });
    await expect.poll(drawn).toBeLessThan(natural * 0.8);
    await page.setViewportSize({ width: Math.round(natural * 0.5), height: 700 });
    await expect.poll(drawn).toBe(natural);
  });

  test('has its legend and its words in lines that do not run into each other', async () => {
    const { page } = await open();
    await page.setViewportSize({ width: 420, height: 900 });
    await content(page, diagramPage(await snapshotOf(unit)));
    const lefts = `[...document.querySelectorAll('.key li')].slice(1).map((place) => {
      const range = document.createRange();
      range.selectNodeContents(place.lastChild);
      return Math.max(...[...range.getClientRects()].map(({ left }) => left)) - Math.min(...[...range.getClientRects()].map(({ left }) => left));
    })`;
    expect(await page.evaluate(lefts)).toEqual([0, 0, 0]);
    await tell(page, { type: 'cursor', line: lineOf('part cover "Cover" held by bolt') });
    await page.locator('li.here').waitFor();
    const room = await page.evaluate<[number, number, number]>(`(() => {
      const here = document.querySelector('li.here');
      const { outlineOffset, outlineWidth } = getComputedStyle(here);
      const words = (place) => { const range = document.createRange(); range.selectNodeContents(place); return range.getBoundingClientRect(); };
      const edge = parseFloat(outlineOffset) + parseFloat(outlineWidth);
      const box = here.getBoundingClientRect();
      return [box.top - edge - words(here.previousElementSibling).bottom, words(here.nextElementSibling).top - box.bottom - edge, edge];
    })()`);
    expect(Math.min(...room)).toBeGreaterThan(0);
  });

  test('of a plan has what stands below its rows in the width of the pane', async () => {
    const { page } = await open();
    await page.setViewportSize({ width: 420, height: 900 });
    await content(page, planPage(await snapshotOf(unit)));
    const right = `[...document.querySelectorAll('main > *')].filter((place) => place.textContent.includes('one pair of hands')).map((place) => {
      const range = document.createRange();
      range.selectNodeContents(place);
      return range.getBoundingClientRect().right;
    })[0]`;
    expect(await page.evaluate(right)).toBeLessThanOrEqual(420);
  });

  test('of a plan has its rows as a table that wraps in a narrow pane', async () => {
    const { page } = await open();
    await page.setViewportSize({ width: 300, height: 900 });
    const title = 'Open the pump and lay all parts out on the bench';
    const ordered = unit.replace('"Seal"', '"Seal" renew lead 1 d').replace('fit seal', 'fit new seal');
    await content(page, planPage(await snapshotOf(ordered.replace('Open it', title))));
    const table = page.getByRole('table', { name: 'In words' });
    expect(await table.getByRole('columnheader').allTextContents()).toEqual(['Start', 'End', 'Time', 'Work']);
    const rows = await table.locator('tbody').getByRole('row').all();
    expect(await Promise.all(rows.map((row) => row.getByRole('cell').allTextContents()))).toEqual([
      ['+0 min', '+10 min', '10 min', `${title} (may slip 23 h 50 min)`],
      ['+0 min', '+1 d', '1 d', '* Order Seal (order)'],
      ['+1 d', '+1 d 20 min', '20 min', '* Close it'],
    ]);
    const { x, width } = (await table.boundingBox())!;
    expect(x + width).toBeLessThanOrEqual(300);
  });

  test('of a plan leads from a row to its step, and follows the cursor', async () => {
    const { page } = await open();
    await content(page, planPage(await snapshotOf(unit)));
    await page.setViewportSize({ width: 500, height: 200 });
    await tell(page, { type: 'cursor', line: lineOf('fit cover') });
    const bar = page.locator('.drawing svg:visible g.here');
    await bar.filter({ hasText: 'Close it' }).waitFor();
    // The scale stands above it.
    expect(await page.evaluate('scrollY')).toBe(0);
    await tell(page, { type: 'cursor', line: lineOf('remove cover') });
    await bar.filter({ hasText: 'Open it' }).waitFor();
    const row = (title: string) => page.getByRole('row').filter({ hasText: title });
    expect(await row('Open it').getAttribute('aria-current')).toBe('true');
    expect(await row('Close it').getAttribute('aria-current')).toBeNull();
    await row('Close it').focus();
    await page.keyboard.press('Enter');
    expect(await said(page)).toContainEqual({ type: 'go', line: lineOf('step close "Close it" takes 20 min') });
  });

  test('wider than its frame begins with the first part, follows the cursor across, and stays where it is over an edit', async () => {
    const { page } = await open();
    await page.setViewportSize({ width: 500, height: 700 });
    const names = Array.from({ length: 12 }, (_, i) => `part p${'abcdefghijkl'[i]} "Part ${i}"`);
    // All side by side, and below them what they hold.
    const wide = `${names.join('\n')}\npart lid "Lid" held by ${names.map((name) => name.split(' ')[1]).join(', ')}\n`;
    await content(page, diagramPage(await snapshotOf(wide)));
    const isSeen = async (title: string): Promise<boolean> => {
      const { x, width } = (await page.locator('g.part', { hasText: title }).boundingBox())!;
      return x >= 0 && x + width <= 500;
    };
    await expect.poll(() => isSeen('Part 0')).toBe(true);
    for (const line of [11, 0, 6, 12]) {
      await tell(page, { type: 'cursor', line });
      await expect.poll(() => isSeen(line === 12 ? 'Lid' : `Part ${line}`)).toBe(true);
    }
    const { x } = (await page.locator('g.part', { hasText: 'Lid' }).boundingBox())!;
    await content(page, diagramPage(await snapshotOf(wide.replace('"Lid"', '"Lids"'))));
    await page.locator('g.part', { hasText: 'Lids' }).waitFor();
    expect((await page.locator('g.part', { hasText: 'Lids' }).boundingBox())!.x).toBeCloseTo(x, 0);
  });

  test('says what its arrows mean where it can be read, however far the drawing is scrolled', async () => {
    const { page } = await open();
    await page.setViewportSize({ width: 500, height: 700 });
    const names = Array.from({ length: 12 }, (_, i) => `p${'abcdefghijkl'[i]}`);
    const wide = `${names.map((name) => `part ${name} "Part"\n`).join('')}part lid "Lid" held by ${names.join(', ')}\n`;
    await content(page, diagramPage(await snapshotOf(wide)));
    await tell(page, { type: 'cursor', line: 12 });
    for (const words of ['Big number', 'Solid arrow', 'Dashed arrow', 'Dotted arrow']) {
      const { x, width } = (await page.getByText(words).boundingBox())!;
      expect([words, x >= 0 && x + width <= 500]).toEqual([words, true]);
    }
    const arrow = "getComputedStyle(document.querySelector('.key svg path'))";
    await page.evaluate("document.documentElement.style.setProperty('--vscode-editor-foreground', 'rgb(10, 20, 30)')");
    await expect.poll(() => page.evaluate(`${arrow}.stroke`)).toBe('rgb(10, 20, 30)');
    expect(await page.evaluate(`${arrow}.markerEnd`)).toContain('#head');
  });

  test('of a plan shows titles and bars in a narrow pane as in a wide one', async () => {
    const { page } = await open();
    await content(page, planPage(await snapshotOf(unit)));
    for (const width of [1100, 500, 420, 900]) {
      await page.setViewportSize({ width, height: 700 });
      const rows = page.locator('.drawing svg:visible g');
      await expect.poll(() => rows.count()).toBe(2);
      for (const row of await rows.all())
        for (const mark of ['text', 'rect']) {
          const box = (await row.locator(mark).boundingBox())!;
          expect([width, mark, box.x >= 0 && box.x + Math.min(box.width, 40) <= width]).toEqual([width, mark, true]);
        }
    }
    // One of the two is there for a screen reader as well.
    expect(await page.getByRole('img').count()).toBe(1);
    const drawn = async (): Promise<number> => (await page.locator('.drawing svg:visible').boundingBox())!.width;
    /** Once the page is laid out for its new width. */
    const expectWidth = (over: number, under: number): Promise<void> =>
      expect.poll(drawn).toSatisfy((width: number) => width > over && width < under);
    // By itself, as long as its words can be read.
    for (const width of [430, 325, 800, 1000]) {
      await page.setViewportSize({ width, height: 700 });
      await expectWidth(Math.min(970, width - 60), width - 32);
    }
    await page.setViewportSize({ width: 240, height: 700 });
    await expect.poll(drawn).toBe(440 * 0.65);
    await page.getByRole('button', { name: 'Whole width' }).click();
    expect(await drawn()).toBeLessThan(240);
    for (const width of [700, 1500]) {
      await page.setViewportSize({ width, height: 700 });
      await page.getByRole('button', { name: 'Whole width' }).click();
      await expectWidth(width - 60, width + 1);
    }
  });

  test('has its words in their order around titles that run from right to left', async () => {
    const { page } = await open();
    await content(
      page,
      diagramPage(await snapshotOf(unit.replace('"Cover"', '"מכסה"').replace('pump "Overhaul', 'pump "מכסה'))),
    );
    // Left edges of the title and of what follows it.
    const lefts =
      await page.evaluate(`[...document.querySelectorAll('li, h1')].filter((place) => /^מכסה/.test(place.textContent)).map((place) => {
      const [title, rest] = place.childNodes;
      return [title, rest].map((node) => { const range = document.createRange(); range.selectNodeContents(node); return range.getBoundingClientRect().left; });
    })`);
    expect(lefts).toHaveLength(2);
    for (const [title, rest] of lefts as [number, number][]) expect(rest).toBeGreaterThan(title);
  });

  test('has quantities from left to right in titles with words that run from right to left', async () => {
    const { page } = await open();
    for (const [words, seen] of [
      ['מכסה 1.8 L חם', /1\.8 L/],
      ['Hot מכסה 1.8 L חם', /Hot .*1\.8 L/],
    ] as const) {
      for (const shown of [diagramPage, planPage]) {
        const text = unit.replace('"Cover"', `"${words}"`).replace('"Close it"', `"${words}"`);
        await content(page, shown(await snapshotOf(text)));
        const lines = await page.evaluate<string[]>('measure.leftToRight("svg text, main td, main li")');
        const titles = lines.filter((line) => line.includes('םח'));
        expect(titles.length).toBeGreaterThan(1);
        for (const line of titles) expect(line).toMatch(seen);
      }
    }
  });

  test('takes the colours of the editor', async () => {
    const { page } = await open();
    await content(page, diagramPage(await snapshotOf(unit)));
    await page.evaluate("document.documentElement.style.setProperty('--vscode-editor-background', 'rgb(10, 20, 30)')");
    await expect
      .poll(() => page.evaluate("getComputedStyle(document.querySelector('svg rect')).fill"))
      .toBe('rgb(10, 20, 30)');
  });

  // On black, dark bars are not to be seen.
  test('of a plan takes them, too: its bars and hatchings stand out from a black ground and from each other', async () => {
    const { page, troubles } = await open();
    const ordered = unit
      .replace('"Seal"', '"Seal" renew lead 1 d')
      .replace('    remove seal', '    remove seal\n    discard seal')
      .replace('fit seal', 'fit new seal');
    await content(page, planPage(await snapshotOf(ordered)));
    for (const [ground, ink] of [
      ['rgb(0, 0, 0)', 'rgb(255, 255, 255)'],
      ['rgb(255, 255, 255)', 'rgb(34, 34, 34)'],
    ]) {
      await page.evaluate(`{
        document.documentElement.style.setProperty('--vscode-editor-background', '${ground}');
        document.documentElement.style.setProperty('--vscode-editor-foreground', '${ink}');
      }`);
      const colour = (place: string, of: string): Promise<string> =>
        page.evaluate(`getComputedStyle(document.querySelector('svg.wide ${place}')).${of}`);
      await expect.poll(() => colour('> rect', 'fill')).toBe(ground);
      expect(await colour('g text', 'fill')).toBe(ink);
      expect(await colour('g text', 'stroke')).toBe(ground);
      expect(await colour('pattern rect', 'fill')).toBe(ground);
      expect(await colour('pattern line', 'stroke')).toBe(ink);
      expect(await colour('g rect.critical', 'fill')).toBe(ink);
      const slack = await colour('g rect.slack', 'fill');
      expect([ground, ink]).not.toContain(slack);
      expect(await page.evaluate("getComputedStyle(document.querySelector('.drawing')).backgroundColor")).toBe(ground);
    }
    expect(await page.locator('svg.wide').textContent()).not.toContain('Dark');
    expect(troubles).toEqual([]);
  });
});
