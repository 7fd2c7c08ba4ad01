/** `npm run package`: packs what `.vscodeignore` lets through into fettle-VERSION.vsix; fails when it is too big or incomplete. */
import { readFile, stat } from 'node:fs/promises';
import { join, relative } from 'node:path';
import { createVSIX, listFiles, PackageManager } from '@vscode/vsce';

const limitKB = 1000;
const root = join(import.meta.dirname, '..');
const manifest = JSON.parse(await readFile(join(root, 'package.json'), 'utf8'));
const { languages, grammars, snippets, jsonValidation, walkthroughs } = manifest.contributes;

const wanted = [
  'package.json',
  'package.nls.json',
  'l10n/bundle.l10n.json',
  'README.md',
  'LICENSE',
  'dist/LICENSES.txt',
  'dist/server.cjs',
  'dist/page.js',
  'dist/web/server.js',
  ...[
    manifest.main,
    manifest.browser,
    languages[0].configuration,
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

const packagePath = join(root, `${manifest.name}-${manifest.version}.vsix`);
await createVSIX({
  cwd: root,
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
