import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fettle, root } from '../cli/run.ts';

export const faulty: readonly string[] = readdirSync(join(root, 'samples/faulty'))
  .filter((name) => name.endsWith('.fettle'))
  .map((name) => `samples/faulty/${name}`);

/** Every sample, the shared files among them. */
export const samples: readonly string[] = readdirSync(join(root, 'samples'), { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.fettle'))
  .map((name) => `samples/${name.replaceAll('\\', '/')}`);

const odd = `part cover "Cover 𝔄 {0}"\nteardown\n  step open "מכסה"\n    remove cover\n`;
/** Files whose names and texts a format may trip over, where a file system takes them. */
export const oddFiles: Readonly<Record<string, string>> = {
  ...Object.fromEntries(
    [
      'a b',
      '100%',
      '%41',
      'a#b',
      'a;b',
      '[x]',
      'é𝔄',
      'מכסה',
      // What Windows keeps for itself.
      ...(process.platform === 'win32' ? [] : ['c:\\jobs\\winch', 'http:', 'what?', '<a>&"b"', 'tab\tx', 'line\nx']),
    ].map((name) => [`${name}.fettle`, odd]),
  ),
  'uses.fettle': 'procedure p "P 𝔄"\nuse "sub dir#1/deep%20/shared ü.fettle"\nteardown\n  step a\n    remove bolt\n',
  'sub dir#1/deep%20/shared ü.fettle': 'part bolt x2 "Bolt"\npart bolt "Bolt"\n',
  'empty.fettle': '',
  'mark.fettle': `\ufeff${odd}`,
  'returns.fettle': odd.replaceAll('\n', '\r\n'),
  'astral.fettle': 'part 𝔄𝔅 "x"\n𝔄 remvoe 𝔄𝔄\npart a "\u202eabc"\nteardown\n step s "𝔄" remove 𝔅𝔄 xx\n',
  'controls.fettle': 'part a "\u0000\u0001\u001b[31m"\npart a\n',
};

/** What `check` says of the faulty samples in one format, and in JSON to compare with. */
export function saidOf(format: string): { out: string; report: { files: { file: string; findings: Found[] }[] } } {
  return {
    out: fettle(['check', '--format', format, ...faulty, 'samples/gone.fettle']).out,
    report: JSON.parse(fettle(['check', '--format', 'json', ...faulty]).out),
  };
}

export interface Found {
  readonly code: string;
  readonly severity: string;
  readonly message: string;
  readonly range: { readonly start: { line: number; character: number } };
}
