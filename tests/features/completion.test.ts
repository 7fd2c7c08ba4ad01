import { describe, expect, it } from 'vitest';
import { CompletionTriggerKind, type InsertReplaceEdit, InsertTextFormat, type TextEdit } from 'vscode-languageserver';
import { clausesOf, propertiesOf } from '../../grammar/clauses.ts';
import { parse } from '../../grammar/parser.ts';
import { declarationWords, statementWords, textStatements } from '../../grammar/tokens.ts';
import { completion, completionsAt } from '../../server/src/features/completion.ts';
import { applied, scene } from './scene.ts';

const head = `procedure pump "Overhaul the pump"
  applies to P-1, P-2
  measures metric
part bolt x8 "Bolt" thread M8 torque 25 N·m holes rim
part cover "Cover" held by bolt
part gasket "Gasket" renew behind cover
part shaft "Shaft" behind cover
part gear "Gear" carried by shaft
part new-shaft "New shaft"
tool big-wrench "Big wrench" range 40..200 N·m
tool wrench "Wrench" range 5..40 N·m
supply oil "Oil" 1.8 L
supply paste "Paste" cure 60 min
pattern rim circle 8 diameter 100 mm
`;
const opened = `${head}teardown
  step open
    remove bolt
    remove cover
    remove gasket
`;

const itemsAt = async (text: string) => {
  const { snapshot, offset, site } = await scene(text);
  const items = await completionsAt(snapshot, offset, site);
  return items.sort((a, b) => (a.sortText! < b.sortText! ? -1 : 1));
};
const at = async (text: string): Promise<string[]> => (await itemsAt(text)).map(({ label }) => label);

describe('statements at the beginning of a line', () => {
  const firstAt = async (text: string) => (await at(text)).slice(0, 5);

  it('begin with those that the phase is mostly made of', async () => {
    expect(await firstAt(`${head}teardown\n  step open\n    ¦`)).toEqual([
      'remove',
      'disconnect',
      'loosen',
      'drain',
      'mark',
    ]);
    expect(await firstAt(`${opened}reassembly\n  step close\n    ¦`)).toEqual([
      'fit',
      'tighten',
      'apply',
      'connect',
      'fill',
    ]);
    expect((await firstAt(`${opened}inspection\n  step look\n    ¦`))[0]).toBe('clean');
    expect((await firstAt(`${opened}proving\n  step run\n    ¦`))[0]).toBe('check');
    // What closes a block goes first.
    expect((await firstAt(`${head}teardown\n  step open\n    if "worn"\n      ¦`)).slice(0, 3)).toEqual([
      'else',
      'end',
      'remove',
    ]);
  });
});

describe('what asks for a name', () => {
  const suggesting = { commands: new Set(['editor.action.triggerSuggest']) };
  const take = async (text: string, label: string, client = suggesting) => {
    const { snapshot, offset, site } = await scene(text, client);
    const item = (await completionsAt(snapshot, offset, site)).find((each) => each.label === label);
    return [item?.textEdit?.newText, item?.command?.command];
  };
  const again = 'editor.action.triggerSuggest';

  it('leaves its place empty and opens the list there, where there are names and the client does that', async () => {
    const line = `${head}teardown\n  step open\n    ¦`;
    expect(await take(line, 'remove')).toEqual(['remove $1', again]);
    expect(await take(line, 'drain')).toEqual([`drain $1 \${2:1} L`, again]);
    expect(await take(line, 'swap')).toEqual([`swap $1 for \${2:new}`, again]);
    expect(await take(line, 'for')).toEqual(['for $1\n  $0\nend', again]);
    expect(await take(`${head}part lid ¦`, 'held by')).toEqual(['held by $1', again]);
    expect(await take(`${head}part lid ¦`, 'holes')).toEqual(['holes $1', again]);
    expect(await take(`${head}¦`, 'use')).toEqual(['use "$1"', again]);
    // The usual sizes are a list, too.
    expect(await take(`${head}part lid ¦`, 'thread')).toEqual(['thread $1', again]);
  });

  it('opens the list for one of a few words, too: a choice to fill in would shut out all others as long as its place lasts', async () => {
    expect(await take(`${head}part lid ¦`, 'class')).toEqual(['class $1', again]);
    expect(await take(`${head}part lid ¦`, 'grade')).toEqual(['grade $1', again]);
    expect(await take(`${head}part lid ¦`, 'hazard')).toEqual(['hazard $1', again]);
    expect(await take(`${opened}reassembly\n  step close\n    tighten bolt ¦`, 'order')).toEqual(['order $1', again]);
    expect(await take('procedure pump\n  ¦', 'measures')).toEqual(['measures $1', again]);
    expect(await at(`${head}part lid class ¦`)).toEqual([
      '8.8',
      '10.9',
      '12.9',
      '4.6',
      '5.8',
      'A2-70',
      'A4-70',
      'A4-80',
    ]);
    expect(await at(`${head}part lid grade ¦`)).toEqual(['5', '8', '2']);
    expect(await at(`${head}part lid hazard ¦`)).toEqual([
      'heat',
      'pressure',
      'spring',
      'charge',
      'chemical',
      'weight',
    ]);
    expect(await at('procedure pump\n  measures ¦')).toEqual(['metric', 'imperial']);
    expect((await at(`${opened}reassembly\n  step close\n    tighten bolt order ¦`)).slice(0, 2)).toEqual([
      'star',
      'spiral',
    ]);
    // Elsewhere it is the choice.
    expect(await take(`${head}part lid ¦`, 'grade', { commands: new Set() })).toEqual([
      `grade \${1|5,8,2|}`,
      undefined,
    ]);
  });

  it('has a word to be replaced there elsewhere, as does what names something new', async () => {
    expect(await take('teardown\n  step open\n    ¦', 'remove')).toEqual([`remove \${1:part}`, undefined]);
    expect(await take('part lid ¦', 'holes')).toEqual([`holes \${1:pattern}`, undefined]);
    const line = `${head}teardown\n  step open\n    ¦`;
    expect(await take(line, 'measure')).toEqual([`measure \${1:reading} limit \${2:0.1}..\${3:0.3} mm`, undefined]);
    expect(await take(line, 'check')).toEqual([`check "\${1:What must hold}"`, undefined]);
    expect(await take(line, 'remove', { commands: new Set() })).toEqual([`remove \${1:part}`, undefined]);
    expect(await take(`${head}¦`, 'part')).toEqual([`part \${1:name} "\${2:What it is}"`, undefined]);
  });
});

