import { describe, expect, it } from 'vitest';
import type { CodeAction, SnippetTextEdit, TextDocumentEdit, TextEdit } from 'vscode-languageserver';
import { allChecks } from '../../server/src/checks/all.ts';
import { codeActionsAt } from '../../server/src/features/code-action.ts';
import { type Client, fullClient } from '../../server/src/features/feature.ts';
import { applied, scene } from './scene.ts';

const plain: Client = { ...fullClient, snippetEdits: false };

async function allowancesAt(text: string, client: Client = plain): Promise<CodeAction[]> {
  const one = await scene(text);
  const { snapshot, textDocument, selection } = one;
  const actions = codeActionsAt(snapshot, { textDocument, range: selection, context: { diagnostics: [] } }, client);
  return actions.filter(({ title }) => title.startsWith('Allow'));
}
const editOf = (action: CodeAction) => (action.edit!.documentChanges![0] as TextDocumentEdit).edits[0]!;
/** The text with the allowance in, and with a reason in it. */
const allowed = (text: string, action: CodeAction, reason: string): string =>
  applied(text.replace('¦', ''), [editOf(action) as TextEdit]).replace(/(# fettle-allow [a-z-]+: )$/m, `$1${reason}`);
const codesOf = async (text: string): Promise<string[]> =>
  (await scene(text)).snapshot.judged.findings.map(({ code }) => code);

const text = `procedure p
  applies to A-1, A-2
part cover "Cover"
part lid "Lid"
teardown
  step open
    remove cover
    for A-1
      remove l¦id
    end
`;

describe('a finding may be allowed from the light bulb', () => {
  it('by a line above its statement, as far in, that waits for the reason', async () => {
    const [action] = await allowancesAt(text);
    expect(action).toMatchObject({ title: 'Allow `left-off` here, with a reason', kind: 'quickfix' });
    expect(action!.isPreferred).toBeUndefined();
    expect(action!.diagnostics).toMatchObject([{ code: 'left-off' }]);
    expect(editOf(action!)).toEqual({
      range: { start: { line: 8, character: 0 }, end: { line: 8, character: 0 } },
      newText: '      # fettle-allow left-off: \n',
    });
    // Nothing is silent without one.
    expect(await codesOf(allowed(text, action!, ''))).toEqual(expect.arrayContaining(['left-off', 'syntax']));
    const mended = await codesOf(allowed(text, action!, 'it stays with the old unit'));
    expect(mended.filter((code) => code === 'left-off')).toHaveLength(1);
    expect(mended).not.toContain('idle-allow');
  });

  it('has the cursor wait at the reason, where the client takes that', async () => {
    const [action] = await allowancesAt(text, { ...fullClient, snippetEdits: true });
    expect((editOf(action!) as SnippetTextEdit).snippet).toEqual({
      kind: 'snippet',
      value: '      # fettle-allow left-off: $0\n',
    });
  });

  it('comes behind all repairs, and not for a selection of lines', async () => {
    const { snapshot, textDocument } = await scene(text);
    const titles = (range: { start: object; end: object }) =>
      codeActionsAt(
        snapshot,
        { textDocument, range: range as never, context: { diagnostics: [], only: ['quickfix'] } },
        plain,
      ).map(({ title }) => title);
    const place = { line: 6, character: 13 };
    const offered = titles({ start: place, end: place }).map((title) => title.startsWith('Allow'));
    expect(offered).toEqual(expect.arrayContaining([true, false]));
    expect(offered.indexOf(true)).toBeGreaterThan(offered.lastIndexOf(false));
    expect(titles({ start: { line: 0, character: 0 }, end: { line: 7, character: 0 } }).join()).not.toContain('Allow');
  });

  it('not where a line above it would be for another statement, nor for what cannot be read', async () => {
    expect(await allowancesAt('part lid "Lid"\nteardown\n  step open\n    do "Look" remove l¦id\n')).toEqual([]);
    expect(await allowancesAt('part lid "Lid" frob¦ble\n')).toEqual([]);
  });

  // These two are found from other files, and the other two cannot be allowed.
  const others = ['use-loop', 'steps-unused', 'syntax', 'idle-allow'];
  const lone = allChecks.filter(({ code }) => !others.includes(code)).map(({ code, bad }) => [code, bad] as const);
  it.each(lone)('%s is silent then, and nothing else is', async (code, bad) => {
    const before = await scene(bad);
    const finding = before.snapshot.judged.findings.find((each) => each.code === code)!;
    const at = before.snapshot.offsetAt(before.snapshot.rangeOf(finding.span).start);
    const [action] = (await allowancesAt(`${bad.slice(0, at)}¦${bad.slice(at)}`)).filter(({ title }) =>
      title.includes(`\`${code}\``),
    );
    const known = await codesOf(bad);
    const line = `# fettle-allow ${code}: seen\n`;
    const above = bad.lastIndexOf('\n', at - 1) + 1;
    // Where it is not offered, the line that it would write is of no use.
    if (action === undefined) expect(await codesOf(bad.slice(0, above) + line + bad.slice(above)), bad).toContain(code);
    else
      expect((await codesOf(allowed(bad, action, 'seen'))).sort(), bad).toEqual(
        known.filter((each) => each !== code).sort(),
      );
  });
});
