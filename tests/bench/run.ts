/**
 * `npm run bench`: times Fettle beside other services on files of as many lines, prints the ratios, writes bench.json.
 * Ratios of one run are what counts; absolute figures depend on the machine and on what else it does.
 */
import { type ChildProcess, execFileSync, fork, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  createMessageConnection,
  type MessageConnection,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-jsonrpc/node';
import { serverEnvironment, serverFlags } from '../../client/src/server-process.ts';
import { completionsAt } from '../../server/src/features/completion.ts';
import { definitionsAt } from '../../server/src/features/definition.ts';
import { hoverAt } from '../../server/src/features/hover.ts';
import { renamed } from '../../server/src/features/rename.ts';
import { scene } from '../features/scene.ts';
import { askedAfterKeystroke } from './asked.ts';
import { fresh } from './core.ts';
import { median, medians, slowest } from './measure.ts';
import { css, cssOf, documentOf, json, jsonOf, judgeCss, judgeJson } from './neighbours.ts';
import { procedureOf } from './procedures.ts';
import { makeTwin } from './twin.ts';

const root = join(import.meta.dirname, '../..');
const node = join(root, 'node_modules/.bin/node');
const goals: Readonly<Record<string, number>> = {
  freshVsCss10k: 0.5,
  freshVsJson10k: 1,
  freshVsLangium10k: 0.08,
  keystrokeVsFresh10k: 0.05,
  keystrokeMs10k: 4,
  keystrokeInNameVsFresh10k: 0.05,
  keystrokeInCountVsFresh10k: 0.05,
  keystrokeInTitleOfPartVsFresh10k: 0.05,
  keystrokeInCountOfPartVsFresh10k: 0.05,
  keystrokeInTitleOfProcedureVsFresh10k: 0.05,
  keystrokeInCodeOfHeadVsFresh10k: 0.05,
  keystrokeInNewStepVsFresh10k: 0.05,
  keystrokeInNewStepBesideSharedVsFresh10k: 0.05,
  keystrokeInNewDeclarationBesideSharedVsFresh10k: 0.05,
  keystrokeInNameOfDeclarationBesideSharedVsFresh10k: 0.05,
  keystrokeInRangeOfToolVsFresh10k: 0.05,
  letterOfStatementVsFresh10k: 0.05,
  letterOfDeclarationVsFresh10k: 0.05,
  keystrokeInPartOfEveryStepVsFresh20kSteps: 1.3,
  perLineGrowth1kTo100k: 1.3,
  perStatementGrowthAdversarial: 1.3,
  startMinusTwoBareNodesMs: 150,
  coldIndexSeconds: 3,
  coldIndexPeakMB: 400,
  checkThousandFilesSeconds: 3,
  checkThousandFilesPeakMB: 400,
  vsixKB: 1000,
  activationMs: 60,
};
const figures: Record<string, number | string | null> = {};
const note = (name: string, value: number | null, why = ''): void => {
  figures[name] = value === null ? null : Number(value.toPrecision(4));
  if (why !== '') figures[`${name}Note`] = why;
  const goal = goals[name];
  const stands =
    goal === undefined || value === null
      ? ''
      : value <= goal
        ? `  (goal ${goal}: reached)`
        : `  (goal ${goal}: MISSED)`;
  process.stdout.write(`${name.padEnd(34)} ${value === null ? `– ${why}` : figures[name]}${stands}\n`);
};

figures['machine'] = `${cpus().length} cores, load ${loadavg()[0]!.toFixed(1)} at the start, Node ${process.version}`;
process.stdout.write(`${figures['machine']}\n\nFresh, 10,000 lines: medians of 25, in turns\n`);
const text = procedureOf({ lines: 10_000 });
const lines = text.split('\n').length;
const texts = { json: jsonOf(lines), css: cssOf(lines) };
for (const [name, each] of Object.entries({ fettle: text, ...texts })) {
  note(`${name}Lines`, each.split('\n').length);
  note(`${name}BytesPerLine`, Buffer.byteLength(each) / each.split('\n').length);
}
const twin = await makeTwin();
for (const count of [
  fresh(text).findings.length,
  await judgeJson(texts.json),
  judgeCss(texts.css),
  await twin.judge(text),
])
  if (count > 0) throw new Error('the texts to be timed must be clean');
// In fewer runs the engine has not compiled what the longer of these run: what they take halfway is timed with it.
const ms = await medians(
  {
    fettle: () => fresh(text),
    json: () => judgeJson(texts.json),
    jsonFlatSchema: () => judgeJson(texts.json, { flat: true }),
    css: () => judgeCss(texts.css),
    langium: () => twin.judge(text),
  },
  { warmups: 20 },
);
for (const [name, value] of Object.entries(ms)) note(`${name}Ms10k`, value);
note('freshVsJson10k', ms.fettle / ms.json);
note('freshVsCss10k', ms.fettle / ms.css);
note('freshVsLangium10k', ms.fettle / ms.langium);

/** Runs `script` by itself with the flags of the server, and notes the figures that it tells. */
function noteFrom(script: string, ...options: readonly string[]): void {
  const told = execFileSync(node, [...serverFlags, join(import.meta.dirname, script), ...options], {
    encoding: 'utf8',
  });
  for (const [name, value] of Object.entries(JSON.parse(told))) note(name, Number(value));
}

process.stdout.write('\nOne keystroke in 10,000 lines to findings ready, in a process with the flags of the server\n');
noteFrom('keystrokes.ts');

process.stdout.write('\nAsked for after a keystroke in 10,000 lines: medians of 30\n');
const asked = await askedAfterKeystroke(text, 'clean shaft-80 "Bare metal');
for (const [name, value] of Object.entries(asked)) note(`${name}AfterKeystrokeMs10k`, value);
note('coloursAfterLetterOfNameMs10k', (await askedAfterKeystroke(text, 'part shaft-80')).colours!);

process.stdout.write('\nGrowth, fresh, in a process with the flags of the server\n');
noteFrom('growth.ts', ...process.argv.slice(2));

process.stdout.write('\nRequests at 2,000 lines, 95th of 100, ms\n');
const small = procedureOf({ lines: 2000 });
const { snapshot, site } = await scene(small);
snapshot.judged;
const names = [...small.matchAll(/ (?:fit|remove) ([a-z-]+-\d+)$/gm)].map((found) => found.index + found[0].length - 2);
const place = (i: number): number => names[(i * 37) % names.length]!;
const jsonDocument = documentOf('json', jsonOf(2000));
const jsonTree = json.parseJSONDocument(jsonDocument);
const cssDocument = documentOf('css', cssOf(2000));
const cssTree = css.parseStylesheet(cssDocument);
const jsonPlaces = [...jsonDocument.getText().matchAll(/"title"/g)].map(({ index }) =>
  jsonDocument.positionAt(index + 3),
);
const cssPlaces = [...cssDocument.getText().matchAll(/\.part-/g)].map(({ index }) => cssDocument.positionAt(index + 2));
const p95 = {
  completion: await slowest((i) => completionsAt(snapshot, place(i), site)),
  completionJson: await slowest((i) => json.doComplete(jsonDocument, jsonPlaces[i % jsonPlaces.length]!, jsonTree)),
  completionCss: await slowest((i) => css.doComplete(cssDocument, cssPlaces[i % cssPlaces.length]!, cssTree)),
  hover: await slowest((i) => hoverAt(snapshot, place(i))),
  hoverJson: await slowest((i) => json.doHover(jsonDocument, jsonPlaces[i % jsonPlaces.length]!, jsonTree)),
  hoverCss: await slowest((i) => css.doHover(cssDocument, cssPlaces[i % cssPlaces.length]!, cssTree)),
  definition: await slowest((i) => definitionsAt(snapshot, place(i))),
  definitionCss: await slowest((i) => css.findDefinition(cssDocument, cssPlaces[i % cssPlaces.length]!, cssTree)),
  rename: await slowest((i) => renamed(snapshot, [snapshot], place(i), 'other')),
  renameCss: await slowest((i) => css.doRename(cssDocument, cssPlaces[i % cssPlaces.length]!, 'other', cssTree)),
};
for (const [name, value] of Object.entries(p95)) note(`${name}P95Ms2k`, value);

process.stdout.write('\nServer start to first findings, 500 lines, bundled\n');
const server = join(root, 'dist/server.cjs');
if (existsSync(server)) {
  const opened = procedureOf({ lines: 500 }).replace('remove cover-1\n', '\n');
  const storage = mkdtempSync(join(tmpdir(), 'fettle-bench-'));
  await firstOfAll(server, opened, storage);
  const times = await medians(
    {
      bare: () => void execFileSync(node, ['-e', '0']),
      first: () => firstFindings(server, opened),
      start: () => firstFindings(server, opened, storage),
    },
    { rounds: 4 },
  );
  rmSync(storage, { recursive: true });
  note('bareNodeMs', times.bare);
  note(
    'startToFindings500Ms',
    times.start,
    'where one start before has left what Node made of the code, as in the editor',
  );
  note('startMinusTwoBareNodesMs', times.start - 2 * times.bare);
  note('firstStartMinusTwoBareNodesMs', times.first - 2 * times.bare, 'the very first');
} else note('startToFindings500Ms', null, 'dist/server.cjs is not built: npm run build');

process.stdout.write('\nCold index of 1,000 files of 500 lines, in a process of its own: median of 5\n');
const folder = mkdtempSync(join(tmpdir(), 'fettle-bench-'));
try {
  for (let i = 0; i < 1000; i++)
    writeFileSync(join(folder, `unit-${i}.fettle`), procedureOf({ lines: 500, seed: i + 1 }));
  const child = join(import.meta.dirname, 'cold-index.ts');
  const found = Array.from({ length: 5 }, () =>
    JSON.parse(execFileSync(node, [...serverFlags, child, folder], { encoding: 'utf8' })),
  );
  note('coldIndexFiles', found[0].files);
  note('coldIndexSeconds', median(found.map(({ seconds }) => seconds)));
  note('coldIndexPeakMB', Math.max(...found.map(({ peakMB }) => peakMB)));
  note('coldIndexLongestSliceMs', median(found.map(({ longestSliceMs }) => longestSliceMs)));
  process.stdout.write('\nThe same where the index is kept: as it is written, and by the next server\n');
  const kept = mkdtempSync(join(tmpdir(), 'fettle-kept-'));
  try {
    for (const name of ['keepingIndex', 'keptIndex']) {
      const { seconds, peakMB } = JSON.parse(
        execFileSync(node, [...serverFlags, child, folder, kept], { encoding: 'utf8' }),
      );
      note(`${name}Seconds`, seconds);
      note(`${name}PeakMB`, peakMB);
    }
  } finally {
    rmSync(kept, { recursive: true });
  }
  process.stdout.write('\nfettle check over the same files, from source, beside one thread: medians of 5, by turns\n');
  // By turns, behind one that finds the files and the compiled sources at hand for all that follow.
  await checkAll(folder);
  const runs: Record<string, { seconds: number; peakMB: number }[]> = { '': [], OneThread: [] };
  for (let round = 0; round < 5; round++) {
    runs['']!.push(await checkAll(folder));
    runs['OneThread']!.push(await checkAll(folder, '1'));
  }
  for (const [name, these] of Object.entries(runs)) {
    note(`checkThousandFiles${name}Seconds`, median(these.map(({ seconds }) => seconds)));
    note(`checkThousandFiles${name}PeakMB`, Math.max(...these.map(({ peakMB }) => peakMB)));
  }
} finally {
  rmSync(folder, { recursive: true });
}

process.stdout.write('\nPackage\n');
const { name, version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
const vsix = join(root, `${name}-${version}.vsix`);
if (existsSync(vsix)) note('vsixKB', statSync(vsix).size / 1024);
else note('vsixKB', null, 'not packed: npm run package');
const activation = join(root, '.cache/activation.json');
const activations = existsSync(activation) ? JSON.parse(readFileSync(activation, 'utf8')) : {};
for (const [name, times, what] of [
  [
    'Ms',
    activations.editor,
    'what the editor itself tells: code loaded (with that of others in the same turn) and `activate` called',
  ],
  [
    'RoundTripMs',
    activations.roundTrip,
    'by the clock, from asking for it to hearing of it: two ways between processes',
  ],
] as const) {
  const why = times === undefined ? 'npm run test:editor writes .cache/activation.json; it has not run here' : what;
  note(`activation${name}`, times?.ms ?? null, why);
  note(`emptyActivation${name}`, times?.emptyMs ?? null, `an extension that does nothing: ${why}`);
}

writeFileSync(join(root, 'bench.json'), `${JSON.stringify(figures, undefined, 2)}\n`);

/** Starts the server, opens `content` and waits for its first findings; what Node makes of the code is kept in `storage`. */
async function started(
  path: string,
  content: string,
  storage?: string,
): Promise<{ readonly child: ChildProcess; readonly connection: MessageConnection }> {
  const child = spawn(node, [...serverFlags, path, '--stdio'], {
    stdio: ['pipe', 'pipe', 'ignore'],
    env: { ...process.env, ...(storage === undefined ? {} : serverEnvironment(storage)) },
  });
  const connection = createMessageConnection(
    new StreamMessageReader(child.stdout),
    new StreamMessageWriter(child.stdin),
  );
  const found = new Promise<void>((resolve) => {
    connection.onNotification('textDocument/publishDiagnostics', ({ diagnostics }) => {
      if (diagnostics.length > 0) resolve();
    });
  });
  connection.onRequest('client/registerCapability', () => null);
  connection.onRequest('workspace/configuration', ({ items }) => items.map(() => null));
  connection.listen();
  await connection.sendRequest('initialize', { processId: null, rootUri: null, capabilities: {} });
  connection.sendNotification('initialized', {});
  const uri = 'file:///bench/unit.fettle';
  connection.sendNotification('textDocument/didOpen', {
    textDocument: { uri, languageId: 'fettle', version: 1, text: content },
  });
  await found;
  return { child, connection };
}

async function firstFindings(...how: Parameters<typeof started>): Promise<void> {
  const { child, connection } = await started(...how);
  child.kill();
  connection.dispose();
}

/** A start that ends as the editor ends it: Node keeps what it made of the code then. */
async function firstOfAll(...how: Parameters<typeof started>): Promise<void> {
  const { child, connection } = await started(...how);
  const exit = once(child, 'exit');
  await connection.sendRequest('shutdown');
  await connection.sendNotification('exit');
  await exit;
  connection.dispose();
}

/** Checks every file of `folder` in a process of its own; the peak of its memory is what the process itself tells at its end. */
async function checkAll(folder: string, threads?: string): Promise<{ seconds: number; peakMB: number }> {
  const tell = `process.on('exit', () => process.send(process.resourceUsage().maxRSS / 1024))`;
  const child = fork(
    join(root, 'server/src/cli/main.ts'),
    ['check', '*.fettle', '--exit-zero', '--format', 'json'].concat(
      threads === undefined ? [] : ['--threads', threads],
    ),
    {
      cwd: folder,
      execPath: node,
      execArgv: [
        '--import',
        `data:text/javascript,import { isMainThread } from 'node:worker_threads'; if (isMainThread) ${tell}`,
      ],
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    },
  );
  const start = performance.now();
  const [[peakMB], [code]] = await Promise.all([once(child, 'message'), once(child, 'exit')]);
  if (code !== 0) throw new Error(`fettle check ended with ${code}`);
  return { seconds: (performance.now() - start) / 1000, peakMB };
}
