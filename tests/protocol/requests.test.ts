import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type {
  CallHierarchyItem,
  CodeAction,
  CompletionList,
  DocumentSymbol,
  FoldingRange,
  Hover,
  InitializeResult,
  Location,
  TextDocumentEdit,
} from 'vscode-languageserver';
import { features } from '../../server/src/features/index.ts';
import { applied } from '../features/scene.ts';
import { brief, Client } from './client.ts';

const uri = 'file:///bench/pump.fettle';
const textDocument = { uri };
const text = `part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
part plug "Plug" renew
teardown
  step open
    remove bolt
    remove plug
reassembly
  step close
    fit plug
    fit bolt
    tighten bolt order star
`;

describe('requests', () => {
  const client = new Client();
  let announced: InitializeResult;
  beforeAll(async () => {
    announced = (await client.initialize()) as InitializeResult;
    await client.open(uri, text);
  });
  afterAll(async () => {
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });
  const at = (line: number, character: number) => ({ textDocument, position: { line, character } });

  it('are announced, findings not for pulling to a client that takes pushed ones', () => {
    expect(announced.serverInfo).toEqual({ name: 'fettle' });
    expect(announced.capabilities).toMatchObject({
      positionEncoding: 'utf-16',
      textDocumentSync: { openClose: true, change: 2 },
      hoverProvider: true,
      definitionProvider: true,
      referencesProvider: true,
      foldingRangeProvider: true,
      completionProvider: {},
      codeActionProvider: { codeActionKinds: expect.arrayContaining(['quickfix', 'source.fixAll.fettle']) },
    });
    expect(announced.capabilities.diagnosticProvider).toBeUndefined();
  });

  it('are listed once each', () => {
    const methods = features.map(({ method }) => method);
    expect(new Set(methods).size).toBe(methods.length);
  });

  it('textDocument/definition', async () => {
    expect(await client.request<Location[]>('textDocument/definition', at(4, 12))).toEqual([
      { uri, range: { start: { line: 0, character: 5 }, end: { line: 0, character: 9 } } },
    ]);
    expect(await client.request('textDocument/declaration', at(4, 12))).toHaveLength(1);
  });

  it('textDocument/references', async () => {
    const found = await client.request<Location[]>('textDocument/references', {
      ...at(0, 6),
      context: { includeDeclaration: false },
    });
    expect(found.map(({ range }) => range.start.line)).toEqual([4, 9, 10]);
  });

  it('textDocument/hover', async () => {
    const found = await client.request<Hover>('textDocument/hover', at(0, 6));
    expect(found.contents).toMatchObject({ kind: 'markdown', value: expect.stringContaining('**bolt** ×4') });
    expect(found.range).toEqual({ start: { line: 0, character: 5 }, end: { line: 0, character: 9 } });
  });

  it('textDocument/documentSymbol', async () => {
    const found = await client.request<DocumentSymbol[]>('textDocument/documentSymbol', { textDocument });
    expect(found.map(({ name }) => name)).toEqual(['parts', 'teardown', 'reassembly']);
  });

  it('textDocument/foldingRange', async () => {
    const found = await client.request<FoldingRange[]>('textDocument/foldingRange', { textDocument });
    expect(found.map(({ startLine, endLine }) => [startLine, endLine])).toContainEqual([3, 5]);
  });

  it('textDocument/completion', async () => {
    const { items } = await client.request<CompletionList>('textDocument/completion', at(9, 8));
    expect(items.map(({ label }) => label)).toEqual(['bolt', 'new']);
  });

  it('textDocument/codeAction, whose edit mends the finding', async () => {
    const findings = await client.findings(uri, 1);
    expect(brief(findings)).toEqual(['9:8-12 renew-refitted']);
    const actions = await client.request<CodeAction[]>('textDocument/codeAction', {
      textDocument,
      range: findings[0]!.range,
      context: { diagnostics: findings },
    });
    expect(actions.map(({ title }) => title)).toEqual(['Fit a new plug', 'Allow `renew-refitted` here, with a reason']);
    expect(actions[0]!.diagnostics).toEqual(findings);
    const [change] = actions[0]!.edit!.documentChanges as TextDocumentEdit[];
    expect(change!.textDocument).toEqual({ uri, version: 1 });
    await client.change(uri, 2, [{ text: applied(text, change!.edits as never) }]);
    expect(await client.findings(uri, 2)).toEqual([]);
    await client.change(uri, 3, [{ text }]);
  });

  const start = { line: 0, character: 0 };
  const end = { line: 11, character: 0 };
  const one = (value: unknown) => expect.arrayContaining([value]);
  it.each<[string, object, unknown]>([
    [
      'textDocument/documentHighlight',
      at(0, 6),
      one({ range: { start: { line: 4, character: 11 }, end: { line: 4, character: 15 } }, kind: 2 }),
    ],
    [
      'textDocument/prepareRename',
      at(4, 12),
      { range: { start: { line: 4, character: 11 }, end: { line: 4, character: 15 } }, placeholder: 'bolt' },
    ],
    [
      'textDocument/rename',
      { ...at(4, 12), newName: 'screw' },
      { documentChanges: [{ textDocument: { uri }, edits: { length: 4 } }] },
    ],
    ['textDocument/linkedEditingRange', at(4, 12), { ranges: { length: 4 } }],
    ['textDocument/formatting', { textDocument, options: { tabSize: 2, insertSpaces: true } }, { length: 2 }],
    [
      'textDocument/rangeFormatting',
      { textDocument, range: { start, end }, options: { tabSize: 2, insertSpaces: true } },
      { length: 2 },
    ],
    ['textDocument/onTypeFormatting', { ...at(5, 0), ch: '\n', options: { tabSize: 2, insertSpaces: true } }, []],
    ['workspace/symbol', { query: 'plug' }, one(expect.objectContaining({ name: 'plug' }))],
    [
      'textDocument/selectionRange',
      { textDocument, positions: [{ line: 4, character: 12 }] },
      [{ range: { start: { line: 4, character: 11 } }, parent: {} }],
    ],
    ['textDocument/documentLink', { textDocument }, []],
    ['textDocument/semanticTokens/full', { textDocument }, { resultId: expect.any(String) }],
    ['textDocument/semanticTokens/full/delta', { textDocument, previousResultId: 'none' }, { data: expect.any(Array) }],
    ['textDocument/semanticTokens/range', { textDocument, range: { start, end } }, { data: expect.any(Array) }],
    [
      'textDocument/inlayHint',
      { textDocument, range: { start, end } },
      one(expect.objectContaining({ label: '= 18.4 lbf·ft' })),
    ],
    ['textDocument/codeLens', { textDocument }, [{ command: { title: '5 off' } }, { command: { title: '5 back' } }]],
    ['textDocument/inlineCompletion', { ...at(11, 0), context: { triggerKind: 1 } }, []],
    ['textDocument/signatureHelp', at(10, 12), { signatures: { length: 1 } }],
    ['textDocument/diagnostic', { textDocument }, { kind: 'full', items: { length: 1 } }],
    ['workspace/diagnostic', { previousResultIds: [] }, { items: [{ uri, version: 3 }] }],
    [
      'codeAction/resolve',
      { title: 'Make every safe repair', data: { uri, version: 3 } },
      { edit: { documentChanges: { length: 1 } } },
    ],
  ])('%s', async (method, params, expected) => {
    expect(await client.request(method, params)).toMatchObject(expected as object);
  });

  it('textDocument/prepareCallHierarchy, callHierarchy/incomingCalls, callHierarchy/outgoingCalls', async () => {
    const [item] = await client.request<CallHierarchyItem[]>('textDocument/prepareCallHierarchy', at(0, 6));
    expect(item).toMatchObject({ name: 'bolt' });
    expect(await client.request('callHierarchy/incomingCalls', { item: item! })).toEqual([]);
    expect(await client.request('callHierarchy/outgoingCalls', { item: item! })).toEqual([]);
  });

  it('a rename that cannot be done says why', async () => {
    await expect(client.request('textDocument/rename', { ...at(4, 12), newName: 'plug' })).rejects.toMatchObject({
      code: -32803,
      message: 'pump.fettle:2 has a part called `plug` already: choose another name.',
    });
  });

  it('about a document that is not there are answered with nothing', async () => {
    const nowhere = { textDocument: { uri: 'file:///bench/no.fettle' }, position: { line: 0, character: 0 } };
    expect(await client.request('textDocument/hover', nowhere)).toBeNull();
    expect(await client.request('textDocument/completion', nowhere)).toBeNull();
  });
});
