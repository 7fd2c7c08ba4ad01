import { describe, expect, it } from 'vitest';
import type { CodeAction, CreateFile, TextDocumentEdit } from 'vscode-languageserver';
import { codeActionsAt } from '../../server/src/features/code-action.ts';
import { lensesOf } from '../../server/src/features/code-lens.ts';
import { completionsAt } from '../../server/src/features/completion.ts';
import { definitionsAt } from '../../server/src/features/definition.ts';
import { linksOf } from '../../server/src/features/document-link.ts';
import { outlineOf } from '../../server/src/features/document-symbol.ts';
import { type Client, fullClient } from '../../server/src/features/feature.ts';
import { hoverAt } from '../../server/src/features/hover.ts';
import { hintsIn } from '../../server/src/features/inlay-hint.ts';
import { references } from '../../server/src/features/references.ts';
import { rename } from '../../server/src/features/rename.ts';
import { draft } from '../../server/src/outputs/draft.ts';
import { figuresOf } from '../../server/src/outputs/figures.ts';
import { applied, folder, scene } from './scene.ts';

const close = `# fettle-shared: for whatever has this cover
part cover-bolt x4 "Cover bolt" thread M8 class 8.8 length 30 mm torque 25 N·m
part cover "Cover" held by cover-bolt
teardown
  step open "Open the cover" takes 5 min
    remove cover-bolt
    remove cover
reassembly
  step close "Close the cover" takes 10 min
    fit cover
    fit cover-bolt
    tighten cover-bolt order star
`;
const gear = `procedure gear "Gear"
part gear "Gear" behind cover
teardown
  use "common/close.fettle"

  step lift "Lift the gear" after open
    remove gear

reassembly
  step lay "Lay the gear"
    fit gear

  use "common/close.fettle"

proving
  step turn after close
    check "Turn it"
`;
const files = (text = gear, shared = close) => ({ 'gear.fettle': text, 'common/close.fettle': shared });

describe('names in shared steps', () => {
  it('lead to their file: a step behind `after`, and the path', async () => {
    const one = await scene(files(gear.replace('after open', 'after op¦en')));
    expect(definitionsAt(one.snapshot, one.offset)[0]).toMatchObject({
      targetUri: `${folder}common/close.fettle`,
      targetSelectionRange: { start: { line: 4, character: 7 } },
    });
    const links = linksOf(one.snapshot);
    expect(links.map(({ target, tooltip }) => `${target} ${tooltip}`)).toEqual([
      `${folder}common/close.fettle Open the shared steps`,
      `${folder}common/close.fettle#L5 Go to “Open the cover”`,
      `${folder}common/close.fettle Open the shared steps`,
      `${folder}common/close.fettle#L9 Go to “Close the cover”`,
    ]);
  });

  it('are found and renamed in every file, from either side', async () => {
    const places = async (all: Record<string, string>, at = 'step'): Promise<string[]> => {
      const { snapshot, position, textDocument, site } = await scene(all);
      const found = await references.answer(
        snapshot,
        { textDocument, position, context: { includeDeclaration: true } },
        site,
      );
      expect(found, at).not.toBeNull();
      return found!.map(({ uri, range }) => `${uri.slice(folder.length)}:${range.start.line + 1}`);
    };
    const step = ['common/close.fettle:9', 'gear.fettle:16'];
    expect(await places(files(gear.replace('after close', 'after cl¦ose')))).toEqual(step);
    expect(await places(files(gear, close.replace('step close', 'step clo¦se')))).toEqual(step);
    const part = [3, 7, 10].map((line) => `common/close.fettle:${line}`);
    expect(await places(files(gear.replace('behind cover', 'behind cov¦er')))).toEqual([...part, 'gear.fettle:2']);
    // A phase that this procedure does not take in keeps its names right as well.
    const half = gear.replace('  use "common/close.fettle"\n\nproving', 'proving');
    expect(await places(files(half.replace('behind cover', 'behind cov¦er')))).toEqual([...part, 'gear.fettle:2']);
    const { snapshot, position, textDocument, site } = await scene(files(gear.replace('after close', 'after cl¦ose')));
    const edit = await rename.answer(snapshot, { textDocument, position, newName: 'shut' }, site);
    expect(
      edit!.documentChanges!.map((change) => {
        const { textDocument, edits } = change as TextDocumentEdit;
        return [textDocument.uri.slice(folder.length), edits.length];
      }),
    ).toEqual([
      ['common/close.fettle', 1],
      ['gear.fettle', 1],
    ]);
  });
});

