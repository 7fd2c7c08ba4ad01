/** `npm run pages`: writes the generated pages and tables; with `--check`, only says which are stale (exit 1). */
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { allChecks } from '../checks/all.ts';
import { methodTable, type TestFile } from '../methods.ts';
import { procedureSchema } from '../outputs/export.ts';
import { checkPage, checkTable, editorCommandTable, replaceBetween, settingTable } from '../outputs/pages.ts';
import { projectSchema } from '../project/schema.ts';
import { severityChoices } from '../settings.ts';
import { loadAllCommands } from './commands/all.ts';
import { syntaxDiagrams } from './syntax-diagrams.ts';

const root = resolve(import.meta.dirname, '../../..');
const allCommands = await loadAllCommands();
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
function generatedFiles(): Map<string, string> {
  const files = new Map<string, string>();
  let readme = readFileSync(join(root, 'README.md'), 'utf8');
  readme = replaceBetween(readme, 'checks', checkTable());
  readme = replaceBetween(readme, 'commands', commandTable());
  const described = [readJson('package.json'), readJson('package.nls.json')] as const;
  readme = replaceBetween(readme, 'editor-commands', editorCommandTable(...described));
  readme = replaceBetween(readme, 'settings', settingTable(...described));
  files.set('README.md', readme);
  for (const check of allChecks) files.set(`server/checks/${check.code}.md`, checkPage(check));
  files.set('server/schemas/fettle.schema.json', json(projectSchema()));
  const developers = readFileSync(join(root, 'DEVELOPERS.md'), 'utf8');
  files.set('DEVELOPERS.md', replaceBetween(developers, 'methods', methodTable(testFiles())));
  for (const [name, content] of manifest()) files.set(name, content);
  files.set('client/l10n/bundle.l10n.json', spread(wordsOf(join(root, 'client/src'))));
  files.set('server/schemas/procedure.schema.json', json(procedureSchema()));
  files.set('grammar/syntax-diagrams.svg', syntaxDiagrams());
  return files;
}

/** The tests of features, by themselves and over the protocol. */
export const testFiles = (): TestFile[] =>
  ['features', 'protocol'].flatMap((folder) =>
    readdirSync(join(root, 'tests', folder))
      .filter((name) => name.endsWith('.test.ts'))
      .sort()
      .map((name): TestFile => [`tests/${folder}/${name}`, readFileSync(join(root, 'tests', folder, name), 'utf8')]),
  );

const readJson = (name: string) => JSON.parse(readFileSync(join(root, name), 'utf8'));

/** The extension's manifest and its texts, with a setting for the severity of each check. */
function manifest(): [string, string][] {
  const manifest = readJson('package.json');
  manifest.contributes.configuration.properties['fettle.severity'].properties = Object.fromEntries(
    allChecks.map(({ code, severity }) => [
      code,
      {
        enum: severityChoices.filter((choice) => code !== 'syntax' || choice !== 'off'),
        default: severity,
        description: `%check.${code}%`,
      },
    ]),
  );
  const own = Object.entries(readJson('package.nls.json')).filter(([key]) => !key.startsWith('check.'));
  const texts = [...own, ...allChecks.map(({ code, fires }) => [`check.${code}`, `Fires when ${fires}`])];
  return [
    ['package.json', spread(manifest)],
    ['package.nls.json', spread(Object.fromEntries(texts))],
  ];
}

/** The text of every `l10n.t('…')` below a folder, by itself: what translators start from. */
function wordsOf(folder: string): Record<string, string> {
  const words = readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .flatMap((name) => [
      ...readFileSync(join(folder, name), 'utf8').matchAll(/\bl10n\.t\(\s*(['"])((?:\\.|(?!\1).)*)\1/g),
    ])
    .map(([, , text]) => text!.replace(/\\(.)/g, '$1'));
  return Object.fromEntries([...new Set(words)].sort().map((text) => [text, text]));
}

/** As npm lays its manifest out. */
const spread = (value: unknown): string => `${JSON.stringify(value, null, 2)}\n`;

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
    for (const name of stale) {
      const content = files.get(name);
      const path = join(root, name);
      mkdirSync(dirname(path), { recursive: true });
      if (content === undefined) rmSync(path);
      else writeFileSync(path, content);
    }
    process.stdout.write(`${stale.length} of ${files.size} pages written\n`);
  }
}
