import { join } from 'node:path';
import { build } from 'esbuild';

const root = join(import.meta.dirname, '..');

/** The source files that Node reads before `entry` runs, by their paths from the root; not those that it may import later. */
export async function readToStart(entry: string): Promise<readonly string[]> {
  const { metafile } = await build({
    absWorkingDir: root,
    entryPoints: { entry },
    outdir: 'nowhere',
    bundle: true,
    splitting: true,
    platform: 'node',
    format: 'esm',
    external: ['vscode'],
    write: false,
    metafile: true,
  });
  const seen = new Set<string>();
  const read = (path: string): string[] => {
    if (seen.has(path)) return [];
    seen.add(path);
    const { inputs, imports } = metafile.outputs[path]!;
    const now = imports.filter(({ kind, external }) => kind === 'import-statement' && external !== true);
    return [...Object.keys(inputs), ...now.flatMap((each) => read(each.path))];
  };
  return read('nowhere/entry.js');
}
