import { describe, expect, it } from 'vitest';
import type { WorkspaceDocumentDiagnosticReport } from 'vscode-languageserver';
import { pulledDiagnostics } from '../../server/src/features/diagnostics.ts';
import type { Site } from '../../server/src/features/feature.ts';
import { reportsOf, workspaceDiagnostics } from '../../server/src/features/workspace-diagnostics.ts';
import { folder, scene } from './scene.ts';

const faulty = 'part cap "Cap"\nteardown\n  step open\n    remove cap\n';
const files = {
  'open.fettle': `use "common/bolts.fettle"\n${faulty}¦`,
  'bad.fettle': faulty,
  'common/bolts.fettle': 'part bolt x4 "Bolt"\n',
  'fettle.json': '{ "longText": "many" }',
};

type Previous = { uri: string; value: string }[];
const all = async (site: Site, previousResultIds: Previous = []): Promise<WorkspaceDocumentDiagnosticReport[]> => {
  const found: WorkspaceDocumentDiagnosticReport[] = [];
  for await (const report of reportsOf({ previousResultIds }, site)) found.push(report);
  return found;
};
const brief = (report: WorkspaceDocumentDiagnosticReport): string =>
  [
    report.uri.slice(folder.length),
    report.kind,
    ...('items' in report ? report.items.map(({ range, code }) => `${range.start.line + 1} ${code}`) : []),
  ].join(' ');
const idsOf = (reports: readonly WorkspaceDocumentDiagnosticReport[]): Previous =>
  reports.map(({ uri, resultId }) => ({ uri, value: resultId! }));

describe('findings of the whole workspace', () => {
  it('are told for open files first, with their version, then for closed ones and the project file', async () => {
    const { site } = await scene(files);
    const reports = await all(site);
    expect(reports.map(brief)).toEqual([
      'open.fettle full 5 left-off',
      'bad.fettle full 4 left-off',
      'common/bolts.fettle full',
      'fettle.json full 1 project',
    ]);
    expect(reports.map(({ version }) => version)).toEqual([1, null, null, null]);
  });

  it('are told again only where they changed, and taken back of files that are gone', async () => {
    const { site, workspace, uri } = await scene(files);
    const first = await all(site);
    workspace.didChange(uri, 2, [
      { text: `${files['open.fettle'].replace('¦', '')}reassembly\n  step close\n    fit cap\n` },
    ]);
    const gone = { uri: `${folder}gone.fettle`, value: '77' };
    expect((await all(site, [...idsOf(first), gone])).map(brief)).toEqual([
      'open.fettle full',
      'bad.fettle unchanged',
      'common/bolts.fettle unchanged',
      'fettle.json unchanged',
      'gone.fettle full',
    ]);
  });

  it('are taken back of a file in no folder that was asked for while it was open, and closed then', async () => {
    const { site, workspace } = await scene(files);
    const first = await all(site);
    const uri = 'file:///elsewhere/unit.fettle';
    workspace.didOpen(uri, 1, faulty);
    const pull = async () =>
      pulledDiagnostics.answer((await workspace.snapshot(uri))!, { textDocument: { uri } }, site) as Promise<unknown>;
    expect(await pull()).toMatchObject({ items: { length: 1 } });
    expect((await all(site, idsOf(first))).map(({ uri }) => uri)).toContain(uri);
    await pull();
    workspace.didClose(uri);
    const after = await all(site, idsOf(first));
    expect(after.filter((report) => report.uri === uri)).toEqual([{ kind: 'full', uri, version: null, items: [] }]);
    // Once.
    expect((await all(site, idsOf(first))).map(({ uri }) => uri)).not.toContain(uri);
  });

  it('end where the client gives up', async () => {
    const { site } = await scene(files);
    const token = { ...site.token, isCancellationRequested: false };
    const told: string[] = [];
    for await (const report of reportsOf({ previousResultIds: [] }, { ...site, token })) {
      told.push(brief(report));
      token.isCancellationRequested = true;
    }
    expect(told).toEqual(['open.fettle full 5 left-off']);
  });

  it('come piece by piece to a client that wants them so, and then not once more', async () => {
    const { site } = await scene(files);
    const pieces: { items: WorkspaceDocumentDiagnosticReport[] }[] = [];
    const sendPartial = (value: unknown) => pieces.push(value as (typeof pieces)[number]);
    expect(await workspaceDiagnostics.answer({ previousResultIds: [] }, { ...site, sendPartial })).toEqual({
      items: [],
    });
    expect(pieces.map(({ items }) => items.length)).toEqual([1, 1, 1, 1]);
    const whole = await workspaceDiagnostics.answer({ previousResultIds: [] }, (await scene(files)).site);
    expect(whole!.items.map(brief)).toEqual(pieces.flatMap(({ items }) => items).map(brief));
  });
});
