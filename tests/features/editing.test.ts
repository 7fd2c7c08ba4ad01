import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { ResponseError, TextDocumentEdit, WorkspaceEdit } from 'vscode-languageserver';
import { format } from '../../grammar/printer.ts';
import { formatting, onTypeEdits, rangeFormatting } from '../../server/src/features/formatting.ts';
import { inlineCompletionsAt } from '../../server/src/features/inline-completion.ts';
import { linkedAt } from '../../server/src/features/linked-editing.ts';
import { nameTrouble, prepareRename, rename } from '../../server/src/features/rename.ts';
import { applied, scene } from './scene.ts';

const bolts = 'part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\n';
const unit = `use "common/bolts.fettle"
part cover "Cover" held by bolt
tool wrench "Wrench"
teardown
  step open
    remove bolt using wrench
    remove cover
reassembly
  step close after open
    fit cover
    fit bolt
    tighten bolt order star
    measure play limit 0.1..0.2 mm
`;
const files = (marked: string) => ({
  'unit.fettle': marked,
  'common/bolts.fettle': bolts,
  'other.fettle': 'use "common/bolts.fettle"\nteardown\n  step s\n    loosen bolt\n    tighten bolt\npart nut "Nut"\n',
});

async function renamedTo(place: string, newName: string): Promise<Record<string, string>> {
  const [before, after] = place.split('¦') as [string, string];
  if (!unit.includes(before + after)) throw new Error(`${place} is not in the text`);
  const { snapshot, position, textDocument, site, workspace } = await scene(files(unit.replace(before + after, place)));
  const edit = (await rename.answer(snapshot, { textDocument, position, newName }, site)) as WorkspaceEdit;
  const texts: Record<string, string> = {};
  for (const change of edit.documentChanges as TextDocumentEdit[]) {
    const { file } = (await workspace.snapshot(change.textDocument.uri))!;
    expect(change.textDocument.version).toBe(file.version ?? null);
    texts[change.textDocument.uri.replace('file:///bench/', '')] = applied(file.text, change.edits as never);
  }
  return texts;
}
const refused = async (place: string, newName: string): Promise<string> => {
  const error = await renamedTo(place, newName).then(
    () => undefined,
    (reason: ResponseError<void>) => reason,
  );
  return error?.message ?? 'not refused';
};

describe('rename', () => {
  it('changes a name in every file that knows it, and nothing else', async () => {
    expect(await renamedTo('fit bo¦lt', 'cover-screw')).toEqual({
      'unit.fettle': unit.replace(/\bbolt\b/g, 'cover-screw'),
      'common/bolts.fettle': bolts.replace('bolt', 'cover-screw'),
      'other.fettle': files('')['other.fettle'].replace(/\bbolt\b/g, 'cover-screw'),
    });
  });

  it.each([
    ['remove cov¦er', 'lid', /\bcover\b/g],
    ['using wren¦ch', 'big-wrench', /\bwrench\b/g],
    ['after op¦en', 'take-apart', /\bopen\b/g],
    ['step clo¦se', 'remove', /\bclose\b/g],
    ['measure pl¦ay', 'end-float', /\bplay\b/g],
  ])('changes %s to %s', async (place, newName, pattern) => {
    expect(await renamedTo(place, newName)).toEqual({
      'unit.fettle': unit.replace(pattern, newName).replaceAll(`"common/${newName}s`, '"common/bolts'),
    });
  });

  it('takes no blanks around a name that was pasted', async () => {
    expect(await renamedTo('remove cov¦er', ' lid ')).toEqual(await renamedTo('remove cov¦er', 'lid'));
  });

  it.each([
    ['fit cov¦er', 'bolt', 'bolts.fettle:1 has a part called `bolt` already: choose another name.'],
    ['fit bo¦lt', 'nut', 'other.fettle:6 has a part called `nut` already: choose another name.'],
    ['fit bo¦lt', 'remove', '`remove` is a reserved word: choose another such as `remove-1`.'],
    ['fit bo¦lt', 'x4', '`x4` would be read as a count: choose a name that is not `x` and digits.'],
    ['fit bo¦lt', '4x', '`4x` is no name: a name is made of letters, digits and hyphens and begins with a letter.'],
    [
      'fit bo¦lt',
      'two words',
      '`two words` is no name: a name is made of letters, digits and hyphens, so write `two-words`.',
    ],
    ['fit bo¦lt', '', 'A name cannot be empty.'],
    ['f¦it bolt', 'put', 'There is no name here to change.'],
  ])('refuses %s → %s', async (place, newName, message) => {
    expect(await refused(place, newName)).toBe(message);
  });

  it('prepares with the name under the cursor, and refuses what nothing declares', async () => {
    const here = await scene(files(unit.replace('fit cover', 'fit co¦ver')));
    expect(await prepareRename.answer(here.snapshot, here, here.site)).toEqual({
      range: { start: { line: 9, character: 8 }, end: { line: 9, character: 13 } },
      placeholder: 'cover',
    });
    const nowhere = await scene('teardown\n  step s\n    remove bo¦lt\n');
    expect(() => prepareRename.answer(nowhere.snapshot, nowhere, nowhere.site)).toThrow('No part is called `bolt`');
  });

  it('knows what may be a code', () => {
    expect(nameTrouble('code', '40-B')).toBeUndefined();
    expect(nameTrouble('code', 'DW-40B')).toBeUndefined();
    expect(nameTrouble('code', 'DW 40')).toBeDefined();
    expect(nameTrouble('part', 'Kühler-1')).toBeUndefined();
  });
});

