import { execFileSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { card, type Paper } from '../../server/src/outputs/card.ts';
import { launch, type Sheet, sheetsOf, show, violations } from '../browser/chromium.ts';
import { root } from '../cli/run.ts';
import { hostileText } from './hostile.ts';
import { openSample, openText } from './opened.ts';

/** Pages and PDFs to look at; git ignores them. */
const pictures = join(root, '.cache/card');
const written = ({ model, judged }: ReturnType<typeof openText>, paper: Paper, file: string): string =>
  card(model, judged.ledger, { findings: judged.findings, paper, file });
const made = (name: string, paper: Paper = 'a4'): string =>
  written(name === 'hostile' ? openText(hostileText) : openSample(name), paper, `${name}.fettle`);
const names = [
  'winch-reducer',
  'gear-pump',
  'chain-hoist-brake',
  'centrifugal-clutch',
  'irrigation-pump',
  'yard-blower',
  'hostile',
];
const papers = ['a4', 'letter'] as const;
/** CSS pixels and points of a millimetre: an inch is 25.4 mm, 96 px or 72 pt. */
const px = 96 / 25.4;
const pt = 72 / 25.4;
/** mm: ISO 216 for A4, 8.5 by 11 in for Letter; margins of the style sheet. */
const sheet = { a4: { width: 210, height: 297 }, letter: { width: 215.9, height: 279.4 } };
const margin = { top: 14, right: 12, bottom: 16, left: 18 };

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}
interface Drawn {
  readonly title: string;
  readonly circle: boolean;
  readonly view: Box;
  readonly words: readonly { readonly text: string; readonly box: Box }[];
  readonly rings: readonly { readonly hole: number; readonly box: Box; readonly words: Box }[];
}

let browser: Browser;
beforeAll(async () => {
  mkdirSync(pictures, { recursive: true });
  browser = await launch();
});
afterAll(() => browser?.close());

/** The card as it is laid out for paper: print rules, and the width between the margins. */
async function onPaper(name: string, paper: Paper = 'a4'): Promise<Page> {
  const width = Math.floor((sheet[paper].width - margin.left - margin.right) * px);
  const { page, troubles } = await show(browser, made(name, paper), { viewport: { width, height: 1200 } });
  await page.emulateMedia({ media: 'print' });
  expect(troubles).toEqual([]);
  return page;
}

// In a system's contrast theme a browser takes gradients away (CSS Color Adjustment 1, 3.1): the cross of a ticked box is one.
describe('a box in a theme of forced colours', () => {
  it('is seen to be ticked, and to have the focus', async () => {
    const { page, troubles } = await show(browser, made('gear-pump'), { forcedColors: 'active', colorScheme: 'dark' });
    const box = page.locator('.unit input[type="checkbox"]').first();
    const drawn = (): Promise<string[]> =>
      page.evaluate(`(() => {
        const { backgroundImage, backgroundColor, borderTopColor, outlineColor } = getComputedStyle(document.querySelector('.unit input[type="checkbox"]'));
        return [backgroundImage, backgroundColor, borderTopColor, outlineColor];
      })()`);
    const [before, paper, edge] = await drawn();
    expect(before).toBe('none');
    expect(edge).not.toBe(paper);
    await box.press('Space');
    expect(await box.isChecked()).toBe(true);
    const [cross, ground, , outline] = await drawn();
    expect(cross).toContain('linear-gradient');
    expect(cross).not.toContain(ground);
    expect(outline).not.toBe(ground);
    expect(troubles).toEqual([]);
    await page.context().close();
  });
});

