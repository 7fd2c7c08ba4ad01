import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { verdictOf } from './run.ts';

const report = (vulnerabilities: object, total: number): string =>
  JSON.stringify({ auditReportVersion: 2, vulnerabilities, metadata: { vulnerabilities: { high: total, total } } });

test('an audit that finds nothing is clean', () => expect(verdictOf(report({}, 0)).kind).toBe('clean'));

test('one that finds something says what', () => {
  const { kind, says } = verdictOf(report({ crate: { severity: 'high', range: '<2.0.0' } }, 1));
  expect(kind).toBe('vulnerable');
  expect(says).toContain('crate <2.0.0: high');
});

test.each([
  ['offers none', { message: '405 Method Not Allowed', statusCode: 405, error: { summary: '' } }],
  ['knows no such page', { message: '404 Not Found', statusCode: 404 }],
  ['is down', { message: '503 Service Unavailable', statusCode: 503 }],
  ['has no address here', { error: { code: 'ENOTFOUND', summary: 'request failed' } }],
  ['does not answer', { message: 'request to https://x failed, reason: connect ECONNREFUSED 127.0.0.1:9' }],
])('a registry that %s is no reason to stop, and is told of', (_, answer) => {
  const { kind, says } = verdictOf(JSON.stringify(answer));
  expect(kind).toBe('not asked');
  expect(says).toContain('COULD NOT BE ASKED');
});

test.each([
  ['nothing', ''],
  ['no JSON', 'npm error'],
  ['an answer without figures', '{}'],
  [
    'no lock file',
    JSON.stringify({ error: { code: 'ENOLOCK', summary: 'This command requires an existing lockfile.' } }),
  ],
  ['a refusal', JSON.stringify({ message: '401 Unauthorized', statusCode: 401 })],
])('%s is no clean audit', (_, stdout) => expect(verdictOf(stdout).kind).toBe('unreadable'));

test('CI asks', () =>
  expect(readFileSync(join(import.meta.dirname, '../../.ci/run'), 'utf8')).toMatch(
    /^stage audit npm run vulnerabilities$/m,
  ));
