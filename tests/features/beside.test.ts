import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { cardFile, cardPage } from '../../server/src/features/card-view.ts';
import { codeActionResolve, codeActionsAt } from '../../server/src/features/code-action.ts';
import { draftAnswer, draftKind } from '../../server/src/features/draft-command.ts';
import { fullClient } from '../../server/src/features/feature.ts';
import { diagramPage } from '../../server/src/features/holding-diagram.ts';
import { kitFile } from '../../server/src/features/kit-file.ts';
import { trailAt } from '../../server/src/features/parts-trail.ts';
import { planPage } from '../../server/src/features/plan-view.ts';
import type { PartsTrail } from '../../server/src/requests.ts';
import { fettle, folder } from '../cli/run.ts';
import { applied, scene, textAt } from './scene.ts';

const head = `procedure pump "Overhaul the pump"
  applies to P-1, P-2
use "bolts.fettle"
part cover "Cover" held by bolt
part seal "Seal" renew behind cover
supply oil "Oil" 1 L
`;
const unit = `${head}
teardown
  step open "Open it" takes 10 min
    identify "Read the code"
    drain oil
    remove bolt keep in
      "tray A"
    for P-2
      remove cover
    end
    remove cover # twice in one
    remove seal

reassembly
proving
  step run "Run it" takes 5 min
    check "It runs"
`;
const files = (text: string): Record<string, string> => ({
  'unit.fettle': text,
  'bolts.fettle': 'part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m\n',
});
const marked = (line: string): string => unit.replace(line, `${line}¦`);

/** `P-1, P-2 | tray: bolt 4, cover` */
const said = ({ views }: PartsTrail): string[] =>
  views.map(
    ({ codes, groups }) =>
      `${codes.join(', ')} | ${groups.map(({ group, parts }) => `${group}: ${parts.map(({ part, pieces }) => `${part} ${pieces}`).join(', ')}`).join('; ')}`,
  );

describe('the parts trail at the cursor', () => {
  const at = async (line: string) => {
    const { snapshot, position } = await scene(files(marked(line)));
    return { trail: trailAt(snapshot, position), snapshot };
  };

  test.each([
    ['  applies to', [`P-1, P-2 | `]],
    ['teardown', ['P-1, P-2 | ']],
    // Wherever on its line, and on any of its lines, a statement counts as done.
    ['    rem', ['P-1, P-2 | tray: bolt 4']],
    ['"tray A"', ['P-1, P-2 | tray: bolt 4']],
    ['    for P-2', ['P-1, P-2 | tray: bolt 4']],
    // What the other code does not do leaves it where it was.
    ['      remove cover', ['P-1 | tray: bolt 4', 'P-2 | tray: cover 1, bolt 4']],
    ['remove cover # twice', ['P-1, P-2 | tray: cover 1, bolt 4']],
    ['check "It runs"', ['P-1, P-2 | tray: seal 1, cover 1, bolt 4']],
  ])('behind %j', async (line, expected) => {
    expect(said((await at(line)).trail).map((each) => each.replace(/ +$/, ''))).toEqual(
      expected.map((each) => each.replace(/ +$/, '')),
    );
  });

  test('names the line that it stands behind, and where each lot comes from', async () => {
    const { trail, snapshot } = await at('remove seal');
    expect(trail.line).toBe(unit.slice(0, unit.indexOf('remove seal')).split('\n').length - 1);
    const [{ groups }] = trail.views as [PartsTrail['views'][number]];
    const texts = groups[0]!.parts.map(({ lots }) => snapshot.file.document.getText(lots[0]!.range));
    expect(texts).toEqual(['remove seal', 'remove cover', 'remove bolt keep in\n      "tray A"']);
    expect(groups[0]!.parts.map(({ spoiled }) => spoiled)).toEqual([1, 0, 0]);
    expect(groups[0]!.parts[2]!.lots).toMatchObject([{ pieces: 4, place: 'tray A' }]);
    expect((await at('applies to')).trail.line).toBeUndefined();
  });

  test('knows the end of a file without a line break, and a block by its last line', async () => {
    const block = `${head}teardown
  step s "S"
    either "One"
      remove cover
    or "Two"
      check "Nothing"
      remove cover
    end`;
    const end = await scene(files(`${block}¦`));
    expect(said(trailAt(end.snapshot, end.position))).toEqual(['P-1, P-2 | tray: cover 1']);
    const second = await scene(files(block.replace('"Nothing"', '"Nothing"¦')));
    expect(said(trailAt(second.snapshot, second.position))).toEqual(['P-1, P-2 | ']);
  });
});