describe.each(names)('%s', (name) => {
  it('has no accessibility violation, on a screen or beside the source, and asks for nothing', async () => {
    for (const width of [1000, 420]) {
      const { page, troubles } = await show(browser, made(name), { viewport: { width, height: 1200 } });
      expect(await violations(page)).toEqual([]);
      expect(await page.evaluate('measure.sideways()')).toBe(0);
      await page.screenshot({ path: join(pictures, `${name}-${width}.png`), fullPage: true });
      expect(troubles).toEqual([]);
      await page.context().close();
    }
  });

  it('has boxes for gloved hands, type of 11 pt, and nothing that needs colour', async () => {
    const page = await onPaper(name);
    const boxes = await page.evaluate<{ width: number; height: number }[]>('measure.boxes()');
    expect(boxes.length).toBeGreaterThan(10);
    for (const { width, height } of boxes) expect(Math.min(width, height)).toBeGreaterThanOrEqual(4 * px);
    for (const [where, size] of await page.evaluate<[string, number][]>('measure.typeSizes()'))
      expect(size, where).toBeGreaterThanOrEqual((11 * 96) / 72 - 0.1);
    expect(await page.evaluate('measure.colours()')).toEqual([]);
    await page.context().close();
  });

  it('keeps everything within the page, and nothing on top of anything else', async () => {
    const groups = ['.step', '.statement, .safety', '.tray', '.have > li', 'svg, .order', 'label'];
    for (const paper of papers) {
      const page = await onPaper(name, paper);
      const found = await page.evaluate(`measure.layout(${JSON.stringify(groups)})`);
      expect(found).toEqual({ outside: [], clipped: [], overlaps: [] });
      await page.context().close();
    }
  });

  it('draws patterns whose words and rings are apart and inside, hole 1 of a circle on top', async () => {
    const page = await onPaper(name);
    const drawings = await page.evaluate<Drawn[]>('measure.drawings()');
    const within = (inner: Box, outer: Box): boolean =>
      inner.left >= outer.left - 0.01 &&
      inner.right <= outer.right + 0.01 &&
      inner.top >= outer.top - 0.01 &&
      inner.bottom <= outer.bottom + 0.01;
    const meets = (a: Box, b: Box): boolean =>
      a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
    expect(drawings.length).toBeGreaterThan(name === 'irrigation-pump' ? -1 : 0);
    for (const { title, circle, view, words, rings } of drawings) {
      for (const [i, { text, box }] of words.entries()) {
        expect(within(box, view), `${title}: ${text} inside`).toBe(true);
        for (const other of words.slice(i + 1))
          expect(meets(box, other.box), `${title}: ${text} on ${other.text}`).toBe(false);
      }
      for (const ring of rings) {
        expect(within(ring.box, view), `${title}: ring ${ring.hole} inside`).toBe(true);
        expect(ring.words.left, `${title}: ${ring.hole} fits its ring`).toBeGreaterThanOrEqual(ring.box.left);
        expect(ring.words.right, `${title}: ${ring.hole} fits its ring`).toBeLessThanOrEqual(ring.box.right);
      }
      const first = rings.find(({ hole }) => hole === 1)!;
      if (circle) expect(first.box.top).toBe(Math.min(...rings.map(({ box }) => box.top)));
    }
    await page.context().close();
  });

  it.each(papers)(
    'prints on %s with no short step split, no statement, and no sheet half empty before the work goes on',
    async (paper) => {
      const page = await onPaper(name, paper);
      // Words that tell, in the PDF, where each step and statement begins and ends; the left margin becomes part of the page.
      const steps = await page.evaluate<Record<string, number>>(`measure.mark('.step', 's', -50)`);
      const items = await page.evaluate<Record<string, number>>(`measure.mark('.statement, .safety', 'i', -25)`);
      await page.addStyleTag({ content: `@page { margin-left: 0 } body { padding-left: ${margin.left}mm }` });
      const pdf = await page.pdf({ preferCSSPageSize: true });
      writeFileSync(join(pictures, `${name}-${paper}-marked.pdf`), pdf);
      const at = placesOf(sheetsOf(pdf));
      const room = (sheet[paper].height - margin.top - margin.bottom) * px;
      const split: string[] = [];
      for (const [id, height] of Object.entries({ ...steps, ...items })) {
        const [start, end] = [at.get(`${id}a`), at.get(`${id}z`)];
        expect([id, typeof start, typeof end]).toEqual([id, 'number', 'number']);
        const least = id in steps ? 85 * px : room;
        if (start !== end && height < least) split.push(`${id}: ${height} px, sheets ${start} to ${end}`);
      }
      expect(split).toEqual([]);
      expect(Object.keys(steps).length).toBeGreaterThan(3);
      const places = Object.keys(steps).map((id) => at.get(`${id}a`)!);
      const filled = sheetsOf(pdf).map(({ height, words }) => {
        const foot = height - margin.bottom * pt;
        const lowest = Math.max(...words.map(({ bottom }) => bottom).filter((bottom) => bottom < foot));
        return (lowest - margin.top * pt) / (foot - margin.top * pt);
      });
      // What no sheet has room for stands there on purpose in one of them.
      for (const [i, part] of filled.entries())
        if (name !== 'hostile' && i + 1 >= Math.min(...places) && i + 1 < filled.length)
          expect(part, `sheet ${i + 1}`).toBeGreaterThan(0.5);
      await page.context().close();
    },
  );

  it.each(papers)('prints on %s with no tray and no thing to have split, over sheets or columns', async (paper) => {
    const { page } = await show(browser, made(name, paper));
    const ids = Object.keys(await page.evaluate<object>(`measure.mark('.unit, .tray, .have > li', 'f', 0)`));
    const edges = new Map(
      sheetsOf(await page.pdf({ preferCSSPageSize: true })).flatMap(({ words }, sheet) =>
        words.flatMap(({ text, left }) =>
          [...text.matchAll(/qf\d+q[az]/g)].map(([word]): [string, string] => [
            word,
            `sheet ${sheet + 1}, ${left.toFixed(0)} pt`,
          ]),
        ),
      ),
    );
    expect(ids.length).toBeGreaterThan(0);
    for (const id of ids) expect(edges.get(`${id}z`), id).toBe(edges.get(`${id}a`) ?? 'seen');
    await page.context().close();
  });

  it.each(papers)('prints on %s with nothing clipped, lost, or outside the margins', async (paper) => {
    const { page } = await show(browser, made(name, paper));
    const pdf = await page.pdf({ preferCSSPageSize: true });
    writeFileSync(join(pictures, `${name}-${paper}.pdf`), pdf);
    const sheets = sheetsOf(pdf);
    expect(sheets.length).toBeGreaterThan(1);
    for (const [i, { width, height, words }] of sheets.entries()) {
      expect(width / pt).toBeCloseTo(sheet[paper].width, 0);
      expect(height / pt).toBeCloseTo(sheet[paper].height, 0);
      for (const word of words) {
        expect(word.left, word.text).toBeGreaterThanOrEqual((margin.left - 0.5) * pt);
        expect(word.right, word.text).toBeLessThanOrEqual(width - (margin.right - 0.5) * pt);
        expect(word.top, word.text).toBeGreaterThan(0);
        expect(word.bottom, word.text).toBeLessThan(height);
      }
      const text = words.map((word) => word.text).join(' ');
      expect(text).toContain(`Page ${i + 1} of ${sheets.length}`);
      expect(text).toContain('data, local codes and licensed practice prevail.');
      expect(words.length, `sheet ${i + 1} is bare`).toBeGreaterThan(15);
    }
    // What is signed stands on the sheet that says what prevails.
    expect(sheets.at(-1)!.words.map(({ text }) => text)).toContain('Signature');
    const text = await page.evaluate<string>('measure.text()');
    // The heads of long steps stand there once a sheet.
    expect(Object.values(surplus(bodyOf(sheets), text)).filter((more) => more < 0)).toEqual([]);
    await page.addStyleTag({
      content: '@media print { .job-card :is(.step > header, .under > ul) { display: table-row-group } }',
    });
    expect(surplus(bodyOf(sheetsOf(await page.pdf({ preferCSSPageSize: true }))), text)).toEqual({});
    await page.context().close();
  });
});

