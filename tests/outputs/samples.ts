import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { fettle, root } from '../cli/run.ts';

export const faulty: readonly string[] = readdirSync(join(root, 'samples/faulty'))
  .filter((name) => name.endsWith('.fettle'))
  .map((name) => `samples/faulty/${name}`);

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
