import { execFileSync } from 'node:child_process';
import { mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { targetOf } from '../../server/src/addresses.ts';
import { disk } from '../../server/src/disk.ts';
import { defaultPreferences, readPreferences } from '../../server/src/settings.ts';
import type { SourceFile } from '../../server/src/snapshot.ts';
import { type Files, Workspace } from '../../server/src/workspace.ts';
import { shape } from '../grammar/tree.ts';
import { folder, memory } from './scene.ts';

const uri = `${folder}unit.fettle`;
const codes = async (workspace: Workspace, of = uri): Promise<string[]> =>
  (await workspace.snapshot(of))!.judged.findings.map(({ code }) => code);

describe('documents', () => {
  const text = 'part cover "Cover"\nteardown\n  step open\n    remove cover\n';

  it('follow incremental changes, several in one message, each upon the last', async () => {
    const workspace = new Workspace(memory({}), [folder]);
    workspace.didOpen(uri, 1, text);
    workspace.didChange(uri, 2, [
      { range: { start: { line: 0, character: 5 }, end: { line: 0, character: 10 } }, text: 'lid' },
      { range: { start: { line: 3, character: 11 }, end: { line: 3, character: 16 } }, text: 'lid' },
    ]);
    expect((await workspace.snapshot(uri))!.text).toBe(text.replaceAll('cover', 'lid'));
  });

  it('draw places outside the text to its nearest place', async () => {
    const workspace = new Workspace(memory({}), [folder]);
    workspace.didOpen(uri, 1, 'one\ntwo');
    workspace.didChange(uri, 2, [
      { range: { start: { line: 0, character: 99 }, end: { line: 0, character: 99 } }, text: '!' },
      { range: { start: { line: 99, character: 0 }, end: { line: 99, character: 9 } }, text: '?' },
    ]);
    expect((await workspace.snapshot(uri))!.text).toBe('one!\ntwo?');
  });

  it('take no change that is older than what is known, nor one to a file that is not open', async () => {
    const workspace = new Workspace(memory({}), [folder]);
    workspace.didOpen(uri, 5, 'new');
    workspace.didChange(uri, 4, [{ text: 'old' }]);
    workspace.didChange(`${folder}other.fettle`, 1, [{ text: 'x' }]);
    expect((await workspace.snapshot(uri))!.text).toBe('new');
    expect(await workspace.snapshot(`${folder}other.fettle`)).toBeUndefined();
  });

  it('are the same file however the client escapes the address', async () => {
    const workspace = new Workspace(memory({}), [folder]);
    workspace.didOpen('file:///bench/caf%C3%A9%20(1).fettle', 1, text);
    expect((await workspace.snapshot('file:///bench/café (1).fettle'))!.text).toBe(text);
  });

  it('give the tree of a fresh parse after any edits', () => {
    const pieces = fc.constantFrom('\n', ' ', 'part ', 'remove ', 'cover', '"', 'step x', '#', 'x2', '');
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(6), fc.nat(30), fc.nat(6), fc.nat(30), pieces), { maxLength: 8 }),
        (edits) => {
          const workspace = new Workspace();
          workspace.didOpen(uri, 1, text);
          edits.forEach(([line, character, line2, character2, put], i) => {
            workspace.didChange(uri, i + 2, [
              { range: { start: { line, character }, end: { line: line2, character: character2 } }, text: put },
            ]);
            // Now and then the tree is asked for between two edits.
            if (line % 2 === 0) void workspace.openFile(uri)!.tree;
          });
          const { tree, text: now, key } = workspace.openFile(uri)!;
          expect(tree.text).toBe(now);
          expect(shape(tree)).toEqual(shape(parse(key, now)));
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('snapshots', () => {
  const shared = 'part bolt "Bolt"\n';
  const unit = 'use "common/bolts.fettle"\nteardown\n  step open\n    loosen bolt\n    tighten bolt\n';

  it('stay as they are while nothing changes, also through other edits', async () => {
    const workspace = new Workspace(memory({ 'common/bolts.fettle': shared }), [folder]);
    workspace.didOpen(uri, 1, unit);
    const first = await workspace.snapshot(uri);
    workspace.didOpen(`${folder}other.fettle`, 1, 'part x');
    expect(await workspace.snapshot(uri)).toBe(first);
    expect(first!.judged).toBe(first!.judged);
  });

  it('are made anew when a used file is edited, closed, or changed on disk, and tell whom it concerns', async () => {
    const files: Record<string, string> = { 'common/bolts.fettle': shared };
    const workspace = new Workspace(memory(files), [folder]);
    const affected: string[] = [];
    workspace.onAffected = (file: SourceFile) => affected.push(file.uri);
    workspace.didOpen(uri, 1, unit);
    expect(await codes(workspace)).toEqual(['no-torque']);
    affected.length = 0;
    const bolts = `${folder}common/bolts.fettle`;
    workspace.didOpen(bolts, 1, 'part bolt "Bolt" thread M6 class 8.8 torque 9 N·m\n');
    expect(affected.sort()).toEqual([bolts, uri]);
    expect(await codes(workspace)).toEqual([]);
    workspace.didClose(bolts);
    expect(await codes(workspace)).toEqual(['no-torque']);
    files['common/bolts.fettle'] = 'part screw "Screw"\n';
    workspace.didChangeOnDisk(bolts);
    expect(await codes(workspace)).toEqual(['unknown-name', 'unknown-name']);
    delete files['common/bolts.fettle'];
    workspace.didChangeOnDisk(bolts);
    expect(await codes(workspace)).toEqual(['no-file']);
    files['common/bolts.fettle'] = shared;
    workspace.didChangeOnDisk(bolts);
    expect(await codes(workspace)).toEqual(['no-torque']);
  });

  it('are made anew where what no watcher need tell of has changed, and only there', async () => {
    const files: Record<string, string> = {
      'jobs/ok.fettle': 'use "bolts.txt"\n',
      'jobs/bolts.txt': 'part nut "Nut"\n',
    };
    // What lies beside an open file may be used although no folder of the workspace holds it.
    const workspace = new Workspace(memory(files), [`${folder}elsewhere`]);
    const ok = `${folder}jobs/ok.fettle`;
    workspace.didOpen(uri, 1, unit.replace('use', 'use "jobs/ok.fettle"\nuse'));
    workspace.didOpen(ok, 1, files['jobs/ok.fettle']!);
    expect(await codes(workspace)).toEqual(['no-file']);
    await codes(workspace, ok);
    const affected: string[] = [];
    workspace.onAffected = (file: SourceFile) => affected.push(file.uri);
    await workspace.lookAgain();
    expect(affected).toEqual([]);
    files['common/bolts.fettle'] = shared;
    await workspace.lookAgain();
    expect(affected.splice(0)).toEqual([uri]);
    expect(await codes(workspace)).toEqual(['no-torque']);
    files['jobs/bolts.txt'] = 'part nut';
    await workspace.lookAgain();
    expect(affected.sort()).toEqual([ok, uri].sort());
    delete files['jobs/bolts.txt'];
    await workspace.lookAgain();
    expect(await codes(workspace, ok)).toEqual(['no-file']);
  });

  it('are not made anew by a look at what the watchers cover', async () => {
    const files: Record<string, string> = { 'common/bolts.fettle': shared };
    const from = memory(files);
    const read = vi.spyOn(from, 'read');
    const workspace = new Workspace(from, [folder]);
    workspace.didOpen(uri, 1, unit);
    const first = await workspace.snapshot(uri);
    read.mockClear();
    await workspace.lookAgain();
    expect(read).not.toHaveBeenCalled();
    expect(await workspace.snapshot(uri)).toBe(first);
  });

  it('follow a file that is used by a used file', async () => {
    const workspace = new Workspace(memory({ 'a.fettle': 'use "b.fettle"\n', 'b.fettle': shared }), [folder]);
    workspace.didOpen(uri, 1, unit.replace('common/bolts', 'a'));
    expect(await codes(workspace)).toEqual(['no-torque']);
    workspace.didOpen(`${folder}b.fettle`, 1, 'part nut "Nut"\n');
    expect(await codes(workspace)).toEqual(['unknown-name', 'unknown-name']);
  });

  it('end in a loop of files with a finding, not with a hang', async () => {
    const workspace = new Workspace(memory({ 'a.fettle': 'use "unit.fettle"\n' }), [folder]);
    workspace.didOpen(uri, 1, 'use "a.fettle"\npart bolt "Bolt"\n');
    expect(await codes(workspace)).toEqual(['use-loop']);
  });
});

describe('settings', () => {
  const text = 'part bolt "Bolt"\nteardown\n  step open\n    loosen bolt\n    tighten bolt\n';
  const found = async (workspace: Workspace, of: string): Promise<string[]> =>
    (await workspace.snapshot(folder + of))!.judged.findings.map(({ code, severity }) => `${severity} ${code}`);

  it('are those of the nearest project file within the workspace folder, and of no other', async () => {
    const files: Record<string, string> = {
      'fettle.json': '{ "off": ["no-torque"] }',
      'jobs/fettle.json': '{ "severities": { "no-torque": "hint" } }',
      'jobs/unit.fettle': text,
      'unit.fettle': text,
    };
    const workspace = new Workspace(memory(files), [folder]);
    expect(await found(workspace, 'unit.fettle')).toEqual([]);
    expect(await found(workspace, 'jobs/unit.fettle')).toEqual(['hint no-torque']);
    const inner = new Workspace(memory(files), [`${folder}jobs`]);
    delete files['jobs/fettle.json'];
    expect(await found(inner, 'jobs/unit.fettle')).toEqual(['warning no-torque']);
  });

  it('are read anew when the project file changes', async () => {
    const files: Record<string, string> = {};
    const workspace = new Workspace(memory(files), [folder]);
    workspace.didOpen(uri, 1, text);
    expect(await found(workspace, 'unit.fettle')).toEqual(['warning no-torque']);
    files['fettle.json'] = '{ "off": ["no-torque"] }';
    workspace.didChangeOnDisk(`${folder}fettle.json`);
    expect(await found(workspace, 'unit.fettle')).toEqual([]);
    files['fettle.json'] = '{ "of": [] }';
    workspace.didChangeOnDisk(`${folder}fettle.json`);
    expect(await found(workspace, 'unit.fettle')).toEqual(['warning no-torque']);
    expect([...workspace.projectProblems()].map(({ problems }) => problems.length)).toEqual([1]);
  });

  it('of the user count where the project says nothing else', async () => {
    const workspace = new Workspace(memory({ 'a/fettle.json': '{ "severities": { "no-torque": "error" } }' }), [
      folder,
    ]);
    workspace.preferences = { ...defaultPreferences, severities: { 'no-torque': 'hint' } };
    workspace.didOpen(uri, 1, text);
    workspace.didOpen(`${folder}a/unit.fettle`, 1, text);
    expect(await found(workspace, 'unit.fettle')).toEqual(['hint no-torque']);
    expect(await found(workspace, 'a/unit.fettle')).toEqual(['error no-torque']);
    workspace.preferences = { ...defaultPreferences, off: ['no-torque'] };
    workspace.forgetAll();
    expect(await found(workspace, 'unit.fettle')).toEqual([]);
    expect(await found(workspace, 'a/unit.fettle')).toEqual(['error no-torque']);
  });

  it('of the user do not lengthen what the project holds short', async () => {
    const long = 'do "Wipe the lower face of the cover with a clean lint-free rag and no solvent at all."';
    const words = `teardown\n  step wipe\n    ${long}\n`;
    const workspace = new Workspace(memory({ 'a/fettle.json': '{ "longText": 10 }' }), [folder]);
    workspace.preferences = { ...defaultPreferences, longText: 12 };
    workspace.didOpen(uri, 1, words);
    workspace.didOpen(`${folder}a/unit.fettle`, 1, words);
    expect(await found(workspace, 'unit.fettle')).toEqual(['hint long-text']);
    workspace.preferences = { ...defaultPreferences, longText: 30 };
    workspace.forgetAll();
    expect(await found(workspace, 'unit.fettle')).toEqual([]);
    expect(await found(workspace, 'a/unit.fettle')).toEqual(['hint long-text']);
  });

  it.each([
    undefined,
    null,
    3,
    [],
    { units: 'furlongs', hints: 'yes', codeLens: 0, maxTextWords: Number.NEGATIVE_INFINITY, severity: 'off' },
    { units: {}, hints: { otherUnit: null }, maxTextWords: '20', severity: { 'left-off': {}, nothing: 'off', 3: 4 } },
  ])('of any other shape are the defaults: %j', (section) => {
    expect(readPreferences(section)).toEqual(defaultPreferences);
  });

  it('take known codes and severities only, and never silence what cannot be read', () => {
    expect(
      readPreferences({
        units: 'imperial',
        hints: { clampShare: false },
        codeLens: false,
        maxTextWords: 12,
        severity: { 'left-off': 'warning', 'bad-order': 'loud', 'no-order': 'off', syntax: 'off', nothing: 'off' },
      }),
    ).toEqual({
      units: 'imperial',
      hints: { otherUnit: true, piecesOff: true, clampShare: false },
      codeLens: false,
      index: { cache: false },
      longText: 12,
      off: ['no-order'],
      severities: { 'left-off': 'warning' },
    });
  });

  it('keep an index on disk only where that is said in so many words', () => {
    for (const cache of [1, 'true', {}, null])
      expect(readPreferences({ index: { cache } }).index).toEqual({ cache: false });
    expect(readPreferences({ index: { cache: true } }).index).toEqual({ cache: true });
  });
});

describe('where a `use` may lead', () => {
  const roots = ['file:///bench'];
  it.each([
    ['bolts.fettle', 'file:///bench/jobs/unit.fettle', { key: 'file:///bench/jobs/bolts.fettle' }],
    ['../common/bolts.fettle', 'file:///bench/jobs/unit.fettle', { key: 'file:///bench/common/bolts.fettle' }],
    ['../../etc/bolts.fettle', 'file:///bench/jobs/unit.fettle', { refused: 'it lies outside the workspace folder' }],
    ['../bench-2/bolts.fettle', 'file:///bench/unit.fettle', { refused: 'it lies outside the workspace folder' }],
    ['/etc/passwd', 'file:///bench/unit.fettle', { refused: 'the path must count from the folder of this file' }],
    [
      'file:///etc/passwd',
      'file:///bench/unit.fettle',
      { refused: 'the path must count from the folder of this file' },
    ],
    ['C:/bolts.fettle', 'file:///bench/unit.fettle', { refused: 'the path must count from the folder of this file' }],
    ['common\\bolts.fettle', 'file:///bench/unit.fettle', { refused: 'write `/` between folders' }],
    ['', 'file:///bench/unit.fettle', { refused: 'the path is empty' }],
    ['bolts\ud83d.fettle', 'file:///bench/unit.fettle', { refused: 'the path holds half a character' }],
    ['bolts-🔩.fettle', 'file:///bench/unit.fettle', { key: 'file:///bench/bolts-%F0%9F%94%A9.fettle' }],
    ['a b.fettle', 'memfs:/bench/unit.fettle', { refused: 'it lies outside the workspace folder' }],
    ['bolts.fettle', 'untitled:Untitled-1', { refused: 'this file lies nowhere yet: save it first' }],
  ])('%s from %s', (path, from, expected) => {
    expect(targetOf(path, from, roots)).toEqual(expected);
  });

  it('is told of a file that has never been saved by what mends it', async () => {
    const workspace = new Workspace(memory({ 'bolts.fettle': 'part bolt "Bolt"\n' }), [folder]);
    workspace.didOpen('untitled:Untitled-1', 1, 'use "bolts.fettle"\n');
    const [finding] = (await workspace.snapshot('untitled:Untitled-1'))!.judged.findings;
    expect(finding!.message).toContain('cannot be read (this file lies nowhere yet): save it first;');
  });

  it('is also beside a file that was opened by itself', async () => {
    const workspace = new Workspace(memory({ 'bolts.fettle': 'part bolt "Bolt"\n' }), []);
    workspace.didOpen(uri, 1, 'use "bolts.fettle"\n');
    expect(await codes(workspace)).toEqual([]);
    workspace.didChange(uri, 2, [{ text: 'use "../bolts.fettle"\n' }]);
    const [finding] = (await workspace.snapshot(uri))!.judged.findings;
    expect(finding!.message).toContain('it lies outside the workspace folder');
  });
});

describe('files on disk', () => {
  let path: string;
  let root: string;
  beforeEach(async () => {
    path = await mkdtemp(join(tmpdir(), 'fettle-'));
    await mkdir(join(path, 'in/deep'), { recursive: true });
    root = pathToFileURL(join(path, 'in')).toString();
  });
  afterEach(() => rm(path, { recursive: true }));
  const read = (name: string): Promise<string> => disk.read(`${root}/${name}`, [root]);

  it('are read as UTF-8', async () => {
    await writeFile(join(path, 'in/a.fettle'), 'part ä');
    expect(await read('a.fettle')).toBe('part ä');
  });

  it('are refused where a link leads out of the folder, and read where it stays within', async () => {
    await writeFile(join(path, 'out.fettle'), 'secret');
    await symlink(join(path, 'out.fettle'), join(path, 'in/link.fettle'));
    await expect(read('link.fettle')).rejects.toThrow('a link leads out of the workspace folder');
    await writeFile(join(path, 'in/a.fettle'), 'part a');
    await symlink(join(path, 'in/a.fettle'), join(path, 'in/good.fettle'));
    expect(await read('good.fettle')).toBe('part a');
  });

  it.each([
    ['missing.fettle', async () => {}, 'there is no such file'],
    ['deep', async () => {}, 'it is no regular file'],
    ['fifo.fettle', (at: string) => void execFileSync('mkfifo', [at]), 'it is no regular file'],
    ['bytes.fettle', (at: string) => writeFile(at, Buffer.from([0x70, 0xff, 0xfe])), 'it is not UTF-8'],
    ['large.fettle', (at: string) => writeFile(at, Buffer.alloc(16 * 1024 * 1024 + 1, 32)), 'it is larger than 16 MiB'],
  ] as [string, (at: string) => Promise<void> | void, string][])(
    '%s is refused with a reason',
    async (name, make, reason) => {
      await make(join(path, 'in', name));
      await expect(read(name)).rejects.toThrow(reason);
    },
  );

  it('are listed with those in folders below, links to folders left out', async () => {
    await writeFile(join(path, 'in/a.fettle'), '');
    await writeFile(join(path, 'in/deep/b.fettle'), '');
    await writeFile(join(path, 'in/deep/c.txt'), '');
    await symlink(join(path, 'in'), join(path, 'in/deep/again'));
    expect(await disk.list(root)).toEqual({ uris: [`${root}/a.fettle`, `${root}/deep/b.fettle`], isWhole: true });
    expect(await disk.list(`${root}/nowhere`)).toEqual({ uris: [], isWhole: false });
  });
});

describe('every file', () => {
  const texts = Object.fromEntries(Array.from({ length: 40 }, (_, i) => [`u${i}.fettle`, `part p${i} "Part"\n`]));

  it('is read ahead of its turn, once, and others have theirs between', async () => {
    const files = memory(texts);
    const read: string[] = [];
    const workspace = new Workspace(
      {
        list: files.list,
        read: (uri, roots) => {
          read.push(uri);
          return files.read(uri, roots);
        },
      },
      [folder],
    );
    const seen: string[] = [];
    let turns = 0;
    const heart = setInterval(() => turns++, 0);
    for await (const snapshot of workspace.everySnapshot()) {
      if (seen.push(snapshot.file.uri) === 1)
        expect(read.filter((uri) => uri.endsWith('.fettle')).length).toBeGreaterThan(10);
      for (const until = performance.now() + 3; performance.now() < until; );
    }
    clearInterval(heart);
    expect(seen).toHaveLength(40);
    expect([...new Set(read)]).toEqual(read);
    expect(turns).toBeGreaterThan(5);
  });

  describe('is asked for anew', () => {
    beforeEach(() => vi.useFakeTimers({ toFake: ['performance'] }));
    afterEach(() => vi.useRealTimers());
    const whole = memory({ 'a.fettle': '', 'b.fettle': '' }).list;

    it.each<[string, Files['list']]>([
      ['could not be listed', () => Promise.reject(new Error('no answer'))],
      ['was listed in part', () => Promise.resolve({ uris: [`${folder}a.fettle`], isWhole: false })],
    ])('soon after the folder %s, and the whole list is kept then', async (_, lame) => {
      const list = vi.fn<Files['list']>(whole).mockImplementationOnce(lame);
      const workspace = new Workspace({ ...memory({}), list }, [folder]);
      const first = await workspace.allKeys();
      expect(first.length).toBeLessThan(2);
      // Not at once: a folder that stays closed must not be gone through for each request.
      expect(await workspace.allKeys()).toEqual(first);
      expect(list).toHaveBeenCalledTimes(1);
      vi.advanceTimersByTime(10_000);
      expect(await workspace.allKeys()).toHaveLength(2);
      vi.advanceTimersByTime(1_000_000);
      expect(await workspace.allKeys()).toHaveLength(2);
      expect(list).toHaveBeenCalledTimes(2);
    });
  });
});
