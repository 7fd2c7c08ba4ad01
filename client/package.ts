/** `npm run package`: packs what `.vscodeignore` lets through into fettle-VERSION.vsix; fails when it is too big or incomplete. */
import { cp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { join, relative } from 'node:path';
import { createVSIX, listFiles, PackageManager } from '@vscode/vsce';

const limitKB = 1000;
const root = join(import.meta.dirname, '..');
const manifest = JSON.parse(await readFile(join(root, 'package.json'), 'utf8'));
const { languages, grammars, snippets, jsonValidation, walkthroughs } = manifest.contributes;

const wanted = [
  'package.json',
  'package.nls.json',
  'client/l10n/bundle.l10n.json',
  'README.md',
  'LICENSE',
  'dist/LICENSES.txt',
  'dist/client.cjs',
  'dist/server.cjs',
  'dist/page.js',
  ...[
    manifest.main,
    manifest.browser,
    manifest.icon,
    languages[0].configuration,
    languages[0].icon.light,
    languages[0].icon.dark,
    grammars[0].path,
    snippets[0].path,
    jsonValidation[0].url,
    ...walkthroughs[0].steps.map(({ media }: { media: { image: string } }) => media.image),
  ],
].map((path: string) => relative('.', path));

const files = await listFiles({ cwd: root, packageManager: PackageManager.None });
const missing = wanted.filter((path) => !files.includes(path));
if (missing.length)
  throw new Error(`The package lacks ${missing.join(', ')}: make them, or let them pass in .vscodeignore.`);

/**
 * The README as the editor shows it for the installed extension: what is not in the package cannot be led to, so that its links
 * become plain words and its pictures go.
 */
function packedReadme(text: string): string {
  const packed = (address: string) => /^[a-z]+:|^#/.test(address) || files.includes(address);
  return text
    .replace(/ ?!\[[^\]]*\]\(([^)]+)\)/g, (image, address: string) => (packed(address) ? image : ''))
    .replace(/(?<!!)\[((?:`[^`]*`|[^\]])+)\]\(([^)]+)\)/g, (link, words: string, address: string) =>
      packed(address) ? link : words,
    );
}
// Packed from a copy: the editor shows the README at the root of the package, and ours stays as it is.
const stage = join(root, '.cache/package');
await rm(stage, { recursive: true, force: true });
for (const file of files) await cp(join(root, file), join(stage, file));
for (const file of files.filter((each) => each.endsWith('.json'))) {
  const data: unknown = JSON.parse(await readFile(join(stage, file), 'utf8'));
  await writeFile(join(stage, file), JSON.stringify(data));
}
// All that is in it goes in.
await writeFile(join(stage, '.vscodeignore'), '');
await writeFile(join(stage, 'README.md'), packedReadme(await readFile(join(root, 'README.md'), 'utf8')));

const packagePath = join(root, `${manifest.name}-${manifest.version}.vsix`);
await createVSIX({
  cwd: stage,
  packagePath,
  dependencies: false,
  allowMissingRepository: true,
  rewriteRelativeLinks: false,
});

const size = (await stat(packagePath)).size / 1000;
console.log(
  `${relative(process.cwd(), packagePath)}: ${size.toFixed(0)} KB of at most ${limitKB} KB, ${files.length} files`,
);
if (size > limitKB) throw new Error(`The package is over ${limitKB} KB: see what grew in dist/.`);