/** One row of the first sheet, at so many dots an inch: a byte a dot, 0 for black. */
function rowOf(pdf: Uint8Array, y: number, dots: number): Uint8Array {
  const args = ['-r', `${dots}`, '-gray', '-f', '1', '-l', '1', '-y', `${y}`, '-H', '1', '-x', '0', '-W', '99999', '-'];
  const picture = execFileSync('pdftoppm', args, { input: pdf, maxBuffer: 2 ** 28 });
  // Portable graymap: `P5`, width, height and the lightest value, each with a blank behind it.
  const head = /^P5\s+(\d+)\s+\d+\s+\d+\s/.exec(picture.toString('latin1'))!;
  return picture.subarray(head[0].length, head[0].length + Number(head[1]));
}

/** What stands between the margins at top and bottom. */
const bodyOf = (sheets: readonly Sheet[]): string =>
  sheets
    .flatMap(({ height, words }) =>
      words.filter(({ top, bottom }) => bottom > margin.top * pt && top < height - margin.bottom * pt),
    )
    .map(({ text }) => text)
    .join('');

/** Letters and figures that one text has more often than another, and how much more; ligatures are taken apart, case is not told. */
function surplus(text: string, other: string): Record<string, number> {
  const counts: Record<string, number> = {};
  const count = (from: string, by: number): void => {
    for (const [sign] of from
      .normalize('NFKC')
      .toLowerCase()
      .matchAll(/[a-z0-9]/g))
      counts[sign] = (counts[sign] ?? 0) + by;
  };
  count(text, 1);
  count(other, -1);
  return Object.fromEntries(Object.entries(counts).filter(([, more]) => more !== 0));
}

