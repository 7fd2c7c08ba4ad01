import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';

const script = readFileSync(join(import.meta.dirname, '../../.ci/run'), 'utf8');
/** The part of `.ci/run` that counts, with stages that end as told. */
const counting = script.slice(script.indexOf('tally_of() {'), script.indexOf('editor() {'));
const closing = script.slice(script.indexOf('passed=0\n'));

function outcome(results: Readonly<Record<string, string>>, broken = ''): { status: number | null; stdout: string } {
  const folder = mkdtempSync(join(tmpdir(), 'fettle-ci-'));
  onTestFinished(() => rmSync(folder, { recursive: true }));
  for (const [suite, text] of Object.entries(results)) writeFileSync(join(folder, `${suite}.txt`), text);
  const program = `set -euo pipefail\nresults=$1\ndeclare -A broken=(${broken})\n${counting}\n${closing}`;
  return spawnSync('bash', ['-c', program, 'run', folder], { encoding: 'utf8' });
}

test('all suites that ran and passed are a success', () => {
  const { status, stdout } = outcome({ tests: '5 passed, 0 failed\n', editor: 'noise\n12 passed, 0 failed\n' });
  expect(stdout).toMatch(/17 passed, 0 failed\n$/);
  expect(status).toBe(0);
});

test.each([
  ['the editor suite left no trace', { tests: '5 passed, 0 failed' }, '', /editor: failed \(no test ran\)/],
  ['the editor suite ran no test', { tests: '5 passed, 0 failed', editor: '0 passed, 0 failed' }, '', /no test ran/],
  ['no other test ran', { tests: '', editor: '12 passed, 0 failed' }, '', /tests: failed \(no test ran\)/],
  ['one failed', { tests: '5 passed, 1 failed', editor: '12 passed, 0 failed' }, '', /17 passed, 1 failed/],
  [
    'a stage without tests broke',
    { tests: '5 passed, 0 failed', editor: '12 passed, 0 failed' },
    "[audit]='exit code 1'",
    /audit: failed/,
  ],
  [
    'the editor broke behind its last test',
    { tests: '5 passed, 0 failed', editor: '12 passed, 0 failed' },
    "[editor]='exit code 1'",
    /editor: failed/,
  ],
] as const)('it is none where %s', (_, results, broken, says) => {
  const { status, stdout } = outcome(results, broken);
  expect(stdout).toMatch(says);
  expect(status).toBe(1);
});

test('every suite is a stage', () => {
  for (const stage of ['lint', 'types', 'audit', 'tests', 'fuzz', 'editor'])
    expect(script).toMatch(new RegExp(`^stage ${stage} `, 'm'));
});
