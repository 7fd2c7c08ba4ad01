import { describe, expect, it } from 'vitest';
import {
  after,
  before,
  incomingCalls,
  outgoingCalls,
  prepareCallHierarchy,
} from '../../server/src/features/call-hierarchy.ts';
import { lensesOf } from '../../server/src/features/code-lens.ts';
import { highlightsAt } from '../../server/src/features/document-highlight.ts';
import { linksOf } from '../../server/src/features/document-link.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { type HintKind, hintsIn } from '../../server/src/features/inlay-hint.ts';
import { selectionRangeAt } from '../../server/src/features/selection-range.ts';
import {
  deltaOf,
  encodedTokens,
  semanticTokens,
  semanticTokensDelta,
  semanticTokensRange,
} from '../../server/src/features/semantic-tokens.ts';
import { signatureAt } from '../../server/src/features/signature-help.ts';
import { matches, workspaceSymbol } from '../../server/src/features/workspace-symbol.ts';
import type { ShownUnits } from '../../server/src/settings.ts';
import { scene } from './scene.ts';

const bolts = 'part bolt x8 "Bolt" thread M8 class 8.8 torque 25 N·m\n';
const unit = `procedure pump "Overhaul the pump"
  applies to P-1
use "common/bolts.fettle"
part cover "Cover" held by bolt
part shaft "Shaft" behind cover
part gear "Gear" carried by shaft
tool wrench "Wrench" range 5..40 N·m (4..30 lbf·ft)
teardown
  step open "Open it" takes 10 min
    remove bolt using wrench
    remove cover
    inspect cover
reassembly
  step close "Close it" after open
    fit cover
    fit bolt
    tighten bolt to 20 N·m order star
`;
const files = (marked = unit) => ({ 'unit.fettle': marked, 'common/bolts.fettle': bolts });
const at = (place: string) => {
  const [head, tail] = place.split('¦') as [string, string];
  if (!unit.includes(head + tail)) throw new Error(`${place} is not in the text`);
  return scene(files(unit.replace(head + tail, place)));
};

describe('highlights', () => {
  it('shows under a word of a block the others of that block, and not those of blocks within', async () => {
    const lines = [
      'teardown',
      '  step open',
      '    either "a"',
      '      if "b"',
      '        do "c"',
      '      else',
      '        do "d"',
      '      end',
      '    or "e"',
      '      do "f"',
      '    end',
    ];
    const at = async (line: number, word: string): Promise<string[]> => {
      const { snapshot, offset } = await scene(
        lines.map((each, i) => (i === line - 1 ? each.replace(word, `¦${word}`) : each)).join('\n'),
      );
      return highlightsAt(snapshot, offset).map(
        ({ range }) =>
          `${range.start.line + 1} ${snapshot.text.slice(snapshot.offsetAt(range.start), snapshot.offsetAt(range.end))}`,
      );
    };
    expect(await at(11, 'end')).toEqual(['3 either', '9 or', '11 end']);
    expect(await at(3, 'either')).toEqual(['3 either', '9 or', '11 end']);
    expect(await at(6, 'else')).toEqual(['4 if', '6 else', '8 end']);
    expect(await at(8, 'end')).toEqual(['4 if', '6 else', '8 end']);
    expect(await at(5, 'do')).toEqual([]);
  });

  it('mark every place of a name in this file, its declaration apart', async () => {
    const { snapshot, offset } = await at('fit co¦ver');
    expect(highlightsAt(snapshot, offset).map(({ range, kind }) => [range.start.line + 1, kind])).toEqual([
      [4, 3],
      [5, 2],
      [11, 2],
      [12, 2],
      [15, 2],
    ]);
  });
});