/** The sheet on which each marking word stands first: the head of a long step stands on each of its sheets. */
function placesOf(sheets: readonly Sheet[]): Map<string, number> {
  const at = new Map<string, number>();
  for (const [i, { words }] of sheets.entries())
    for (const { text } of words)
      for (const [word] of text.matchAll(/q[si]\d+q[az]/g)) if (!at.has(word)) at.set(word, i + 1);
  return at;
}

it('keeps what reads from left to right so among words that do not, in headings, messages and statements', async () => {
  const words = 'خطر 25 N·m هنا';
  const text = `procedure p "P"\nteardown\n  step a "${words}"\n    warning "${words}"\n    do "${words}"\n`;
  const { page } = await show(browser, written(openText(text), 'a4', 'p.fettle'));
  const seen = await page.evaluate<string[]>('measure.leftToRight("h3, .safety p, .statement label")');
  expect(seen.filter((line) => line.includes('25 N·m'))).toHaveLength(3);
  await page.context().close();
});

it('prints the right edge of a box as thick as its left one: half of it was cut off', async () => {
  const text = `procedure p "P"\npart a "A"\npart b "B"\nteardown\n  step s "S"\n    remove a keep in "tray A"\n    remove b keep in "tray XXXX"\n`;
  const { page } = await show(browser, written(openText(text), 'a4', 'p.fettle'));
  const pdf = await page.pdf({ preferCSSPageSize: true });
  await page.context().close();
  const { top, bottom } = sheetsOf(pdf)[0]!.words.find(({ text }) => text === 'XXXX')!;
  const dots = 600;
  const at = (points: number): number => Math.round((points * dots) / 72);
  // Runs of dark dots along the line of the word, as [from, length].
  const runs: [number, number][] = [];
  const row = rowOf(pdf, at((top + bottom) / 2), dots);
  for (const [x, dot] of row.entries()) {
    if (dot > 128) continue;
    const last = runs.at(-1);
    if (last !== undefined && last[0] + last[1] === x) last[1]++;
    else runs.push([x, 1]);
  }
  // Two boxes stand side by side: the first run is the left edge of the one, the last the right edge of the other.
  expect(runs.at(-1)![1]).toBeGreaterThanOrEqual(runs[0]![1] - 1);
});

it('breaks no line between a figure and its unit', async () => {
  const text = `procedure p "P"\npart bolt x4 "Bolt" torque 75 N·m\ntool wrench "Wrench" range 20..200 N·m\nreassembly\n  step a "A"\n    tighten bolt in stages 30 N·m, 75 N·m using wrench extension 60 mm on 400 mm\n    do "${'Leave a gap of 0.05 to 0.20 mm, then turn at 25 N·m. '.repeat(12)}"\n`;
  for (const width of [300, 330, 360, 390, 420]) {
    const { page } = await show(browser, written(openText(text), 'a4', 'p.fettle'), {
      viewport: { width, height: 800 },
    });
    const lines = await page.evaluate<string[]>('measure.leftToRight(".statement label, td")');
    expect(lines.filter((line) => /N·m|mm/.test(line)).length).toBeGreaterThan(20);
    expect(lines.filter((line) => /^(?:mm|N·m|lbf|0\.20)/.test(line))).toEqual([]);
    await page.context().close();
  }
});

