import type { Span } from '../../../grammar/syntax.ts';
import { isolated } from '../outputs/directed-text.ts';
import type { Snapshot } from '../snapshot.ts';
import type { Client } from './feature.ts';

/** Text of the author within Markdown; one that runs from right to left reorders nothing around it. */
export const escaped = (text: string): string => isolated(text).replace(/[\\`*_[\]<>~|&]/g, '\\$&');

/** A place as a link that editors follow. */
export const lineLink = (snapshot: Snapshot, span: Span): string => {
  const line = snapshot.lineOf(span);
  return `[line ${line}](${snapshot.fileOf(span).uri}#L${line})`;
};

/** Markdown for clients that only take plain text. */
const plain = (markdown: string): string =>
  markdown
    .replace(/^```\w*\n?|\n```$/gm, '')
    .replace(/\[([^\]]*)\]\([^)]*\)/g, '$1')
    .replace(/(?<!\\)(?:\*\*|`)/g, '')
    .replace(/\\([^A-Za-z0-9\s])/g, '$1');

export const markup = (lines: readonly string[], client: Client) => {
  const value = lines.join('\n');
  return client.markdown ? { kind: 'markdown' as const, value } : { kind: 'plaintext' as const, value: plain(value) };
};
