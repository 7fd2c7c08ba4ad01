/** `npm run pages`: writes the generated pages and tables; with `--check`, only says which are stale (exit 1). */
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { allChecks } from '../checks/all.ts';
import { checkPage, checkTable, replaceBetween } from '../outputs/pages.ts';
import { projectSchema } from '../project/schema.ts';
import { allCommands } from './commands/all.ts';

const root = resolve(import.meta.dirname, '../../..');
const commandTable = (): string =>
  [
    '| command | what it does | for example |',
    '| --- | --- | --- |',
    ...allCommands.map(
      ({ name, operands, summary, example }) =>
        `| \`fettle ${name} ${operands.replace(/\|/g, '\\|')}\` | ${summary} | \`${example}\` |`,
    ),
  ].join('\n');

/** Every generated file with its content. */
export function generatedFiles(): Map<string, string> {
  const files = new Map<string, string>();
  let readme = readFileSync(join(root, 'README.md'), 'utf8');
  readme = replaceBetween(readme, 'checks', checkTable());
  readme = replaceBetween(readme, 'commands', commandTable());
  files.set('README.md', readme);
  for (const check of allChecks) files.set(`server/checks/${check.code}.md`, checkPage(check));
  files.set('server/schemas/fettle.schema.json', json(projectSchema()));
  return files;
}

/** Lists that fit on a line stand on one, as the formatter of this repository has it. */
function json(value: unknown): string {
  const text = (each: unknown, indent: string, before: number): string => {
    const inner = `${indent}  `;
    if (Array.isArray(each)) {
      const line = `[${each.map((item) => text(item, '', 0)).join(', ')}]`;
      if (!line.includes('\n') && indent.length + before + line.length < 120) return line;
      return `[\n${each.map((item) => inner + text(item, inner, 0)).join(',\n')}\n${indent}]`;
    }
    if (typeof each !== 'object' || each === null) return JSON.stringify(each);
    const rows = Object.entries(each).map(([key, item]) => {
      const name = `${JSON.stringify(key)}: `;
      return `${inner}${name}${text(item, inner, name.length)}`;
    });
    return rows.length === 0 ? '{}' : `{\n${rows.join(',\n')}\n${indent}}`;
  };
  return `${text(value, '', 0)}\n`;
}

/** Names of the generated files that differ from what they should hold, and of pages that belong to no check. */
export function stalePages(): string[] {
  const files = generatedFiles();
  const stale = [...files]
    .filter(([name, content]) => !existsSync(join(root, name)) || readFileSync(join(root, name), 'utf8') !== content)
    .map(([name]) => name);
  const pages = existsSync(join(root, 'server/checks')) ? readdirSync(join(root, 'server/checks')) : [];
  return [...stale, ...pages.map((page) => `server/checks/${page}`).filter((page) => !files.has(page))];
}

if (process.argv[1] === import.meta.filename) {
  const stale = stalePages();
  if (process.argv.includes('--check')) {
    for (const name of stale) process.stderr.write(`${name} is stale: run \`npm run pages\`\n`);
    process.exitCode = stale.length > 0 ? 1 : 0;
  } else {
    const files = generatedFiles();
    for (const name of ['checks', 'schemas']) mkdirSync(join(root, 'server', name), { recursive: true });
    for (const name of stale) {
      const content = files.get(name);
      if (content === undefined) rmSync(join(root, name));
      else writeFileSync(join(root, name), content);
    }
    process.stdout.write(`${stale.length} of ${files.size} pages written\n`);
  }
}
