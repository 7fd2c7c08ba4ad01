import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { CancellationToken, CancellationTokenSource, type ResponseError } from 'vscode-jsonrpc/node';
import {
  type ClientCapabilities,
  type DocumentDiagnosticReport,
  type FullDocumentDiagnosticReport,
  LSPErrorCodes,
  type WorkspaceDiagnosticReport,
  type WorkspaceFullDocumentDiagnosticReport,
} from 'vscode-languageserver';
import { brief, Client, pulling, pushing } from './client.ts';

const uri = 'file:///bench/pump.fettle';
const text = `part cover "Cover"
part plug "Plug"
teardown
  step open
    remove cover
    remove plug
reassembly
  step close
    fit cover
`;

describe('pushed findings', () => {
  let client: Client;
  beforeEach(async () => {
    client = new Client();
    await client.initialize();
  });
  afterEach(async () => {
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });

  it('come for an opened document at exact ranges, with the version and related places', async () => {
    await client.open(uri, text, 7);
    const findings = await client.findings(uri, 7);
    expect(brief(findings)).toEqual(['6:11-15 left-off']);
    expect(findings[0]).toMatchObject({
      severity: 1,
      source: 'fettle',
      relatedInformation: [{ location: { uri, range: { start: { line: 1, character: 5 } } } }],
    });
  });

  it('go when an edit mends them, and come back when another breaks it again', async () => {
    await client.open(uri, text);
    await client.findings(uri, 1);
    const end = { line: 9, character: 0 };
    await client.change(uri, 2, [{ range: { start: end, end }, text: '    fit plug\n' }]);
    expect(await client.findings(uri, 2)).toEqual([]);
    await client.change(uri, 3, [
      { range: { start: { line: 9, character: 8 }, end: { line: 9, character: 12 } }, text: 'cap' },
    ]);
    expect(brief(await client.findings(uri, 3))).toEqual(['6:11-15 left-off', '10:8-11 unknown-name']);
  });

  it('are cleared when the document is closed', async () => {
    await client.open(uri, text);
    await client.findings(uri, 1);
    await client.close(uri);
    while (client.pushed.at(-1)!.diagnostics.length > 0) await client.next();
    expect(client.pushed.at(-1)).toEqual({ uri, diagnostics: [] });
  });
});