describe('the last sheet', () => {
  const steps = (statements: number): string =>
    `procedure p "P"\nteardown\n  step a "A"\n    do "Begin."\n  step b "B"\n${'    do "Turn."\n'.repeat(statements)}`;
  const lastOf = async (text: string, paper: Paper): Promise<string> => {
    const { page } = await show(browser, written(openText(text), paper, 'p.fettle'));
    const sheets = sheetsOf(await page.pdf({ preferCSSPageSize: true }));
    await page.context().close();
    return sheets
      .at(-1)!
      .words.map((word) => word.text)
      .join(' ');
  };

  it.each(papers)('on %s, has work on it that is signed for: the hand-over stood alone', async (paper) => {
    for (const statements of [12, 14, 16])
      expect(await lastOf(steps(statements), paper), `${statements}`).toMatch(/Turn\. .*Hand over .*Signature/);
  });

  it.each(papers)('on %s, has the whole hand-over where both do not fit', async (paper) => {
    for (const statements of [28, 30, 32, 34, 36])
      expect(await lastOf(steps(statements), paper), `${statements}`).toMatch(/Hand over .*Signature .*prevail over/);
  });
});

it.each(papers)(
  'on %s, breaks a long table of shims between rows, with its head again on each sheet',
  async (paper) => {
    const text = `procedure p "P"
part shaft "Shaft"
part ring "Shim ring" carried by shaft
reassembly
  step set "Set the end play"
    measure play limit 0.2..3 mm
    shim ring gap play endplay 0.05..0.15 mm from 0.1 mm, 0.2 mm, 0.3 mm, 0.5 mm, 1 mm, 1 mm
${'    do "Turn."\n'.repeat(12)}`;
    const { page } = await show(browser, written(openText(text), paper, 'p.fettle'));
    const rows = await page.evaluate<string[]>(
      `[...document.querySelectorAll('.shims tbody tr')].map((row) => [...row.cells].map((cell) => cell.textContent.trim()).join(' '))`,
    );
    expect(rows.length).toBeGreaterThan(25);
    const sheets = sheetsOf(await page.pdf({ preferCSSPageSize: true })).map(({ words }) =>
      words.map((word) => word.text).join(' '),
    );
    await page.context().close();
    // What is read and the rule stand on the sheet on which the table begins.
    const first = sheets.findIndex((sheet) => sheet.includes('Reading over'));
    expect(sheets[first]).toMatch(/Measure play.*Choose the shims.*Stack = .*from 0\.20/);
    const withRows = sheets.filter((sheet) => rows.some((row) => sheet.includes(row)));
    expect(withRows).toHaveLength(2);
    for (const sheet of withRows)
      expect(sheet).toMatch(/Set the end play .*Reading over \(mm\) up to \(mm\) Shims \(mm\) Stack \(mm\)/);
    for (const row of rows) expect(withRows.filter((sheet) => sheet.includes(row)).length, row).toBeGreaterThan(0);
  },
);