describe('linked editing', () => {
  it('joins a name with all its uses, where the file declares it', async () => {
    const { snapshot, offset } = await scene(files(unit.replace('fit cover', 'fit co¦ver')));
    expect(linkedAt(snapshot, offset)!.ranges.map(({ start }) => [start.line, start.character])).toEqual([
      [1, 5],
      [6, 11],
      [9, 8],
    ]);
  });

  it('names a pattern that editors can read without flags, and that takes whole names', async () => {
    const { snapshot, offset } = await scene(files(unit.replace('fit cover', 'fit co¦ver')));
    const pattern = new RegExp(`^(?:${linkedAt(snapshot, offset)!.wordPattern})$`);
    for (const name of ['cover', 'end-screw-2', 'größe', 'крышка', '蓋']) expect(name).toMatch(pattern);
    for (const no of ['', 'end screw', 'x"', 'a,b']) expect(no).not.toMatch(pattern);
  });

  it('leaves names of other files alone', async () => {
    const { snapshot, offset } = await scene(files(unit.replace('fit bolt', 'fit bo¦lt')));
    expect(linkedAt(snapshot, offset)).toBeUndefined();
  });
});

describe('formatting', () => {
  const untidy =
    'part cover   "Cover"  torque 5 Nm\nteardown\nstep open\n  remove cover\n\n\n\nreassembly\n step close\n       fit cover\n';

  it('of the whole file gives what the printer prints', async () => {
    const { snapshot, textDocument, site } = await scene(untidy);
    const edits = await formatting.answer(
      snapshot,
      { textDocument, options: { tabSize: 8, insertSpaces: false } },
      site,
    );
    const now = applied(untidy, edits as never);
    expect(now).toBe(format(untidy));
    expect(now).not.toBe(untidy);
  });

  it('of a range changes that range only', async () => {
    const { snapshot, textDocument, selection, site } = await scene(
      untidy.replace('step open\n  remove cover', '¦step open\n  remove cover¦'),
    );
    const edits = await rangeFormatting.answer(
      snapshot,
      { textDocument, range: selection, options: { tabSize: 2, insertSpaces: true } },
      site,
    );
    const now = applied(untidy, edits as never);
    expect(now).toContain('  step open\n    remove cover\n');
    expect(now.startsWith('part cover   "Cover"  torque 5 Nm\n')).toBe(true);
    expect(now.endsWith('       fit cover\n')).toBe(true);
  });

  const afterEnter = async (text: string): Promise<string> => {
    const { snapshot, offset } = await scene(text);
    return applied(snapshot.text, onTypeEdits(snapshot, offset) as never);
  };

  it('on a line break sets the line before it, and leaves alone what stands in the new one', async () => {
    const above = 'part cover "Cover"\nteardown\n  step open\n';
    expect(await afterEnter(`${above}remove   cover\n    ¦`)).toBe(`${above}    remove cover\n    `);
    expect(await afterEnter(`${above}remove   cover\n ¦clean   cover\n`)).toBe(
      `${above}    remove cover\n clean   cover\n`,
    );
    expect(await afterEnter(`${above}    remove cover\n\n   ¦\n`)).toBe(`${above}    remove cover\n\n   \n`);
  });

  it.each([
    ['procedure p "P"\n  applies to A-1\n  part cover "Cover"\n  ', 'part cover "Cover"\n'],
    ['teardown\n  step open\n    remove cover\n    step lift\n      ', '  step lift\n    '],
    ['teardown\n  step open\n    remove cover\n    reassembly\n      ', '\nreassembly\n  '],
    ['teardown\n  step open\n    if "worn"\n      clean cover\n      end\n      ', '    end\n    '],
    ['teardown\n  step open\n    if "worn"\n    ', '    if "worn"\n      '],
    ['teardown\r\n  step open\r\n    remove cover\r\n    step lift\r\n      ', '  step lift\r\n    '],
  ])('on a line break an empty line is set in as far as what %j ends in', async (text, set) => {
    expect(await afterEnter(`${text}¦`)).toMatch(new RegExp(`\\n${set}$`));
  });

  it.each([
    ['    remove cover\n    ¦using jack\n', '    remove cover\n    using jack\n'],
    ['    do "Look."   using jack,\n    ¦cover\n', '    do "Look."   using jack,\n    cover\n'],
    ['    remove   cover\r\n    ¦using jack\r\n', '    remove   cover\r\n    using jack\r\n'],
    ['    do "Look at\n    ¦the cover."\n', '    do "Look at\n    the cover."\n'],
    ['    remove   cover fit cover\n    ¦', '    remove cover\n    fit cover\n    '],
    ['    \n    ¦remove cover\n', '\n    remove cover\n'],
  ])('on a line break within a statement leaves every word once: %j', async (text, set) => {
    const above = 'part cover "Cover"\ntool jack "Jack"\nteardown\n  step open\n';
    expect(await afterEnter(above + text)).toBe(above + set);
  });

  // What it stands above is still to be written.
  it.each(['    # for later\n    ¦', '    # for later\n    ¦\n  step close\n'])(
    'on a line break leaves a comment where it stands: %j',
    async (text) => {
      const above = 'part cover "Cover"\nteardown\n  step open\n';
      expect(await afterEnter(above + text)).toBe(above + text.replace('¦', ''));
    },
  );

  it('on a line break behind steps on one line sets each of them', async () =>
    expect(await afterEnter('part a "A" teardown step open remove a\n¦')).toBe(
      'part a "A"\n\nteardown\n  step open\n    remove a\n    ',
    ));

  it('moves a phase line to the left where work stands below it, too', async () => {
    const above = 'part cover "Cover"\n\nteardown\n  step open\n    remove cover\n';
    for (const below of ['', '    clean cover\n', '  step close\n    fit cover\n']) {
      const { snapshot, offset } = await scene(`${above}      reassembly\n        ¦\n${below}`);
      expect(applied(snapshot.text, onTypeEdits(snapshot, offset) as never)).toBe(`${above}\nreassembly\n  \n${below}`);
    }
  });
});