describe('document links', () => {
  it('lead from `use` to the file and from `after` to the step', async () => {
    const { snapshot } = await scene(files());
    expect(linksOf(snapshot).map(({ range, target }) => [snapshot.file.document.getText(range), target])).toEqual([
      ['common/bolts.fettle', 'file:///bench/common/bolts.fettle'],
      ['open', 'file:///bench/unit.fettle#L9'],
    ]);
  });
});

describe('inlay hints', () => {
  const shown = async (kind: HintKind, units?: ShownUnits): Promise<string[]> => {
    const { snapshot } = await scene(files());
    return hintsIn(snapshot, 0, unit.length, new Set([kind]), units).map(
      ({ position, label }) => `${position.line + 1}:${position.character} ${label}`,
    );
  };
  it('give the other unit where it is not restated', async () => {
    expect(await shown('otherUnit')).toEqual(['17:26 = 14.8 lbf·ft']);
  });
  it('give the unit that the reader wants, and none where it stands already', async () => {
    expect(await shown('otherUnit', 'imperial')).toEqual(['17:26 = 14.8 lbf·ft']);
    expect(await shown('otherUnit', 'metric')).toEqual([]);
  });
  it('give no hundredths of a quart', async () => {
    const { snapshot } = await scene('supply paste "Paste" 50 mL\nsupply oil "Oil" 100 mL\n');
    expect(hintsIn(snapshot, 0, 100, new Set(['otherUnit'])).map(({ label }) => label)).toEqual(['= 0.106 qt']);
  });
  it('give those of a list of shims in one, behind the last', async () => {
    const step = 'inspection\n  step set\n    shim pack gap play endplay 0.1..0.2 mm from ';
    const list = async (shims: string): Promise<string[]> => {
      const { snapshot } = await scene(`${step}${shims}\n`);
      const from = step.length - step.lastIndexOf('\n') - 1;
      return hintsIn(snapshot, 0, 1000, new Set(['otherUnit']))
        .filter(({ position }) => position.character > from)
        .map(({ position, label }) => `${position.character - from} ${label}`);
    };
    expect(await list('0.1 mm, 0.2 mm, 0.5 mm')).toEqual(['22 = 0.00394, 0.00787, 0.0197 in']);
    expect(await list('0.1 mm x2, 0.5 mm x4')).toEqual(['20 = 0.00394, 0.0197 in']);
    expect(await list('0.1 mm')).toEqual(['6 = 0.00394 in']);
    // What stands there already is not said again, nor is one that is in the other system left to guess.
    expect(await list('0.1 mm (0.004 in), 0.2 mm, 0.5 mm')).toEqual(['25 = 0.00787 in', '33 = 0.0197 in']);
    expect(await list('0.1 mm, 0.01 in')).toEqual(['6 = 0.00394 in', '15 = 0.254 mm']);
  });
  it('count what is off after each step', async () => {
    expect(await shown('piecesOff')).toEqual(['9:34 9 off in all', '14:34 all on']);
  });
  it('leave out what the lens above the step says', async () => {
    const { snapshot } = await scene(`part pin x3 "Pin"
teardown
  step one
    remove pin x2
  step two
    remove pin
reassembly
  step three
    fit pin`);
    const shownBeside = (lenses: boolean) =>
      hintsIn(snapshot, 0, 1000, new Set(['piecesOff']), 'asWritten', lenses).map(
        ({ position, label }) => `${position.line + 1} ${label}`,
      );
    expect(shownBeside(false)).toEqual(['3 2 off in all', '5 3 off in all', '8 all on']);
    expect(shownBeside(true)).toEqual(['5 3 off in all', '8 all on']);
  });
  it('give the clamp share of a torque that is not the declared one', async () => {
    expect(await shown('clampShare')).toEqual([expect.stringMatching(/^17:26 ≈ \d+ % of proof load$/)]);
  });
  it('tell of the last of several stages alone what it clamps with', async () => {
    const { snapshot } = await scene(`part bolt x4 "Bolt" thread M8 class 8.8
reassembly
  step close
    tighten bolt in stages 12 N·m, 25 N·m order star
`);
    expect(hintsIn(snapshot, 0, 500, new Set(['clampShare'])).map(({ position }) => position)).toEqual([
      { line: 3, character: '    tighten bolt in stages 12 N·m, 25 N·m'.length },
    ]);
  });
  it('tell of a torque that an angle follows that it is not the clamp load in the end', async () => {
    const { snapshot } = await scene('part bolt "Bolt" thread M8 class 8.8 torque 20 N·m then 90°\n');
    expect(hintsIn(snapshot, 0, 100, new Set(['clampShare'])).map(({ label }) => label)).toEqual([
      expect.stringMatching(/^≈ \d+ % of proof load before the angle$/),
    ]);
  });
  it('stay within the range that is asked for', async () => {
    const { snapshot } = await scene(files());
    expect(hintsIn(snapshot, 0, 100)).toEqual([]);
  });
});

