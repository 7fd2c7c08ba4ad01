import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Location, SymbolInformation, TextEdit, WorkspaceEdit } from 'vscode-languageserver';
import { fullClient, type Site } from '../../server/src/features/feature.ts';
import { references } from '../../server/src/features/references.ts';
import { rename } from '../../server/src/features/rename.ts';
import { workspaceSymbol } from '../../server/src/features/workspace-symbol.ts';
import { defaultPreferences } from '../../server/src/settings.ts';
import { type Files, keyOf, SourceFile, Workspace } from '../../server/src/workspace.ts';
import { folder, memory } from './scene.ts';

const token = { isCancellationRequested: false, onCancellationRequested: () => ({ dispose: () => {} }) };
const siteOf = (workspace: Workspace): Site => ({
  ...{ client: fullClient, preferences: defaultPreferences },
  ...{ workspace, token },
});

const names = ['cover', 'bolt', 'seal'] as const;
const paths = ['a.fettle', 'b.fettle', 'shared/c.fettle', 'shared/d.fettle'] as const;
const lineArb = fc.oneof(
  fc.constantFrom(...names).map((name) => `part ${name} "The ${name}" held by bolt`),
  fc.constantFrom('shared/c.fettle', 'shared/d.fettle', 'd.fettle', 'a.fettle').map((path) => `use "${path}"`),
  fc.constantFrom('procedure unit "Unit"', 'teardown', '', '# note'),
  fc.constantFrom('open', 'close').map((name) => `  step ${name} "Do it"`),
  fc.tuple(fc.constantFrom('remove', 'fit'), fc.constantFrom(...names)).map((words) => `    ${words.join(' ')}`),
);
const textArb = fc.array(lineArb, { maxLength: 9 }).map((lines) => `${lines.join('\n')}\n`);
const path = fc.constantFrom(...paths);
const doing = fc.oneof(
  fc.record({ do: fc.constant('write' as const), path, text: textArb }),
  fc.record({ do: fc.constant('delete' as const), path }),
  fc.record({ do: fc.constant('open' as const), path, text: textArb }),
  fc.record({
    do: fc.constant('type' as const),
    path,
    text: fc.constantFrom('x', '\n', 'part bolt\n', 'use "shared/c.fettle"\n'),
  }),
  fc.record({ do: fc.constant('close' as const), path }),
);

const placesOf = ({ documentChanges = [] }: WorkspaceEdit): Location[] =>
  documentChanges.flatMap((change) =>
    'edits' in change
      ? change.edits.map((edit) => ({ uri: change.textDocument.uri, range: (edit as TextEdit).range }))
      : [],
  );
const sorted = (places: readonly Location[]): string[] => places.map((place) => JSON.stringify(place)).sort();

/** All that is asked of names, in a text that can be compared. */
async function answers(workspace: Workspace): Promise<unknown> {
  const site = siteOf(workspace);
  const symbols = (await workspaceSymbol.answer({ query: '' }, site)) as SymbolInformation[];
  const found: unknown[] = [symbols.map((each) => JSON.stringify(each)).sort()];
  for (const { uri, version } of workspace.openFiles) {
    const snapshot = (await workspace.snapshot(uri))!;
    for (const { index } of snapshot.text.matchAll(/\b(?:cover|bolt|seal|open)\b/g)) {
      const position = snapshot.file.document.positionAt(index);
      const textDocument = { uri };
      const asked = { textDocument, position };
      const places = await references.answer(snapshot, { ...asked, context: { includeDeclaration: true } }, site);
      const uses = await references.answer(snapshot, { ...asked, context: { includeDeclaration: false } }, site);
      // A name for which there is no reason to refuse it.
      const edits = await Promise.resolve(rename.answer(snapshot, { ...asked, newName: 'new-name' }, site)).catch(
        String,
      );
      // Found by another way, in the trees themselves.
      if (edits !== null && typeof edits !== 'string') expect(sorted(places ?? [])).toEqual(sorted(placesOf(edits)));
      found.push([uri, version, index, places, uses, edits]);
    }
  }
  return found;
}

describe('what is kept of names', () => {
  it('answers as if all were read anew, whatever was done to the files', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(textArb, { minLength: 4, maxLength: 4 }),
        fc.array(doing, { maxLength: 12 }),
        async (texts, script) => {
          const onDisk: Record<string, string> = Object.fromEntries(paths.map((each, i) => [each, texts[i]!]));
          // Looks into the record each time, as a disk does.
          const files: Files = memory(onDisk);
          const workspace = new Workspace(files, [folder]);
          const open = new Map<string, SourceFile>();
          let version = 1;
          await answers(workspace);
          for (const step of script) {
            const uri = folder + step.path;
            const text = open.get(uri)?.text;
            if (step.do === 'write') onDisk[step.path] = step.text;
            if (step.do === 'delete') delete onDisk[step.path];
            if (step.do === 'write' || step.do === 'delete') workspace.didChangeOnDisk(uri, step.do === 'delete');
            if (step.do === 'open' && text === undefined) {
              open.set(uri, new SourceFile(uri, ++version, step.text));
              workspace.didOpen(uri, version, step.text);
            }
            if (step.do === 'type' && text !== undefined) {
              const start = { line: 1, character: 0 };
              workspace.didChange(uri, ++version, [{ range: { start, end: start }, text: step.text }]);
              open.set(uri, open.get(uri)!.changed(version, [{ range: { start, end: start }, text: step.text }]));
            }
            if (step.do === 'close' && open.delete(uri)) workspace.didClose(uri);
            const fresh = new Workspace(files, [folder]);
            for (const file of open.values()) fresh.didOpen(file.uri, file.version!, file.text);
            expect(await answers(workspace)).toEqual(await answers(fresh));
          }
        },
      ),
      { numRuns: Number(process.env['RUNS'] ?? 60) },
    );
  });

  it('is all that is asked when nothing has changed: no closed file is read a second time', async () => {
    const workspace = new Workspace(
      memory({
        'a.fettle': 'use "shared/c.fettle"\nteardown\n  step open\n    remove bolt\n',
        'b.fettle': 'use "shared/c.fettle"\nteardown\n  step open\n    remove bolt\n',
        'shared/c.fettle': 'part bolt "Bolt"\n',
      }),
      [folder],
    );
    workspace.didOpen(`${folder}shared/c.fettle`, 1, 'part bolt "Bolt"\n');
    const first = await answers(workspace);
    const trees: string[] = [];
    const tree = Object.getOwnPropertyDescriptor(SourceFile.prototype, 'tree')!;
    Object.defineProperty(SourceFile.prototype, 'tree', {
      ...tree,
      get(this: SourceFile) {
        trees.push(this.key);
        return tree.get!.call(this);
      },
    });
    try {
      const site = siteOf(workspace);
      const uri = keyOf(`${folder}shared/c.fettle`);
      const snapshot = (await workspace.snapshot(uri))!;
      const position = { line: 0, character: 6 };
      const places = await references.answer(
        snapshot,
        { textDocument: { uri }, position, context: { includeDeclaration: false } },
        site,
      );
      expect(places?.map((place) => place.uri.slice(folder.length))).toEqual(['a.fettle', 'b.fettle']);
      await workspaceSymbol.answer({ query: 'op' }, site);
      expect([...new Set(trees)]).toEqual([uri]);
    } finally {
      Object.defineProperty(SourceFile.prototype, 'tree', tree);
    }
    expect(await answers(workspace)).toEqual(first);
  });
});