describe('names by what the replay says at that place', () => {
  it('offers behind `fit` only what is off there, and what was used up as new', async () => {
    expect(await at(`${opened}reassembly\n  step close\n    fit ¦`)).toEqual(['bolt', 'cover', 'new gasket', 'new']);
    expect(await at(`${opened}reassembly\n  step close\n    fit cover\n    fit ¦`)).toEqual([
      'bolt',
      'new',
      'new gasket',
    ]);
    expect(await at(`${opened}reassembly\n  step close\n    fit c¦`)).toEqual(['bolt', 'cover', 'new gasket', 'new']);
  });

  it('offers `new` behind `fit` as a word, too, and finds what goes back as new by it', async () => {
    const items = await itemsAt(`${opened}reassembly\n  step close\n    fit n¦`);
    const word = items.find(({ label }) => label === 'new');
    expect(word?.textEdit).toMatchObject({ newText: `new \${1:part}` });
    expect(JSON.stringify(word?.documentation)).toContain('from stock');
    // An editor looks for the beginning of a word in this.
    expect(items.find(({ label }) => label === 'new gasket')?.filterText).toBe('gasket new');
    expect(await at(`${opened}reassembly\n  step close\n    fit new ¦`)).not.toContain('new');
    expect(await at(`${opened}reassembly\n  step close\n    fit cover with ¦`)).not.toContain('new');
    expect(await at(`${opened}reassembly\n  step close\n    connect ¦`)).not.toContain('new');
  });

  it('offers as new, behind `fit`, what has been discarded and what went with its carrier', async () => {
    const gone = `${opened}    discard gasket\n    remove shaft\n    discard shaft\nreassembly\n  step close\n`;
    expect(await at(`${gone}    fit ¦`)).toEqual(['bolt', 'cover', 'new gasket', 'new gear', 'new shaft', 'new']);
    expect(await at(`${gone}    fit new gasket\n    fit ¦`)).not.toContain('new gasket');
  });

  it('judges by the place, not by the end of the file', async () => {
    expect(await at(`${head}teardown\n  step open\n    remove bolt\n    fit ¦\n    remove cover\n`)).toEqual([
      'bolt',
      'new',
    ]);
    expect(await at(`${head}teardown\n  step open\n    fit ¦\n    remove bolt\n`)).toEqual([]);
  });

  it('offers behind `remove` what is on, what is free first', async () => {
    expect(await at(`${head}teardown\n  step open\n    remove bolt\n    remove ¦`)).toEqual([
      'cover',
      'new-shaft',
      'gasket',
      // It sits on the shaft, and with that behind the cover.
      'gear',
      'shaft',
    ]);
  });

  it('takes for free what sits behind something that left with its carrier, or on something that is covered', async () => {
    const unit = `part housing "Housing"
part lid "Lid" carried by housing
part pump "Pump" behind lid
part pin "Pin" carried by pump
part cover "Cover"
part axle "Axle" behind cover
part clip "Clip" carried by axle
teardown
  step open
`;
    // Covered: pump and pin by the lid, axle and what sits on it by the cover.
    expect(await at(`${unit}    remove ¦`)).toEqual(['cover', 'housing', 'lid', 'axle', 'clip', 'pin', 'pump']);
    expect(
      await at(`${unit}    remove housing
    remove ¦`),
    ).toEqual(['cover', 'lid', 'pin', 'pump', 'axle', 'clip']);
    const refit = `${unit}    remove pump
    remove housing
reassembly
  step close
`;
    expect(await at(`${refit}    fit ¦`)).toEqual(['housing', 'pump', 'new']);
    expect(
      await at(`${refit}    fit housing
    fit ¦`),
    ).toEqual(['new', 'pump']);
  });

  it('takes what was swapped in for what covered or held before', async () => {
    const unit = `part old "Old" held by screw
part spare "Spare"
part screw "Screw" thread M8
part pump "Pump" behind old
teardown
  step open
    remove screw
    remove old
    swap old for spare
    fit spare
`;
    expect(await at(`${unit}    remove ¦`)).toEqual(['spare', 'pump']);
    expect(
      await at(`${unit}  step next
    fit screw
    remove ¦`),
    ).toEqual(['screw', 'spare', 'pump']);
  });

  it('offers behind `fit new` what may be renewed, what is single-use first', async () => {
    expect(await at(`${opened}reassembly\n  step close\n    fit new ¦`)).toEqual(['gasket', 'bolt', 'cover']);
  });

  it('offers behind `discard` first what cannot go back, then what lies on the bench', async () => {
    const step = `${opened}    remove shaft spoiled\n    discard ¦`;
    expect((await at(step)).slice(0, 4)).toEqual(['gasket', 'shaft', 'bolt', 'cover']);
  });
  it('offers behind `tighten` only loose fasteners, and all that are on where none is loose', async () => {
    const two = head.replace('part cover', 'part plug "Plug" torque 40 N·m\npart cover');
    expect(await at(`${two}teardown\n  step open\n    loosen bolt\n    tighten ¦`)).toEqual(['bolt']);
    expect(await at(`${two}teardown\n  step open\n    tighten ¦`)).toEqual(['bolt', 'plug']);
  });

  it('offers behind `loosen` only fasteners', async () => {
    expect(await at(`${head}teardown\n  step open\n    loosen ¦`)).toEqual(['bolt']);
  });

  it('follows a swap: old parts that are off, new ones in stock, carriers that carry', async () => {
    const off = `${head}teardown\n  step open\n    remove bolt\n    remove cover\n    remove shaft\n`;
    expect(await at(`${off}    swap ¦`)).toEqual(['bolt', 'cover', 'shaft']);
    expect(await at(`${off}    swap shaft ¦`)).toEqual(['for']);
    expect(await at(`${off}    swap shaft for ¦`)).toContain('new-shaft');
    expect(await at(`${off}    swap shaft for new-shaft\n    transfer ¦`)).toEqual(['gear']);
    expect(await at(`${off}    swap shaft for new-shaft\n    transfer gear ¦`)).toEqual(['from']);
    expect(await at(`${off}    swap shaft for new-shaft\n    transfer gear from ¦`)).toEqual(['shaft']);
    expect((await at(`${off}    swap shaft for new-shaft\n    transfer gear from shaft to ¦`))[0]).toBe('new-shaft');
  });

  it('knows that only one branch of alternatives has happened', async () => {
    const branches = `${head}teardown\n  step open\n    remove bolt\n    either "a"\n      remove cover\n    or "b"\n      ¦fit ¦\n    end\n`;
    expect(await at(branches.replace('¦fit ¦', 'fit ¦'))).toEqual(['bolt', 'new']);
    expect(await at(branches.replace('¦fit ¦', 'remove cover\n      fit ¦'))).toEqual(['bolt', 'cover', 'new']);
  });

  it('offers tools, supplies, steps, codes and patterns in their places; tools that reach the torque first', async () => {
    expect(await at(`${opened}    loosen bolt using ¦`)).toEqual(['big-wrench', 'wrench']);
    expect(await at(`${head}teardown\n  step open\n    tighten bolt using ¦`)).toEqual(['wrench', 'big-wrench']);
    expect(await at(`${opened}    drain ¦`)).toEqual(['oil', 'paste']);
    expect(await at(`${opened}  step second after ¦`)).toEqual(['open']);
    expect(await at(`${opened}  second "Second" takes 5 min after ¦`)).toEqual(['open']);
    expect(await at(`${opened}    for ¦`)).toEqual(['P-1', 'P-2']);
    expect(await at(`${opened}    for P-1, ¦`)).toEqual(['P-2']);
    expect(await at(`${head}part lid holes ¦`)).toEqual(['rim']);
    expect(await at(`${head}part lid held by bolt, ¦`)).not.toContain('bolt');
  });
});