describe('files on disk', () => {
  let path: string;
  let root: string;
  let client: Client;
  const bolts = 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m\n';
  const unit = 'use "common/bolts.fettle"\nteardown\n  step open\n    loosen bolt\n    tighten bolt\n';
  beforeEach(async () => {
    path = await mkdtemp(join(tmpdir(), 'fettle-'));
    root = pathToFileURL(path).toString();
    await mkdir(join(path, 'common'));
    await writeFile(join(path, 'common/bolts.fettle'), bolts);
    await writeFile(join(path, 'unit.fettle'), unit);
    client = new Client();
  });
  afterEach(async () => {
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
    await rm(path, { recursive: true });
  });

  it('are read when used; an edit in a used file refreshes the findings of its users', async () => {
    await client.initialize(pushing, [root]);
    await client.open(`${root}/unit.fettle`, unit);
    expect(await client.findings(`${root}/unit.fettle`, 1)).toEqual([]);
    client.pushed.length = 0;
    await client.open(`${root}/common/bolts.fettle`, bolts.replace('bolt', 'screw'), 1);
    expect(brief(await client.findings(`${root}/unit.fettle`, 1))).toEqual([
      '4:11-15 unknown-name',
      '5:12-16 unknown-name',
    ]);
    client.pushed.length = 0;
    await client.close(`${root}/common/bolts.fettle`);
    expect(await client.findings(`${root}/unit.fettle`, 1)).toEqual([]);
  });

  it('are read anew when the client tells that they changed', async () => {
    await client.initialize(
      { ...pushing, workspace: { ...pushing.workspace, didChangeWatchedFiles: { dynamicRegistration: true } } },
      [root],
    );
    await client.open(`${root}/unit.fettle`, unit);
    expect(await client.findings(`${root}/unit.fettle`, 1)).toEqual([]);
    expect(client.asked).toContain('client/registerCapability');
    client.pushed.length = 0;
    await rm(join(path, 'common/bolts.fettle'));
    await client.connection.sendNotification('workspace/didChangeWatchedFiles', {
      changes: [{ uri: `${root}/common/bolts.fettle`, type: 3 }],
    });
    expect(brief(await client.findings(`${root}/unit.fettle`, 1))).toEqual(['1:4-25 no-file']);
  });

  it('that could not be read are looked for again when a file is opened or saved, whatever the watchers tell', async () => {
    // A single file, opened without a folder: nothing is watched.
    await client.initialize({
      ...pushing,
      workspace: { ...pushing.workspace, didChangeWatchedFiles: { dynamicRegistration: true } },
    });
    await rm(join(path, 'common/bolts.fettle'));
    await client.open(`${root}/unit.fettle`, unit);
    expect(brief(await client.findings(`${root}/unit.fettle`, 1))).toEqual(['1:4-25 no-file']);
    client.pushed.length = 0;
    await writeFile(join(path, 'common/bolts.fettle'), bolts);
    await client.connection.sendNotification('textDocument/didSave', { textDocument: { uri: `${root}/unit.fettle` } });
    expect(await client.findings(`${root}/unit.fettle`, 1)).toEqual([]);
    await rm(join(path, 'common/bolts.fettle'));
    await client.close(`${root}/unit.fettle`);
    client.pushed.length = 0;
    await client.open(`${root}/unit.fettle`, unit, 2);
    while (client.pushed.at(-1)?.diagnostics.length !== 1) await client.next();
    expect(brief(client.pushed.at(-1)!.diagnostics)).toEqual(['1:4-25 no-file']);
  });

  it('outside the workspace folder are refused', async () => {
    await client.initialize(pushing, [`${root}/common`]);
    await client.open(`${root}/common/unit.fettle`, 'use "../unit.fettle"\n');
    const [finding] = await client.findings(`${root}/common/unit.fettle`, 1);
    expect(finding).toMatchObject({
      code: 'no-file',
      message: expect.stringContaining('outside the workspace folder'),
    });
  });

  it('have pulled findings, piece by piece, and only what changed the next time', async () => {
    await client.initialize(pulling, [root]);
    await writeFile(join(path, 'bad.fettle'), text);
    const pull = (previousResultIds: object[], partialResultToken?: string) =>
      client.request<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds, partialResultToken });
    const { items } = await pull([]);
    const short = ({ uri, kind, ...rest }: (typeof items)[number]): string =>
      `${uri.slice(root.length + 1)} ${kind} ${brief('items' in rest ? rest.items : []).join(', ')}`.trim();
    expect(items.map(short)).toEqual([
      'bad.fettle full 6:11-15 left-off',
      'unit.fettle full',
      'common/bolts.fettle full',
    ]);
    expect(items.every(({ version }) => version === null)).toBe(true);

    const ids = items.map(({ uri, resultId }) => ({ uri, value: resultId! }));
    const parts: WorkspaceDiagnosticReport[] = [];
    client.connection.onNotification('$/progress', ({ token, value }) => {
      if (token === 'part') parts.push(value);
    });
    await client.open(`${root}/unit.fettle`, `${unit}    remove bolt\n`, 3);
    const last = await pull([...ids, { uri: `${root}/gone.fettle`, value: '77' }], 'part');
    expect(last).toEqual({ items: [] });
    const told = parts.flatMap((part) => part.items);
    expect(told.map(short)).toEqual([
      'unit.fettle full 6:11-15 left-off',
      'bad.fettle unchanged',
      'common/bolts.fettle unchanged',
      'gone.fettle full',
    ]);
    expect((told[0] as WorkspaceFullDocumentDiagnosticReport).version).toBe(3);
  });
});

