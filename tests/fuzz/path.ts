import { isDeepStrictEqual } from 'node:util';
import { parse, parseByGrammar } from '../../grammar/parser.ts';
import { format } from '../../grammar/printer.ts';
import { offsetsOf } from '../../grammar/syntax.ts';
import { allChecks, checkOf } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { faultCode, type Judged, judge } from '../../server/src/checks/run.ts';
import { fullClient, type Site } from '../../server/src/features/feature.ts';
import { features } from '../../server/src/features/index.ts';
import { bind, type Model, type Resolve } from '../../server/src/model/model.ts';
import { card } from '../../server/src/outputs/card.ts';
import { compare } from '../../server/src/outputs/compare.ts';
import { compareText } from '../../server/src/outputs/compare-text.ts';
import { diagramOf, diagramText } from '../../server/src/outputs/diagram.ts';
import { diagramSvg } from '../../server/src/outputs/diagram-drawing.ts';
import { draft } from '../../server/src/outputs/draft.ts';
import { figuresOf } from '../../server/src/outputs/figures.ts';
import { githubWriter } from '../../server/src/outputs/github.ts';
import { jsonWriter } from '../../server/src/outputs/json.ts';
import { junitWriter } from '../../server/src/outputs/junit.ts';
import { kit } from '../../server/src/outputs/kit.ts';
import { kitCsv } from '../../server/src/outputs/kit-csv.ts';
import { kitText } from '../../server/src/outputs/kit-text.ts';
import { planOf } from '../../server/src/outputs/plan.ts';
import { planSvg } from '../../server/src/outputs/plan-chart.ts';
import { planText } from '../../server/src/outputs/plan-text.ts';
import { Places, reported, type Writer } from '../../server/src/outputs/report.ts';
import { sarifWriter } from '../../server/src/outputs/sarif.ts';
import { textWriter } from '../../server/src/outputs/text.ts';
import { defaultPreferences } from '../../server/src/settings.ts';
import { type Files, Workspace } from '../../server/src/workspace.ts';
import type { Random } from './inputs.ts';

const uri = 'file:///bench/unit.fettle';
const shared = 'part bolt x4 "Bolt"\nuse "unit.fettle"\n';
const sharedTree = parse('file:///bench/shared.fettle', shared);

/** What is being done now; told to whoever watches over time and memory. */
export const watch = { stage: '', begin: (stage: string): void => void stage };
function begin(stage: string): void {
  watch.stage = stage;
  watch.begin(stage);
}

class Broken extends Error {}
const holds = (condition: boolean, message: () => string): void => {
  if (!condition) throw new Broken(message());
};

function opened(text: string): { model: Model; judged: Judged } {
  begin('parse');
  const tree = parse(uri, text);
  const resolve: Resolve = (path) =>
    path === 'shared.fettle' ? sharedTree : path === 'unit.fettle' ? tree : { missing: true };
  begin('bind');
  const model = bind(tree, resolve);
  begin('judge');
  return { model, judged: judge(model) };
}