describe('views of a file that takes in steps', () => {
  it('the outline has the line in its phase, with the number of steps', async () => {
    const { snapshot } = await scene(files());
    const phases = outlineOf(snapshot).filter(({ name }) => name === 'teardown' || name === 'reassembly');
    expect(phases.map(({ children }) => children!.map(({ name, detail }) => `${name} ${detail}`))).toEqual([
      ['common/close.fettle 1 step', 'lift Lift the gear'],
      ['lay Lay the gear', 'common/close.fettle 1 step'],
    ]);
  });

  it('the path tells what it takes in', async () => {
    const one = await scene(files(gear.replace('"common/close', '"common/¦close')));
    expect(hoverAt(one.snapshot, one.offset)!.lines).toEqual([
      '**1 step** for `teardown` from `common/close.fettle`, and its declarations',
      `- [line 5](${folder}common/close.fettle#L5): \`open\` Open the cover`,
    ]);
  });

  it('lenses and hints stand in this file only, and count what the shared steps did', async () => {
    const { snapshot } = await scene(files());
    const lines = lensesOf(snapshot, { commands: new Set() }).map(({ range }) => range.start.line);
    expect(lines).toEqual([5, 9]);
    const hints = hintsIn(snapshot, 0, gear.length, new Set(['piecesOff', 'otherUnit', 'clampShare']), 'asWritten');
    expect(hints.map(({ position, label }) => `${position.line}: ${label}`)).toEqual([
      '5: 6 off in all',
      '9: 5 off in all',
      '15: all on',
    ]);
  });

  it('completion offers `use` between steps, and files with steps for the phase first', async () => {
    const words = async (text: string): Promise<string[]> => {
      const one = await scene({ ...files(text), 'common/tools.fettle': 'tool bar "Bar"\n' });
      const items = await completionsAt(one.snapshot, one.offset, one.site);
      return items.sort((a, b) => (a.sortText! < b.sortText! ? -1 : 1)).map(({ label }) => label);
    };
    expect(
      (
        await words(
          gear.replace('  use "common/close.fettle"\n\n  step lift', '  use "common/close.fettle"\n  ¦\n  step lift'),
        )
      ).slice(0, 2),
    ).toEqual(['step', 'use']);
    expect(await words(gear.replace('"common/close.fettle"\n\n  step lift', '"¦"\n\n  step lift'))).toEqual([
      'common/close.fettle',
      'common/tools.fettle',
    ]);
  });

  it('figures of shared steps stand at the line that takes them in', async () => {
    const { snapshot } = await scene(files());
    const { model, ledger, settings } = snapshot;
    const own = figuresOf(model, ledger, settings);
    expect(own.every(({ line }) => line === 4 || line === 12)).toBe(true);
  });
});

describe('the draft of a reassembly around shared steps', () => {
  it('writes into this file only, and leaves nothing owed', async () => {
    const undrafted = gear.replace('  step lay "Lay the gear"\n    fit gear\n\n', '');
    const { snapshot } = await scene(files(undrafted));
    const { model, ledger } = snapshot;
    const drafted = draft(model, ledger);
    expect(drafted.edits.every(({ uri }) => uri === `${folder}gear.fettle`)).toBe(true);
    const after = await scene(files(drafted.text));
    expect(after.snapshot.judged.findings.map(({ code }) => code)).toEqual([]);
    expect(drafted.text).toContain('reassembly\n  step refit-lift');
    expect(drafted.text.indexOf('refit-lift')).toBeLessThan(drafted.text.lastIndexOf('use "common/close.fettle"'));
    expect(draft(after.snapshot.model, after.snapshot.ledger).edits).toEqual([]);
  });
});

