import { describe, expect, it } from 'vitest';
import type { CodeAction, TextDocumentEdit } from 'vscode-languageserver';
import { allChecks, repairsFor } from '../../server/src/checks/all.ts';
import { codeAction, codeActionResolve, codeActionsAt, fixAllKind } from '../../server/src/features/code-action.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { applied, type Scene, scene } from './scene.ts';

const everywhere = (text: string) => {
  const lines = text.split('\n');
  return { start: { line: 0, character: 0 }, end: { line: lines.length - 1, character: lines.at(-1)!.length } };
};
const codes = ({ snapshot }: Scene): string[] => snapshot.judged.findings.map(({ code }) => code);
const editsOf = (action: CodeAction) =>
  (action.edit?.documentChanges ?? []).flatMap((change) => (change as TextDocumentEdit).edits);
const after = async (action: CodeAction, text: string): Promise<Scene> =>
  scene(applied(text, editsOf(action) as never));

const actionsFor = (one: Scene, only?: string[], client = fullClient): CodeAction[] =>
  codeActionsAt(
    one.snapshot,
    { textDocument: one.textDocument, range: everywhere(one.snapshot.text), context: { diagnostics: [], only } },
    client,
  );

const late = { ...fullClient, resolvesEdits: false };

describe('repairs', () => {
  const repairable = allChecks.filter((check) => check.repairs !== undefined);

  it.each(repairable.map((check) => [check.code, check.bad] as const))(
    'of %s leave its finding gone and bring no new one',
    async (code, bad) => {
      const before = await scene(bad);
      const findings = before.snapshot.judged.findings.filter((finding) => finding.code === code);
      expect(findings).toHaveLength(1);
      const titles = repairsFor(findings[0]!, before.snapshot.context).map(({ title }) => title);
      const actions = actionsFor(before, ['quickfix']).filter(
        ({ diagnostics, title }) =>
          diagnostics?.length === 1 && diagnostics[0]!.code === code && !title.startsWith('Allow'),
      );
      expect(actions.map(({ title }) => title)).toEqual(titles);
      for (const action of actions) {
        const mended = await after(action, bad);
        expect(codes(mended), `${action.title}:\n${mended.snapshot.text}`).not.toContain(code);
        const known = codes(before);
        const added = codes(mended).filter((each) => !known.includes(each));
        expect(added, `${action.title}:\n${mended.snapshot.text}`).toEqual([]);
      }
    },
  );
});

const text = `part plug-1 "Plug" renew
part plug-2 "Plug" renew
part cover "Cover"
teardown
  step open
    remove cover
    remove plug-1
    remove plug-2
reassembly
  step close
    fit plug-1
    fit plug-2
`;