describe('code lenses', () => {
  it('count one of the branches of a block, that which moves most', async () => {
    const counted = async (lines: string): Promise<string[]> => {
      const { snapshot } = await scene(`part bolt x8 "Bolt"\npart nut x3 "Nut"\nteardown\n  step open\n${lines}`);
      return lensesOf(snapshot, { commands: new Set() }).flatMap(({ command }) => command?.title ?? []);
    };
    expect(
      await counted('    if "a"\n      remove bolt\n    else\n      remove bolt\n    end\n    remove nut\n'),
    ).toEqual(['11 off']);
    expect(
      await counted(
        '    either "a"\n      remove bolt x2\n      fit bolt x2\n    or "b"\n      if "c"\n        remove nut\n      end\n      remove bolt x2\n    end\n',
      ),
    ).toEqual(['5 off']);
  });

  it('count over each step what comes off and goes back', async () => {
    const { snapshot } = await scene(files());
    expect(
      lensesOf(snapshot, { commands: new Set() }).map(({ range, command }) => [range.start.line + 1, command!.title]),
    ).toEqual([
      [9, '9 off'],
      [14, '9 back'],
    ]);
  });

  it('offers the card at each step, and the draft while something is owed, to a client that has the commands', async () => {
    const { snapshot } = await scene(`part cap "Cap"
teardown
  step open
    remove cap¦
reassembly
  step close
    do "Nothing yet."`);
    const lenses = lensesOf(snapshot, { commands: new Set(['fettle.openCard', 'fettle.draftReassembly']) });
    expect(
      lenses.filter(({ command }) => command!.command === 'fettle.openCard').map(({ range }) => range.start.line),
    ).toEqual([2, 5]);
    expect(
      lenses.filter(({ command }) => command!.command === 'fettle.openCard').map(({ command }) => command!.arguments),
    ).toEqual([
      [snapshot.file.uri, 2],
      [snapshot.file.uri, 5],
    ]);
    expect(
      lenses
        .filter(({ command }) => command!.command === 'fettle.draftReassembly')
        .map(({ range }) => range.start.line),
    ).toEqual([4]);
    expect(lenses.at(-1)!.command!.arguments).toEqual([snapshot.file.uri]);
  });
});