describe('words', () => {
  it('offers declarations on top, steps in a phase, statements in a step', async () => {
    expect(await at(`${head}¦`)).toEqual(
      expect.arrayContaining(['use', 'part', 'tool', 'supply', 'pattern', 'teardown']),
    );
    expect(await at(`${head}¦`)).not.toContain('remove');
    expect(await at(`${head}teardown\n  ¦`)).toEqual(['step', 'use', 'inspection', 'reassembly', 'proving']);
    expect(await at(`${opened}    ¦`)).toEqual(expect.arrayContaining(['remove', 'fit', 'either', 'step']));
    expect(await at(`${opened}    ¦`)).not.toContain('part');
  });

  it('offers phases in their order, once', async () => {
    const phases = new Set(['teardown', 'inspection', 'reassembly', 'proving']);
    expect((await at('¦')).filter((word) => phases.has(word))).toEqual([...phases]);
    expect(await at(`${opened}¦\nproving\n`)).toEqual(expect.arrayContaining(['inspection', 'reassembly']));
    expect(await at(`${opened}¦\nproving\n`)).not.toContain('proving');
    expect(await at(`${opened}¦\nproving\n`)).not.toContain('teardown');
  });

  it('closes what is open', async () => {
    expect((await at(`${opened}    if "x"\n      ¦`)).slice(0, 2)).toEqual(['else', 'end']);
    expect((await at(`${opened}    either "x"\n      ¦`)).slice(0, 2)).toEqual(['end', 'or']);
    expect(await at(`${opened}    if "x"\n    end\n    ¦`)).not.toContain('end');
  });

  it('offers clauses that the statement takes and that do not stand yet', async () => {
    const tighten = await at(`${opened}    tighten bolt ¦`);
    expect(tighten).toEqual(
      expect.arrayContaining(['to', 'in stages', 'order', 'by hand', 'at holes'].filter((word) => word !== 'at holes')),
    );
    expect(await at(`${opened}    tighten bolt to 25 N·m ¦`)).not.toContain('in stages');
    expect(await at(`${opened}    tighten bolt to 25 N·m ¦`)).toContain('then');
    expect(await at(`${opened}    wait 5 min ¦`)).not.toContain('to');
    expect(await at(`${opened}    apply paste ¦`)).toEqual(['to']);
    expect(await at(`${opened}    heat gear ¦`)).toEqual(['to']);
  });

  it('offers the numbers of the holes behind the pattern of a part', async () => {
    expect(await at(`${head}part stud "Stud" ¦`)).not.toContain('at');
    const which = (await itemsAt(`${head}part stud x4 "Stud" holes rim ¦`)).find(({ label }) => label === 'at');
    expect(JSON.stringify(which?.documentation)).toContain('Which holes of the pattern');
    expect(await at(`${head}part stud x4 "Stud" holes rim at 1, 3 ¦`)).not.toContain('at');
  });

  it('offers the outside diameter of a part with a bore, and that of a circle of holes', async () => {
    expect(await at('part ring "Ring" ¦\n')).not.toContain('diameter');
    const ring = (await itemsAt('part ring "Ring" bore 50 mm interference 20..40 µm ¦\n')).find(
      ({ label }) => label === 'diameter',
    );
    expect(JSON.stringify(ring?.documentation)).toContain('outside diameter');
    const holes = (await itemsAt('pattern rim circle 6 ¦\n')).find(({ label }) => label === 'diameter');
    expect(JSON.stringify(holes?.documentation)).toContain('circle of holes');
  });

  it('fills in what the replay and the declaration know', async () => {
    const [to] = (await itemsAt(`${opened}    tighten bolt ¦`)).filter(({ label }) => label === 'to');
    expect(to!.textEdit).toMatchObject({ newText: ['to $', '{1:25 N·m}'].join('') });
    expect(await at(`${opened}    fit bolt ¦`)).toContain('x8');
    const [oil] = await itemsAt(`${opened}    fill ¦`);
    expect(oil!.textEdit).toMatchObject({ newText: ['oil $', '{1:1.8 L}'].join('') });
  });

  it('offers ready-made lines where they may stand, and there only', async () => {
    expect(await at(`${opened}    ¦`)).toEqual(expect.arrayContaining(['apply-wait', 'fit-tighten', 'fettle-allow']));
    expect(await at(`${opened}    ¦`)).not.toContain('part-fastener');
    expect(await at(`${head}¦`)).toEqual(expect.arrayContaining(['part-fastener', 'supply-cure']));
    expect(await at(`${head}¦`)).not.toContain('apply-wait');
    expect(await at(`${head}¦`)).not.toContain('procedure…');
    // Whoever begins a file is shown the whole of it.
    expect((await at('¦')).slice(0, 2)).toEqual(['procedure', 'procedure…']);
    expect(await at(`${opened}    remove ¦`)).toEqual(['gear', 'new-shaft', 'shaft']);
    const [item] = (await itemsAt(`${opened}    app¦`)).filter(({ label }) => label === 'apply-wait');
    expect(item!.textEdit).toMatchObject({ newText: expect.stringMatching(/^apply \$\{1:sealant\}.*\nwait [^\n]*$/) });
    expect(item!.insertTextFormat).toBe(2);
  });

  it('says in the list what ready-made lines are for, and shows them beside it', async () => {
    const client = { labelDetails: true, markdown: true };
    const itemFor = async (label: string, told: object) => {
      const { snapshot, offset, site } = await scene(`${opened}    ¦`, told);
      return (await completionsAt(snapshot, offset, site)).find((each) => each.label === label);
    };
    const item = await itemFor('fit-tighten', client);
    expect(item?.labelDetails).toEqual({ description: 'Put fasteners back and tighten them' });
    expect(item?.documentation).toEqual({
      kind: 'markdown',
      value: '```fettle\nfit cover-screw\ntighten cover-screw order star using torque-wrench\n```',
    });
    expect((await itemFor('fit-tighten', { markdown: false }))?.documentation).toEqual({
      kind: 'plaintext',
      value: 'fit cover-screw\ntighten cover-screw order star using torque-wrench',
    });
  });

  it('offers nothing in texts, comments and for names that the author invents', async () => {
    expect(await at(`${opened}    do "remove ¦"`)).toEqual([]);
    expect(await at(`${opened}    # remove ¦`)).toEqual([]);
    expect(await at(`${opened}    # f¦`)).toEqual(['fettle-allow']);
    expect(await at(`${opened}    # see f¦`)).toEqual([]);
    expect(await at(`${opened}    remove bolt # f¦`)).toEqual([]);
    expect(await at(`${opened}  step ¦`)).toEqual([]);
  });

  it('offers names that are used and not declared when one is declared', async () => {
    expect(await at(`part ¦\nteardown\n  step open\n    remove lid\n`)).toEqual(['lid']);
  });

  it('offers codes of checks behind fettle-allow, what the next statement has first', async () => {
    expect((await at(`${opened}    # fettle-allow ¦\n    remove bolt\n`))[0]).toBe('already-off');
  });
});