describe('the card', () => {
  test('marks lines of the source, and is for one code on demand', async () => {
    const { snapshot } = await scene(files(unit));
    const page = cardPage(snapshot, { textDocument: { uri: snapshot.file.uri } });
    expect(page).toMatchObject({ title: 'Overhaul the pump', codes: ['P-1', 'P-2'] });
    const lines = unit.split('\n');
    for (const words of ['remove seal', 'check "It runs"', 'step open'])
      expect(page.body).toContain(`data-line="${lines.findIndex((line) => line.includes(words))}"`);
    expect(cardPage(snapshot, { textDocument: { uri: '' }, code: 'P-2' }).body).toContain(
      'Only for units with this code',
    );
    // A code that is gone is no reason to show nothing.
    expect(cardPage(snapshot, { textDocument: { uri: '' }, code: 'P-9' }).body).toBe(page.body);
    expect(cardPage(snapshot, { textDocument: { uri: '' }, paper: 'letter' }).style).toContain('size: letter');
  });

  test('as a file names its source and counts the errors that it warns of', async () => {
    const { snapshot } = await scene({ ...files(unit), 'my unit.fettle': `¦${unit}` });
    const { html, errors } = cardFile(snapshot, { textDocument: { uri: snapshot.file.uri } });
    expect(errors).toBe(snapshot.judged.findings.filter(({ severity }) => severity === 'error').length);
    expect(errors).toBeGreaterThan(0);
    expect(html).toContain('my unit.fettle');
    expect(html).toContain('Do not use this card');
    expect(html).not.toContain('<script');
  });
});

describe('the parts at the cursor', () => {
  test('have titles and places that run from right to left in their order', async () => {
    const text = `part bolt x4 "בורג 8 mm"\nteardown\n  step open takes 1 min\n    remove bolt keep in "מגש 2 L"¦\n`;
    const { snapshot, position } = await scene({ 'unit.fettle': text });
    const [part] = trailAt(snapshot, position!).views[0]!.groups[0]!.parts;
    expect(part!.title).toBe('\u2068בורג \u20668 mm\u2069\u2069');
    expect(part!.lots[0]!.place).toBe('\u2068מגש \u20662 L\u2069\u2069');
  });
});

describe('the kit as a file', () => {
  const text = `procedure pump "Overhaul the pump"
  applies to P-1, P-2
part seal "Seal, 40 µm" renew
part ring "Ring" renew
teardown
  step open "Open it" takes 10 min
    remove seal
    discard seal
    remove ring
    discard ring
reassembly
  step close "Close it" takes 10 min
    fit new seal
    for P-2
      fit new ring
    end
`;
  const rowsOf = (csv: string): string[] => csv.split('\r\n').filter((row) => row.startsWith('part,'));

  test('is what the command line writes to a file, and is for one code on demand', async () => {
    const { snapshot } = await scene({ 'pump.fettle': `¦${text}` });
    const textDocument = { uri: snapshot.file.uri };
    const all = kitFile(snapshot, { textDocument });
    const cwd = folder({ 'pump.fettle': text });
    expect(fettle(['kit', 'pump.fettle', '--format', 'csv', '-o', 'kit.csv'], { cwd }).status).toBe(0);
    expect(all.csv).toBe(readFileSync(join(cwd, 'kit.csv'), 'utf8'));
    expect(rowsOf(all.csv)).toHaveLength(2);
    const one = kitFile(snapshot, { textDocument, code: 'P-1' });
    expect(rowsOf(one.csv)).toHaveLength(1);
    expect(one.code).toBe('P-1');
    // A code that is gone is no reason to list nothing.
    expect(kitFile(snapshot, { textDocument, code: 'P-9' })).toEqual(all);
  });

  test('has order dates where the day of the start is told, as the command line has them', async () => {
    const late = text.replace('renew\n', 'renew lead 2 d\n');
    const { snapshot } = await scene({ 'pump.fettle': `¦${late}` });
    const textDocument = { uri: snapshot.file.uri };
    const cwd = folder({ 'pump.fettle': late });
    const start = '2027-03-01';
    expect(fettle(['kit', 'pump.fettle', '--format', 'csv', '-o', 'kit.csv', '--start', start], { cwd }).status).toBe(
      0,
    );
    const dated = kitFile(snapshot, { textDocument, start });
    expect(dated.csv).toBe(readFileSync(join(cwd, 'kit.csv'), 'utf8'));
    expect(dated.csv).toContain(',2027-02-27,');
    expect(dated.start).toBe(start);
    const undated = kitFile(snapshot, { textDocument });
    expect(undated.csv).not.toContain('2027-');
    for (const day of ['', '2027-02-30', '1 March'])
      expect(kitFile(snapshot, { textDocument, start: day })).toEqual(undated);
    expect(undated.leads).toBe(true);
    expect(kitFile((await scene({ 'pump.fettle': `¦${text}` })).snapshot, { textDocument }).leads).toBe(false);
  });

  test('counts nothing where no step needs anything', async () => {
    const { snapshot } = await scene({ 'pump.fettle': '¦procedure pump "Pump"\npart lid "Lid"\n' });
    expect(kitFile(snapshot, { textDocument: { uri: snapshot.file.uri } })).toMatchObject({ things: 0, errors: 0 });
  });
});