describe('call hierarchy of a part', () => {
  it('leads to what must come off before it, and after it', async () => {
    const { snapshot, position, textDocument, site } = await at('part co¦ver');
    const [item] = (await prepareCallHierarchy.answer(snapshot, { textDocument, position }, site))!;
    expect(item).toMatchObject({ name: 'cover', detail: 'Cover', uri: 'file:///bench/unit.fettle' });
    const incoming = await incomingCalls.answer({ item: item! }, site);
    expect(incoming!.map(({ from }) => [from.name, from.uri])).toEqual([['bolt', 'file:///bench/common/bolts.fettle']]);
    const outgoing = await outgoingCalls.answer({ item: item! }, site);
    expect(outgoing!.map(({ to }) => to.name)).toEqual(['shaft', 'gear']);
  });

  it('has titles that run from right to left in their order', async () => {
    const { snapshot, position, textDocument, site } = await scene('part se¦al "חותם ציר 40 mm"\n');
    const [item] = (await prepareCallHierarchy.answer(snapshot, { textDocument, position }, site))!;
    expect(item!.detail).toBe('\u2068חותם ציר \u206640 mm\u2069\u2069');
  });

  it('counts what covers the carrier of a part, and ends in a loop', async () => {
    const { snapshot } = await scene(files());
    const part = (name: string) => snapshot.model.parts.get(name)!;
    expect(before(snapshot, part('gear')).map(({ name }) => name!.text)).toEqual(['cover']);
    expect(after(snapshot, part('bolt')).map(({ name }) => name!.text)).toEqual(['cover']);
    const loop = (await scene('part a carried by b\npart b carried by a behind c\npart c behind a\n')).snapshot;
    expect(before(loop, loop.model.parts.get('a')!).map(({ name }) => name!.text)).toEqual(['c']);
  });
});

describe('selection ranges', () => {
  it('grow from the word to the file', async () => {
    const { snapshot, offset } = await at('tighten bolt to 2¦0 N·m');
    const texts: string[] = [];
    for (
      let range = selectionRangeAt(snapshot, offset) as ReturnType<typeof selectionRangeAt> | undefined;
      range !== undefined;
      range = range.parent
    )
      texts.push(snapshot.file.document.getText(range.range));
    expect(texts).toEqual([
      '20',
      '20 N·m',
      'tighten bolt to 20 N·m order star',
      expect.stringMatching(/^step close[\s\S]*star$/),
      expect.stringMatching(/^reassembly[\s\S]*star$/),
      unit,
    ]);
  });

  it('take a word of a text, then the text, and each branch', async () => {
    const text = 'teardown\n  step s\n    either "One wa¦y"\n      do "x"\n    or "Two"\n      do "y"\n    end\n';
    const { snapshot, offset } = await scene(text);
    const texts: string[] = [];
    for (
      let range = selectionRangeAt(snapshot, offset) as ReturnType<typeof selectionRangeAt> | undefined;
      range !== undefined;
      range = range.parent
    )
      texts.push(snapshot.file.document.getText(range.range));
    expect(texts.slice(0, 4)).toEqual(['way', 'One way', '"One way"', 'either "One way"\n      do "x"']);
  });
});