describe('pulled findings', () => {
  let client: Client;
  beforeEach(async () => {
    client = new Client();
    await client.initialize(pulling);
  });
  afterEach(async () => {
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });
  const pull = (of: string, previousResultId?: string) =>
    client.request<DocumentDiagnosticReport>('textDocument/diagnostic', {
      textDocument: { uri: of },
      previousResultId,
    });

  it('come with a result id that stays while the findings stay', async () => {
    await client.open(uri, text);
    const first = (await pull(uri)) as FullDocumentDiagnosticReport;
    expect(brief(first.items)).toEqual(['6:11-15 left-off']);
    expect(await pull(uri, first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId });
    // An edit that changes no finding and moves none.
    await client.change(uri, 2, [
      { range: { start: { line: 9, character: 0 }, end: { line: 9, character: 0 } }, text: '# end\n' },
    ]);
    expect(await pull(uri, first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId });
    await client.change(uri, 3, [
      { range: { start: { line: 0, character: 0 }, end: { line: 0, character: 0 } }, text: '# top\n' },
    ]);
    const moved = (await pull(uri, first.resultId)) as FullDocumentDiagnosticReport;
    expect(brief(moved.items)).toEqual(['7:11-15 left-off']);
    expect(moved.resultId).not.toBe(first.resultId);
    expect((await pull(uri, 'an id of another day')).kind).toBe('full');
  });

  it('are not pushed as well; the client is asked to pull anew when a used file changes', async () => {
    await client.open(uri, `use "bolts.fettle"\n${text}`);
    await pull(uri);
    expect(client.asked).not.toContain('workspace/diagnostic/refresh');
    await client.open('file:///bench/bolts.fettle', 'part bolt "Bolt"\n');
    while (!client.asked.includes('workspace/diagnostic/refresh')) await client.next();
    expect(brief(((await pull(uri)) as FullDocumentDiagnosticReport).items)).toEqual(['7:11-15 left-off']);
    expect(client.pushed).toEqual([]);
  });
});

describe('settings', () => {
  const asking = { ...pushing, workspace: { ...pushing.workspace, configuration: true } };

  it('are asked for, and asked for again when they change', async () => {
    const client = new Client();
    client.settings = { severity: { 'left-off': 'off' } };
    await client.initialize(asking);
    while (!client.asked.includes('workspace/configuration')) await client.next();
    await client.open(uri, text);
    while (client.pushed.at(-1)?.diagnostics.length !== 0) await client.next();
    client.settings = { severity: { 'left-off': 'hint' } };
    await client.connection.sendNotification('workspace/didChangeConfiguration', { settings: null });
    while (client.pushed.at(-1)?.diagnostics[0]?.severity !== 4) await client.next();
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });

  it('on which no finding hangs leave the findings as they are', async () => {
    const client = new Client();
    const set = (fettle: object) =>
      client.connection.sendNotification('workspace/didChangeConfiguration', { settings: { fettle } });
    const asText = (): string[] => client.pushed.map((push) => `${push.uri} ${push.diagnostics.length}`);
    await client.initialize();
    await client.open(uri, text);
    await client.findings(uri, 1);
    await set({ units: 'imperial', hints: { piecesOff: false }, codeLens: false, index: { cache: true } });
    const other = 'file:///bench/other.fettle';
    await client.open(other, 'part');
    await client.findings(other, 1);
    expect(asText()).toEqual([`${uri} 1`, `${other} 1`]);
    await set({ maxTextWords: 12 });
    while (client.pushed.length < 4) await client.next();
    expect(asText().slice(2)).toEqual([`${uri} 1`, `${other} 1`]);
    expect(await client.end()).toBe(0);
  });

  it('may be missing, refused or pushed', async () => {
    const client = new Client();
    client.connection.onRequest('workspace/configuration', () => {
      throw new Error('no settings here');
    });
    await client.initialize(asking);
    await client.open(uri, text);
    expect(brief(await client.findings(uri, 1))).toEqual(['6:11-15 left-off']);
    await client.connection.sendNotification('workspace/didChangeConfiguration', {});
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');

    const other = new Client();
    await other.initialize();
    await other.open(uri, text);
    await other.findings(uri, 1);
    await other.connection.sendNotification('workspace/didChangeConfiguration', {
      settings: { fettle: { severity: { 'left-off': 'off' } } },
    });
    while (other.pushed.at(-1)?.diagnostics.length !== 0) await other.next();
    expect(await other.end()).toBe(0);
  });
});

