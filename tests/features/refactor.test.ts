import { describe, expect, it } from 'vitest';
import type { CodeAction, CreateFile, TextDocumentEdit } from 'vscode-languageserver';
import { codeActionsAt } from '../../server/src/features/code-action.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { applied, folder, scene } from './scene.ts';

const bolts = 'part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\n';
const unit = `procedure pump "Overhaul the pump"
use "bolts.fettle"

part cover "Cover" held by bolt
# Cut to length
part seal x2 "Seal" renew
part gasket "Gasket" behind cover
tool wrench "Wrench"

teardown
  step open "Open it"
    remove bolt using wrench
    remove cover

reassembly
  step close "Close it"
    fit cover
    fit bolt
    tighten bolt order star
`;
const files = (marked: string) => ({ 'unit.fettle': marked, 'bolts.fettle': bolts });

async function actionsAt(
  marked: string,
  client = fullClient,
): Promise<{ actions: CodeAction[]; after: (action: CodeAction) => Promise<Record<string, string>> }> {
  const one = await scene(files(marked));
  const actions = codeActionsAt(
    one.snapshot,
    { textDocument: one.textDocument, range: one.selection, context: { diagnostics: [], only: ['refactor'] } },
    client,
  );
  return {
    actions,
    after: async ({ edit }) => {
      const texts: Record<string, string> = {};
      for (const change of edit!.documentChanges as (CreateFile | TextDocumentEdit)[]) {
        if ('kind' in change) texts[change.uri] = '';
        else {
          const { uri } = change.textDocument;
          const before = texts[uri] ?? (await one.workspace.snapshot(uri))!.text;
          texts[uri] = applied(before, change.edits as never);
        }
      }
      return Object.fromEntries(Object.entries(texts).map(([uri, text]) => [uri.slice(folder.length), text]));
    },
  };
}
const codes = async (texts: Record<string, string>): Promise<string[]> => {
  const all = { ...files(unit), ...texts };
  return (await scene(all)).snapshot.judged.findings.map(({ code }) => code);
};

describe('moving declarations', () => {
  const selected = unit.replace('part seal x2 "Seal" renew', '¦part seal x2 "Seal" renew¦');

  it('goes to a file that is used already, with the comments above', async () => {
    const { actions, after } = await actionsAt(selected);
    const [move] = actions.filter(({ kind }) => kind === 'refactor.move');
    expect(move!.title).toBe('Move `seal` to bolts.fettle');
    const texts = await after(move!);
    expect(texts['bolts.fettle']).toBe(`${bolts}# Cut to length\npart seal x2 "Seal" renew\n`);
    expect(texts['unit.fettle']).toBe(unit.replace('# Cut to length\npart seal x2 "Seal" renew\n', ''));
    // `gasket` is used nowhere; a shared `seal` need not be.
    expect(await codes(texts)).toEqual(['never-used']);
  });

  it('makes a new file and uses it', async () => {
    const { actions, after } = await actionsAt(selected);
    const [move] = actions.filter(({ kind }) => kind === 'refactor.extract');
    const texts = await after(move!);
    expect(texts['unit-parts.fettle']).toBe('# Cut to length\npart seal x2 "Seal" renew\n');
    expect(texts['unit.fettle']).toContain('use "bolts.fettle"\nuse "unit-parts.fettle"\n');
    expect(await codes(texts)).not.toContain('unknown-name');
  });

  it('is not offered where a name would be left behind, for a cursor alone, or to a client that makes no files', async () => {
    const behind = await actionsAt(unit.replace('part gasket', '¦part gasket¦'));
    expect(behind.actions.filter(({ kind }) => kind !== 'refactor.rewrite')).toEqual([]);
    // What `cover` names is in the file that it goes to, but not in a new one.
    const cover = await actionsAt(unit.replace('part cover', '¦part cover¦'));
    expect(cover.actions.map(({ kind }) => kind)).toEqual(['refactor.move']);
    const both = await actionsAt(unit.replace('part cover', '¦part cover').replace('behind cover', 'behind cover¦'));
    expect(both.actions.map(({ title }) => title)).toEqual(['Move 3 declarations to bolts.fettle']);
    expect(
      (await actionsAt(selected.replace('¦part seal x2 "Seal" renew¦', 'part ¦seal x2 "Seal" renew'))).actions.map(
        ({ kind }) => kind,
      ),
    ).toEqual(['refactor.rewrite']);
    expect((await actionsAt(selected, { ...fullClient, createsFiles: false })).actions.map(({ kind }) => kind)).toEqual(
      ['refactor.move'],
    );
  });
});

describe('a step for a part', () => {
  it('comes last in the teardown and first in the reassembly', async () => {
    const { actions, after } = await actionsAt(unit.replace('part seal', 'part se¦al'));
    const texts = await after(actions.find(({ kind }) => kind === 'refactor.rewrite')!);
    expect(texts['unit.fettle']).toContain(
      '    remove cover\n\n  step remove-seal "Remove the seal"\n    remove seal\n    discard seal\n\nreassembly\n  step fit-seal "Fit the seal"\n    fit new seal x2\n\n  step close',
    );
    expect(await codes(texts)).toEqual(['never-used']);
  });

  it('warns of what the part declares to be dangerous', async () => {
    const heavy = unit.replace('part seal x2 "Seal"', 'part se¦al x2 "Seal" hazard weight, spring');
    const { actions, after } = await actionsAt(heavy);
    const texts = await after(actions.find(({ kind }) => kind === 'refactor.rewrite')!);
    const warnings =
      '    warning "A falling part can crush. Keep hands and feet clear."\n    warning "A loaded spring can fly out and injure eyes. Wear goggles."\n';
    expect(texts['unit.fettle']).toContain(`"Remove the seal"\n${warnings}    remove seal\n    discard seal\n`);
    expect(texts['unit.fettle']).toContain(`"Fit the seal"\n${warnings}    fit new seal x2\n`);
    expect(await codes(texts)).toEqual(['never-used']);
  });

  it('goes by the name where the title says nothing', async () => {
    const { actions, after } = await actionsAt(unit.replace('part seal x2 "Seal"', 'part se¦al x2 " "'));
    const texts = await after(actions.find(({ kind }) => kind === 'refactor.rewrite')!);
    expect(texts['unit.fettle']).toContain('step remove-seal "Remove the seal"');
    const empty = await actionsAt(unit.replace('part seal x2 "Seal"', 'part se¦al x2 ""'));
    expect(empty.actions.map(({ kind }) => kind)).toContain('refactor.rewrite');
  });

  it('makes the phases where there are none', async () => {
    const one = await scene('procedure p "P"\npart bo¦lt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\n');
    const [action] = codeActionsAt(
      one.snapshot,
      {
        textDocument: one.textDocument,
        range: one.selection,
        context: { diagnostics: [], only: ['refactor.rewrite'] },
      },
      fullClient,
    );
    const [change] = action!.edit!.documentChanges as TextDocumentEdit[];
    const text = applied(one.snapshot.text, change!.edits as never);
    expect(text).toBe(`procedure p "P"
part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m

teardown
  step remove-bolt "Remove the bolt"
    remove bolt

reassembly
  step fit-bolt "Fit the bolt"
    fit bolt
    tighten bolt in stages 13 N·m, 25 N·m order star
`);
    expect((await scene(text)).snapshot.judged.findings).toEqual([]);
  });

  it('is not offered for a part that comes off already', async () => {
    const { actions } = await actionsAt(unit.replace('part cover', 'part co¦ver'));
    expect(actions).toEqual([]);
  });
});
