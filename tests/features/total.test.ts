import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { mended } from '../../server/src/checks/mend.ts';
import { features } from '../../server/src/features/index.ts';
import type { Range } from '../../server/src/outputs/report.ts';
import { scene } from './scene.ts';

const samples = join(import.meta.dirname, '../../samples');
const fasteners = readFileSync(join(samples, 'common/fasteners.fettle'), 'utf8');
const inch = readFileSync(join(samples, 'common/inch-fasteners.fettle'), 'utf8');
const texts = [samples, join(samples, 'faulty')].flatMap((folder) =>
  readdirSync(folder)
    .filter((name) => name.endsWith('.fettle'))
    .map((name) => ({ name, text: readFileSync(join(folder, name), 'utf8').replaceAll('"../common', '"common') })),
);
const files = (text: string) => ({
  'unit.fettle': text,
  'common/fasteners.fettle': fasteners,
  'common/inch-fasteners.fettle': inch,
});

/** Every range in an answer about this file. */
function* rangesIn(value: unknown): Generator<Range> {
  if (typeof value !== 'object' || value === null) return;
  const { start, end } = value as Partial<Range>;
  if (typeof start?.line === 'number' && typeof end?.line === 'number') yield value as Range;
  for (const each of Object.values(value)) yield* rangesIn(each);
}

const about = features.flatMap(({ method, feature }) => (feature.about === 'file' ? [{ method, feature }] : []));
/** Answers that may name places in other files. */
const elsewhere = new Set([
  'textDocument/definition',
  'textDocument/declaration',
  'textDocument/references',
  'textDocument/rename',
  'textDocument/prepareCallHierarchy',
  'textDocument/codeAction',
  'textDocument/diagnostic',
]);

async function askEverything(text: string, at: number): Promise<void> {
  const { snapshot, site, textDocument } = await scene(files(text));
  const { document } = snapshot.file;
  const position = document.positionAt(at);
  const lines = document.lineCount;
  const params = {
    textDocument,
    position,
    positions: [position],
    newName: 'other-name',
    ch: '\n',
    options: { tabSize: 2, insertSpaces: true },
    previousResultId: 'none',
    range: { start: position, end: document.positionAt(at + 40) },
    context: { diagnostics: [], includeDeclaration: true, triggerKind: 1 },
  };
  for (const { method, feature } of about) {
    // A refusal with a sentence for the author is an answer.
    const answer = await Promise.resolve()
      .then(() => feature.answer(snapshot, params, { ...site, client: { ...site.client, resolvesEdits: false } }))
      .catch((error: { code?: number; message: string }) => {
        if (method.endsWith('ename') && error.code === -32803) return null;
        throw new Error(`${method} at ${at}: ${error.message}`, { cause: error });
      });
    if (elsewhere.has(method)) continue;
    for (const { start, end } of rangesIn(answer)) {
      expect(start.line, method).toBeLessThan(lines);
      expect(end.line, method).toBeLessThan(lines);
      expect(document.offsetAt(start), method).toBeLessThanOrEqual(document.offsetAt(end));
    }
  }
}

describe('every method', () => {
  it('answers anywhere in any text', { timeout: 300_000 }, async () => {
    const cut = fc.record({
      sample: fc.constantFrom(...texts),
      from: fc.double({ min: 0, max: 1, noNaN: true }),
      length: fc.nat(60),
      put: fc.oneof(
        fc.string({ unit: 'binary', maxLength: 12 }),
        fc.constantFrom('', '\n', '"', '#', ' fit ', ' x99999 ', 'step ', '(', '25 N·m ', '\r', '\uFEFF'),
      ),
      at: fc.double({ min: 0, max: 1, noNaN: true }),
    });
    await fc.assert(
      fc.asyncProperty(cut, async ({ sample, from, length, put, at }) => {
        const start = Math.floor(from * sample.text.length);
        const text = sample.text.slice(0, start) + put + sample.text.slice(start + length);
        await askEverything(text, Math.floor(at * text.length));
      }),
      { numRuns: 150 },
    );
  });

  it('answers behind every word of a sample cut off there', { timeout: 300_000 }, async () => {
    const { text } = texts.find(({ name }) => name === 'gear-pump.fettle')!;
    const ends = [...text.matchAll(/\S(?=\s)/g)].map(({ index }) => index + 1).filter((_, i) => i % 9 === 0);
    for (const end of ends) await askEverything(text.slice(0, end), end);
  });
});

describe('mending', () => {
  it.each(texts.map(({ name, text }) => [name, text] as const))(
    'of all that is safe in %s is done at once and for all',
    async (_, text) => {
      const { snapshot } = await scene(files(text));
      const safe = (all: readonly { safe: boolean }[]) => all.find((repair) => repair.safe) as never;
      const once = mended(snapshot, (_finding, repairs) => safe(repairs));
      const after = (await scene(files(once))).snapshot;
      expect(after.judged.findings.length).toBeLessThanOrEqual(snapshot.judged.findings.length);
      expect(mended(after, (_finding, repairs) => safe(repairs))).toBe(once);
    },
  );
});
