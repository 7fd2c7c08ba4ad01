import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

const root = resolve(import.meta.dirname, '..');
const sources = ['grammar', 'server/src', 'client/src']
  .flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
      .filter((name) => /\.(ts|js|html)$/.test(name))
      .map((name) => `${folder}/${name}`),
  )
  .map((file) => ({
    file,
    // Comments may name what the code does not do.
    code: readFileSync(join(root, file), 'utf8').replace(/^\s*(?:\/\/|\*|\/\*).*$/gm, ''),
  }));

/** What may reach beyond the process, and the only files that may. */
const reaches: readonly (readonly [what: string, pattern: RegExp, allowed: readonly string[]])[] = [
  [
    'code made of text',
    /\beval\s*\(|\bnew Function\b|\bFunction\s*\(\s*['"`]|setTimeout\s*\(\s*['"`]|['"](?:node:)?vm['"]/,
    [],
  ],
  ['a shell', /\bshell\s*:|\bexec(?:Sync)?\s*\(\s*['"`]|\bspawn(?:Sync)?\s*\(\s*['"`](?:ba)?sh\b/, []],
  // git, with its arguments as a list, for what changed between two revisions.
  ['other programs', /['"](?:node:)?child_process['"]/, ['server/src/cli/git.ts']],
  [
    'the network',
    /['"](?:node:)?(?:net|tls|https?|http2|dgram|dns)['"]|\bWebSocket\b|\bXMLHttpRequest\b|\bEventSource\b/,
    [],
  ],
  // The web build reads its own server out of the extension.
  ['fetching', /(?<![\w.])fetch\s*\(/, ['client/src/web-client.ts']],
  // Repairs and outputs of the command line, its generated pages, sealed entries in a folder of one's own, cards and kits that are saved.
  [
    'writing',
    /\b(?:writeFile|appendFile|rename|rm|unlink|mkdir|rmdir|copyFile|cp|truncate|symlink|chmod)(?:Sync)?\(|\bcreateWriteStream\(/,
    [
      'server/src/cli/output.ts',
      'server/src/cli/pages.ts',
      'server/src/cli/replace.ts',
      'server/src/sealed.ts',
      'client/src/views/save-file.ts',
    ],
  ],
  ['the environment of native code', /\bprocess\.binding\b|\bprocess\.dlopen\b|\.node['"]/, []],
];

describe('no source reaches beyond what is listed', () => {
  it.each(reaches)('%s', (_, pattern, allowed) => {
    const found = sources.filter(({ code }) => pattern.test(code)).map(({ file }) => file);
    expect(found.sort()).toEqual([...allowed].sort());
  });

  it('the patterns see what they look for', () => {
    const [code, shell, programs, network, fetching, writing] = reaches.map(([, pattern]) => pattern);
    expect(code!.test('eval ("1")')).toBe(true);
    expect(shell!.test("execSync('ls')")).toBe(true);
    expect(programs!.test("from 'node:child_process'")).toBe(true);
    expect(network!.test("from 'node:https'")).toBe(true);
    expect(fetching!.test('await fetch(url)')).toBe(true);
    expect(fetching!.test('this.fetch(part)')).toBe(false);
    expect(writing!.test('renameSync(temporary, path)')).toBe(true);
    expect(writing!.test('await workspace.fs.writeFile(target, bytes)')).toBe(true);
  });
});

describe('pages', () => {
  it.each(sources.filter(({ code }) => code.includes('<!DOCTYPE html>') || code.includes('<!doctype html>')))(
    '$file forbids everything that it does not state',
    ({ code }) => {
      expect(code).toMatch(/Content-Security-Policy" content="default-src 'none'/);
      expect(code).not.toMatch(/script-src[^"]*'unsafe-/);
      expect(code).not.toMatch(/\son(?:click|load|error|input)\s*=/i);
    },
  );
  it('there are some', () =>
    expect(sources.filter(({ code }) => /<!doctype html>/i.test(code)).length).toBeGreaterThan(0));
});

describe('what is shipped', () => {
  const { packages } = JSON.parse(readFileSync(join(root, 'package-lock.json'), 'utf8')) as {
    packages: Record<string, { dev?: boolean; license?: string; resolved?: string; hasInstallScript?: boolean }>;
  };
  const runtime = Object.entries(packages).filter(([path, { dev }]) => path !== '' && !dev);

  // All of these allow use and distribution under the same notices; dist/LICENSES.txt carries them.
  const allowed = ['MIT', 'ISC', 'Apache-2.0', 'BSD-2-Clause', 'BSD-3-Clause', 'BlueOak-1.0.0', '0BSD'];
  it.each(runtime)('%s has an allowed licence, and its text', (path, { license }) => {
    expect(allowed).toContain(license);
    const files = readdirSync(join(root, path));
    expect(files.some((name) => /^licen[cs]e/i.test(name))).toBe(true);
  });
  it('runs no script when it is installed', () => {
    expect(runtime.filter(([, { hasInstallScript }]) => hasInstallScript).map(([path]) => path)).toEqual([]);
  });
  it('names no registry', () => {
    expect(Object.values(packages).filter(({ resolved }) => resolved !== undefined)).toEqual([]);
  });
});