describe('files that only the client can reach', () => {
  const unit = 'use "common/bolts.fettle"\nteardown\n  step open\n    loosen bolt\n    tighten bolt\n';
  const away = 'memfs:/bench/unit.fettle';

  it('are asked of a client that offers them', async () => {
    const client = new Client();
    const files: Record<string, string> = {
      'memfs:/bench/common/bolts.fettle': 'part bolt "Bolt" thread M8 class 8.8 torque 25 N·m\n',
    };
    client.connection.onRequest('fettle/readFile', ({ uri: of }: { uri: string }): object =>
      of in files ? { text: files[of] } : { reason: 'nobody has it' },
    );
    client.connection.onRequest('fettle/listFiles', () => Object.keys(files));
    await client.initialize(pulling, ['memfs:/bench'], { files: true });
    await client.open(away, unit);
    const { items } = await client.request<WorkspaceDiagnosticReport>('workspace/diagnostic', {
      previousResultIds: [],
    });
    expect(items.map(({ uri: of, kind }) => `${of} ${kind}`)).toEqual([
      `${away} full`,
      'memfs:/bench/common/bolts.fettle full',
    ]);
    expect((items[0] as WorkspaceFullDocumentDiagnosticReport).items).toEqual([]);
    await client.change(away, 2, [{ text: unit.replace('bolts', 'nuts') }]);
    const { items: now } = await client.request<FullDocumentDiagnosticReport>('textDocument/diagnostic', {
      textDocument: { uri: away },
    });
    expect(now.map(({ message }) => message)).toEqual([expect.stringContaining('nobody has it')]);
    expect(await client.end()).toBe(0);
  });

  it('are missing, with the reason, from one that does not', async () => {
    const client = new Client();
    await client.initialize(pushing, ['memfs:/bench']);
    await client.open(away, unit);
    const [finding] = await client.findings(away, 1);
    expect(finding).toMatchObject({ code: 'no-file', message: expect.stringContaining('open files only') });
    expect(client.asked).toEqual([]);
    expect(await client.end()).toBe(0);
  });
});

describe('how far the findings of a workspace have come', () => {
  /** What the client is told of progress, and a pull of 40 files that it gives `delay` milliseconds after each is asked for. */
  async function slowly(delay: number, capabilities: ClientCapabilities) {
    const client = new Client();
    client.connection.onRequest('fettle/listFiles', () => Array.from({ length: 40 }, (_, i) => `memfs:/w/${i}.fettle`));
    client.connection.onRequest('fettle/readFile', async ({ uri: of }: { uri: string }): Promise<object> => {
      await new Promise((resolve) => setTimeout(resolve, delay));
      return of.endsWith('.json') ? { reason: 'there is none' } : { text };
    });
    const told: { kind: string; percentage?: number; message?: string; title?: string }[] = [];
    let begin = (): void => {};
    let end = (): void => {};
    const begun = new Promise<void>((resolve) => {
      begin = resolve;
    });
    const ended = new Promise<void>((resolve) => {
      end = resolve;
    });
    client.connection.onNotification('$/progress', ({ value }) => {
      told.push(value);
      if (value.kind === 'begin') begin();
      if (value.kind === 'end') end();
    });
    await client.initialize(capabilities, ['memfs:/w'], { files: true });
    return { client, told, begun, ended };
  }
  const showing: ClientCapabilities = { ...pulling, window: { workDoneProgress: true } };
  const pull = (client: Client, token = CancellationToken.None) =>
    client.connection.sendRequest<WorkspaceDiagnosticReport>('workspace/diagnostic', { previousResultIds: [] }, token);

  it('is shown while a long round lasts', async () => {
    const { client, told, ended } = await slowly(300, showing);
    expect((await pull(client)).items).toHaveLength(40);
    await ended;
    expect(client.asked).toContain('window/workDoneProgress/create');
    expect(told[0]).toMatchObject({ kind: 'begin', title: 'Checking procedures', percentage: 0 });
    const reports = told.slice(1, -1);
    expect(reports.length).toBeGreaterThan(0);
    for (const { kind, percentage, message } of reports) {
      const done = Number(/^(\d+) of 40 files$/.exec(message!)?.[1]);
      expect({ kind, percentage }).toEqual({ kind: 'report', percentage: Math.floor(done * 2.5) });
    }
    expect(told.at(-1)).toEqual({ kind: 'end' });
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });

  it('ends when the client gives the round up', async () => {
    const { client, begun, ended } = await slowly(300, showing);
    const source = new CancellationTokenSource();
    const answer = pull(client, source.token).catch((error: ResponseError) => error.code);
    await begun;
    source.cancel();
    expect(await answer).toBe(LSPErrorCodes.RequestCancelled);
    await ended;
    expect(await client.end()).toBe(0);
  });

  it('is not shown to a client that does not say it can', async () => {
    const { client, told } = await slowly(300, pulling);
    expect((await pull(client)).items).toHaveLength(40);
    expect(told).toEqual([]);
    expect(client.asked).not.toContain('window/workDoneProgress/create');
    expect(await client.end()).toBe(0);
  });
});
