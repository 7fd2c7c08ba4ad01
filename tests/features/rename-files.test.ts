import { describe, expect, it } from 'vitest';
import { renameFiles } from '../../server/src/features/rename-files.ts';
import { applied, folder, scene } from './scene.ts';

const bolts = 'part bolt x4 "Bolt"\n';
const using = (...paths: string[]): string => `${paths.map((path) => `use "${path}"\n`).join('')}part lid "Lid"\n`;

/** By file, its text after the edits for files and folders that are about to be called otherwise; nothing where there are none. */
async function after(
  files: Readonly<Record<string, string>>,
  ...moves: readonly [from: string, to: string][]
): Promise<Record<string, string> | null> {
  const { site } = await scene(files);
  const edit = await renameFiles.answer(
    { files: moves.map(([from, to]) => ({ oldUri: folder + from, newUri: folder + to })) },
    site,
  );
  if (edit === null) return null;
  return Object.fromEntries(
    edit.documentChanges!.map((change) => {
      if (!('textDocument' in change)) throw new Error('no edit of a text');
      const path = decodeURIComponent(change.textDocument.uri.slice(folder.length));
      return [path, applied(files[path]!, change.edits as never)];
    }),
  );
}

describe('a file that is about to be renamed or moved', () => {
  it('takes the `use` lines with it that lead to it, in files that are open and in those that are not', async () => {
    const files = {
      'pump.fettle': using('common/bolts.fettle', './common/bolts.fettle', 'common/other.fettle'),
      'deep/down/gear.fettle': using('../../common/bolts.fettle'),
      'common/bolts.fettle': bolts,
      'common/other.fettle': 'tool pin "Pin"\n',
      'alone.fettle': 'part cap "Cap"\n',
    };
    expect(await after(files, ['common/bolts.fettle', 'common/screws.fettle'])).toEqual({
      'pump.fettle': using('common/screws.fettle', './common/screws.fettle', 'common/other.fettle'),
      'deep/down/gear.fettle': using('../../common/screws.fettle'),
    });
    expect(await after(files, ['common/bolts.fettle', 'deep/screws.fettle'])).toEqual({
      'pump.fettle': using('deep/screws.fettle', './deep/screws.fettle', 'common/other.fettle'),
      'deep/down/gear.fettle': using('../screws.fettle'),
    });
  });

  it('finds what it uses itself from its new place', async () => {
    const files = { 'pump.fettle': using('common/bolts.fettle'), 'common/bolts.fettle': bolts };
    expect(await after(files, ['pump.fettle', 'units/old/pump.fettle'])).toEqual({
      'pump.fettle': using('../../common/bolts.fettle'),
    });
    expect(await after(files, ['pump.fettle', 'common/pump.fettle'])).toEqual({ 'pump.fettle': using('bolts.fettle') });
    expect(await after(files, ['pump.fettle', 'water-pump.fettle'])).toBeNull();
  });

  it('is followed in folders, several at once; what moves along keeps its paths', async () => {
    const files = {
      'pump.fettle': using('common/bolts.fettle', 'common/inch/nuts.fettle'),
      'common/bolts.fettle': `use "inch/nuts.fettle"\n${bolts}`,
      'common/inch/nuts.fettle': 'part nut "Nut"\n',
      'commonplace.fettle': using('common/bolts.fettle'),
    };
    expect(await after(files, ['common', 'shared'])).toEqual({
      'pump.fettle': using('shared/bolts.fettle', 'shared/inch/nuts.fettle'),
      'commonplace.fettle': using('shared/bolts.fettle'),
    });
    expect(
      await after(files, ['pump.fettle', 'units/pump.fettle'], ['common/inch/nuts.fettle', 'units/nuts.fettle']),
    ).toEqual({
      'pump.fettle': using('../common/bolts.fettle', 'nuts.fettle'),
      'common/bolts.fettle': `use "../units/nuts.fettle"\n${bolts}`,
    });
  });

  it('may have a name with blanks, umlauts and quotes', async () => {
    const files = { 'pump.fettle': using('bolts.fettle'), 'bolts.fettle': bolts };
    expect(await after(files, ['bolts.fettle', 'große%20%22M8%22.fettle'])).toEqual({
      'pump.fettle': using('große \\"M8\\".fettle'),
    });
  });

  it('leaves alone what leads nowhere, and other schemes', async () => {
    const files = { 'pump.fettle': using('gone.fettle'), 'bolts.fettle': bolts };
    expect(await after(files, ['bolts.fettle', 'screws.fettle'])).toBeNull();
    const { site } = await scene({ 'pump.fettle': using('bolts.fettle'), 'bolts.fettle': bolts });
    const files2 = [{ oldUri: `${folder}bolts.fettle`, newUri: 'vscode-vfs://elsewhere/bolts.fettle' }];
    expect(await renameFiles.answer({ files: files2 }, site)).toBeNull();
  });

  it('is not followed by halves where the client changes its mind', async () => {
    const { site } = await scene({ 'pump.fettle': using('bolts.fettle'), 'bolts.fettle': bolts });
    const token = { ...site.token, isCancellationRequested: true };
    const files = [{ oldUri: `${folder}bolts.fettle`, newUri: `${folder}screws.fettle` }];
    expect(await renameFiles.answer({ files }, { ...site, token })).toBeNull();
  });
});
