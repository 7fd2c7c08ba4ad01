import fc from 'fast-check';
import { describe, expect, it, vi } from 'vitest';
import type { Location, SymbolInformation, TextEdit, WorkspaceEdit } from 'vscode-languageserver';
import { keyOf } from '../../server/src/addresses.ts';
import { namingAt } from '../../server/src/features/at.ts';
import { workspaceEditOf } from '../../server/src/features/edits.ts';
import { fullClient, type Site } from '../../server/src/features/feature.ts';
import { references } from '../../server/src/features/references.ts';
import { rename, renamed } from '../../server/src/features/rename.ts';
import { symbolNamesOf, workspaceSymbol } from '../../server/src/features/workspace-symbol.ts';
import { noFiles } from '../../server/src/model/model.ts';
import { defaultPreferences } from '../../server/src/settings.ts';
import { Snapshot, SourceFile } from '../../server/src/snapshot.ts';
import { type Files, Workspace } from '../../server/src/workspace.ts';
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

/** What renaming comes to where every file of the workspace that can know the name is looked into. */
async function renamedInAll(
  workspace: Workspace,
  snapshot: Snapshot,
  offset: number,
  newName: string,
): Promise<WorkspaceEdit> {
  const home = namingAt(snapshot, offset)?.definition?.chunk.uri;
  const snapshots = [snapshot];
  for (const key of snapshot.files.keys()) snapshots.push((await workspace.snapshot(key))!);
  for await (const each of workspace.everySnapshot()) snapshots.push(each);
  const knowing = [...new Set(snapshots)].filter((each) => each === snapshot || each.files.has(home ?? ''));
  return workspaceEditOf(renamed(snapshot, knowing, offset, newName), fullClient);
}
const orReason = async <T>(work: () => T | Promise<T>): Promise<T | string> => {
  try {
    return await work();
  } catch (error) {
    return String(error);
  }
};
const known = (edit: WorkspaceEdit | string | null): unknown =>
  typeof edit === 'string' || edit === null ? edit : sorted(placesOf(edit));

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
      const edits = await orReason(() => rename.answer(snapshot, { ...asked, newName: 'new-name' }, site));
      // Found by another way, in the trees themselves.
      if (edits !== null && typeof edits !== 'string') expect(sorted(places ?? [])).toEqual(sorted(placesOf(edits)));
      const clashing = await orReason(() => rename.answer(snapshot, { ...asked, newName: 'seal' }, site));
      const inAll = await orReason(() => renamedInAll(workspace, snapshot, index, 'seal'));
      // Any of several clashes may be told of.
      if (typeof clashing === 'string') expect(typeof inAll).toBe('string');
      else expect(known(clashing)).toEqual(known(inAll));
      found.push([uri, version, index, places, uses, edits, clashing]);
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

  it('a new name binds none but the files that know the old one and name it, or have the new one already', async () => {
    const workspace = new Workspace(
      memory({
        'shared/c.fettle': 'part bolt "Bolt"\npart cover "Cover" held by bolt\n',
        'names.fettle': 'use "shared/c.fettle"\nteardown\n  step open\n    remove bolt\n',
        'clash.fettle': 'use "shared/c.fettle"\npart stud "Stud"\n',
        'takes.fettle': 'use "shared/c.fettle"\nteardown\nuse "shared/steps.fettle"\n',
        'shared/steps.fettle': '# fettle-shared\nteardown\n  step loose\n    loosen bolt\n',
        ...Object.fromEntries(
          Array.from({ length: 9 }, (_, i) => [`n${i}.fettle`, 'use "shared/c.fettle"\npart x "X"\n']),
        ),
      }),
      [folder],
    );
    const uri = keyOf(`${folder}shared/c.fettle`);
    workspace.didOpen(uri, 1, 'part bolt "Bolt"\npart cover "Cover" held by bolt\n');
    const snapshot = (await workspace.snapshot(uri))!;
    const bound = new Set<string>();
    const model = Object.getOwnPropertyDescriptor(Snapshot.prototype, 'model')!.get!;
    const spy = vi.spyOn(Snapshot.prototype, 'model', 'get').mockImplementation(function (this: Snapshot) {
      bound.add(this.file.key.slice(folder.length));
      return model.call(this);
    });
    try {
      const asked = { textDocument: { uri }, position: { line: 0, character: 6 } };
      const edit = await rename.answer(snapshot, { ...asked, newName: 'screw' }, siteOf(workspace));
      expect(new Set(placesOf(edit!).map((place) => place.uri.slice(folder.length)))).toEqual(
        new Set(['names.fettle', 'shared/c.fettle', 'shared/steps.fettle']),
      );
      expect(bound).toEqual(new Set(['names.fettle', 'shared/c.fettle', 'takes.fettle']));
      await expect(
        (async () => rename.answer(snapshot, { ...asked, newName: 'stud' }, siteOf(workspace)))(),
      ).rejects.toThrow('clash.fettle:2 has a part called `stud` already');
    } finally {
      spy.mockRestore();
    }
  });
});

it.each([
  ['line feeds', '\n'],
  ['carriage returns and line feeds', '\r\n'],
  ['carriage returns alone', '\r'],
])('names stand where the lines of the text have them, with %s', (_, lineEnd) => {
  const text = [
    'procedure unit "Unit"  part a "A" part b "B"',
    'part cover "Cover"',
    '',
    '\tpart bolt "Bolt"',
    'teardown',
    'step open step close',
    '  remove bolt',
    '  step last "Last"',
  ].join(lineEnd);
  const file = new SourceFile('file:///w/a.fettle', undefined, text);
  const snapshot = new Snapshot(1, file, new Map([[file.key, file]]), noFiles);
  const found = [...symbolNamesOf(snapshot)].map(({ name, line, character }) => ({ name, line, character }));
  expect(found.map(({ name }) => name)).toEqual(['unit', 'a', 'b', 'cover', 'bolt', 'open', 'close', 'last']);
  // The library's table of lines.
  for (const { name, line, character } of found)
    expect({ line, character }, name).toEqual(file.document.positionAt(text.search(new RegExp(`\\b${name}\\b`))));
});