describe('a step that is longer than a sheet', () => {
  const messages = 34;
  const text = `procedure long "Long"
teardown
  step lead "Lead up to it"
    do "Begin."
  step strip "Strip the long rack"
    danger "A loaded spring will kill. Release it first."
    caution "Sharp edges cut hands. Wear gloves."
${Array.from({ length: messages }, (_, i) => `    do "Undo clip ${i}."\n    warning "Clip ${i} can fly off. Wear goggles."\n    do "Take off clip ${i}."`).join('\n')}
`;

  it.each(papers)('on %s, no message stands on another sheet than the work below it', async (paper) => {
    for (const more of [0, 1, 2]) {
      const longer = text.replace('    do "Begin."\n', '    do "Begin."\n'.repeat(more + 1));
      const { page } = await show(browser, written(openText(longer), paper, 'long.fettle'));
      const items = Object.keys(
        await page.evaluate<Record<string, number>>(`measure.mark('.statement, .safety', 'i', 0)`),
      );
      const isMessage = await page.evaluate<boolean[]>(
        `[...document.querySelectorAll('.statement, .safety')].map((item) => item.classList.contains('safety'))`,
      );
      const at = placesOf(sheetsOf(await page.pdf({ preferCSSPageSize: true })));
      const sheets = items.map((id) => at.get(`${id}a`));
      expect(new Set(sheets).size).toBeGreaterThan(2);
      const parted = isMessage.flatMap((message, i) => (message && sheets[i] !== sheets[i + 1] ? [i] : []));
      expect(parted, `${more} more above`).toEqual([]);
      await page.context().close();
    }
  });

  it.each(papers)(
    'on %s, each sheet of it begins with its number, its title and the messages above all its work',
    async (paper) => {
      const { page } = await show(browser, written(openText(text), paper, 'long.fettle'));
      const sheets = sheetsOf(await page.pdf({ preferCSSPageSize: true })).map(({ words }) =>
        words.map((word) => word.text).join(' '),
      );
      const ofStep = sheets.filter((sheet) => /Undo clip|Take off clip/.test(sheet));
      expect(ofStep.length).toBeGreaterThan(2);
      for (const sheet of ofStep)
        expect(sheet).toMatch(
          /2 Strip the long rack .*DANGER A loaded spring will kill\. Release it first\. CAUTION Sharp edges cut hands\. Wear gloves\. .*clip/,
        );
      await page.context().close();
    },
  );

  /** Work, then messages, and so on: as many statements of work as the numbers say. */
  const within = (parts: readonly (number | string)[]): string => {
    let done = 0;
    const lines = parts.flatMap((part) =>
      typeof part === 'string' ? part : Array.from({ length: part }, () => `do "Undo clip ${++done}."`),
    );
    return `procedure long "Long"\nteardown\n  step strip "Strip the long rack"\n    ${lines.join('\n    ')}\n`;
  };
  /** Those of `words` that stand above the first statement of each sheet of the step, in their order. */
  const heads = async (text: string, paper: Paper, words: readonly string[]): Promise<[string, string[]][]> => {
    const { page } = await show(browser, written(openText(text), paper, 'long.fettle'));
    const sheets = sheetsOf(await page.pdf({ preferCSSPageSize: true })).map(({ words: all }) =>
      all.map((word) => word.text).join(' '),
    );
    await page.context().close();
    return sheets.flatMap((sheet): [string, string[]][] => {
      const first = /Undo clip \d+/.exec(sheet);
      if (first === null) return [];
      const above = sheet.slice(0, first.index);
      const found = words.filter((word) => above.includes(word));
      return [[sheet, found.sort((a, b) => above.indexOf(a) - above.indexOf(b))]];
    });
  };

  it.each(papers)('on %s, each further sheet begins with the messages within it that still hold', async (paper) => {
    const words = ['Acid drips.', 'Edges cut.', 'Spring flies.', 'In order.'];
    const text = within([
      20,
      'warning "Acid drips."',
      45,
      'notice "In order."',
      'caution "Edges cut."',
      60,
      'danger "Spring flies."',
      'warning "Acid drips."',
      1,
    ]);
    const sheets = await heads(text, paper, words);
    expect(sheets.length).toBeGreaterThan(3);
    for (const [i, [sheet, found]] of sheets.entries()) {
      const first = Number(/Undo clip (\d+)/.exec(sheet)![1]);
      const held = [...(first > 20 ? ['Acid drips.'] : []), ...(first > 65 ? ['Edges cut.'] : [])];
      // The notice is repeated nowhere; the sheet that begins with it, if any, may have it.
      expect(
        found.filter((word) => word !== 'In order.'),
        `sheet ${i + 1} of the step`,
      ).toEqual(held);
    }
    expect(sheets.filter(([sheet]) => sheet.includes('In order.'))).toHaveLength(1);
    expect(sheets.filter(([sheet]) => sheet.includes('Spring flies.'))).toHaveLength(1);
  });

  it.each(papers)(
    'on %s, messages above its work that a head has no room for stand on each sheet, too',
    async (paper) => {
      const words = Array.from({ length: 6 }, (_, i) => `Hazard ${i} is here.`);
      const sheets = await heads(within([...words.map((word) => `danger "${word}"`), 90]), paper, words);
      expect(sheets.length).toBeGreaterThan(2);
      for (const [, found] of sheets) expect(found).toEqual(words);
    },
  );

  it.each(papers)('on %s, messages take at most half a sheet, and lead back to those before', async (paper) => {
    const words = Array.from({ length: 20 }, (_, i) => `Hazard ${i} is here.`);
    const sheets = await heads(within(words.flatMap((word) => [`danger "${word}"`, 7])), paper, words);
    expect(sheets.length).toBeGreaterThan(3);
    for (const [sheet, found] of sheets.slice(1, -1)) {
      expect(found.length).toBeGreaterThan(0);
      expect(sheet.match(/Undo clip \d+/g)!.length).toBeGreaterThan(10);
      const reached = words.findLastIndex(
        (word) => sheet.indexOf(word) !== -1 && sheet.indexOf(word) < sheet.indexOf('Undo'),
      );
      if (found.length <= reached) expect(sheet).toContain('The messages above in this step hold as well');
    }
  });

  it('tells the messages of one way to its own statements', async () => {
    const text = within([5]).concat(
      '    either "Pull it"\n      do "Begin."\n      danger "It jumps."\n',
      '      do "Pull."\n'.repeat(50),
      '    or "Press it"\n',
      '      do "Press."\n'.repeat(50),
      '    end\n',
    );
    const { page } = await show(browser, written(openText(text), 'a4', 'long.fettle'));
    const sheets = sheetsOf(await page.pdf({ preferCSSPageSize: true })).map(({ words }) =>
      words.map((word) => word.text).join(' '),
    );
    await page.context().close();
    const pulled = sheets.filter((sheet) => sheet.includes('Pull.'));
    expect(pulled.length).toBeGreaterThan(1);
    for (const sheet of pulled) expect(sheet).toContain('It jumps.');
    const pressed = sheets.filter((sheet) => sheet.includes('Press.') && !sheet.includes('Pull.'));
    expect(pressed.length).toBeGreaterThan(0);
    for (const sheet of pressed) expect(sheet).not.toContain('It jumps.');
  });
});