describe('inline completion', () => {
  const next = async (text: string): Promise<string | undefined> => {
    const { snapshot, offset } = await scene(text);
    return inlineCompletionsAt(snapshot, offset)[0]?.insertText as string | undefined;
  };
  const torn = `${bolts}part cover "Cover" held by bolt
part gasket "Gasket" renew behind cover
part cable "Cable"
supply oil "Oil" 2 L
teardown
  step open
    drain oil 2 L
    disconnect cable
    remove bolt
    remove cover
    remove gasket
`;

  it('reads the teardown backwards, step by step', async () => {
    let text = `${torn}reassembly\n  step close\n`;
    const lines: string[] = [];
    for (let line = await next(`${text}    ¦`); line !== undefined; line = await next(`${text}    ¦`)) {
      lines.push(line);
      text += `    ${line}\n`;
    }
    expect(lines).toEqual([
      'fit new gasket',
      'fit cover',
      'fit bolt',
      'tighten bolt in stages 13 N·m, 25 N·m order star',
      'connect cable',
      'fill oil 2 L',
    ]);
    expect((await scene(text)).snapshot.judged.findings).toEqual([]);
  });

  it('puts the whole winch together again', async () => {
    const samples = join(import.meta.dirname, '../../samples');
    const winch = readFileSync(join(samples, 'winch-reducer.fettle'), 'utf8').replaceAll('DW-40, DW-40B', 'DW-40B');
    const shared = { 'common/fasteners.fettle': readFileSync(join(samples, 'common/fasteners.fettle'), 'utf8') };
    let text = `${winch.slice(0, winch.indexOf('\nreassembly\n'))}\nreassembly\n  step close\n`;
    for (;;) {
      const { snapshot, offset } = await scene({ 'winch.fettle': `${text}    ¦`, ...shared });
      const [item] = inlineCompletionsAt(snapshot, offset);
      if (item === undefined) break;
      text += `    ${item.insertText as string}\n`;
    }
    const { judged } = (await scene({ 'winch.fettle': text, ...shared })).snapshot;
    // What is left is what no reading of the teardown can know: words of warning, what was not used.
    expect([...new Set(judged.findings.map(({ code }) => code))].sort()).toEqual(['never-used', 'unwarned']);
  });

  it('puts thread locker on an old fastener that is declared so, before it goes back', async () => {
    const locked = (supplies: string, fit = ''): string =>
      `part bolt x2 "Bolt" thread M8 threadlock torque 20 N·m\n${supplies}teardown\n  step open\n    remove bolt\n${fit}`;
    const one = 'supply grease "Grease"\nsupply blue "Thread locker"\n';
    const close = 'reassembly\n  step close\n';
    expect(await next(`${locked(one)}${close}    ¦`)).toBe('apply blue to bolt');
    expect(await next(`${locked(one)}${close}    apply blue to bolt\n    ¦`)).toBe('fit bolt');
    expect(await next(`${locked(one)}${close}    f¦`)).toBe('fit bolt');
    // New ones may come coated; without a locker, or with two, nobody knows which.
    expect(await next(`${locked(one, '    discard bolt\n')}${close}    ¦`)).toBe('fit new bolt x2');
    expect(await next(`${locked('')}${close}    ¦`)).toBe('fit bolt');
    expect(await next(`${locked(`${one}supply red "Locking fluid"\n`)}${close}    ¦`)).toBe('fit bolt');
  });

  it('lets what was applied cure before the unit is filled', async () => {
    const close = (takes: string, wait = ''): string =>
      `${torn}reassembly\n  step close\n    fit new gasket\n    apply paste to cover\n    fit cover\n    fit bolt\n    tighten bolt\n    connect cable\n${wait}${takes}    ¦`;
    const after = (text: string): Promise<string | undefined> =>
      next(text.replace('supply oil', 'supply paste "Paste" cure 2 h\nsupply oil'));
    expect(await after(close(''))).toBe('wait 2 h "paste cures"');
    expect(await after(close('', '    wait 30 min\n'))).toBe('wait 90 min "paste cures"');
    expect(await after(close('', '    wait 2 h\n'))).toBe('fill oil 2 L');
    expect(await after(close('  step rest takes 50 min\n    clean cover\n  step fill\n'))).toBe(
      'wait 70 min "paste cures"',
    );
  });

  it('waits for what has longest to cure, whichever was applied first and however long it takes in all', async () => {
    const after = (statements: string): Promise<string | undefined> =>
      next(
        `${torn.replace('supply oil', 'supply paste "Paste" cure 2 h\nsupply lacquer "Lacquer" cure 3 h\nsupply oil')}reassembly
  step coat
${statements}    fit new gasket
    fit cover
    fit bolt
    tighten bolt
    connect cable
    ¦`,
      );
    const [paste, lacquer] = ['    apply paste to cover\n', '    apply lacquer to cover\n'];
    expect(await after(`${paste}${lacquer}`)).toBe('wait 3 h "lacquer cures"');
    expect(await after(`${lacquer}${paste}`)).toBe('wait 3 h "lacquer cures"');
    expect(await after(`${lacquer}    wait 2 h\n${paste}`)).toBe('wait 2 h "paste cures"');
    expect(await after(`${lacquer}    wait 30 min\n${paste}`)).toBe('wait 150 min "lacquer cures"');
    expect(await after(`${lacquer}${paste}    wait 1 h\n`)).toBe('wait 2 h "lacquer cures"');
  });

  it('counts as covered what the replay does: not what is behind a lid that went with its carrier', async () => {
    const unit = `part housing "Housing"
part lid "Lid" carried by housing
part pump "Pump" behind lid
part cover "Cover"
part axle "Axle"
part clip "Clip" carried by axle
teardown
  step open
    remove housing
    remove pump
reassembly
  step close
    ¦
`;
    expect(await next(unit)).toBe('fit pump');
  });

  it('completes a line that is begun in the same way, and no other', async () => {
    expect(await next(`${torn}reassembly\n  step close\n    fit n¦`)).toBe('fit new gasket');
    expect(await next(`${torn}reassembly\n  step close\n    clean ¦`)).toBeUndefined();
    expect(await next(`${torn}reassembly\n  step close\n    ¦ "x"`)).toBeUndefined();
  });

  it('scraps in the teardown what is single-use', async () => {
    expect(await next(`${torn}    ¦`)).toBe('discard gasket');
    expect(await next(`${torn}    discard gasket\n    ¦`)).toBeUndefined();
  });
});
