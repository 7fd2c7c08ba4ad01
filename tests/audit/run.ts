/**
 * `npm run vulnerabilities`: asks the registry for known weaknesses of every dependency in the lock file. Ends with 1 where
 * there are some or where the answer cannot be read; where the registry offers no audit or cannot be reached, says so
 * loudly and ends with 0.
 */
import { spawnSync } from 'node:child_process';

export type Verdict = { readonly kind: 'clean' | 'vulnerable' | 'not asked' | 'unreadable'; readonly says: string };

interface Answer {
  readonly metadata?: { readonly vulnerabilities?: Readonly<Record<string, number>> };
  readonly vulnerabilities?: Readonly<
    Record<string, { readonly severity?: string; readonly range?: string; readonly isDirect?: boolean }>
  >;
  readonly statusCode?: number;
  readonly message?: string;
  readonly error?: { readonly code?: string; readonly summary?: string };
}

/** Answers of a registry that has no audit, or that is not itself. */
const notOffered = new Set([404, 405, 410, 500, 501, 502, 503, 504]);
const unreachable = /\b(?:ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ECONNRESET|ENETUNREACH|EHOSTUNREACH|ETIMEDOUT)\b|network/i;

/** What `npm audit --json` printed, read. */
export function verdictOf(stdout: string): Verdict {
  let answer: Answer;
  try {
    answer = JSON.parse(stdout) as Answer;
  } catch {
    return { kind: 'unreadable', says: `npm audit gave no JSON: ${stdout.slice(0, 200) || 'nothing'}` };
  }
  const { metadata, statusCode, message, error } = answer;
  const total = metadata?.vulnerabilities?.['total'];
  if (total === 0) return { kind: 'clean', says: 'npm audit: no known vulnerability' };
  if (total !== undefined) {
    const named = Object.entries(answer.vulnerabilities ?? {}).map(
      ([name, { severity = 'of unstated severity', range = '' }]) => `  ${name} ${range}: ${severity}`,
    );
    return { kind: 'vulnerable', says: [`npm audit: ${total} known, in`, ...named].join('\n') };
  }
  const reason = message ?? error?.summary ?? error?.code ?? 'no reason given';
  if (notOffered.has(statusCode ?? 0) || unreachable.test(`${error?.code ?? ''} ${reason}`))
    return { kind: 'not asked', says: `npm audit COULD NOT BE ASKED (${reason}): nothing is known of vulnerabilities` };
  return { kind: 'unreadable', says: `npm audit failed: ${reason}` };
}

if (process.argv[1] === import.meta.filename) {
  const { stdout } = spawnSync('npm', ['audit', '--json'], { encoding: 'utf8', maxBuffer: 2 ** 28, timeout: 120_000 });
  const { kind, says } = verdictOf(stdout ?? '');
  const rule = '!'.repeat(80);
  process.stdout.write(kind === 'clean' ? `${says}\n` : `${rule}\n${says}\n${rule}\n`);
  process.exitCode = kind === 'clean' || kind === 'not asked' ? 0 : 1;
}