describe('moving steps to a shared sequence', () => {
  const whole = `procedure gear "Gear"
use "tools.fettle"

# Cut to length
part seal "Seal" renew behind cover
part cover "Cover" behind plug
part plug "Plug"
part spare "Spare"

teardown
  step open "Open it"
    remove plug using wrench
    remove cover

  # The seal is brittle.
  step out "Seal out" after open
    remove seal
    discard seal

reassembly
  step in "Seal in" after out
    fit new seal
    fit cover

  step last "Last"
    fit plug using wrench
`;
  const all = (marked: string) => ({ 'gear.fettle': marked, 'tools.fettle': 'tool wrench "Wrench"\n' });
  async function movesAt(marked: string, client: Client = fullClient) {
    const one = await scene(all(marked));
    const actions = codeActionsAt(
      one.snapshot,
      {
        textDocument: one.textDocument,
        range: one.selection,
        context: { diagnostics: [], only: ['refactor.extract'] },
      },
      client,
    );
    return { one, actions: actions.filter(({ title }) => /shared sequence/.test(title)) };
  }
  const textsAfter = ({ edit }: CodeAction, before: string): Record<string, string> => {
    const texts: Record<string, string> = { 'gear.fettle': before };
    for (const change of edit!.documentChanges as (CreateFile | TextDocumentEdit)[]) {
      if ('kind' in change) texts[change.uri.slice(folder.length)] = '';
      else {
        const name = change.textDocument.uri.slice(folder.length);
        texts[name] = applied(texts[name]!, change.edits as never);
      }
    }
    return texts;
  };

  it('takes whole steps, their comments and what they need, and leaves a `use`', async () => {
    const { actions } = await movesAt(whole.replace('remove plug', 're¦move plug').replace('discard', 'dis¦card'));
    expect(actions.map(({ title }) => title)).toEqual(['Move 2 steps to a shared sequence']);
    const texts = textsAfter(actions[0]!, whole);
    expect(
      texts['gear-open.fettle'],
    ).toBe(`# fettle-shared: steps that procedures take in with \`use\` in their teardown
use "tools.fettle"

# Cut to length
part seal "Seal" renew behind cover
part cover "Cover" behind plug
part plug "Plug"

teardown
  step open "Open it"
    remove plug using wrench
    remove cover

  # The seal is brittle.
  step out "Seal out" after open
    remove seal
    discard seal
`);
    expect(texts['gear.fettle']).toBe(`procedure gear "Gear"
use "tools.fettle"

part spare "Spare"

teardown
  use "gear-open.fettle"

reassembly
  step in "Seal in" after out
    fit new seal
    fit cover

  step last "Last"
    fit plug using wrench
`);
    expect(actions[0]!.edit!.documentChanges).toMatchObject([
      { kind: 'create', options: { overwrite: false } },
      { textDocument: { version: null } },
      { textDocument: { version: 1 } },
    ]);
  });

  it.each([
    ['a cursor', whole.replace('remove plug', 're¦move plug')],
    ['steps of two phases', whole.replace('remove seal', '¦remove seal').replace('fit new', 'fit¦ new')],
    ['declarations', whole.replace('part spare "Spare"', '¦part spare "Spare"¦')],
    ['a line that cannot be read', whole.replace('    discard seal', '    dis¦crad se¦al')],
    ['a name that nothing has', whole.replace('    discard seal', '    dis¦card sael¦')],
  ])('is not offered for %s', async (_, marked) => {
    expect((await movesAt(marked)).actions).toEqual([]);
  });

  it('is not offered to an editor that makes no files', async () => {
    const marked = whole.replace('remove plug', '¦remove plug¦');
    expect((await movesAt(marked, { ...fullClient, createsFiles: false })).actions).toEqual([]);
    expect((await movesAt(marked, { ...fullClient, documentChanges: false })).actions).toEqual([]);
  });

  it('moved declarations go to the head, not to a `use` in a phase', async () => {
    const marked = gear.replace('part gear "Gear" behind cover', '¦part gear "Gear"¦');
    const one = await scene(files(marked));
    const actions = codeActionsAt(
      one.snapshot,
      {
        textDocument: one.textDocument,
        range: one.selection,
        context: { diagnostics: [], only: ['refactor.extract'] },
      },
      fullClient,
    );
    const texts = textsAfter(actions.find(({ title }) => /new shared file/.test(title))!, one.snapshot.text);
    expect(texts['gear.fettle']!.startsWith('procedure gear "Gear"\n\nuse "gear-parts.fettle"\n')).toBe(true);
  });
});