describe('semantic tokens', () => {
  const words = async (text: string): Promise<string[]> => {
    const { snapshot, site } = await scene(text);
    const { data } = (await semanticTokens.answer(snapshot, { textDocument: { uri: '' } }, site))!;
    const legend = semanticTokens.capability.semanticTokensProvider!.legend;
    const found: string[] = [];
    let line = 0;
    let character = 0;
    for (let i = 0; i < data.length; i += 5) {
      line += data[i]!;
      character = data[i] === 0 ? character + data[i + 1]! : data[i + 1]!;
      const name = snapshot.file.document.getText({
        start: { line, character },
        end: { line, character: character + data[i + 2]! },
      });
      const set = legend.tokenModifiers.filter((_, bit) => (data[i + 4]! & (1 << bit)) !== 0);
      found.push([`${line + 1} ${name}`, legend.tokenTypes[data[i + 3]!], ...set].join(' '));
    }
    return found;
  };

  it('tell names by kind, and parts that are not back at that place', async () => {
    expect(
      await words(`part cover "Cover"
part seal "Seal"
tool wrench "Wrench"
teardown
  step open
    remove cover using wrench
    remove seal
    inspect cover
reassembly
  step close after open
    fit cover
    clean cover
`),
    ).toEqual([
      '1 cover variable declaration',
      '2 seal variable declaration off',
      '3 wrench class declaration',
      '5 open function declaration',
      '6 cover variable off',
      '6 wrench class',
      '7 seal variable off',
      '8 cover variable off',
      '10 close function declaration',
      '10 open function',
      '11 cover variable',
      '12 cover variable',
    ]);
  });

  it('use standard types only', () => {
    const standard = [
      'namespace',
      'type',
      'class',
      'enum',
      'interface',
      'struct',
      'typeParameter',
      'parameter',
      'variable',
      'property',
      'enumMember',
      'event',
      'function',
      'method',
      'macro',
      'keyword',
      'modifier',
      'comment',
      'string',
      'number',
      'regexp',
      'operator',
      'decorator',
      'label',
    ];
    expect(standard).toEqual(
      expect.arrayContaining(semanticTokens.capability.semanticTokensProvider!.legend.tokenTypes),
    );
  });

  it('send only what changed when asked with the last id, and all with another', async () => {
    const { snapshot, site, workspace, uri, textDocument } = await scene(files());
    const full = (await semanticTokens.answer(snapshot, { textDocument }, site))!;
    workspace.didChange(uri, 2, [
      { range: { start: { line: 14, character: 8 }, end: { line: 14, character: 13 } }, text: 'shaft' },
    ]);
    const next = (await workspace.snapshot(uri))!;
    const delta = (await semanticTokensDelta.answer(next, { textDocument, previousResultId: full.resultId! }, site))!;
    if (!('edits' in delta)) throw new Error('no delta');
    const data = [...full.data];
    for (const { start, deleteCount, data: put } of delta.edits) data.splice(start, deleteCount, ...(put ?? []));
    expect(data).toEqual(encodedTokens(next));
    expect(delta.edits.flatMap((edit) => edit.data ?? []).length).toBeLessThan(full.data.length);
    const stale = (await semanticTokensDelta.answer(next, { textDocument, previousResultId: 'old' }, site))!;
    expect('data' in stale && stale.data).toEqual(encodedTokens(next));
  });

  it('of a range are those of the whole that stand there', async () => {
    const { snapshot, site, textDocument } = await scene(files());
    const range = { start: { line: 13, character: 0 }, end: { line: 16, character: 0 } };
    const { data } = (await semanticTokensRange.answer(snapshot, { textDocument, range }, site))!;
    expect(data.slice(1)).toEqual(encodedTokens(snapshot).slice(-data.length + 1));
  });

  it('have no edit where nothing changed', () => {
    expect(deltaOf([1, 2, 3], [1, 2, 3])).toEqual([]);
    expect(deltaOf([1, 2, 3], [1, 3])).toEqual([{ start: 1, deleteCount: 1, data: [] }]);
    expect(deltaOf([], [1])).toEqual([{ start: 0, deleteCount: 0, data: [1] }]);
  });
});

