import { cpSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import fc from 'fast-check';
import { describe, expect, it, vi } from 'vitest';
import type { Diagnostic, Location, SymbolInformation } from 'vscode-languageserver';
import { keyOf } from '../../server/src/addresses.ts';
import { leftOff } from '../../server/src/checks/left-off.ts';
import { disk } from '../../server/src/disk.ts';
import { fullClient, type Site } from '../../server/src/features/feature.ts';
import { references } from '../../server/src/features/references.ts';
import { reportsOf } from '../../server/src/features/workspace-diagnostics.ts';
import { workspaceSymbol } from '../../server/src/features/workspace-symbol.ts';
import { openKeeper } from '../../server/src/keeper.ts';
import { defaultPreferences, readPreferences } from '../../server/src/settings.ts';
import { type Files, Workspace } from '../../server/src/workspace.ts';
import { harm } from '../cli/harm.ts';
import { bad, folder, good, mixed } from '../cli/run.ts';

const using = 'use "common/shared.fettle"\nteardown\n  step open\n    remove cover\n';
const files = {
  'good.fettle': good,
  'bad.fettle': bad,
  'using.fettle': using,
  'common/shared.fettle': 'use "bolts.fettle"\npart cover "Cover" held by bolt\n',
  'common/bolts.fettle': 'part bolt x4 "Bolt"\n',
  'lost.fettle': `use "nowhere.fettle"\n${good}`,
  'fettle.json': '{ "longText": 12 }',
};
const sources = Object.keys(files).filter((name) => name.endsWith('.fettle'));

const fail = (reason: string): never => {
  throw new Error(reason);
};
const siteOf = (
  root: string,
  kept?: string,
  { program = 'one', warn = fail as (reason: string) => void } = {},
): Site => {
  const workspace = new Workspace(disk, [pathToFileURL(root).href]);
  if (kept !== undefined) workspace.keeper = openKeeper(kept, program, warn);
  const token = { isCancellationRequested: false, onCancellationRequested: () => ({ dispose: () => {} }) };
  return { client: fullClient, preferences: defaultPreferences, workspace, token };
};
const findings = async (site: Site): Promise<Record<string, readonly Diagnostic[]>> => {
  const found: Record<string, readonly Diagnostic[]> = {};
  for await (const report of reportsOf({ previousResultIds: [] }, site))
    if (report.kind === 'full') found[report.uri] = report.items;
  return found;
};
const symbols = async (site: Site): Promise<SymbolInformation[] | null> =>
  (await workspaceSymbol.answer({ query: '' }, site)) as SymbolInformation[] | null;
/** Uses of the bolt, as asked from the file that declares it. */
const uses = async (
  site: Site,
  uri = `${site.workspace.folderUris[0]}/common/bolts.fettle`,
): Promise<Location[] | null> => {
  const snapshot = await site.workspace.snapshot(uri);
  if (snapshot === undefined) return null;
  const position = { line: 0, character: 6 };
  return references.answer(snapshot, { textDocument: { uri }, position, context: { includeDeclaration: true } }, site);
};
const all = async (site: Site) => ({
  findings: await findings(site),
  symbols: await symbols(site),
  uses: await uses(site),
});

const entries = (kept: string): string[] =>
  readdirSync(kept)
    .filter((name) => name.endsWith('.entry'))
    .sort()
    .map((name) => join(kept, name));
const written = (kept: string): bigint[] => entries(kept).map((path) => statSync(path, { bigint: true }).mtimeNs);
const made = async (): Promise<{ root: string; kept: string }> => {
  const root = folder(files);
  const kept = join(folder(), 'index');
  await all(siteOf(root, kept));
  return { root, kept };
};

describe('what closed files came to is kept', () => {
  it('one entry a file, for the owner alone, and nothing in the workspace', async () => {
    const { root, kept } = await made();
    // What is not there may come any time: such a file is judged each time.
    expect(entries(kept)).toHaveLength(sources.length - 1);
    expect(readdirSync(kept)).toHaveLength(sources.length);
    for (const name of readdirSync(kept)) expect(statSync(join(kept, name)).mode & 0o077).toBe(0);
    expect(readdirSync(root).sort()).toEqual([...new Set(Object.keys(files).map((name) => name.split('/')[0]))].sort());
  });

  it('and taken without reading a line: it is not written again, and the answers are the same', async () => {
    const { root, kept } = await made();
    const before = written(kept);
    const site = siteOf(root, kept);
    expect(await findings(site)).toEqual(await findings(siteOf(root)));
    expect(written(kept)).toEqual(before);
    expect(await all(site)).toEqual(await all(siteOf(root)));
    expect(written(kept)).toEqual(before);
  });

  it('not of open files, whose text may never be saved', async () => {
    const root = folder(files);
    const kept = join(folder(), 'index');
    const site = siteOf(root, kept);
    site.workspace.didOpen(pathToFileURL(join(root, 'good.fettle')).href, 1, bad);
    await findings(site);
    expect(entries(kept)).toHaveLength(sources.length - 2);
  });

  it('by a keeper that comes later, and by the one that takes its place', async () => {
    const root = folder(files);
    const site = siteOf(root);
    await findings(site);
    for (const kept of [join(folder(), 'index'), join(folder(), 'index')]) {
      site.workspace.keeper = openKeeper(kept, 'one', fail);
      await findings(site);
      expect(entries(kept)).toHaveLength(sources.length - 1);
    }
  });

  it('no longer than there is such a file', async () => {
    const { root, kept } = await made();
    writeFileSync(join(kept, `${'0'.repeat(64)}.entry`), 'of a file that is gone');
    writeFileSync(join(kept, 'of-somebody-else.entry'), '');
    // Nor is a folder ours, by whatever name.
    mkdirSync(join(kept, `.${'0'.repeat(36)}.tmp`));
    mkdirSync(join(kept, `${'0'.repeat(63)}1.entry`));
    rmSync(join(root, 'bad.fettle'));
    await findings(siteOf(root, kept));
    expect(entries(kept).map((path) => path.slice(kept.length + 1))).toContain('of-somebody-else.entry');
    expect(entries(kept)).toHaveLength(sources.length - 2 + 2);
  });
});

describe('entries of files that are gone are taken away', () => {
  /** A workspace of two folders, one of which can be away for a moment, as where a network drops. */
  const scattered = async () => {
    const here = folder({ 'good.fettle': good });
    const there = folder({ 'bad.fettle': bad, 'deep/mixed.fettle': mixed });
    const kept = join(folder(), 'index');
    const site = (from: Files = disk): Site => {
      const workspace = new Workspace(
        from,
        [here, there].map((path) => pathToFileURL(path).href),
      );
      workspace.keeper = openKeeper(kept, 'one', fail);
      workspace.didOpen(pathToFileURL(join(here, 'good.fettle')).href, 1, good);
      return { ...siteOf(here), workspace };
    };
    await findings(site());
    expect(entries(kept)).toHaveLength(2);
    return { there, kept, site };
  };

  it('but not where a folder is away for a moment', async () => {
    const { there, kept, site } = await scattered();
    renameSync(there, `${there}-away`);
    await findings(site());
    renameSync(`${there}-away`, there);
    expect(entries(kept)).toHaveLength(2);
  });

  it.each<[string, Files['list']]>([
    ['cannot be listed', () => Promise.reject(new Error('no answer'))],
    [
      'can be listed in part only',
      (uri) => disk.list(uri).then(({ uris }) => ({ uris: uris.slice(1), isWhole: false })),
    ],
  ])('nor where one %s', async (_, list) => {
    const { there, kept, site } = await scattered();
    const lame: Files = { ...disk, list: (uri) => (uri === pathToFileURL(there).href ? list : disk.list)(uri) };
    await findings(site(lame));
    expect(entries(kept)).toHaveLength(2);
  });

  it('once for each list of the files, whatever is asked', async () => {
    const { there, kept, site: make } = await scattered();
    const site = make();
    const retain = vi.spyOn(site.workspace.keeper!, 'retain');
    await findings(site);
    await symbols(site);
    await findings(site);
    expect(retain).toHaveBeenCalledTimes(1);
    rmSync(join(there, 'bad.fettle'));
    site.workspace.didChangeOnDisk(pathToFileURL(join(there, 'bad.fettle')).href, true);
    await symbols(site);
    await findings(site);
    expect(retain).toHaveBeenCalledTimes(2);
    expect(entries(kept)).toHaveLength(1);
  });

  it('and the round ends well where the keeper is taken away at its end', async () => {
    const { root, kept } = await made();
    const { workspace } = siteOf(root, kept);
    const round = workspace.everySnapshot();
    for (const _ of sources) await round.next();
    const end = round.next();
    workspace.keeper = undefined;
    expect((await end).done).toBe(true);
  });
});

describe('a client may spell a name otherwise than the entries do', () => {
  const names = ['a+b.fettle', 'a%2Bb.fettle'];
  const judgedOpenAs = async (root: string, name: string | undefined, kept?: string) => {
    const site = siteOf(root, kept);
    const uri = `${pathToFileURL(root).href}/${name ?? names[0]}`;
    if (name !== undefined) site.workspace.didOpen(uri, 1, readFileSync(join(root, names[0]!), 'utf8'));
    const found = await findings(site);
    return { uri, found, uses: await uses(site, uri) };
  };

  it.each([
    [undefined, names[0]],
    [undefined, names[1]],
    [names[0], names[1]],
    [names[1], names[0]],
    [names[0], undefined],
  ])('kept while the used file was open as %s, asked while it is open as %s', async (before, now) => {
    const root = folder({
      'a+b.fettle': 'part bolt x4 "Bolt"\npart cover "Cover" held by bolt\n',
      'user.fettle': 'use "a+b.fettle"\nteardown\n  step open\n    remove cover\n    remove bolt\n',
    });
    const kept = join(folder(), 'index');
    await judgedOpenAs(root, before, kept);
    const fresh = await judgedOpenAs(root, now);
    expect(await judgedOpenAs(root, now, kept)).toEqual(fresh);
    expect(fresh.uses).toHaveLength(3);
    // Findings of the user speak of the other file, too.
    const related = Object.values(fresh.found).flatMap((all) => all.flatMap((each) => each.relatedInformation ?? []));
    expect(related.map(({ location }) => location.uri.split('/').at(-1))).toContain(now ?? names[1]);
  });
});

describe('all is reckoned anew', () => {
  const change = (name: string, text: string) => (root: string) => writeFileSync(join(root, name), text);
  it.each<[string, (root: string) => void]>([
    ['the file changed', change('good.fettle', bad)],
    ['a used file changed', change('common/shared.fettle', 'use "bolts.fettle"\npart cover "Cover"\n')],
    ['a file that a used one uses changed', change('common/bolts.fettle', '\npart bolt x6 "Bolt"\n')],
    ['a used file is gone', (root) => rmSync(join(root, 'common/bolts.fettle'))],
    ['a file that was missing is there', change('nowhere.fettle', 'part a "A"\n')],
    ['the project file changed', change('fettle.json', '{ "off": ["left-off"] }')],
    ['the project file is gone', (root) => rmSync(join(root, 'fettle.json'))],
    ['a nearer project file came', change('common/fettle.json', '{ "off": ["never-used"] }')],
  ])('where %s', async (_, change) => {
    const { root, kept } = await made();
    change(root);
    expect(await all(siteOf(root, kept))).toEqual(await all(siteOf(root)));
    // And kept as it is now.
    expect(await all(siteOf(root, kept))).toEqual(await all(siteOf(root)));
  });

  it('where the settings are others, also while the server runs', async () => {
    const { root, kept } = await made();
    const off = readPreferences({ severity: { 'left-off': 'off' } });
    const [site, plain] = [siteOf(root, kept), siteOf(root)];
    const before = await findings(site);
    for (const { workspace } of [site, plain]) {
      workspace.preferences = off;
      workspace.forgetAll();
    }
    expect(await findings(plain)).not.toEqual(before);
    expect(await findings(site)).toEqual(await findings(siteOf(root, kept)).then(() => findings(plain)));
  });

  it('where the server is another', async () => {
    const { root, kept } = await made();
    const seals = (): string[] => entries(kept).map((path) => readFileSync(path, 'utf8').split('\n')[0]!);
    const before = seals();
    await findings(siteOf(root, kept, { program: 'two' }));
    for (const seal of seals()) expect(before).not.toContain(seal);
  });

  it('where a check broke: the fault may lie in the moment', async () => {
    const { root, kept } = await made();
    for (const path of entries(kept)) rmSync(path);
    const broken = vi.spyOn(leftOff, 'run').mockImplementation(() => {
      throw new Error('broken');
    });
    expect(JSON.stringify(await findings(siteOf(root, kept)))).toContain('"fault"');
    broken.mockRestore();
    expect(await findings(siteOf(root, kept))).toEqual(await findings(siteOf(root)));
  });
});

describe('an entry that is not what was kept counts for nothing', () => {
  it('whatever was done to it', async () => {
    const root = folder(files);
    const kept = join(folder(), 'index');
    const fresh = await all(siteOf(root));
    await fc.assert(
      fc.asyncProperty(fc.array(harm, { minLength: 1, maxLength: 5 }), async (harms) => {
        await all(siteOf(root, kept));
        const paths = entries(kept);
        const before = paths.map((path) => readFileSync(path));
        harms.forEach((each, i) => {
          const k = i % paths.length;
          writeFileSync(paths[k]!, each(Buffer.from(before[k]!), before));
        });
        expect(await all(siteOf(root, kept))).toEqual(fresh);
      }),
      { numRuns: 100 },
    );
  });

  it('nor one sealed with another secret', async () => {
    const { root, kept } = await made();
    const fresh = await findings(siteOf(root));
    const key = keyOf(`${pathToFileURL(root).href}/bad.fettle`);
    const entry = openKeeper(kept, 'one', fail).find(key)!;
    expect(fresh[key]).not.toEqual([]);
    // True in all but what was found.
    const forged = { ...entry, notes: { ...entry.notes, findings: [] } };
    const other = join(folder(), 'index');
    openKeeper(other, 'one', fail).keep(key, forged);
    expect(entries(other)).toHaveLength(1);
    for (const path of entries(other)) cpSync(path, join(kept, path.slice(other.length)));
    expect(await findings(siteOf(root, kept))).toEqual(fresh);
    // Whoever knows the secret is believed.
    openKeeper(kept, 'one', fail).keep(key, forged);
    expect(await findings(siteOf(root, kept))).toEqual({ ...fresh, [key]: [] });
  });
});

describe('where nothing can be written', () => {
  it('nothing is lost, and it is told once', async () => {
    const { root, kept } = await made();
    for (const path of entries(kept)) {
      rmSync(path);
      mkdirSync(path);
    }
    const told: string[] = [];
    const site = siteOf(root, kept, { warn: (reason) => told.push(reason) });
    expect(await all(site)).toEqual(await all(siteOf(root)));
    expect(told).toHaveLength(1);
    expect(readdirSync(kept).filter((name) => name.endsWith('.tmp'))).toEqual([]);
  });
});