/** Figures that no reader can use, where the author wrote none of these words. */
function expectSound(what: string, output: string, text: string): void {
  const odd = /\bNaN\b|\bundefined\b|\bInfinity\b|\[object /.exec(output)?.[0];
  holds(odd === undefined || text.includes(odd), () => `${what} holds ${odd}: …${around(output, odd!)}…`);
}
const around = (output: string, word: string): string => {
  const at = output.indexOf(word);
  return output.slice(Math.max(0, at - 80), at + 40);
};

/** Reading, binding, replaying, judging, laying out: every input goes through these. */
export function judgedSafely(text: string): { model: Model; judged: Judged } {
  const { model, judged } = opened(text);
  for (const { code, span, message } of judged.findings) {
    holds(code !== faultCode, () => message);
    const { start, end } = offsetsOf(model.tree, span);
    holds(0 <= start && start <= end && end <= text.length, () => `${code} stands at ${start} to ${end}`);
    expectSound(`the message of ${code}`, message, text);
  }
  begin('parse by the grammar');
  // Of a long text the comparison would take longer than what is compared.
  if (text.length <= 1 << 16)
    holds(
      isDeepStrictEqual(model.tree.chunks, parseByGrammar(uri, text).chunks),
      () => 'what was read without the grammar is not as the grammar reads it',
    );
  begin('format');
  const once = format(text);
  holds(format(once) === once, () => 'laying out twice gives another text than once');
  return { model, judged };
}

/** Every document that is made of a procedure, and every repair. */
export function writesSafely(text: string, model: Model, judged: Judged, random: Random): void {
  begin('repairs');
  const context = { model, ledger: judged.ledger, settings: defaultSettings };
  for (const finding of judged.findings) {
    for (const { edits } of checkOf(finding.code)?.repairs?.(finding, context) ?? []) {
      for (const { start, end } of edits)
        holds(0 <= start && start <= end, () => `a repair of ${finding.code} goes from ${start} to ${end}`);
    }
  }
  begin('draft');
  const drafted = draft(model, judged.ledger);
  expectSound('the draft', drafted.text, text);
  const after = opened(drafted.text);
  holds(
    after.judged.findings.every(({ code }) => code !== faultCode),
    () => 'a check broke on the draft',
  );
  const code = random(3) === 0 ? model.codes[0] : undefined;
  begin('card');
  expectSound('the card', card(model, judged.ledger, { findings: judged.findings, code, start: '2027-03-01' }), text);
  begin('kit');
  const list = kit(model, judged.ledger, { code, start: '2027-03-01' });
  expectSound('the kit list', kitText(list), text);
  expectSound('the kit sheet', kitCsv(list), text);
  begin('plan');
  const plan = planOf(model, { crew: 1 + random(3), code });
  if ('rows' in plan) {
    expectSound('the plan', planText(plan, new Date(0)), text);
    expectSound('the drawn plan', planSvg(plan), text);
  } else expectSound('the refusal to plan', plan.message, text);
  begin('figures');
  expectSound('the figures', JSON.stringify(figuresOf(model, judged.ledger, defaultSettings)), text);
  begin('diagram');
  const diagram = diagramOf(model);
  expectSound('the diagram', diagramText(diagram).join('\n'), text);
  expectSound('the drawn diagram', diagramSvg(diagram, { title: 'x' }) ?? '', text);
  begin('compare');
  expectSound('the comparison', compareText(compare({ model, judged }, after)), text);
  begin('reports');
  const places = new Places(model, (each) => each);
  const report = { file: 'unit.fettle', findings: judged.findings.map((finding) => reported(finding, places)) };
  const writers: Writer[] = [
    jsonWriter(),
    junitWriter(),
    githubWriter(),
    sarifWriter({ version: '0', checks: allChecks, uriOf: (file) => file }),
    textWriter({ colour: false, width: 80, quiet: false }),
  ];
  for (const writer of writers) expectSound('a report', writer.file(report, text), text);
}

const disk: Files = {
  read: (asked) =>
    asked === 'file:///bench/shared.fettle'
      ? Promise.resolve(shared)
      : Promise.reject(new Error('there is no such file')),
  list: () => Promise.resolve({ uris: [uri, 'file:///bench/shared.fettle'], isWhole: true }),
};

/** Every method of the server at a random place, before and behind a random edit; the edit gives what a fresh reading gives. */
export async function answersSafely(text: string, put: string, random: Random): Promise<void> {
  const workspace = new Workspace(disk, ['file:///bench/']);
  begin('open');
  workspace.didOpen(uri, 1, text);
  await asksEverything(workspace, random);
  const { document } = workspace.openFile(uri)!;
  const start = random(text.length + 1);
  const end = Math.min(text.length, start + random(30));
  begin('edit');
  workspace.didChange(uri, 2, [
    { range: { start: document.positionAt(start), end: document.positionAt(end) }, text: put },
  ]);
  await asksEverything(workspace, random);
  const snapshot = (await workspace.snapshot(uri))!;
  begin('reading anew');
  const fresh = new Workspace(disk, ['file:///bench/']);
  fresh.didOpen(uri, 1, snapshot.text);
  const expected = (await fresh.snapshot(uri))!;
  const told = (all: readonly { code: string; message: string }[]): string =>
    all.map(({ code, message }) => `${code}: ${message}`).join('\n');
  holds(
    told(snapshot.judged.findings) === told(expected.judged.findings),
    () =>
      `after putting ${JSON.stringify(put)} at ${start} to ${end} of the text the findings are not those of a fresh reading`,
  );
}

async function asksEverything(workspace: Workspace, random: Random): Promise<void> {
  const snapshot = (await workspace.snapshot(uri))!;
  const { document } = snapshot.file;
  const at = random(snapshot.text.length + 1);
  const position = document.positionAt(at);
  const site: Site = {
    client: { ...fullClient, resolvesEdits: false },
    preferences: defaultPreferences,
    workspace,
    token: { isCancellationRequested: false, onCancellationRequested: () => ({ dispose: () => {} }) },
  };
  const params = {
    textDocument: { uri },
    position,
    positions: [position],
    newName: 'other-name',
    ch: '\n',
    query: 'b',
    old: 'part a "A"\nteardown\n  step s\n    remove a\n',
    options: { tabSize: 2, insertSpaces: true },
    previousResultId: 'none',
    previousResultIds: [],
    range: { start: position, end: document.positionAt(at + random(60)) },
    context: { diagnostics: [], includeDeclaration: true, triggerKind: 1 },
    data: { uri, version: snapshot.file.version },
    item: { uri, data: { uri } },
    files: [{ oldUri: uri, newUri: 'file:///elsewhere/unit.fettle' }],
    uri,
  };
  for (const { method, feature } of features) {
    begin(method);
    try {
      const answer =
        feature.about === 'file' ? await feature.answer(snapshot, params, site) : await feature.answer(params, site);
      expectSound(method, JSON.stringify(answer) ?? '', snapshot.text);
    } catch (error) {
      // A refusal with a sentence for the author is an answer (LSP: RequestFailed).
      if ((error as { code?: unknown }).code === -32803) continue;
      throw error instanceof Broken ? error : new Error(`${method} at ${at}: ${String(error)}`, { cause: error });
    }
  }
}