describe('signature help', () => {
  const active = async (line: string): Promise<string | undefined> => {
    const { snapshot, offset } = await scene(`${bolts}teardown\n  step s\n    ${line}`);
    const help = signatureAt(snapshot, offset, fullClient);
    if (help === undefined) return undefined;
    const { label, parameters } = help.signatures[0]!;
    const [start, end] = parameters![help.activeParameter!]!.label as [number, number];
    return `${label.split(' ')[0]}: ${label.slice(start, end)}`;
  };
  it.each([
    ['tighten ¦', 'tighten: part'],
    ['tighten bolt ¦', 'tighten: [to torque]'],
    ['tighten bolt to ¦', 'tighten: [to torque]'],
    // Stages exclude one torque.
    ['tighten bolt to 25 N·m ¦', 'tighten: [order star or spiral or numbers]'],
    ['tighten bolt order ¦', 'tighten: [order star or spiral or numbers]'],
    ['swap bolt for ¦', 'swap: for new part'],
    ['transfer bolt from a to ¦', 'transfer: to carrier'],
    ['apply ¦', 'apply: supply'],
    ['measure gap limit ¦', 'measure: [limit range]'],
    ['wait ¦', 'wait: time'],
  ])('%s', async (line, expected) => {
    expect(await active(line)).toBe(expected);
  });
  it('leaves out what stands already and what that excludes', async () => {
    const { snapshot, offset } = await scene('part bolt x8 "Bolt" thread M8 class 8.8 held by nut torque ¦');
    const { label } = signatureAt(snapshot, offset, fullClient)!.signatures[0]!;
    for (const each of ['xN', '"text"', 'thread size', 'class number', 'grade number'])
      expect(label).not.toContain(`[${each}]`);
    for (const each of ['torque value', 'length value', 'holes pattern']) expect(label).toContain(`[${each}]`);
  });
  it('shows of a part, whose clauses would cover eight lines, those from the cursor on', async () => {
    const label = async (line: string): Promise<string> => {
      const { snapshot, offset } = await scene(line);
      return signatureAt(snapshot, offset, fullClient)!.signatures[0]!.label;
    };
    expect(await label('part ¦')).toMatch(/^part name \[xN\] \["text"\] \[.* …$/);
    expect(await label('part bolt held by ¦')).toMatch(/^part name … \[held by parts\] \[.* …$/);
    expect(await label('part bolt hazard ¦')).toContain(' … [hazard kind]');
    for (const line of ['part ¦', 'part bolt ¦', 'part bolt held by ¦', 'part bolt hazard ¦', 'tighten bolt ¦'])
      expect((await label(line)).length).toBeLessThanOrEqual(125);
  });
  it('is silent at the start of a line and in texts', async () => {
    expect(await active('¦')).toBeUndefined();
    expect(await active('do "x ¦"')).toBeUndefined();
  });
});

describe('workspace symbols', () => {
  it('finds declarations, steps and procedures of all files by letters in their order, or by title', async () => {
    const { site } = await scene(files());
    const names = async (query: string): Promise<string[]> =>
      (await workspaceSymbol.answer({ query }, site))!.map(
        ({ name, location }) => `${name} ${location.uri.split('/').at(-1)}`,
      );
    expect(await names('cvr')).toEqual(['cover unit.fettle']);
    expect(await names('bolt')).toEqual(['bolt bolts.fettle']);
    expect(await names('Close it')).toEqual(['close unit.fettle']);
    expect(await names('')).toHaveLength(8);
  });
  it('has titles that run from right to left in their order', async () => {
    const { site } = await scene('part seal "חותם ציר 40 mm"\n');
    for (const query of ['seal', '40 mm'])
      expect((await workspaceSymbol.answer({ query }, site))!.map(({ containerName }) => containerName)).toEqual([
        '\u2068חותם ציר \u206640 mm\u2069\u2069',
      ]);
  });
  it('knows a file by its name, even where the client spells its address as none can be decoded', async () => {
    const { site, workspace } = await scene('part cover "Cover"\n');
    workspace.didOpen('file:///bench/50%.fettle', 1, 'part seal\n');
    expect((await workspaceSymbol.answer({ query: 'seal' }, site))!.map(({ containerName }) => containerName)).toEqual([
      '50%.fettle',
    ]);
  });
  it('tells them file by file to a client that takes them so, of each file that has any', async () => {
    const { site } = await scene({
      'a.fettle': 'part one\n',
      'b.fettle': '# nothing\n',
      'c.fettle': 'part two\npart three\n',
    });
    const told: string[][] = [];
    const sendPartial = (symbols: unknown): void =>
      void told.push((symbols as { name: string }[]).map(({ name }) => name));
    expect(await workspaceSymbol.answer({ query: '' }, { ...site, sendPartial })).toEqual([]);
    expect(told).toEqual([['one'], ['two', 'three']]);
  });
  it('does not mind the case', () => {
    expect(matches('CVR', 'cover')).toBe(true);
    expect(matches('rvc', 'cover')).toBe(false);
  });
});
