/**
 * `npm run test:editor [-- --grep TEXT]`: installs the packed extension in a real editor and runs `suite/` there.
 *
 * The editor is the host of `host.ts`; or the desktop program that FETTLE_VSCODE names (/usr/share/code/code, not the
 * shell script); or, with FETTLE_VSCODE=download, one that @vscode/test-electron fetches.
 */
import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { cp, readFile, rm, writeFile } from 'node:fs/promises';
import { delimiter, dirname, join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { downloadAndUnzipVSCode, resolveCliArgsFromVSCodeExecutablePath, runTests } from '@vscode/test-electron';
import { build } from 'esbuild';
import { activationWindows, keepActivation, makeEmpty, readEditorsFigures, readRoundTrips } from './activation.ts';
import { ensureHost, limit, makeFolders, newestPackage } from './host.ts';
import { checkUntrusted } from './untrusted.ts';
import { checkWeb } from './web.ts';

const here = import.meta.dirname;
const root = resolve(here, '../..');
const bundle = join(root, 'dist/editor-suite');

const { values } = parseArgs({ options: { grep: { type: 'string' } } });

/** The program that takes the desktop editor's arguments, and the command that installs extensions into it. */
async function findEditor(): Promise<{ program: string; installer: string[] }> {
  const named = process.env.FETTLE_VSCODE;
  if (!named) {
    await ensureHost();
    // It starts itself with the first `node` on the PATH, which must be this one.
    process.env.PATH = [dirname(process.execPath), process.env.PATH].join(delimiter);
    const program = join(here, 'host.ts');
    return { program, installer: [program] };
  }
  const program =
    named === 'download'
      ? await downloadAndUnzipVSCode().catch((error) => {
          throw new Error(
            `No editor to download (${error.message}): unset FETTLE_VSCODE, or name an installed one in it.`,
          );
        })
      : named;
  const [cli = '', ...options] = resolveCliArgsFromVSCodeExecutablePath(program, { reuseMachineInstall: true });
  for (const file of [program, cli]) {
    if (!existsSync(file)) throw new Error(`FETTLE_VSCODE=${named}: there is no ${file}.`);
  }
  return { program, installer: [cli, ...options] };
}

/** Bundles every file of `suite/` by itself, so that a new test file needs no registration. */
async function bundleSuite(): Promise<void> {
  await rm(bundle, { recursive: true, force: true });
  await build({
    entryPoints: [join(here, 'suite/*.ts')],
    outdir: bundle,
    outExtension: { '.js': '.cjs' },
    bundle: true,
    platform: 'node',
    format: 'cjs',
    target: 'node22',
    sourcemap: 'inline',
    external: ['vscode', 'mocha'],
    logLevel: 'warning',
  });
}

async function main(): Promise<void> {
  const vsix = await newestPackage();
  const { program, installer } = await findEditor();
  await bundleSuite();
  const folders = await makeFolders();
  const profile = ['--user-data-dir', folders.userData, '--extensions-dir', folders.extensions];
  const [command = '', ...options] = installer;
  const workspace = join(folders.home, 'workspace');
  await cp(join(here, 'workspace'), workspace, { recursive: true });
  // A workspace file: to a single folder, an editor that runs a suite adds no second one.
  const folderList = join(folders.home, 'suite.code-workspace');
  await writeFile(folderList, JSON.stringify({ folders: [{ path: 'workspace' }] }));
  // The editor insists on an extension under development; ours is an installed one, so this one is empty. It is installed as well,
  // to be activated for comparison.
  const empty = await makeEmpty(folders.home);
  for (const file of [vsix, empty.vsix]) {
    const install = spawnSync(command, [...options, '--install-extension', file, ...profile], { encoding: 'utf8' });
    if (install.status !== 0) throw new Error(`${file} was not installed:\n${install.stdout}${install.stderr}`);
  }

  const tally = join(folders.home, 'tally.json');
  const tooLong = setTimeout(() => {
    console.error(`The editor did not end within ${limit / 1000} s: it is stopped.`);
    process.emit('SIGINT');
    process.emit('SIGINT');
  }, limit + 30_000);
  const activation = join(folders.home, 'activation.txt');
  const open = (env: Record<string, string | undefined>) =>
    runTests({
      vscodeExecutablePath: program,
      extensionDevelopmentPath: empty.folder,
      extensionTestsPath: join(bundle, 'index.cjs'),
      extensionTestsEnv: { FETTLE_TALLY: tally, FETTLE_SOURCE: root, FETTLE_ACTIVATION: activation, ...env },
      launchArgs: [folderList, ...profile],
    });
  await open({ FETTLE_GREP: values.grep }).finally(() => clearTimeout(tooLong));

  // A suite that never ran must not look like one that passed.
  const { passed, failed } = JSON.parse(await readFile(tally, 'utf8').catch(() => '{"passed":0,"failed":0}'));
  if (failed > 0 || passed === 0) {
    throw new Error(`The editor ended well, but its suite counts ${passed} passed, ${failed} failed.`);
  }
  if (values.grep) return;
  for (let window = 0; window < activationWindows; window++) {
    // In turns, since the machine is not always as busy; the suite's own window was the first of ours.
    await open({ FETTLE_ONLY_ACTIVATE: 'fettle.empty' });
    if (window > 0) await open({ FETTLE_ONLY_ACTIVATE: 'fettle.fettle' });
  }
  const roundTrip = await readRoundTrips(activation);
  // Only the host's page can be read.
  if (process.env.FETTLE_VSCODE) return await keepActivation({ roundTrip });
  await keepActivation({ roundTrip, editor: await readEditorsFigures(vsix, empty.vsix) });
  await checkUntrusted(vsix);
  await checkWeb(vsix);
}

main().then(
  () => process.exit(0),
  (error) => {
    console.error(error instanceof Error ? error.message : error);
    process.exit(1);
  },
);
