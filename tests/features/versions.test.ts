import { describe, expect, it } from 'vitest';
import { diagnosticsOf } from '../../server/src/features/diagnostics.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { type Files, Workspace } from '../../server/src/workspace.ts';
import { folder } from './scene.ts';

/** As the editor's git extension names the last commit's version of a file, in a comparison of two versions. */
const versionOf = (path: string): string => `git:${path}?${encodeURIComponent(JSON.stringify({ path, ref: 'HEAD' }))}`;
const old = 'use "common/bolts.fettle"\npart lid "Lid" held by bolt\nteardown\n  step open\n    remove bolt\n';

/** The query alone says what such an address holds: every path beside it gives the same text. */
const files = (asked: string[]): Files => ({
  read: async (uri) => {
    asked.push(uri);
    if (uri.includes('?')) return old;
    if (uri === `${folder}common/bolts.fettle`) return 'part bolt x4 "Bolt"\n';
    throw new Error('there is no such file');
  },
  list: async () => ({ uris: [`${folder}common/bolts.fettle`], isWhole: true }),
});

describe('an older version of a file, which an editor shows beside it', () => {
  it('uses what its file uses, and is not asked for again and again under other paths', async () => {
    const asked: string[] = [];
    const workspace = new Workspace(files(asked), [folder]);
    workspace.didOpen(versionOf('/bench/unit.fettle'), 1, old);
    const snapshot = (await workspace.snapshot(versionOf('/bench/unit.fettle')))!;
    expect(snapshot.model.parts.get('bolt')?.title?.value).toBe('Bolt');
    expect(asked.filter((uri) => !uri.startsWith(folder))).toEqual([]);
    expect(snapshot.file.name).toBe('unit.fettle');
  });

  it('ends also where its file lies in no folder of the workspace', async () => {
    const asked: string[] = [];
    const workspace = new Workspace(files(asked), [folder]);
    workspace.didOpen(versionOf('/else/unit.fettle'), 1, old);
    expect((await workspace.snapshot(versionOf('/else/unit.fettle')))!.model.parts.has('lid')).toBe(true);
    expect(asked.filter((uri) => uri.includes('?'))).toEqual([]);
  });

  it('is none of the files of the workspace, and its findings do not stand beside those of its file', async () => {
    const workspace = new Workspace(files([]), [folder]);
    workspace.didOpen(`${folder}unit.fettle`, 1, old);
    workspace.didOpen(versionOf('/bench/unit.fettle'), 1, old);
    expect(await workspace.allKeys()).toEqual([`${folder}unit.fettle`, `${folder}common/bolts.fettle`]);
    const told = async (uri: string): Promise<unknown[]> =>
      diagnosticsOf((await workspace.snapshot(uri))!, fullClient).map(({ code }) => code);
    expect(await told(`${folder}unit.fettle`)).toEqual(['left-off']);
    expect(await told(versionOf('/bench/unit.fettle'))).toEqual([]);
  });
});
