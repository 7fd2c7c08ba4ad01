/**
 * `npm run soak -- [--minutes N] [--rate EDITS-A-SECOND]`: types into a sample through the real server and prints its memory
 * every so often. Ends with 1 where the heap of the last third of the time is over 1.5 times that of the third before it, where the
 * findings at the end are not those of a fresh check, or where the server wrote to its error stream.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { parse } from '../../grammar/parser.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { randomOf } from '../fuzz/inputs.ts';
import { Client, pushing } from './client.ts';

const sample = readFileSync(join(import.meta.dirname, '../../samples/gear-pump.fettle'), 'utf8').replace(
  /^use .*$/gm,
  '',
);

export interface Soaked {
  readonly edits: number;
  /** MiB used of the heap, after a collection, at even distances. */
  readonly heap: readonly number[];
  /** Findings at the end, from the server and from a fresh check. */
  readonly found: readonly string[];
  readonly fresh: readonly string[];
  readonly stderr: string;
}

interface Plan {
  readonly edits: number;
  /** Edits a second, at most. */
  readonly rate: number;
  /** How often the heap is measured. */
  readonly measures: number;
  readonly onMeasure?: (edits: number, heap: number) => void;
}

/** The server with a notification more, that tells its heap after a collection. */
const server = join(import.meta.dirname, 'measured-server.ts');

export async function soak({ edits, rate, measures, onMeasure }: Plan): Promise<Soaked> {
  const client = new Client(['--stdio'], server, ['--expose-gc']);
  await client.initialize(pushing);
  const uri = 'file:///bench/soak.fettle';
  const random = randomOf(7);
  const pieces = [
    '\n',
    ' ',
    'x2',
    '"',
    '    fit cover\n',
    '    remove cover\n',
    'part bolt "Bolt"\n',
    '# note\n',
    '25 N·m',
  ];
  let text = sample;
  await client.open(uri, text);
  const heap: number[] = [];
  const begun = Date.now();
  const at = (offset: number): { line: number; character: number } => {
    const before = text.slice(0, offset);
    return { line: before.split('\n').length - 1, character: offset - before.lastIndexOf('\n') - 1 };
  };
  let undo: { start: number; length: number; text: string } | undefined;
  for (let edit = 1; edit <= edits; edit++) {
    // Every other edit takes the last one back, as one who types and corrects does: the text stays what it was in size.
    const start = undo?.start ?? random(text.length);
    const length = undo?.length ?? random(3);
    const put: string = undo?.text ?? pieces[random(pieces.length)]!;
    const end = Math.min(text.length, start + length);
    undo = undo === undefined ? { start, length: put.length, text: text.slice(start, end) } : undefined;
    await client.change(uri, edit + 1, [{ range: { start: at(start), end: at(end) }, text: put }]);
    text = text.slice(0, start) + put + text.slice(end);
    if (edit % 40 === 0) {
      const position = at(random(text.length));
      const params = { textDocument: { uri }, position, context: { triggerKind: 1 } };
      for (const method of ['hover', 'completion', 'documentHighlight', 'semanticTokens/full'])
        await client.request(`textDocument/${method}`, params);
    }
    if (edit % Math.floor(edits / measures) === 0) {
      const used = (await client.request<{ heapUsed: number }>('test/memory', {})).heapUsed / 2 ** 20;
      heap.push(used);
      onMeasure?.(edit, used);
    }
    // What was pushed is told once.
    if (client.pushed.length > 100) client.pushed.splice(0, 90);
    const ahead = begun + (1000 * edit) / rate - Date.now();
    if (ahead > 0) await new Promise((resolve) => setTimeout(resolve, ahead));
  }
  const found = await client.findings(uri, edits + 1);
  await client.end();
  const fresh = judge(bind(parse(uri, text))).findings;
  return {
    edits,
    heap,
    found: found.map(({ message }) => String(message)),
    fresh: fresh.map(({ message }) => message),
    stderr: client.stderr,
  };
}

export const growth = (heap: readonly number[]): number => {
  const third = Math.floor(heap.length / 3);
  const middle = (some: readonly number[]): number => [...some].sort((a, b) => a - b)[some.length >> 1]!;
  return middle(heap.slice(-third)) / middle(heap.slice(third, 2 * third));
};

if (process.argv[1] === import.meta.filename) {
  const { values } = parseArgs({ options: { minutes: { type: 'string' }, rate: { type: 'string' } } });
  const rate = Number(values.rate ?? 200);
  const edits = Math.round(Number(values.minutes ?? 30) * 60 * rate);
  const begun = Date.now();
  const seconds = (): number => Math.round((Date.now() - begun) / 1000);
  const { heap, found, fresh, stderr } = await soak({
    edits,
    rate,
    measures: 30,
    onMeasure: (edit, used) => process.stdout.write(`${seconds()} s, ${edit} edits: ${used.toFixed(1)} MiB of heap\n`),
  });
  const same = found.join('\n') === fresh.join('\n');
  process.stdout.write(
    `${edits} edits in ${seconds()} s; the heap of the last third is ${growth(heap).toFixed(2)} times that of the middle one; findings ${same ? 'are' : 'are NOT'} those of a fresh check${stderr === '' ? '' : `\n${stderr}`}\n`,
  );
  process.exitCode = same && stderr === '' && growth(heap) <= 1.5 ? 0 : 1;
}