describe('clauses that go with what stands already', () => {
  it('offers the usual fits behind a bore, with what each comes to on that size', async () => {
    const items = await itemsAt(`${head}part race "Race" bore 50 mm ¦`);
    const fits = items.filter(({ label }) => /^(?:H7\/)?[a-z]{1,2}[56]$/.test(label));
    // The hole-basis fits that ISO 286-1 prefers, and the seats of rolling bearings: from memory.
    expect(fits.map(({ label }) => label)).toEqual([
      ...['H7/g6', 'H7/h6', 'H7/js6', 'H7/k6', 'H7/n6', 'H7/p6', 'H7/r6', 'H7/s6'],
      ...['h6', 'j6', 'js6', 'k5', 'k6', 'm5', 'm6', 'n6', 'p6'],
    ]);
    const detail = (name: string) => fits.find(({ label }) => label === name)?.detail;
    // ISO 286-2 on 50 mm, read: H7 +25/0, g6 -9/-25, p6 +42/+26; ISO 492: the bore of a bearing 0/-12, m6 +25/+9.
    expect(detail('H7/g6')).toBe('9 to 50 µm of clearance');
    expect(detail('H7/p6')).toBe('1 to 42 µm of interference');
    expect(detail('H7/k6')).toBe('23 µm of clearance to 18 µm of interference');
    expect(detail('m6')).toBe('bearing, 9 to 37 µm of interference');
    expect(await at(`${head}part race "Race" bore 2 in (50.8 mm) ¦`)).toContain('H7/k6');
  });

  it('completes a fit that is half written, in the place of what stands behind', async () => {
    const race = `${head}part race "Race" bore 50 mm`;
    const { snapshot, offset, site } = await scene(`${race} H7/¦`);
    const asked = {
      textDocument: { uri: '' },
      position: snapshot.rangeAt(offset, offset).start,
      context: { triggerKind: CompletionTriggerKind.TriggerCharacter, triggerCharacter: '/' },
    };
    const offered = await completion.answer(snapshot, asked, site);
    expect(offered?.items.map(({ label }) => label)).toContain('H7/k6');
    for (const begun of ['H¦', 'H7¦', 'H7/¦', 'H7/k¦', 'H7/¦k6', 'H¦7/m6']) {
      const { snapshot, offset, site } = await scene(`${race} ${begun} limit 90 °C`);
      const item = (await completionsAt(snapshot, offset, site)).find(({ label }) => label === 'H7/n6');
      const { newText, replace, range } = item!.textEdit as InsertReplaceEdit & TextEdit;
      expect(applied(snapshot.text, [{ newText, range: replace ?? range }]), begun).toBe(`${race} H7/n6 limit 90 °C`);
    }
  });

  it('offers no fit where none may stand', async () => {
    for (const text of [
      'bore 50 mm H7/k6 ¦',
      'bore 50 mm k6 ¦',
      'bore 50 mm "Text" ¦',
      'bore 50 mm\n  ¦',
      'bore 50 ¦',
      'length 50 mm ¦',
      'bore 900 mm ¦',
      'interference 10..20 µm bore 50 mm ¦',
    ])
      expect(await at(`${head}part race "Race" ${text}`), text).not.toContain('H7/k6');
  });

  it('come first: class, length and torque of a thread, the interference of a bore, the amount of a fluid', async () => {
    expect((await at(`${head}part lid-bolt x4 "Lid bolt" thread M8 ¦`)).slice(0, 5)).toEqual([
      'class',
      'length',
      'torque',
      'holes',
      'head',
    ]);
    expect((await at(`${head}part lid-bolt thread M8 class 8.8 torque 25 N·m ¦`)).slice(0, 2)).toEqual([
      'length',
      'holes',
    ]);
    expect((await at(`${head}part race "Race" bore 62 mm ¦`)).slice(0, 2)).toEqual(['interference', 'length']);
    expect((await at(`${opened}    fill oil ¦`))[0]).toBe('1.8 L');
    expect((await at(`${opened}    drain oil ¦`))[0]).toBe('1.8 L');
    expect(await at(`${opened}    drain oil 1 L ¦`)).not.toContain('1.8 L');
    expect(await at(`${opened}    apply oil ¦`)).toEqual(['to']);
  });
});

