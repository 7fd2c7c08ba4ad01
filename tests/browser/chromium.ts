import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { type Browser, type BrowserContextOptions, chromium, type Page } from 'playwright-core';

/** Quiet, offline, and able to run as root in a container. */
const flags = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1',
];

function commandOf(name: string): string | undefined {
  return (process.env.PATH ?? '')
    .split(delimiter)
    .map((folder) => join(folder, name))
    .find(existsSync);
}

/** Debian's Chromium, or the one that FETTLE_CHROMIUM names. @throws where there is none, with the remedy. */
export async function launch(): Promise<Browser> {
  const executablePath =
    process.env.FETTLE_CHROMIUM ?? ['chromium', 'chromium-browser', 'google-chrome'].map(commandOf).find(Boolean);
  if (executablePath === undefined || !existsSync(executablePath))
    throw new Error(
      `no Chromium ${executablePath ?? 'on the PATH'}: apt-get install chromium, or name one in FETTLE_CHROMIUM`,
    );
  return chromium.launch({ executablePath, args: flags });
}

/** A page that shows `html`, with `measure` of measure.js in it. Whatever it asks from elsewhere, logs or throws is told in `troubles`. */
export async function show(
  browser: Browser,
  html: string,
  options: BrowserContextOptions = {},
): Promise<{ page: Page; troubles: string[] }> {
  const context = await browser.newContext({ bypassCSP: true, viewport: { width: 1000, height: 1200 }, ...options });
  await context.addInitScript({ path: join(import.meta.dirname, 'measure.js') });
  const page = await context.newPage();
  const troubles: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') troubles.push(message.text());
  });
  page.on('pageerror', (error) => troubles.push(String(error)));
  page.on('request', (request) => {
    if (!request.url().startsWith('file:')) troubles.push(`asked for ${request.url()}`);
  });
  page.on('dialog', (dialog) => {
    troubles.push(`dialog ${dialog.message()}`);
    void dialog.dismiss();
  });
  const folder = mkdtempSync(join(tmpdir(), 'fettle-page-'));
  context.on('close', () => rmSync(folder, { recursive: true, force: true }));
  const file = join(folder, 'page.html');
  writeFileSync(file, html);
  await page.goto(`file://${file}`);
  return { page, troubles };
}

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** What axe-core finds against all its rules, best practices included: `rule: selector (why)`. */
export async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axeSource);
  const { violations } = await page.evaluate<{ violations: Violation[] }>('axe.run()');
  return violations.flatMap(({ id, nodes }) =>
    nodes.map((node) => `${id}: ${node.target.join(' ')} (${node.failureSummary})`),
  );
}
interface Violation {
  readonly id: string;
  readonly nodes: readonly { readonly target: readonly string[]; readonly failureSummary: string }[];
}

/** A word of a printed page, in points from the sheet's upper left corner. */
export interface Word {
  readonly text: string;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}
export interface Sheet {
  readonly width: number;
  readonly height: number;
  readonly words: readonly Word[];
}

const entities: Readonly<Record<string, string>> = { amp: '&', lt: '<', gt: '>', quot: '"', apos: "'" };

/** The words of a PDF, sheet by sheet, by `pdftotext` of poppler. @throws where it is not installed, with the remedy. */
export function sheetsOf(pdf: Uint8Array): Sheet[] {
  const program = commandOf('pdftotext');
  if (program === undefined) throw new Error('no pdftotext on the PATH: apt-get install poppler-utils');
  const markup = execFileSync(program, ['-bbox', '-', '-'], { input: pdf, encoding: 'utf8', maxBuffer: 2 ** 28 });
  return [...markup.matchAll(/<page width="([\d.]+)" height="([\d.]+)">([\s\S]*?)<\/page>/g)].map(
    ([, width, height, inner]) => ({
      width: Number(width),
      height: Number(height),
      words: [
        ...inner!.matchAll(
          /<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">([\s\S]*?)<\/word>/g,
        ),
      ].map(([, left, top, right, bottom, text]) => ({
        text: text!.replace(/&(\w+);/g, (_, name) => entities[name] ?? '?'),
        left: Number(left),
        top: Number(top),
        right: Number(right),
        bottom: Number(bottom),
      })),
    }),
  );
}