it('reads without script, and runs none of the author’s under its own policy', async () => {
  const { page } = await show(browser, made('hostile'), { javaScriptEnabled: false, bypassCSP: false });
  expect(await page.locator('h1').textContent()).toContain('<script>alert(1)</script>');
  expect(await page.locator('.step').count()).toBe(4);
  await page.context().close();
  const { page: again, troubles } = await show(browser, made('hostile'), { bypassCSP: false });
  expect(await again.locator('script, img, iframe').count()).toBe(0);
  expect(await again.evaluate(`getComputedStyle(document.querySelector('.job-card')).fontSize`)).toBe('14.6667px');
  expect(troubles).toEqual([]);
  await again.context().close();
});

it('ticks without script, and prints the tick', async () => {
  const { page } = await show(browser, made('gear-pump'));
  await page.locator('.statement label').first().click();
  expect(await page.locator('.statement input[type=checkbox]').first().isChecked()).toBe(true);
  expect(
    await page.evaluate(`getComputedStyle(document.querySelector('.statement input:checked')).backgroundImage`),
  ).toContain('linear-gradient');
  await page.context().close();
});

it.each(papers)('on %s, loses nothing, wherever on the sheet a long step begins', async (paper) => {
  const long = [
    '    warning "It can fall. Sling it."',
    ...[1, 2, 3, 4].map((n) => `    do "Turn the first wheel ${n} times."`),
    '    tighten bolt',
    '    caution "Hot parts burn. Wear gloves."',
    ...[1, 2, 3, 4, 5].map((n) => `    do "Turn the second wheel ${n} times."`),
    '    measure play limit 0.2..0.6 mm',
    '    shim ring gap play endplay 0.05..0.15 mm from 0.1 mm, 0.2 mm, 0.3 mm, 0.5 mm',
    ...[1, 2, 3].map((n) => `    do "Turn the third wheel ${n} times."`),
  ];
  for (let lines = 1; lines <= 40; lines += 3) {
    const text = [
      'procedure p "P"',
      'part shaft "Shaft"',
      'part ring "Shim ring" carried by shaft',
      'part bolt x6 "Bolt" torque 25 N·m holes rim',
      'pattern rim circle 6 diameter 90 mm',
      'reassembly',
      '  step a "A"',
      ...Array.from({ length: lines }, () => '    do "Begin."'),
      '  step b "B"',
      ...long,
      '  step c "C"',
      ...long,
      '',
    ].join('\n');
    const { page } = await show(browser, written(openText(text), paper, 'p.fettle'));
    const sheets = sheetsOf(await page.pdf({ preferCSSPageSize: true }));
    const body = bodyOf(sheets);
    const said = await page.evaluate<string>('measure.text()');
    const lost = Object.entries(surplus(body, said)).filter(([, more]) => more < 0);
    expect(lost, `behind ${lines} lines`).toEqual([]);
    // Heads that stand again could make up for letters that are lost.
    for (const [, turn] of long.join('').matchAll(/do "([^"]*)"/g))
      expect(body.split(turn!.replaceAll(' ', '')).length - 1, `${turn} behind ${lines} lines`).toBe(2);
    await page.context().close();
  }
});
