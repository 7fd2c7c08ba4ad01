import { describe, expect, it } from 'vitest';
import type { CodeAction, TextDocumentEdit } from 'vscode-languageserver';
import { codeActionsAt } from '../../server/src/features/code-action.ts';
import { applied, scene } from './scene.ts';

const head = `procedure box "Open the box"
part bolt x8 "Bolt"
part cover "Cover" held by bolt

teardown
  step open "Open"
`;
const foot = `reassembly
  step close "Close"
    fit cover
    fit bolt
`;

/** What is offered at the cursor, or for the selection, and its title. */
async function offered(lines: string): Promise<{ action: CodeAction | undefined; text: string; titles: string[] }> {
  const { snapshot, selection, site, textDocument } = await scene(`${head}${lines}${foot}`);
  const actions = codeActionsAt(
    snapshot,
    { textDocument, range: selection, context: { diagnostics: [], only: ['quickfix'] } },
    site.client,
  );
  return {
    action: actions.find(({ title }) => /^Write (?:it|\d+ lines) as/.test(title)),
    text: snapshot.text,
    titles: actions.map(({ title }) => title),
  };
}

/** The lines after it was taken, and what is still found in the file. */
async function taken(lines: string): Promise<{ title: string | undefined; lines: string; found: string[] }> {
  const { action, text } = await offered(lines);
  const edits = (action?.edit?.documentChanges ?? []).flatMap((change) => (change as TextDocumentEdit).edits);
  const after = applied(text, edits as never);
  const { snapshot } = await scene(after);
  return {
    title: action?.title,
    lines: after.slice(head.length, after.length - foot.length),
    found: snapshot.judged.findings.map(({ code }) => code),
  };
}

describe('prose among statements', () => {
  it('comes first where lines are selected, last of the repairs under the cursor', async () => {
    expect((await offered('¦Put it by.\n- remove bolt\n¦')).titles).toEqual([
      'Write 2 lines as statements',
      'Take `-` out',
    ]);
    expect((await offered('¦- remove bolt\n')).titles).toEqual(['Take `-` out']);
    expect((await offered('¦1. remove bolt\n')).titles).toEqual(['Take `1.` out']);
  });

  it('becomes an action, a sentence a line, without the sign of its list', async () => {
    expect(await taken('2. Put the ¦box on its side. Let it rest.\n    remove bolt\n    remove cover\n')).toEqual({
      title: 'Write it as `do`',
      lines: '    do "Put the box on its side."\n    do "Let it rest."\n    remove bolt\n    remove cover\n',
      found: [],
    });
  });

  it('is a safety message where it begins as one', async () => {
    expect((await taken('3.1 Caution - the ¦spring flies off\n    remove bolt\n    remove cover\n')).lines).toBe(
      '    caution "the spring flies off"\n    remove bolt\n    remove cover\n',
    );
    const { title, lines, found } = await taken(
      'WARNING: Hot ¦oil burns. Let it cool.\n    remove bolt\n    remove cover\n',
    );
    expect(title).toBe('Write it as `warning`');
    expect(lines).toBe('    warning "Hot oil burns. Let it cool."\n    remove bolt\n    remove cover\n');
    expect(found).toEqual([]);
  });

  it('is written anew wherever it is selected; what stands behind the sign of a list as a statement stays one', async () => {
    const { title, lines, found } = await taken(
      [
        '¦    Gearbox cover removal',
        '',
        'a) Lay the 3" pipe into a clean pan.  # as drawn',
        '- remove bolt',
        '• remove cover',
        '    remove dowel',
        '¦',
      ].join('\n'),
    );
    expect(title).toBe('Write 4 lines as statements');
    expect(lines).toBe(
      [
        '    do "Gearbox cover removal"',
        '',
        '    do "Lay the 3\\" pipe into a clean pan."  # as drawn',
        '    remove bolt',
        '    remove cover',
        '    remove dowel',
        '',
      ].join('\n'),
    );
    expect(found).toEqual(['unknown-name']);
  });

  it('keeps the line endings and the indentation of a block', async () => {
    const lines = `${head}    if "it sticks"\n      Tap ¦it gently. Turn it.\n    end\n`.replaceAll('\n', '\r\n');
    const { snapshot, selection, site, textDocument } = await scene(lines);
    const range = { textDocument, range: selection, context: { diagnostics: [] } };
    const action = codeActionsAt(snapshot, range, site.client).find(({ title }) => title === 'Write it as `do`');
    const [change] = action!.edit!.documentChanges as TextDocumentEdit[];
    expect(change!.edits).toMatchObject([{ newText: '      do "Tap it gently."\r\n      do "Turn it."' }]);
  });

  it('is not seen in a slip of the pen, nor in what can be read', async () => {
    expect((await offered('    remvoe ¦bolt\n')).action).toBeUndefined();
    expect((await offered('    remove ¦dowel\n')).action).toBeUndefined();
    expect(
      (await offered('    tighten bolt\n      to 25 Nmm ¦order star using torque-wrench now\n')).action,
    ).toBeUndefined();
    expect((await offered('    fill oil\n      1.8 ¦L (2 quarts) and some more of it\n')).action).toBeUndefined();
    expect((await offered('    if ¦"the ring is worn out"\n      remove bolt\n')).action).toBeUndefined();
    expect((await offered('    End¦\n')).action).toBeUndefined();
    expect((await offered('    # Put the ¦box on its side.\n')).action).toBeUndefined();
  });

  const titlesIn = async (text: string): Promise<string[]> => {
    const { snapshot, selection, site, textDocument } = await scene(text);
    const range = { textDocument, range: selection, context: { diagnostics: [] } };
    return codeActionsAt(snapshot, range, site.client).map(({ title }) => title);
  };

  it('becomes a comment outside of steps, wrapped lines and all', async () => {
    const text = `¦Introduction
This box is an old one. Look at the plate, as the
two makes of it were never told apart by those who built it.
part bolt "Bolt"

reassembly
  Begin with the cover¦
  step close "Close"
    clean bolt
`;
    const { snapshot, selection, site, textDocument } = await scene(text);
    const range = { textDocument, range: selection, context: { diagnostics: [] } };
    const action = codeActionsAt(snapshot, range, site.client).find(({ title }) => title === 'Make 4 lines comments');
    const edits = (action?.edit?.documentChanges ?? []).flatMap((change) => (change as TextDocumentEdit).edits);
    expect(applied(snapshot.text, edits as never)).toBe(
      snapshot.text
        .replace('Introduction', '# Introduction')
        .replace('This', '# This')
        .replace('two makes', '# two makes')
        .replace('  Begin', '  # Begin'),
    );
    expect(await titlesIn('Put the ¦box on its side.\npart bolt "Bolt"\n')).toContain('Make it a comment');
  });

  it.each([
    'WARNING: Hot ¦oil burns.',
    'Prat ¦bolt "Bolt"',
    'Part ¦bolt x8 "Bolt" thread M8 class 8.8 torque 25 N·m',
    '- part ¦nut "Nut"',
    'bolt ¦x8 "Bolt"',
    'Teardown¦',
    'Inspction¦',
  ])('is no comment in %s', async (line) => {
    expect(await titlesIn(`${line}\npart bolt "Bolt"\n`)).not.toContain('Make it a comment');
  });
});
