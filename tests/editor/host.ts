#!/usr/bin/env node
/**
 * A real editor where no desktop one is installed: the npm package code-server carries the workbench and the Node
 * extension host, Debian's Chromium shows it. Nothing comes from an update service.
 *
 * As a program it understands the desktop editor's arguments, so that `runTests` of @vscode/test-electron starts either:
 *   host.ts --install-extension FILE.vsix --extensions-dir DIR --user-data-dir DIR
 *   host.ts FOLDER --extensionTestsPath=FILE.cjs --extensionDevelopmentPath=DIR --extensions-dir DIR --user-data-dir DIR
 *   host.ts FOLDER            `npm run editor`: opens FOLDER with the extension, for a person to work in
 */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { existsSync, rmSync } from 'node:fs';
import { cp, mkdir, mkdtemp, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { arch, platform, tmpdir } from 'node:os';
import { delimiter, join, resolve } from 'node:path';
import { format, parseArgs } from 'node:util';
import { type Browser, chromium, type Page } from 'playwright-core';

const root = resolve(import.meta.dirname, '../..');
const codeServer = '4.139.1';
const cache = join(root, '.cache/editor-host');
const nodePackage = `${platform() === 'darwin' && arch() === 'arm64' ? 'node-bin' : 'node'}-${platform()}-${arch()}`;
const nodeHome = join(cache, 'node_modules', nodePackage);
const entry = join(cache, 'node_modules/code-server/out/node/entry.js');
const debianPackages = ['chromium', 'libkrb5-dev', 'build-essential', 'python3'];

/** Longest run of a suite, start included, in ms: an editor that hangs must not hang the caller. */
export const limit = Number(process.env.FETTLE_EDITOR_LIMIT ?? 300) * 1000;

/**
 * User settings that keep the workbench quiet, offline and away from our fixtures. Only values of today: older ones the
 * workbench rewrites on its start, which shows in pictures.
 */
export const quietSettings: Record<string, unknown> = {
  'workbench.startupEditor': 'none',
  'workbench.secondarySideBar.defaultVisibility': 'hidden',
  'files.autoSave': 'off',
  'telemetry.telemetryLevel': 'off',
  'extensions.autoCheckUpdates': false,
  'extensions.autoUpdate': 'off',
  'chat.disableAIFeatures': true,
};

/** Folders of one run of the editor; all below `home`, which is deleted when this process ends. */
export type Folders = { home: string; userData: string; extensions: string };

/** New, empty folders in a short place (a long TMPDIR kills Chromium), with `settings` as the user's. */
export async function makeFolders(settings = quietSettings): Promise<Folders> {
  const home = await mkdtemp(join(tmpdir().length > 60 ? '/tmp' : tmpdir(), 'fettle-'));
  const folders = { home, userData: join(home, 'user'), extensions: join(home, 'extensions') };
  await mkdir(join(folders.userData, 'User'), { recursive: true });
  await mkdir(folders.extensions);
  await writeFile(join(folders.userData, 'User/settings.json'), JSON.stringify(settings, null, 2));
  process.once('exit', () => rmSync(home, { recursive: true, force: true, maxRetries: 5 }));
  return folders;
}

/** Puts the host into the cache on first use. Throws with the remedy where that cannot work. */
export async function ensureHost(): Promise<void> {
  ensureDebianPackages();
  if (existsSync(join(cache, 'complete'))) return;
  if (!/^v24\./.test(process.version))
    throw new Error(`Node 24 is needed, not ${process.version}: start this with npm run.`);
  console.log(`Installing code-server ${codeServer} into ${cache}, once: about two minutes and 800 MB.`);
  // Made aside and renamed: a run that is cut short, or a second one beside it, leaves no half host.
  const part = `${cache}.${process.pid}`;
  try {
    await mkdir(part, { recursive: true });
    await writeFile(join(part, 'package.json'), JSON.stringify({ private: true }));
    // The Node package first: its headers build the native parts, its program is the first on the second install's PATH.
    npmInstall(part, `${nodePackage}@${process.versions.node}`);
    npmInstall(part, `code-server@${codeServer}`);
    await writeFile(join(part, 'complete'), `code-server ${codeServer}, node ${process.versions.node}\n`);
    await rm(cache, { recursive: true, force: true });
    await rename(part, cache);
  } finally {
    await rm(part, { recursive: true, force: true });
  }
}

function npmInstall(folder: string, name: string): void {
  run('npm', ['install', '--prefix', folder, '--no-audit', '--no-fund', '--loglevel=error', name], {
    PATH: [join(folder, 'node_modules', nodePackage, 'bin'), process.env.PATH].join(delimiter),
    npm_config_nodedir: join(folder, 'node_modules', nodePackage),
    npm_config_ignore_scripts: 'false',
  });
}

function ensureDebianPackages(): void {
  if (chromiumProgram() && (existsSync(join(cache, 'complete')) || canCompile())) return;
  const line = `apt-get install --yes --no-install-recommends ${debianPackages.join(' ')}`;
  if (process.getuid?.() !== 0 || !commandExists('apt-get')) {
    throw new Error(
      `The editor host needs Chromium and a compiler. As root: ${line}\nOr name a Chromium in FETTLE_CHROMIUM.`,
    );
  }
  run('apt-get', ['update'], {});
  run('apt-get', line.split(' ').slice(1), { DEBIAN_FRONTEND: 'noninteractive' });
}

/** The host's native parts are built on this machine; one of them needs the header of libkrb5-dev. */
const canCompile = (): boolean =>
  ['python3', 'make', 'c++'].every(commandExists) &&
  (platform() !== 'linux' || existsSync('/usr/include/gssapi/gssapi.h'));

function chromiumProgram(): string | undefined {
  const named = process.env.FETTLE_CHROMIUM;
  if (named && !existsSync(named)) throw new Error(`FETTLE_CHROMIUM names ${named}, which does not exist.`);
  return named ?? ['chromium', 'chromium-browser', 'google-chrome'].map(commandExists).find(Boolean);
}

function commandExists(name: string): string | undefined {
  return (process.env.PATH ?? '')
    .split(delimiter)
    .map((folder) => join(folder, name))
    .find(existsSync);
}

function run(program: string, args: string[], env: NodeJS.ProcessEnv): void {
  const { status, error, stdout, stderr } = spawnSync(program, args, {
    env: { ...cleanEnvironment(), ...env },
    encoding: 'utf8',
  });
  if (status === 0) return;
  throw new Error(`${program} ${args.join(' ')} failed (${error?.message ?? status}):\n${stdout ?? ''}${stderr ?? ''}`);
}

/** Our environment without what would turn the host into something else: an outer editor's, an outer npm's. */
function cleanEnvironment(): NodeJS.ProcessEnv {
  const foreign =
    /^(VSCODE_|PORT$|PASSWORD$|HASHED_PASSWORD$|npm_(package|lifecycle|command|config_(local_prefix|user_agent)))/;
  return Object.fromEntries(Object.entries(process.env).filter(([name]) => !foreign.test(name)));
}

const serverArguments = ({ home, userData, extensions }: Folders) => [
  entry,
  ...['--config', join(home, 'config.yaml'), '--user-data-dir', userData, '--extensions-dir', extensions],
];

const serverEnvironment = (): NodeJS.ProcessEnv => ({
  ...cleanEnvironment(),
  // No gallery: the workbench would ask it for updates and recommendations.
  EXTENSIONS_GALLERY: '{"serviceUrl":""}',
  PATH: [join(nodeHome, 'bin'), process.env.PATH].join(delimiter),
});

/** Installs a packed extension into `folders`. Throws with the host's output where it refuses. */
export async function installExtension(folders: Folders, vsix: string): Promise<void> {
  await ensureHost();
  run(join(nodeHome, 'bin/node'), [...serverArguments(folders), '--install-extension', vsix], serverEnvironment());
}

/** A running host: `origin` is its address, `authority` the same for vscode-remote URIs. */
export type Host = { origin: string; authority: string; stop(): Promise<void> };

/** Starts the host on a free loopback port. `trusted: false` leaves workspace trust on, as a user meets it. */
export async function startHost(folders: Folders, { trusted = true } = {}): Promise<Host> {
  await ensureHost();
  const args = [
    ...serverArguments(folders),
    ...['--auth', 'none', '--bind-addr', '127.0.0.1:0', '--disable-telemetry', '--disable-update-check'],
    ...['--disable-getting-started-override', '--vscode-option', 'enable-smoke-test-driver'],
    ...(trusted ? ['--disable-workspace-trust'] : []),
  ];
  // Its own process group: extension hosts and language servers end with it.
  const server = spawn(join(nodeHome, 'bin/node'), args, { env: serverEnvironment(), detached: true });
  const stop = () => stopGroup(server);
  // Before the folders go: a living server would make them anew.
  process.prependOnceListener('exit', () => killGroup(server, 'SIGKILL'));
  let output = '';
  const origin = await new Promise<string>((found, failed) => {
    const read = (data: Buffer) => {
      output += data;
      const address = /listening on (http:\/\/127\.0\.0\.1:\d+)/.exec(output);
      if (address?.[1]) found(address[1]);
    };
    server.stdout.on('data', read);
    server.stderr.on('data', read);
    server.once('error', failed);
    server.once('exit', (code) =>
      failed(new Error(`The editor host ended with ${code} before it listened:\n${output}`)),
    );
  });
  return { origin, authority: new URL(origin).host, stop };
}

function killGroup({ pid }: ChildProcess, signal: NodeJS.Signals): void {
  try {
    if (pid) process.kill(-pid, signal);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ESRCH') throw error;
  }
}

async function stopGroup(child: ChildProcess): Promise<void> {
  if (child.exitCode === null && child.signalCode === null) {
    const ended = new Promise((done) => child.once('exit', done));
    killGroup(child, 'SIGTERM');
    await Promise.race([ended, new Promise((late) => setTimeout(late, 3000).unref())]);
  }
  killGroup(child, 'SIGKILL');
}

/** A Chromium that reaches loopback and nothing else. */
export async function openBrowser(): Promise<Browser> {
  ensureDebianPackages();
  return chromium.launch({
    executablePath: chromiumProgram(),
    chromiumSandbox: false,
    env: { ...(cleanEnvironment() as Record<string, string>), ...(tmpdir().length > 60 ? { TMPDIR: '/tmp' } : {}) },
    args: [
      ...['--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking'],
      ...['--disable-component-update', '--disable-sync'],
      '--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1',
    ],
  });
}

/** The address that opens a folder, or the folders of a `.code-workspace` file, with `payload` as the workbench's own options; absolute paths become remote URIs. */
export function workbenchAddress(
  { origin, authority }: Host,
  folder: string,
  payload: [key: string, value: string][] = [],
): string {
  const remote = payload.map(([key, value]) => [
    key,
    value.startsWith('/') ? `vscode-remote://${authority}${value}` : value,
  ]);
  const kind = folder.endsWith('.code-workspace') ? 'workspace' : 'folder';
  return `${origin}/?${kind}=${encodeURIComponent(folder)}&payload=${encodeURIComponent(JSON.stringify(remote))}`;
}

/** What the workbench itself says on every start; it comes by the same way as the suite's own lines, with the same type. */
const chatter =
  /^(Ignoring fetching|Updating additional|Creating a socket|Resolv(ing|ed) connection|Timed out waiting for auth|No search provider|Canceled: Canceled|\[(reconnection|Service Worker|AgentHost|AccountPolicy))/;

/** Opens `address` and waits for the suite in the extension host to end. Returns its exit code; the console shows its lines, `lines` keeps all. */
async function runSuite(page: Page, address: string, lines: string[]): Promise<number> {
  await page.exposeFunction('codeAutomationLog', (type: string, args: unknown[]) => {
    const line = format(...args);
    lines.push(line);
    if (!chatter.test(line)) process[type === 'error' ? 'stderr' : 'stdout'].write(`${line}\n`);
  });
  let late: NodeJS.Timeout | undefined;
  const ended = new Promise<number>((exit, fail) => {
    const exposed = page.exposeFunction('codeAutomationExit', exit);
    page.once('crash', () => fail(new Error('The page crashed.')));
    page.once('close', () => fail(new Error('The page closed before the suite ended.')));
    late = setTimeout(() => fail(new Error(`The suite did not end within ${limit / 1000} s.`)), limit);
    exposed.then(() => page.goto(address)).catch(fail);
  });
  return ended.finally(() => clearTimeout(late));
}

/** Keeps a picture, the lines and the logs of a failed run in `.cache/editor-failure`, and says so. */
export async function keepEvidence(folders: Folders, page: Page, lines: string[]): Promise<void> {
  const evidence = join(root, '.cache/editor-failure');
  await rm(evidence, { recursive: true, force: true });
  await mkdir(evidence, { recursive: true });
  await writeFile(join(evidence, 'output.txt'), lines.join('\n'));
  // Both may be missing after a crash; what is there must still be kept.
  await page.screenshot({ path: join(evidence, 'page.png') }).catch(() => {});
  await cp(join(folders.userData, 'logs'), join(evidence, 'logs'), { recursive: true }).catch(() => {});
  console.error(`Picture and logs: ${evidence}`);
}

/** The newest package in the project's root. Throws where there is none. */
export async function newestPackage(): Promise<string> {
  const { name, version } = JSON.parse(await readFile(join(root, 'package.json'), 'utf8'));
  const vsix = join(root, `${name}-${version}.vsix`);
  if (!existsSync(vsix)) throw new Error(`${vsix} is missing: npm run package`);
  return vsix;
}

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({
    // The desktop's other switches (--no-sandbox and the like) mean nothing here.
    strict: false,
    allowPositionals: true,
    options: {
      'install-extension': { type: 'string' },
      extensionTestsPath: { type: 'string' },
      extensionDevelopmentPath: { type: 'string' },
      'extensions-dir': { type: 'string' },
      'user-data-dir': { type: 'string' },
      'disable-workspace-trust': { type: 'boolean' },
    },
  });
  const text = (key: keyof typeof values) => (typeof values[key] === 'string' ? resolve(values[key]) : undefined);
  const own = await makeFolders();
  const folders = {
    ...own,
    userData: text('user-data-dir') ?? own.userData,
    extensions: text('extensions-dir') ?? own.extensions,
  };
  const vsix = text('install-extension');
  if (vsix) {
    await installExtension(folders, vsix);
    return 0;
  }
  const [folder] = positionals;
  if (!folder) throw new Error('Name the folder to open.');
  const tests = text('extensionTestsPath');
  if (!tests) return await serve(folders, resolve(folder));

  const host = await startHost(folders, { trusted: values['disable-workspace-trust'] === true });
  const browser = await openBrowser();
  const page = await browser.newPage({ viewport: { width: 1400, height: 900 } });
  const address = workbenchAddress(host, resolve(folder), [
    ['extensionDevelopmentPath', text('extensionDevelopmentPath') ?? ''],
    ['extensionTestsPath', tests],
  ]);
  const lines: string[] = [];
  const code = await runSuite(page, address, lines).catch((error) => {
    console.error(error);
    return 1;
  });
  if (code !== 0) await keepEvidence(folders, page, lines);
  await browser.close();
  await host.stop();
  return code;
}

/** Opens a folder with the extension in the desktop editor where there is one, or serves it until the user stops it. */
async function serve(folders: Folders, folder: string): Promise<number> {
  const desktop = commandExists('code');
  if (desktop) {
    run(desktop, [`--extensionDevelopmentPath=${root}`, folder], {});
    return 0;
  }
  await installExtension(folders, await newestPackage());
  const host = await startHost(folders);
  console.log(`Fettle in a real editor: ${workbenchAddress(host, folder)}\nStop it with Ctrl+C.`);
  await new Promise((done) => process.once('SIGINT', done).once('SIGTERM', done));
  await host.stop();
  return 0;
}

if (import.meta.main) {
  // `exit` handlers end the server; without this a signal would leave it running.
  process.once('SIGTERM', () => process.exit(1));
  main().then(
    (code) => process.exit(code),
    (error) => {
      console.error(error instanceof Error ? error.message : error);
      process.exit(1);
    },
  );
}