describe('code actions', () => {
  it('are those of the findings that the range touches', async () => {
    const one = await scene(text.replace('    fit plug-1', '    fit plu¦g-1'));
    const actions = codeActionsAt(
      one.snapshot,
      { textDocument: one.textDocument, range: one.selection, context: { diagnostics: [] } },
      late,
    );
    expect(actions.map(({ title, isPreferred }) => [title, isPreferred])).toEqual([
      ['Fit a new plug-1', true],
      ['Mend all 2 `renew-refitted` of this file', undefined],
      ['Allow `renew-refitted` here, with a reason', undefined],
    ]);
    expect(actions[0]!.edit).toEqual({
      documentChanges: [
        {
          textDocument: { uri: one.uri, version: 1 },
          edits: [
            { range: { start: { line: 10, character: 8 }, end: { line: 10, character: 14 } }, newText: 'new plug-1' },
          ],
        },
      ],
    });
  });

  it('mend all of one kind, and nothing else', async () => {
    const one = await scene(text);
    const all = actionsFor(one, ['quickfix'], late).find(({ title }) => title.startsWith('Mend all'))!;
    expect((await after(all, text)).snapshot.text).toBe(
      text.replace('fit plug-1', 'fit new plug-1').replace('fit plug-2', 'fit new plug-2'),
    );
  });

  it('mend all misspelt names, and none that may be another part', async () => {
    const names = (...off: string[]): string =>
      `part idler-cap "Cap"\npart seal-a "Seal"\npart seal-b "Seal"\npart cover "Cover"\npart bracket "Bracket"\nteardown\n  step open\n${off.map((name) => `    clean ${name}\n`).join('')}`;
    const text = names('covr', 'braket', 'idler-bolt', 'seal-c');
    const one = await scene(text);
    const actions = actionsFor(one, ['quickfix'], late).filter(({ title }) => !title.startsWith('Allow'));
    const titles = actions.map(({ title }) => title);
    expect(titles.filter((title) => title.includes('seal'))).toEqual([
      'Change it to `seal-a`',
      'Change it to `seal-b`',
      'Declare the part `seal-c`',
    ]);
    expect(titles).toContain('Change it to `idler-cap`');
    const all = actions.find(({ title }) => title === 'Mend all 2 `unknown-name` of this file')!;
    expect((await after(all, text)).snapshot.text).toBe(names('cover', 'bracket', 'idler-bolt', 'seal-c'));
  });

  it('of a long selection are listed for a hundred findings, and still mend all', async () => {
    const plugs = Array.from({ length: 120 }, (_, i) => `plug-${i + 1}`);
    const long = [
      ...plugs.map((plug) => `part ${plug} "Plug" renew`),
      ...['part cover "Cover"', 'teardown', '  step open', '    remove cover'],
      ...plugs.map((plug) => `    remove ${plug}`),
      ...['reassembly', '  step close'],
      ...plugs.map((plug) => `    fit ${plug}`),
      '    fit cover\n',
    ].join('\n');
    const one = await scene(long);
    const actions = actionsFor(one, ['quickfix'], late);
    const repairs = actions.filter(({ title }) => !title.startsWith('Mend all'));
    expect(repairs.map(({ title }) => title)).toEqual(plugs.slice(0, 100).map((plug) => `Fit a new ${plug}`));
    const all = actions.find(({ title }) => title === 'Mend all 120 `renew-refitted` of this file')!;
    expect((await after(all, long)).snapshot.text).toBe(long.replaceAll('fit plug', 'fit new plug'));
  });

  it('fix on save only what is safe', async () => {
    const one = await scene(text);
    const [fix, ...others] = actionsFor(one, [fixAllKind], late);
    expect(others).toEqual([]);
    expect(fix!.kind).toBe(fixAllKind);
    const mended = await after(fix!, text);
    expect(codes(mended)).toEqual(['left-off']);
  });

  it('offer no fix-all where nothing is safe to fix, and none unasked', async () => {
    const good = await scene('part cover "Cover"\nteardown\n  step open\n    loosen cover\n    tighten cover\n');
    expect(actionsFor(good, [fixAllKind], late)).toEqual([]);
    expect(actionsFor(await scene(text)).some(({ kind }) => kind === fixAllKind)).toBe(false);
  });

  it('reckon the edit when it is asked for, and not for a text that has changed since', async () => {
    const one = await scene(text);
    const [fix] = actionsFor(one, [fixAllKind]);
    expect(fix!.edit).toBeUndefined();
    expect(editsOf((await codeActionResolve.answer(fix!, one.site))!)).toHaveLength(2);
    one.workspace.didChange(one.uri, 2, [{ text: `# other\n${text}` }]);
    expect((await codeActionResolve.answer(fix!, one.site))!.edit).toBeUndefined();
  });

  it('go without versions to clients that take none', async () => {
    const one = await scene(text);
    const [first] = actionsFor(one, ['quickfix'], { ...late, documentChanges: false });
    expect(Object.keys(first!.edit!.changes!)).toEqual([one.uri]);
  });
});

