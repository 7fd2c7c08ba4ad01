import {
  chmodSync,
  cpSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { defaultSettings, type Settings } from '../../server/src/checks/check.ts';
import { Cache, openCache, Uses } from '../../server/src/cli/cache.ts';
import { Judge, type Opinion, type Order, type Outcome } from '../../server/src/cli/judge.ts';
import { secretFile } from '../../server/src/sealed.ts';
import { harm } from './harm.ts';
import { bad, fettle, folder, good, mixed } from './run.ts';

const using = 'use "shared.fettle"\nteardown\n  step open\n    remove cover\n';
const files = {
  'good.fettle': good,
  'bad.fettle': bad,
  'mixed.fettle': mixed,
  'using.fettle': using,
  'shared.fettle': 'part cover "Cover" held by bolt\npart bolt x4 "Bolt"\n',
  'lost.fettle': `use "nowhere.fettle"\n${good}`,
};
const names = Object.keys(files);

const orderOf = (cache?: string, settings: Settings = defaultSettings): Order => {
  const wanted = new Set(['left-off', 'still-held', 'never-used', 'no-file']);
  return {
    ...{ wanted, withRepairs: false, withPrints: true, withText: true, settings: [settings] },
    ...(cache === undefined ? {} : { cache: openCache(cache, [...wanted]) }),
  };
};
const judged = (cwd: string, order: Order): Outcome[] => {
  const judge = new Judge(order);
  return names.map((name) => judge.do({ do: 'judge', path: join(cwd, name), settings: 0 }));
};
const entries = (cache: string): string[] =>
  readdirSync(cache)
    .filter((name) => name.endsWith('.entry'))
    .map((name) => join(cache, name));
const made = (): { cwd: string; cache: string } => {
  const cwd = folder(files);
  const cache = join(cwd, '.kept');
  judged(cwd, orderOf(cache));
  return { cwd, cache };
};

describe('findings are kept', () => {
  test('one entry a file, nothing else, and for the owner alone', () => {
    const { cwd, cache } = made();
    // What is not there may come any time: such a file is judged each time.
    expect(entries(cache)).toHaveLength(names.length - 1);
    expect(readdirSync(cache)).toHaveLength(names.length);
    for (const name of readdirSync(cache)) expect(statSync(join(cache, name)).mode & 0o077).toBe(0);
    writeFileSync(join(cwd, 'good.fettle'), bad);
    judged(cwd, orderOf(cache));
    expect(entries(cache)).toHaveLength(names.length - 1);
  });

  test('and taken: an entry that is as it was is not written again', () => {
    const { cwd, cache } = made();
    const times = (): number[] => entries(cache).map((path) => statSync(path).ino);
    const before = times();
    expect(judged(cwd, orderOf(cache))).toEqual(judged(cwd, orderOf()));
    expect(times()).toEqual(before);
  });
});

describe('what is kept is taken away', () => {
  test('by what another program keeps of the same file', () => {
    const { cwd, cache } = made();
    const fresh = judged(cwd, orderOf());
    const order = orderOf(cache);
    const other = { ...order, cache: { ...order.cache!, run: 'another program' } };
    const before = entries(cache).map((path) => readFileSync(path, 'utf8'));
    expect(judged(cwd, other)).toEqual(fresh);
    expect(entries(cache)).toHaveLength(names.length - 1);
    for (const path of entries(cache)) expect(before).not.toContain(readFileSync(path, 'utf8'));
    expect(judged(cwd, order)).toEqual(fresh);
    expect(entries(cache)).toHaveLength(names.length - 1);
  });

  test('but not by a run that wants something else', () => {
    const { cwd, cache } = made();
    const times = (): number[] => entries(cache).map((path) => statSync(path).ino);
    judged(cwd, { ...orderOf(), wanted: new Set(['left-off']), cache: openCache(cache, ['left-off']) });
    const before = times();
    expect(before).toHaveLength(2 * (names.length - 1));
    judged(cwd, orderOf(cache));
    expect(times()).toEqual(before);
  });

  test('after a month, be there such a file or not, and nothing that is not ours', () => {
    const { cwd, cache } = made();
    const fresh = judged(cwd, orderOf());
    const all = entries(cache);
    const [old, young] = all as [string, string];
    const ofOthers = [
      'notes.entry',
      `${'0'.repeat(64)}.entry`,
      `${'1'.repeat(64)}.entry`,
      `${'2'.repeat(64)}.entry`,
      'notes.tmp',
    ].map((name) => join(cache, name));
    writeFileSync(ofOthers[0]!, readFileSync(old));
    writeFileSync(ofOthers[1]!, 'a name like ours, and a text of somebody else\n');
    mkdirSync(ofOthers[2]!);
    symlinkSync(young, ofOthers[3]!);
    writeFileSync(ofOthers[4]!, '');
    const leftOver = join(cache, '.01234567-89ab-cdef-0123-456789abcdef.tmp');
    writeFileSync(leftOver, '');
    const ago = (days: number): Date => new Date(Date.now() - days * 86_400_000);
    for (const path of [old, leftOver, join(cache, secretFile), ...ofOthers.filter((_, i) => i !== 3)])
      utimesSync(path, ago(31), ago(31));
    utimesSync(young, ago(29), ago(29));
    openCache(cache, []);
    expect(readdirSync(cache).sort()).toEqual(
      [...all.slice(1), ...ofOthers, join(cache, secretFile)].map((path) => path.slice(cache.length + 1)).sort(),
    );
    expect(judged(cwd, orderOf(cache))).toEqual(fresh);
  });
});

describe('findings are reckoned anew', () => {
  test.each<[string, (cwd: string) => void]>([
    ['the file changed', (cwd) => writeFileSync(join(cwd, 'good.fettle'), bad)],
    ['a used file changed', (cwd) => writeFileSync(join(cwd, 'shared.fettle'), 'part cover "Cover"\n')],
    ['a used file is gone', (cwd) => rmSync(join(cwd, 'shared.fettle'))],
    ['a file that was missing is there', (cwd) => writeFileSync(join(cwd, 'nowhere.fettle'), 'part a "A"\n')],
    [
      'a used file is another one by a link',
      (cwd) => {
        rmSync(join(cwd, 'shared.fettle'));
        writeFileSync(join(cwd, 'other.fettle'), files['shared.fettle']);
        symlinkSync('other.fettle', join(cwd, 'shared.fettle'));
      },
    ],
  ])('where %s', (_, change) => {
    const { cwd, cache } = made();
    change(cwd);
    expect(judged(cwd, orderOf(cache))).toEqual(judged(cwd, orderOf()));
  });

  test('where the settings are others', () => {
    const { cwd, cache } = made();
    const settings = { ...defaultSettings, off: ['left-off'] };
    const found = judged(cwd, orderOf(cache, settings));
    expect(found).toEqual(judged(cwd, orderOf(undefined, settings)));
    expect(found).not.toEqual(judged(cwd, orderOf()));
  });
});

describe('an entry that is not what was kept counts for nothing', () => {
  test('whatever was done to it', () => {
    const cwd = folder(files);
    const fresh = judged(cwd, orderOf());
    const cache = join(cwd, '.kept');
    fc.assert(
      fc.property(fc.array(harm, { minLength: 1, maxLength: 6 }), (harms) => {
        judged(cwd, orderOf(cache));
        const paths = entries(cache);
        const before = paths.map((path) => readFileSync(path));
        harms.forEach((each, i) => {
          const k = i % paths.length;
          writeFileSync(paths[k]!, each(Buffer.from(before[k]!), before));
        });
        expect(judged(cwd, orderOf(cache))).toEqual(fresh);
      }),
      { numRuns: 150 },
    );
  });

  test('nor one sealed with another secret', () => {
    const { cwd, cache } = made();
    const fresh = judged(cwd, orderOf());
    const name = join(cwd, 'bad.fettle');
    const before = fresh[names.indexOf('bad.fettle')]! as Opinion;
    expect(before.findings).not.toEqual([]);
    // True in all but what was found.
    const nothing: Opinion = { findings: [], prints: [], text: '', blank: false };
    const forge = (place: string): void =>
      new Cache(orderOf(place).cache!).keep(name, bad, defaultSettings, nothing, new Uses());
    const other = join(folder(), 'kept');
    forge(other);
    expect(entries(other)).toHaveLength(1);
    for (const path of entries(other)) cpSync(path, join(cache, path.slice(other.length)));
    expect(judged(cwd, orderOf(cache))).toEqual(fresh);
    // Whoever knows the secret is believed.
    forge(cache);
    expect(judged(cwd, orderOf(cache))).toEqual(fresh.map((each) => (each === before ? nothing : each)));
  });

  test('nor what is no file, and a secret that is none', () => {
    const { cwd, cache } = made();
    const fresh = judged(cwd, orderOf());
    for (const path of entries(cache)) {
      rmSync(path);
      mkdirSync(path);
    }
    expect(judged(cwd, orderOf(cache))).toEqual(fresh);
    expect(readdirSync(cache).filter((name) => name.endsWith('.tmp'))).toEqual([]);
    writeFileSync(join(cache, secretFile), 'short');
    expect(judged(cwd, orderOf(cache))).toEqual(fresh);
  });
});

describe('fettle check --cache', () => {
  test('says the same as without, in every format, by one thread and by several', () => {
    const cwd = folder({ ...files, 'own/a.fettle': bad, 'own/fettle.json': '{ "off": ["left-off"] }' });
    for (const args of [['text'], ['json'], ['sarif'], ['json', '--threads', '2'], ['text', '--off', 'left-off']]) {
      const all = ['check', '*.fettle', 'own/*.fettle', '--format', ...args];
      const plain = fettle(all, { cwd });
      for (let round = 0; round < 2; round++) expect(fettle([...all, '--cache', 'kept'], { cwd })).toEqual(plain);
    }
  });

  test('refuses a folder that others may write to, and what is no folder', () => {
    const cwd = folder({ 'a.fettle': good, file: '' });
    mkdirSync(join(cwd, 'open'));
    chmodSync(join(cwd, 'open'), 0o777);
    expect(fettle(['check', 'a.fettle', '--cache', 'open'], { cwd })).toEqual({
      status: 2,
      out: '',
      err: 'fettle: --cache open: others may write to it: name a folder of your own (`chmod go-w` makes it so)\n',
    });
    const { status, err } = fettle(['check', 'a.fettle', '--cache', 'file'], { cwd });
    expect(status).toBe(2);
    expect(err).toBe('fettle: --cache file: is a file: name a folder\n');
    expect(fettle(['check', 'a.fettle', '--cache', ''], { cwd })).toMatchObject({ status: 2 });
    expect(readdirSync(cwd).sort()).toEqual(['a.fettle', 'file', 'open']);
  });

  // Node's own way of making several levels at once never ends there.
  test.skipIf(process.platform !== 'linux')('refuses a folder that the system does not let be made', () => {
    const cwd = folder({ 'a.fettle': good });
    const { status, err } = fettle(['check', 'a.fettle', '--cache', '/proc/none/below'], { cwd });
    expect(err).toMatch(/^fettle: --cache \/proc\/none\/below: /);
    expect(status).toBe(2);
  });
});
