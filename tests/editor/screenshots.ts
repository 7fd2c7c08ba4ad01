/**
 * `npm run screenshots [-- NAME…]`: takes the pictures of `scenes.ts` in the real editor with the packed extension, for
 * README.md and client/PICTURES.md. Each is in client/pictures/ as WebP and in .cache/screenshots/ as PNG, to look at before
 * you commit it.
 */
import { spawnSync } from 'node:child_process';
import { cp, mkdir, readFile, writeFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { type Scene, scenes } from './scenes.ts';
import { openStudio, type Studio } from './studio.ts';

const root = resolve(import.meta.dirname, '../..');
const looked = join(root, '.cache/screenshots');
const kept = join(root, 'client/pictures');

const asked = process.argv.slice(2);
const names = asked.length ? asked : Object.keys(scenes);
const unknown = names.filter((name) => !scenes[name]);
if (unknown.length) {
  console.error(`No scene ${unknown.join(', ')}. There are: ${Object.keys(scenes).join(', ')}.`);
  process.exit(1);
}

await mkdir(looked, { recursive: true });
const studio = await openStudio({ 'editor.fontSize': 14 });
let failures = 0;
for (const name of names) {
  try {
    await take(studio, name, scenes[name] as Scene);
  } catch (error) {
    failures++;
    console.error(`${name}: ${error instanceof Error ? error.message : error}`);
  }
}
await studio.close();
process.exit(failures ? 1 : 0);

async function take(studio: Studio, name: string, scene: Scene): Promise<void> {
  const pngs: Buffer[] = [];
  for (const theme of scene.themes ?? ['Light Modern']) {
    const png = await shoot(studio, name, scene, theme);
    const nth = scene.themes === undefined ? '' : `-${pngs.length + 1}`;
    await writeFile(join(looked, `${name}${nth}.png`), png);
    pngs.push(png);
  }
  await studio.keep(join(kept, `${name}.webp`), pngs);
}

async function shoot(studio: Studio, name: string, scene: Scene, theme: string): Promise<Buffer> {
  // A copy, and one for each scene: what one types must not be in the next.
  const workspace = join(studio.folders.home, `${name}-${theme}`.replaceAll(' ', '-'), 'procedures');
  await cp(join(root, 'samples'), workspace, { recursive: true });
  if (scene.committed) commitAll(workspace);
  const file = join(workspace, scene.file);
  const page = await studio.window({
    workspace,
    file,
    at: placeAfter(await readFile(file, 'utf8'), scene.at),
    size: scene.size ?? { width: 1000, height: 640 },
    scale: 1.25,
    settings: { 'workbench.colorTheme': theme, ...scene.settings },
  });
  try {
    await page
      .locator(scene.ready ?? '.monaco-editor .squiggly-error')
      .first()
      .waitFor();
    // The counters in the status bar, lenses and hints come last.
    await page.locator('[id="status.problems"]').waitFor();
    await page.waitForTimeout(2000);
    if (!scene.tree) await page.keyboard.press('Control+B');
    await scene.act?.(page);
    // Animations of menus and hovers last a few frames more.
    await page.waitForTimeout(500);
    return await page.screenshot();
  } catch (error) {
    await studio.evidence(page);
    throw error;
  } finally {
    await page.close();
  }
}

/** A repository with all that is there in its one commit. */
function commitAll(folder: string): void {
  const who = ['-c', 'user.name=Author', '-c', 'user.email=author@example.invalid', '-c', 'commit.gpgsign=false'];
  for (const args of [
    ['init', '-q'],
    ['add', '.'],
    [...who, 'commit', '-q', '-m', 'Procedures'],
  ]) {
    const { status, stderr } = spawnSync('git', args, { cwd: folder, encoding: 'utf8' });
    if (status !== 0) throw new Error(`git ${args.join(' ')}: ${stderr}`);
  }
}

/** Line and column, from 1, of the end of the first `text`. Throws where the file has none. */
function placeAfter(content: string, text: string): [line: number, column: number] {
  const at = content.indexOf(text);
  if (at < 0) throw new Error(`the sample has no '${text}'`);
  const before = content.slice(0, at + text.length).split('\n');
  return [before.length, (before.at(-1) as string).length + 1];
}
