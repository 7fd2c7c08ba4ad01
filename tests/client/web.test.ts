import { builtinModules } from 'node:module';
import { join } from 'node:path';
import { build } from 'esbuild';
import { expect, it } from 'vitest';

const root = join(import.meta.dirname, '../..');

it.each(['client/src/web.ts', 'server/src/browser.ts', 'server/src/connection.ts'])(
  '%s needs nothing of Node',
  async (entry) => {
    const { metafile } = await build({
      absWorkingDir: root,
      entryPoints: [entry],
      bundle: true,
      platform: 'browser',
      external: ['vscode', ...builtinModules, 'node:*'],
      metafile: true,
      write: false,
      logLevel: 'error',
    });
    const outside = Object.values(metafile.outputs).flatMap(({ imports }) => imports.map(({ path }) => path));
    expect([...new Set(outside)]).toEqual(entry.startsWith('client') ? ['vscode'] : []);
  },
);