describe('diagram and plan', () => {
  test('lead to the declarations of this file only', async () => {
    const { snapshot } = await scene(files(unit));
    const { body } = diagramPage(snapshot);
    const lineOf = (words: string): number => unit.split('\n').findIndex((line) => line.startsWith(words));
    expect(body).toContain(`<g class="part" transform="translate(0 98)" data-line="${lineOf('part cover')}">`);
    expect(body).toMatch(new RegExp(`<li data-line="${lineOf('part seal')}"><bdi>Seal</bdi>`));
    expect(body).toMatch(/<li><bdi>Bolt<\/bdi> × 4/);
    // Lines move on without a new layout.
    const moved = await scene(files(`\n\n${unit}`));
    expect(diagramPage(moved.snapshot).body).toContain(`data-line="${lineOf('part cover') + 2}"`);
  });

  test('have the title once, above the drawing', async () => {
    const { snapshot } = await scene(files(unit));
    for (const { body } of [planPage(snapshot), diagramPage(snapshot)])
      expect(body.match(/>[^<]*Overhaul the pump[^<]*<\/(?!title)/g)).toHaveLength(1);
  });

  test('say what is the matter where there is nothing to draw', async () => {
    const none = await scene('tool t "T"\n');
    expect(diagramPage(none.snapshot).body).toContain('No part is declared');
    const bad = await scene(unit.replace('step open "Open it"', 'step open "Open it" after run'));
    expect(planPage(bad.snapshot).body).toMatch(/<p>[^<]*`after`/);
    expect(planPage((await scene(files(unit))).snapshot).body).toMatch(/<svg [\s\S]*<table/);
  });
});

describe('the draft', () => {
  const only = [draftKind];
  const offered = async (text: string, client = fullClient) => {
    const { snapshot, selection } = await scene(files(text));
    return {
      snapshot,
      actions: codeActionsAt(
        snapshot,
        { textDocument: { uri: '' }, range: selection, context: { diagnostics: [], only } },
        client,
      ).filter(({ title }) => title.startsWith('Draft')),
    };
  };
  const emptied = unit.replace(/\nreassembly/, '');

  test('is offered on `reassembly`, and everywhere where there is none', async () => {
    expect((await offered(marked('reassembly'))).actions).toMatchObject([{ kind: 'refactor.rewrite' }]);
    expect((await offered(marked('remove seal'))).actions).toEqual([]);
    expect((await offered(emptied.replace('remove seal', 'remove¦ seal'))).actions).toHaveLength(1);
  });

  test('is offered on the lines below `reassembly`, too, up to its first step or the next phase', async () => {
    const torn = emptied.slice(0, emptied.indexOf('\nproving')).trimEnd();
    for (const text of [
      `${torn}\nreassembly\n  ¦`,
      `${torn}\nreassembly\n\n  ¦\n\nproving\n  step try\n    check "x"\n`,
    ])
      expect((await offered(text)).actions, text).toHaveLength(1);
    for (const text of [
      `${torn}\nreassembly\n  step close\n    fit seal¦\n`,
      `${torn}\nreassembly\n\nproving\n  step try¦\n    check "x"\n`,
      `${torn}¦\nreassembly\n`,
    ])
      expect((await offered(text)).actions, text).toEqual([]);
  });

  test('is not offered where nothing is owed', async () => {
    expect((await offered(`${head}¦teardown\n  step s\n    check "x"`)).actions).toEqual([]);
    const whole = await scene(files(unit));
    const { edits } = draftAnswer(whole.snapshot);
    const done = applied(unit, edits).replace('reassembly', 'reassembly¦');
    expect((await offered(done)).actions).toEqual([]);
  });

  test('gives its edits when asked for them, and for no other text', async () => {
    const { workspace, site, selection, uri, snapshot } = await scene(files(marked('reassembly')));
    const [action] = codeActionsAt(
      snapshot,
      { textDocument: { uri }, range: selection, context: { diagnostics: [], only } },
      fullClient,
    );
    expect(action!.edit).toBeUndefined();
    const resolved = await codeActionResolve.answer(action!, site);
    const changes = resolved!.edit!.documentChanges as unknown as { edits: [] }[];
    expect(applied(unit, changes[0]!.edits)).toBe(applied(unit, draftAnswer(snapshot).edits));
    const whole = await textAt(workspace, uri, snapshot.rangeAt(0, unit.length));
    workspace.didChange(uri, 2, [{ text: whole.replace('takes 10 min', 'takes 12 min') }]);
    expect((await codeActionResolve.answer(action!, site))!.edit).toBeUndefined();
  });

  test('comes with its edits where the client cannot ask later', async () => {
    const { actions, snapshot } = await offered(marked('reassembly'), {
      ...fullClient,
      resolvesEdits: false,
      documentChanges: false,
    });
    expect(applied(unit, Object.values(actions[0]!.edit!.changes!)[0]!)).toBe(
      applied(unit, draftAnswer(snapshot).edits),
    );
  });

  test('says its version and its notes', async () => {
    const { snapshot } = await scene(files(unit));
    const { version, notes, edits } = draftAnswer(snapshot);
    expect(version).toBe(1);
    expect(edits.length).toBeGreaterThan(0);
    expect(notes).toContain('The times of drafted steps are those of the teardown: estimate them anew.');
  });
});