describe('below a declaration', () => {
  it('another one comes first where the line is not indented, the clauses that it may go on with where it is', async () => {
    const lid = `${head}part lid "Lid" held by bolt\n`;
    expect((await at(`${lid}¦`))[0]).toBe('part');
    expect(await at(`${lid}¦`)).toContain('renew');
    expect((await at(`${lid}  ¦`))[0]).toBe('behind');
    // The head of the procedure is whole only with its clauses.
    expect((await at('procedure pump "Pump"\n¦'))[0]).toBe('applies to');
  });
});

describe('units', () => {
  it('offers temperatures behind `heat` and `cool`, torques behind `tighten`', async () => {
    for (const [statement, unit] of [
      ['heat gear to 80 ¦', '°C'],
      ['cool gear to 80 ¦', '°C'],
      ['tighten bolt to 8 ¦', 'N·m'],
    ])
      expect((await at(`${opened}reassembly\n  step close\n    ${statement}`))[0], statement).toBe(unit);
  });
  it('offers the kind that belongs there, the procedure’s own system first', async () => {
    expect(await at(`${opened}    tighten bolt to 25 ¦`)).toEqual(['N·m', 'kgf·m', 'kgf·cm', 'lbf·ft', 'lbf·in']);
    expect(await at(`${opened}    tighten bolt to 25 N¦`)).toContain('N·m');
    expect(await at(`${opened}    wait 5 ¦`)).toEqual(['s', 'min', 'h', 'd']);
    expect((await at(`${head}part lid length 5 ¦`))[0]).toBe('mm');
    expect(await at(`${head}part lid class 8.8 ¦`)).not.toContain('mm');
  });

  it('offers one kind after the other where several belong there, the usual one first', async () => {
    expect(await at(`${head}supply grease "Grease" 0.6 ¦`)).toEqual(['L', 'mL', 'g', 'kg', 'qt', 'pt', 'lb']);
    expect((await at(`${head}tool puller "Puller" range 1..5 ¦`)).slice(0, 4)).toEqual(['N·m', 'kgf·m', 'kgf·cm', 'N']);
  });

  it('offers first what a reading or a tool is named after, lengths for other readings', async () => {
    const first = async (text: string) => (await at(text))[0];
    expect(await first(`${opened}    measure end-play limit 0.1..0.2 ¦`)).toBe('mm');
    expect(await first(`${opened}    measure relief-pressure limit 175..185 ¦`)).toBe('bar');
    expect(await first(`${opened}    measure drag-torque max 2 ¦`)).toBe('N·m');
    expect(await first(`${opened}    measure oil-temperature min 40 ¦`)).toBe('°C');
    expect(await first(`${head}tool pressure-gauge "Gauge" range 0..250 ¦`)).toBe('bar');
  });

  it('takes the place of the unit that stands behind the cursor', async () => {
    const taken = async (line: string, label: string) => {
      const { snapshot, offset, site } = await scene(`${head}${line}`);
      const item = (await completionsAt(snapshot, offset, site)).find((each) => each.label === label);
      return applied(snapshot.text, [item!.textEdit as TextEdit]).slice(head.length);
    };
    expect(await taken('part lid torque 25 ¦ N·m', 'lbf·ft')).toBe('part lid torque 25 lbf·ft');
    expect(await taken('part lid torque 25 N¦ N·m holes rim', 'N·m')).toBe('part lid torque 25 N·m holes rim');
    expect(await taken('part lid torque 25 N¦ holes rim', 'N·m')).toBe('part lid torque 25 N·m holes rim');
    expect(await taken('part lid length 25 ¦ in', 'mm')).toBe('part lid length 25 mm');
  });

  it('offers the other system first in brackets, of the same kind', async () => {
    expect((await at(`${head}part lid torque 25 N·m (18 ¦`))[0]).toBe('lbf·ft');
    expect(await at(`${opened}    fill oil 2 L (2 ¦`)).toEqual(['qt', 'pt', 'L', 'mL']);
  });
});

