/** `npm run build`: bundles the extension and its server, each for desktop and web, into dist/, with the licences of all that went in. */
import { mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { type BuildOptions, build, type Metafile, type Plugin } from 'esbuild';

const root = import.meta.dirname;
const dist = join(root, 'dist');

const common: BuildOptions = {
  absWorkingDir: root,
  bundle: true,
  // Before `main`: the UMD files of jsonc-parser require each other in a way that no bundler follows.
  mainFields: ['module', 'main'],
  minify: true,
  sourcemap: 'linked',
  legalComments: 'eof',
  metafile: true,
  logLevel: 'warning',
};

/**
 * Of the desktop: CommonJS needs no shim for the `require` calls of the protocol library, and the extension host of
 * every engine the manifest admits loads it. The `.cjs` ending outvotes "type": "module".
 */
const desktop: BuildOptions = { platform: 'node', format: 'cjs', target: 'node22' };
/** Of the web: a missing shim for something of Node fails here, not in the browser. */
const web: BuildOptions = { platform: 'browser', target: 'es2022' };

/** Leaves the client to a bundle of its own, so that the editor reads the little that activates the extension, and waits no longer. */
const clientApart: Plugin = {
  name: 'client-apart',
  setup: ({ onResolve }) =>
    onResolve({ filter: /^\.\/desktop-client\.ts$/ }, () => ({ path: './client.cjs', external: true })),
};

/** Leaves out the reason and the examples of a check that stand on its page alone; throws where one is written in a way that it cannot read. */
const withoutPages: Plugin = {
  name: 'without-pages',
  setup: ({ onLoad }) =>
    onLoad({ filter: /\/server\/src\/checks\/[a-z-]+\.ts$/ }, async ({ path }) => {
      const contents = (await readFile(path, 'utf8')).replace(
        /^ {2}(why|bad|good):\s+(?:`[^`]*`|'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"),$/gm,
        "  $1: '',",
      );
      const left = /^ {2}(?:why|bad|good):(?! '',$).*/m.exec(contents)?.[0];
      if (left !== undefined) throw new Error(`${path}: \`${left.trim()}\` is no single text: write it as one.`);
      return { contents, loader: 'ts' };
    }),
};

/**
 * Of the desktop and of the web in one file, half as much to fetch. Each host reads its own modules of the protocol library
 * only when the server starts; a worker knows no `exports`, and none of what Node brings.
 */
export const server: BuildOptions = {
  ...common,
  ...desktop,
  entryPoints: ['server/src/server.ts'],
  outfile: 'dist/server.cjs',
  format: 'iife',
  conditions: ['node', 'browser'],
  supported: { 'dynamic-import': false },
  plugins: [withoutPages],
};

const bundles: BuildOptions[] = [
  {
    ...desktop,
    entryPoints: ['client/src/extension.ts'],
    outfile: 'dist/extension.cjs',
    external: ['vscode'],
    plugins: [clientApart],
    // `vscode` stands behind `require` alone, also for what is loaded later.
    supported: { 'dynamic-import': false },
  },
  { ...desktop, entryPoints: ['client/src/desktop-client.ts'], outfile: 'dist/client.cjs', external: ['vscode'] },
  server,
  // The script of the views' pages, on the desktop and in the web.
  { ...web, entryPoints: ['client/src/views/page/script.ts'], outfile: 'dist/page.js', format: 'iife' },
  // The web's extension host reads CommonJS only, and knows it by the ending, as on the desktop.
  {
    ...web,
    entryPoints: ['client/src/web.ts'],
    outfile: 'dist/web/extension.cjs',
    format: 'cjs',
    external: ['vscode'],
  },
];

if (import.meta.main) {
  await rm(dist, { recursive: true, force: true });
  await mkdir(dist, { recursive: true });
  const results = await Promise.all(bundles.map((bundle) => build({ ...common, ...bundle })));
  await writeFile(join(dist, 'LICENSES.txt'), await licences(results.map(({ metafile }) => metafile as Metafile)));
}

/** Name, version, licence and licence text of every package whose code is in the bundles. Throws where one has no text. */
async function licences(metafiles: Metafile[]): Promise<string> {
  const folders = new Set<string>();
  for (const { outputs } of metafiles) {
    for (const { inputs } of Object.values(outputs)) {
      for (const path of Object.keys(inputs)) {
        const folder = /^.*node_modules\/(?:@[^/]+\/)?[^/]+/.exec(path)?.[0];
        if (folder) folders.add(folder);
      }
    }
  }
  const entries = [...folders].sort().map(async (folder) => {
    const { name, version, license } = JSON.parse(await readFile(join(root, folder, 'package.json'), 'utf8'));
    const file = (await readdir(join(root, folder))).find((entry) => /^licen[cs]e/i.test(entry));
    if (!file) throw new Error(`${folder} has no licence file: it may not be bundled without one.`);
    const text = await readFile(join(root, folder, file), 'utf8');
    return `${name} ${version} (${license})\n\n${text.trim()}\n`;
  });
  return (await Promise.all(entries)).join(`\n${'-'.repeat(80)}\n\n`);
}