describe('a `use` whose file is not there', () => {
  const offered = async (
    files: Record<string, string>,
  ): Promise<[title: string, text: string, preferred: boolean][]> => {
    const one = await scene(files);
    const { snapshot, textDocument, site } = one;
    const params = { textDocument, range: everywhere(snapshot.text), context: { diagnostics: [], only: ['quickfix'] } };
    const actions = (await codeAction.answer(snapshot, params, site)) as CodeAction[];
    return actions
      .filter(({ diagnostics }) => diagnostics?.[0]?.code === 'no-file')
      .map((action) => [action.title, applied(snapshot.text, editsOf(action) as never), action.isPreferred === true]);
  };
  const shared = 'part bolt "Bolt"\n';

  it('is led to one of the same name elsewhere, or else to one that is spelled nearly alike', async () => {
    expect(await offered({ 'a/unit.fettle': '# Moved\nuse "bolts.fettle¦"\n', 'common/bolts.fettle': shared })).toEqual(
      [['Use `../common/bolts.fettle`', '# Moved\nuse "../common/bolts.fettle"\n', true]],
    );
    expect(
      await offered({ 'unit.fettle': 'use "common/blots.fettle¦"\n', 'common/bolts.fettle': shared, 'z.fettle': '' }),
    ).toEqual([['Use `common/bolts.fettle`', 'use "common/bolts.fettle"\n', true]]);
  });

  it('is offered several of one name, the nearest first, and none that is used already or nothing like it', async () => {
    const all = { 'unit.fettle': 'use "bolts.fettle¦"\n', 'old/bolts.fettle': shared, 'a/b/bolts.fettle': shared };
    expect((await offered(all)).map(([title, , preferred]) => [title, preferred])).toEqual([
      ['Use `old/bolts.fettle`', false],
      ['Use `a/b/bolts.fettle`', false],
    ]);
    const used = { ...all, 'unit.fettle': 'use "bolts.fettle¦"\nuse "old/bolts.fettle"\n' };
    expect((await offered(used)).map(([title]) => title)).toEqual(['Use `a/b/bolts.fettle`']);
    expect(await offered({ 'unit.fettle': 'use "bolts.fettle¦"\n', 'common/gears.fettle': shared })).toEqual([]);
  });

  it('is led to the file that declares what this one lacks, where it has another name by now', async () => {
    const unit = 'use "common/bolts.fettle¦"\npart cover "Cover" held by bolt, nut\n';
    const named = async (files: Record<string, string>) =>
      (await offered({ 'unit.fettle': unit, ...files })).map(([title, , preferred]) => [title, preferred]);
    const nut = 'part nut "Nut"\n';
    const renamed = { 'common/fixings.fettle': shared + nut, 'workshop.fettle': 'tool bolt "Bolt gun"\n' };
    expect(await named(renamed)).toEqual([['Use `common/fixings.fettle`', true]]);
    // One that is spelled nearly alike and holds nothing of it comes behind, by itself it is a guess.
    expect(await named({ ...renamed, 'common/bolt.fettle': 'part lid "Lid"\n' })).toEqual([
      ['Use `common/fixings.fettle`', true],
      ['Use `common/bolt.fettle`', false],
    ]);
    expect(await named({ 'common/bolt.fettle': 'part lid "Lid"\n' })).toEqual([['Use `common/bolt.fettle`', false]]);
    // What declares most of it goes first, and a procedure of its own is no shared file.
    expect(
      await named({
        'a.fettle': shared,
        'z.fettle': shared + nut,
        'other.fettle': `procedure other "Other"\n${shared}${nut}`,
      }),
    ).toEqual([
      ['Use `z.fettle`', true],
      ['Use `a.fettle`', false],
    ]);
    expect(await named({ 'a.fettle': shared + nut, 'z.fettle': shared + nut })).toEqual([
      ['Use `a.fettle`', false],
      ['Use `z.fettle`', false],
    ]);
    // Less than half of what is lacked is a guess, too.
    const much = { 'unit.fettle': unit.replace('nut', 'nut, pin'), 'a.fettle': nut };
    expect(await named(much)).toEqual([['Use `a.fettle`', false]]);
  });
});

it('declares no name anew that is there for something else', async () => {
  const one = await scene(`part cover "Cover"
tool hoist "Hoist"
teardown
  step open
    remove cover
reassembly
  step close
    fit hoist
    fit covers
`);
  const titles = actionsFor(one, ['quickfix']).map(({ title }) => title);
  expect(titles).not.toContain('Declare the part `hoist`');
  expect(titles).toContain('Declare the part `covers`');
});