describe('files', () => {
  it('offers files of declarations behind `use`, as paths from this one', async () => {
    const { snapshot, offset, site } = await scene({
      'jobs/unit.fettle': 'use "¦',
      'common/bolts.fettle': 'part bolt',
      'jobs/other.fettle': 'procedure other "Other"',
    });
    const items = await completionsAt(snapshot, offset, site);
    expect(items.sort((a, b) => (a.sortText! < b.sortText! ? -1 : 1)).map(({ label }) => label)).toEqual([
      '../common/bolts.fettle',
      'other.fettle',
    ]);
  });
});

describe('what an item does', () => {
  it('replaces the word that is being typed', async () => {
    const text = `${opened}    tighten bolt to 25 N·m usi¦`;
    const { snapshot, offset, site } = await scene(text);
    const using = (
      await completionsAt(snapshot, offset, { ...site, client: { ...site.client, snippets: false } })
    ).find(({ label }) => label === 'using');
    expect(
      applied(snapshot.text, [using!.textEdit as never])
        .split('\n')
        .at(-1),
    ).toBe('    tighten bolt to 25 N·m using ');
  });

  it('writes no word a second time that stands behind the cursor', async () => {
    const whole = (line: string) => `${opened}    ${line}\nreassembly\n`;
    const taken = async (line: string, label: string, replacing = false) => {
      const { snapshot, offset, site } = await scene(whole(line));
      const items = await completionsAt(snapshot, offset, site);
      const { textEdit, insertTextFormat } = items.find((item) => item.label === label)!;
      expect(insertTextFormat).toBe(InsertTextFormat.PlainText);
      const { newText, ...ranges } = textEdit as InsertReplaceEdit & TextEdit;
      const range = ranges.range ?? (replacing ? ranges.replace : ranges.insert);
      return applied(snapshot.text, [{ range, newText }]).slice(opened.length).split('\n')[0]!.trim();
    };
    expect(await taken('rem¦ove cover', 'remove')).toBe('remove cover');
    expect(await taken('rem¦ove cover', 'replace')).toBe('replaceove cover');
    expect(await taken('rem¦ove cover', 'replace', true)).toBe('replace cover');
    expect(await taken('rem¦ cover', 'remove')).toBe('remove cover');
    expect(await taken('clean bo¦lt', 'bolt')).toBe('clean bolt');
    expect(await taken('fill o¦il 1.8 L', 'oil')).toBe('fill oil 1.8 L');
    expect(await taken('tighten bolt t¦o 25 N·m', 'to')).toBe('tighten bolt to 25 N·m');
    expect(await taken('mark cover ke¦ep in "tray"', 'keep in')).toBe('mark cover keep in "tray"');
    expect(await taken('# fettle-allow le¦ft-off: so', 'left-off')).toBe('# fettle-allow left-off: so');
  });

  it('offers what is asked for behind the first signs of a class or an inch thread', async () => {
    expect(await at(`${head}part pin "Pin" class 8¦`)).toContain('8.8');
    const [thread] = (await itemsAt(`${head}part pin "Pin" thread 5/16¦`)).filter(({ label }) => label === '5/16-18');
    expect(thread?.textEdit).toMatchObject({ newText: '5/16-18', range: { start: { character: 22 } } });
  });

  it('offers no other clause behind `keep in`, nor within brackets', async () => {
    expect(await at(`${opened}    mark cover keep in ¦`)).toEqual([]);
    expect(await at(`${opened}    tighten bolt to 25 N·m (¦`)).toEqual([]);
    // A place where it is kept says nothing of stages.
    expect(await at(`${opened}    tighten bolt keep in "tray" ¦`)).toContain('to');
  });

  it('gives the usual classes to choose from', async () => {
    const [item] = (await itemsAt(`${head}part pin "Pin" ¦`)).filter(({ label }) => label === 'class');
    expect(item?.textEdit).toMatchObject({ newText: expect.stringMatching(/^class \$\{1\|8\.8,10\.9,/) });
  });

  it('carries documentation, and no snippet signs for clients without snippets', async () => {
    const { snapshot, offset, site } = await scene(`${opened}    ¦`);
    for (const item of await completionsAt(snapshot, offset, {
      ...site,
      client: { ...site.client, snippets: false },
    })) {
      expect(item.documentation, item.label).toBeDefined();
      expect((item.textEdit as { newText: string }).newText).not.toMatch(/[$<>]/);
    }
  });

  it('stays shut when a blank is typed where anything may follow', async () => {
    const { snapshot, position, site, textDocument } = await scene(`${opened}    remove bolt ¦`);
    const context = { triggerKind: 2 as const, triggerCharacter: ' ' };
    expect(await completion.answer(snapshot, { textDocument, position, context }, site)).toBeNull();
  });
});

describe('the tables of clauses', () => {
  const samples: readonly (readonly [string, string])[] = [
    ['then', 'to 5 N·m then 90°'],
    ['xN', 'x2'],
    ['text', '"Text"'],
    ['using', 'using t'],
    ['keep', 'keep in "bag"'],
    ['see', 'see "Fig. 1"'],
    ['extension', 'extension 60 mm on 400 mm'],
    ['spoiled', 'spoiled'],
    ['with', 'with q'],
    ['order', 'order star'],
    ['to', 'to 25 N·m'],
    ['in', 'in stages 5 N·m, 10 N·m'],
    ['by', 'by hand'],
    ['at', 'at holes 1, 2'],
    ['max', 'max 5 kN'],
    ['min', 'min 5 mm'],
    ['limit', 'limit 5..6 mm'],
  ];
  const opening: Record<string, string> = {
    swap: 'swap p for q',
    transfer: 'transfer p from a to b',
    try: 'try p on q',
    apply: 'apply s to p',
    wait: 'wait 5 min',
    heat: 'heat p to 80 °C',
    cool: 'cool p to -20 °C',
    fill: 'fill s 1 L',
    shim: 'shim p gap g endplay 0.1 mm from 0.1 mm',
    ...Object.fromEntries(textStatements.map((word) => [word, word])),
  };
  const takes = (line: string): boolean =>
    parse('t', `step s\n    ${line}\n`).chunks.every(({ issues }) => issues.length === 0);

  it.each(statementWords)('%s agrees with the parser', (word) => {
    const line = opening[word] ?? `${word} p`;
    const needsText = word in opening && line === word;
    for (const [clause, sample] of samples) {
      if ((word === 'heat' || word === 'cool') && clause === 'to') continue;
      const whole = `${line} ${sample}${(needsText || word === 'omit') && clause !== 'text' ? ' "Text"' : ''}`;
      expect([clause, takes(whole)], whole).toEqual([clause, clausesOf[word].includes(clause)]);
    }
  });

  const properties: readonly (readonly [string, string])[] = [
    ['then', 'torque 25 N·m then 90°'],
    ['xN', 'x2'],
    ['text', '"Text"'],
    ['held', 'held by p'],
    ['behind', 'behind p'],
    ['carried', 'carried by p'],
    ['thread', 'thread M8'],
    ['class', 'class 8.8'],
    ['grade', 'grade 5'],
    ['torque', 'torque 25 N·m'],
    ['length', 'length 25 mm'],
    ['holes', 'holes p'],
    ['dry', 'dry'],
    ['oiled', 'oiled'],
    ['threadlock', 'threadlock'],
    ['renew', 'renew'],
    ['lead', 'lead 2 d'],
    ['index', 'index'],
    ['hazard', 'hazard heat'],
    ['bore', 'bore 25 mm'],
    ['interference', 'bore 25 mm interference 5..10 µm'],
    ['limit', 'limit 80 °C'],
    ['sealed', 'sealed'],
    ['greased', 'greased'],
    ['number', 'number "1"'],
    ['range', 'range 5..10 N·m'],
    ['spec', 'spec "S"'],
    ['cure', 'cure 5 min'],
    ['circle', 'circle 5'],
    ['angles', 'circle angles 0°, 90°'],
    ['diameter', 'diameter 50 mm'],
    ['points', 'points (0, 0) (5, 5) mm'],
  ];
  it.each(declarationWords)('%s agrees with the parser', (word) => {
    for (const [property, sample] of properties) {
      const line = `${word} p ${sample}`;
      const taken = parse('t', `${line}\n`).chunks.every(({ issues }) => issues.length === 0);
      expect([property, taken], line).toEqual([property, propertiesOf[word].includes(property)]);
    }
  });
});

it('shows beside each name what it is', async () => {
  const items = await itemsAt(`${head}teardown\n  step open\n    remove ¦`);
  expect(items.find(({ label }) => label === 'cover')?.labelDetails).toEqual({ description: 'Cover' });
});

describe('the likeliest first', () => {
  const rich = `${head}part bearing x2 "Bearing" bore 40 mm H7/k6 behind cover
part motor "Motor" hazard weight
part hose "Hose"
part shim-pack "Shim stack" behind cover
part lock-bolt "Lock bolt" thread M8 threadlock behind cover
supply locker "Thread locker" cure 3 h
teardown
  step open "Open"
    remove bolt keep in "tray A"
    remove cover keep in "tray B"
    remove gasket
    discard gasket
`;
  const firstAt = async (text: string) => (await at(rich + text))[0];

  it('goes by what the statement is for', async () => {
    expect(await firstAt('    heat ¦')).toBe('bearing');
    expect(await firstAt('    press ¦')).toBe('bearing');
    expect(await firstAt('    support ¦')).toBe('motor');
    expect(await firstAt('    shim ¦')).toBe('shim-pack');
    expect(await firstAt('    clean ¦')).toBe('bolt');
    expect(await firstAt('    apply locker to ¦')).toBe('lock-bolt');
    expect(await firstAt('    apply paste to ¦')).toBe('bolt');
    expect(await firstAt('    remove shaft with ¦')).toBe('gear');
    expect(await firstAt('    disconnect ¦')).not.toMatch(/bolt/);
    expect(await firstAt('reassembly\n  step close\n    fit new ¦')).toBe('gasket');
  });
  it('applies what cures, and does not fill it', async () => {
    expect(await at(`${rich}    fill ¦`)).toEqual(['oil', 'locker', 'paste']);
    expect(await at(`${rich}    apply ¦`)).toEqual(['locker', 'paste', 'oil']);
  });
  it('follows the step above', async () => {
    expect(await at(`${rich}  step a\n  step b\n  step c after ¦\n  step d\n`)).toEqual(['b', 'a', 'open', 'd']);
  });
  it('counts what is taken in from another file as standing where it is taken in', async () => {
    const shared = 'teardown\n  step shared\n    remove bolt keep in "tray S"\n';
    const around = (line: string) => `${head}teardown
  step first
    remove gasket keep in "tray 1"
  step second after ¦
  step third
    ${line}
  use "shared.fettle"
  step last
    remove shaft keep in "tray 2"
`;
    const seen = async (text: string): Promise<string[]> => {
      const { snapshot, offset, site } = await scene({ 'unit.fettle': text, 'shared.fettle': shared });
      const items = await completionsAt(snapshot, offset, site);
      return items.sort((a, b) => (a.sortText! < b.sortText! ? -1 : 1)).map(({ label }) => label);
    };
    expect(await seen(around(''))).toEqual(['first', 'third', 'shared', 'last']);
    expect(await seen(around('').replace(' after ¦', '').replace('last', 'last after ¦'))).toEqual([
      'shared',
      'third',
      'second',
      'first',
    ]);
    expect(await seen(around('remove cover keep in ¦').replace(' after ¦', ''))).toEqual([
      '"tray 1"',
      '"tray S"',
      '"tray 2"',
    ]);
  });
  it('goes through threads by their size', async () => {
    expect((await at(`${head}part stud "Stud" thread ¦`)).slice(0, 6)).toEqual(['M3', 'M4', 'M5', 'M6', 'M8', 'M10']);
  });
  it('offers the places that parts are kept in, the last one first', async () => {
    const below = '\n    remove motor keep in "bag \\"1\\""\n';
    expect(await at(`${rich}    remove shaft keep in ¦${below}`)).toEqual(['"tray B"', '"tray A"', '"bag \\"1\\""']);
    expect(await at(`${rich}    remove shaft keep in "¦"${below}`)).toEqual(['tray B', 'tray A', 'bag \\"1\\"']);
    expect(await at(`${rich}    remove shaft keep in "tr¦"${below}`)).toEqual(['tray B', 'tray A', 'bag \\"1\\"']);
    expect(await at(`${rich}    remove shaft see "¦"`)).toEqual([]);
  });
  it('tells what a hazard is, not what the statement of that name does', async () => {
    const [heat] = await itemsAt(`${head}part lid "Lid" hazard ¦`);
    expect(JSON.stringify(heat?.documentation)).toMatch(/hot enough to burn/);
  });
});
