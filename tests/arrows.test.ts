import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

const root = resolve(import.meta.dirname, '..');

/** Layer of a file, by the longest folder that holds it. */
const layers = [
  'grammar',
  'server/src/model',
  'server/src/mechanics',
  'server/src/ledger',
  'server/src/checks',
  'server/src/project',
  'server/src/outputs',
  'server/src/features',
  'server/src/cli',
  'server/src',
  'client',
] as const;
type Layer = (typeof layers)[number];
const layerOf = (path: string): Layer | undefined => layers.find((layer) => path.startsWith(`${layer}/`));

/** What each layer may import of ours, as in the architecture of DEVELOPERS.md. */
const allowed: Record<Layer, readonly Layer[]> = {
  grammar: ['grammar'],
  'server/src/model': ['grammar', 'server/src/model'],
  'server/src/mechanics': ['server/src/mechanics'],
  'server/src/ledger': ['grammar', 'server/src/model', 'server/src/ledger'],
  'server/src/checks': [
    'grammar',
    'server/src/model',
    'server/src/mechanics',
    'server/src/ledger',
    'server/src/checks',
  ],
  'server/src/project': ['grammar', 'server/src/model', 'server/src/checks', 'server/src/project'],
  'server/src/outputs': [
    'grammar',
    'server/src/model',
    'server/src/mechanics',
    'server/src/ledger',
    'server/src/checks',
    'server/src/outputs',
  ],
  'server/src/features': [...layers.filter((layer) => layer !== 'client' && layer !== 'server/src/cli')],
  'server/src/cli': [...layers.filter((layer) => layer !== 'client' && layer !== 'server/src/features')],
  'server/src': [...layers.filter((layer) => layer !== 'client')],
  client: ['client', 'server/src'],
};
// vscode-languageserver-textdocument is a library of line and column arithmetic; it knows no protocol.
const protocol = /^(vscode$|vscode-languageserver(?!-textdocument)|vscode-languageclient|vscode-jsonrpc)/;

const files = ['grammar', 'server', 'client'].flatMap((folder) =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts') && !name.includes('node_modules'))
    .map((name) => join(folder, name)),
);

describe('the arrows go one way', () => {
  it.each(files)('%s', (file) => {
    const layer = layerOf(file);
    expect(layer, 'every source file belongs to a layer').toBeDefined();
    const text = readFileSync(join(root, file), 'utf8');
    for (const [, specifier] of text.matchAll(
      /(?:import|export)[^'"`;]*?from\s+'([^']+)'|import\(\s*'([^']+)'\s*\)/g,
    )) {
      if (specifier === undefined) continue;
      if (specifier.startsWith('.')) {
        const target = layerOf(relative(root, resolve(root, dirname(file), specifier)));
        if (target !== undefined) expect(allowed[layer!], `${file} imports ${specifier}`).toContain(target);
      } else if (protocol.test(specifier)) {
        expect(['client', 'server/src/features', 'server/src'], `${file} imports ${specifier}`).toContain(layer);
      }
    }
  });
});
