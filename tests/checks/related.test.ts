import { expect, test } from 'vitest';
import { offsetsOf } from '../../grammar/syntax.ts';
import { checkOf } from '../../server/src/checks/all.ts';
import { judgeFiles } from './fixtures.ts';

/** By code: the places beside the finding of the check's own bad example, each in its line, and what is said of it. */
const places: Readonly<Record<string, readonly (readonly [line: string, says: string])[]>> = {
  'left-off': [['part ⟦cover⟧ "Cover"', '`cover` is declared here']],
  'count-short': [
    ['fit ⟦bolt⟧ x10', '10 went back by here'],
    ['part ⟦bolt⟧ x12 "Bolt"', '`bolt` is declared here'],
  ],
  'not-off': [['part ⟦cover⟧ "Cover"', '`cover` is declared here']],
  'already-off': [
    ['remove ⟦cover⟧', '`cover` came off here'],
    ['part ⟦cover⟧ "Cover"', '`cover` is declared here'],
  ],
  'renew-refitted': [
    ['remove ⟦bore-plug⟧', '`bore-plug` came off here'],
    ['part bore-plug "Bore plug" ⟦renew⟧', 'declared `renew` here'],
  ],
  'not-replaced': [
    ['discard ⟦seal⟧', 'discarded here'],
    ['part ⟦seal⟧ "Shaft seal"', '`seal` is declared here'],
  ],
  'left-behind': [['part ⟦wheel⟧ "Brake wheel" carried by old-drum', '`wheel` is declared here']],
  'wrong-carrier': [['part ⟦wheel⟧ "Brake wheel"', '`wheel` is declared here']],
  'left-loose': [['part bolt x2 "Bolt" thread M8 class 8.8 torque ⟦25 N·m⟧', '`bolt` is declared here']],
  'still-held': [['part cover "Cover" held by ⟦bolt⟧', 'held by `bolt`, declared here']],
  'out-of-reach': [['part seal "Seal" behind ⟦cover⟧', 'behind `cover`, declared here']],
  'closed-in': [['fit ⟦cover⟧', '`cover` went back on here']],
  'left-open': [['supply ⟦oil⟧ "Gear oil" 1.8 L', '`oil` is declared here']],
  'fill-differs': [['supply oil "Gear oil" ⟦1.8 L⟧', 'declared here']],
  'lost-mark': [['part flange "Flange" ⟦index⟧', '`index` is declared here']],
  'branches-differ': [['fit ⟦ring⟧', '`ring` in this branch']],
  'no-torque': [['part ⟦bolt⟧ "Bolt" thread M8', '`bolt` is declared here']],
  'no-order': [['part ⟦bolt⟧ x6 "Bolt" thread M8 class 8.8 torque 25 N·m', '`bolt` is declared here']],
  'bad-order': [['part bolt ⟦x4⟧ "Bolt" thread M8 class 8.8 torque 25 N·m', '4 holes by this declaration']],
  'few-holes': [['pattern rim circle ⟦8⟧ diameter 90 mm', '8 holes by this declaration']],
  'stage-falls': [['tighten bolt in stages ⟦20 N·m⟧, 12 N·m, 25 N·m', 'the stage before']],
  'torque-differs': [['part bolt "Bolt" thread M8 class 8.8 torque ⟦25 N·m⟧', 'declared here']],
  'tool-range': [['tool wrench "Torque wrench" range ⟦40..200 N·m⟧', 'the range is declared here']],
  'mixed-units': [['measures ⟦metric⟧', '`measures metric`']],
  'too-hot': [['part ⟦race⟧ "Bearing"', '`race` is declared here']],
  'too-cool': [['part race "Bearing" bore 50 mm interference ⟦10..45 µm⟧', 'the fit is declared here']],
  'press-short': [
    ['part ring "Ring" bore 50 mm interference ⟦20..40 µm⟧ length 20 mm diameter 80 mm', 'the fit is declared here'],
  ],
  'not-cured': [['⟦apply⟧ sealant to cover', '`sealant` was applied here']],
  'no-shim': [['measure ⟦gap-a⟧ limit 0.40..1.20 mm', '`gap-a` is measured here']],
  'unit-unread': [['applies to ⟦DW-40⟧', 'the codes that this procedure covers']],
  'declared-twice': [['part ⟦cover⟧ "Cover"', 'declared first here']],
  'order-of-phases': [['⟦reassembly⟧', '`reassembly` stands here']],
  'gap-twice': [['shim drum-pack gap ⟦play⟧ endplay 0.1..0.2 mm from 0.1 mm', '`drum-pack` is chosen from it here']],
  'gap-unread': [['measure ⟦play⟧ limit 0.2..0.5 mm', 'measured here']],
  'late-warning': [['⟦warning⟧ "Hot parts burn. Wear gloves."', 'the safety message']],
};

test.each(Object.entries(places))('%s leads to what it rests on', (code, expected) => {
  const { model, judged } = judgeFiles([{ name: 'example.fettle', text: `${checkOf(code)!.bad}\n` }])[0]!;
  const { tree } = model;
  const found = judged.findings.flatMap(({ related }) =>
    related.map(({ span, message }) => {
      const { start, end } = offsetsOf(tree, span);
      const line = tree.text.lastIndexOf('\n', start - 1) + 1;
      const rest = tree.text.slice(end, tree.text.indexOf('\n', end));
      return [`${tree.text.slice(line, start).trimStart()}⟦${tree.text.slice(start, end)}⟧${rest}`, message];
    }),
  );
  expect(found).toEqual(expected);
});
