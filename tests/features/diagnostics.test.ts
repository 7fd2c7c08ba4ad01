import { describe, expect, it } from 'vitest';
import type { DocumentDiagnosticReport, FullDocumentDiagnosticReport } from 'vscode-languageserver';
import { diagnosticsOf, projectDiagnosticsOf, pulledDiagnostics } from '../../server/src/features/diagnostics.ts';
import { type Client, fullClient } from '../../server/src/features/feature.ts';
import { Workspace } from '../../server/src/workspace.ts';
import { folder, scene } from './scene.ts';

const unit = `procedure pump "Overhaul the pump"
part bolt x4 "Bolt"
part cap "Cap"
part spare "Spare"
teardown
  step open
    remove bolt
    remove cap
reassembly
  step close
    fit bolt x3
`;

const shown = async (client: Partial<Client> = {}) => {
  const { snapshot } = await scene(unit);
  return diagnosticsOf(snapshot, { ...fullClient, ...client });
};

describe('findings for the editor', () => {
  it('stand at their places, with code, severity and source', async () => {
    expect(
      (await shown()).map(({ range, severity, code, source }) => [
        range.start.line + 1,
        range.start.character,
        range.end.character,
        severity,
        code,
        source,
      ]),
    ).toEqual([
      [4, 5, 10, 4, 'never-used', 'fettle'],
      [7, 11, 15, 1, 'count-short', 'fettle'],
      [8, 11, 14, 1, 'left-off', 'fettle'],
    ]);
  });

  it('say the numbers, and mark what nothing uses as such', async () => {
    const [unused, short] = await shown();
    expect(short!.message).toMatch(/3.*4|4.*3/);
    expect(unused!.tags).toEqual([1]);
    expect(short!.tags).toBeUndefined();
  });

  it('lead to the places that they tell of, for a client that shows those', async () => {
    const [, short] = await shown();
    expect(short!.relatedInformation!.map(({ location }) => location)).toContainEqual({
      uri: `${folder}unit.fettle`,
      range: { start: { line: 10, character: 8 }, end: { line: 10, character: 12 } },
    });
    for (const each of await shown({ relatedInformation: false })) expect(each.relatedInformation).toBeUndefined();
  });

  it('link to their help pages for a client that says where they lie', async () => {
    const [, , linked] = await shown({ home: 'file:///opt/fettle/' });
    expect(linked!.codeDescription).toEqual({ href: 'file:///opt/fettle/server/checks/left-off.md' });
    const [, , plain] = await shown({ home: undefined });
    expect(plain!.codeDescription).toBeUndefined();
  });

  it('are errors at their place in a project file', () => {
    const text = '{\n  "longText": "many"\n}';
    const start = text.indexOf('"many"');
    const document = { positionAt: (offset: number) => ({ line: 1, character: offset - 2 }) };
    const [only] = projectDiagnosticsOf({ document } as never, [
      { start, end: start + 6, message: 'a number belongs here' } as never,
    ]);
    expect(only).toEqual({
      range: { start: { line: 1, character: 14 }, end: { line: 1, character: 20 } },
      severity: 1,
      code: 'project',
      source: 'fettle',
      message: 'a number belongs here',
    });
  });
});

describe('a pull', () => {
  it('keeps its id while the findings stay, through edits that change none', async () => {
    const { workspace, site, textDocument, uri } = await scene(unit);
    const pull = async (previousResultId?: string) =>
      (await pulledDiagnostics.answer(
        (await workspace.snapshot(uri))!,
        { textDocument, previousResultId },
        site,
      )) as DocumentDiagnosticReport;
    const first = (await pull()) as FullDocumentDiagnosticReport;
    expect(first.kind).toBe('full');
    expect(first.items.map(({ code }) => code)).toEqual(['never-used', 'count-short', 'left-off']);
    expect(await pull(first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId });
    workspace.didChange(uri, 2, [{ text: `${unit}# end\n` }]);
    expect(await pull(first.resultId)).toEqual({ kind: 'unchanged', resultId: first.resultId });
    workspace.didChange(uri, 3, [{ text: unit.replace('fit bolt x3', 'fit bolt\n    fit cap') }]);
    const mended = (await pull(first.resultId)) as FullDocumentDiagnosticReport;
    expect(mended.resultId).not.toBe(first.resultId);
    expect(mended.items.map(({ code }) => code)).toEqual(['never-used']);
  });

  it('with an id of another workspace gets all', async () => {
    const one = await scene(unit);
    const other = await scene(unit);
    const first = (await pulledDiagnostics.answer(one.snapshot, { textDocument: one.textDocument }, one.site))!;
    const { resultId } = first as FullDocumentDiagnosticReport;
    expect(
      await pulledDiagnostics.answer(
        other.snapshot,
        { textDocument: other.textDocument, previousResultId: resultId },
        other.site,
      ),
    ).toMatchObject({ kind: 'full', items: { length: 3 } });
  });

  it('are none of a closed file that no folder of the workspace holds: nobody would take them back', async () => {
    const workspace = new Workspace(
      {
        read: () => Promise.resolve(unit),
        list: () => Promise.resolve({ uris: [`${folder}unit.fettle`], isWhole: true }),
      },
      [folder],
    );
    const { site } = await scene(unit);
    const pull = async (uri: string): Promise<number> => {
      const snapshot = (await workspace.snapshot(uri))!;
      const report = await pulledDiagnostics.answer(snapshot, { textDocument: { uri } }, { ...site, workspace });
      return (report as FullDocumentDiagnosticReport).items.length;
    };
    const outside = 'file:///elsewhere/unit.fettle';
    workspace.didOpen(outside, 1, unit);
    expect(await pull(outside)).toBe(3);
    workspace.didClose(outside);
    expect(await pull(outside)).toBe(0);
    expect(await pull(`${folder}unit.fettle`)).toBe(3);
  });
});
