import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { repairsFor } from '../../server/src/checks/all.ts';
import { defaultSettings, type Finding } from '../../server/src/checks/check.ts';
import { patched } from '../../server/src/checks/mend.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind, type Resolve } from '../../server/src/model/model.ts';

const samples = join(import.meta.dirname, '../../samples');
const uri = 'file:///samples/unit.fettle';
const resolve: Resolve = (path) => parse(`file:///samples/${path}`, readFileSync(join(samples, path), 'utf8'));

const judged = (text: string) => {
  const model = bind(parse(uri, text), resolve);
  return { model, ...judge(model) };
};
const told = ({ findings }: { findings: readonly Finding[] }): string[] =>
  findings
    .filter(({ severity }) => severity === 'error' || severity === 'warning')
    .map(({ code, message }) => `${code}: ${message}`);

function mended(text: string, code: string): string {
  const { model, ledger, findings } = judged(text);
  const finding = findings.find((each) => each.code === code)!;
  expect(finding, code).toBeDefined();
  const [repair] = repairsFor(finding, { model, ledger, settings: defaultSettings });
  return patched(text, repair!.edits);
}

/** What puts something back in the reassembly: without it, that is left off, left open or not replaced. */
const putsBack = /^ {4,}(?:fit(?: new)?|connect) /;

describe.each(['centrifugal-clutch', 'chain-hoist-brake', 'gear-pump', 'winch-reducer'])('in %s', (name) => {
  const text = readFileSync(join(samples, `${name}.fettle`), 'utf8');
  const lines = text.split('\n');
  const before = new Set(told(judged(text)));

  test('what one line would put back is put back by the repair where it harms nothing', () => {
    let repaired = 0;
    lines.forEach((line, i) => {
      if (!putsBack.test(line)) return;
      const without = lines.filter((_, at) => at !== i).join('\n');
      const { model, ledger, findings } = judged(without);
      for (const finding of findings) {
        if (!['left-off', 'left-open', 'not-replaced'].includes(finding.code)) continue;
        const [repair] = repairsFor(finding, { model, ledger, settings: defaultSettings });
        const after = judged(patched(without, repair!.edits));
        const errors = told({ findings }).filter((each) => !each.startsWith(`${finding.code}: ${finding.message}`));
        const known = new Set([...before, ...errors]);
        expect(
          told(after).filter((each) => !known.has(each)),
          `line ${i + 1}: ${line}`,
        ).toEqual([]);
        repaired++;
      }
    });
    expect(repaired).toBeGreaterThan(10);
  });

  test('what one line moved down is closed in moves up again and harms nothing', () => {
    let moved = 0;
    const at = lines.indexOf('reassembly');
    for (let i = at; i < lines.length; i += 3) {
      if (!putsBack.test(lines[i]!)) continue;
      for (const by of [1, 2, 5, 9]) {
        if (lines.slice(i, i + by + 1).some((line) => !/^ {4}\w/.test(line))) break;
        const [line, ...below] = lines.slice(i, i + by + 1);
        const late = lines.toSpliced(i, by + 1, ...below, line!).join('\n');
        const { model, ledger, findings } = judged(late);
        for (const finding of findings) {
          if (finding.code !== 'closed-in') continue;
          const [repair] = repairsFor(finding, { model, ledger, settings: defaultSettings });
          if (repair === undefined) continue;
          const known = new Set(told({ findings }));
          known.delete(`${finding.code}: ${finding.message}`);
          const after = told(judged(patched(late, repair.edits)));
          expect(
            after.filter((each) => !known.has(each)),
            `line ${i + 1} by ${by}: ${line}`,
          ).toEqual([]);
          moved++;
        }
      }
    }
    expect(moved).toBeGreaterThan(0);
  });

  test('what comes off in another place than it did is mended without a new error', () => {
    const statements = lines.flatMap((line, i) => (/^ {4}\w/.test(line) ? [i] : []));
    // A warning that comes too late was missing before.
    const alike = (all: readonly string[]): string[] =>
      all.map((each) => each.replace(/^(?:unwarned|late-warning): (.* can hurt here).*$/, '$1'));
    let mendedSlips = 0;
    for (const [n, from] of statements.entries()) {
      if (!/^ {4}remove /.test(lines[from]!)) continue;
      for (let k = n % 19; k < statements.length; k += 19) {
        const to = statements[k]!;
        const slipped = lines
          .toSpliced(from, 1)
          .toSpliced(to > from ? to - 1 : to, 0, lines[from]!)
          .join('\n');
        const { model, ledger, findings } = judged(slipped);
        for (const finding of findings) {
          if (finding.code !== 'still-held' && finding.code !== 'left-off') continue;
          const known = new Set(alike(told({ findings })));
          known.delete(`${finding.code}: ${finding.message}`);
          for (const { title, edits } of repairsFor(finding, { model, ledger, settings: defaultSettings })) {
            const after = alike(told(judged(patched(slipped, edits))));
            expect(
              after.filter((each) => !known.has(each)),
              `line ${from + 1} to ${to + 1}: ${lines[from]}: ${title}`,
            ).toEqual([]);
            mendedSlips++;
          }
        }
      }
    }
    expect(mendedSlips).toBeGreaterThan(5);
  });
});

test.each([
  [
    'behind what it holds or covers, and what tightens that',
    'left-off',
    `part cover "Cover"
part screw x2 "Screw" behind cover thread M6 class 8.8 torque 9 N·m
part lid "Lid"
teardown
  step open
    remove lid
    remove cover
    remove screw
reassembly
  step close
    fit lid
    fit screw
    tighten screw
`,
    '    tighten screw\n    fit cover\n',
  ],
  [
    'above what holds or covers it, though that came off later',
    'left-off',
    `part cover "Cover"
part ring "Ring" behind cover
part pin "Pin"
teardown
  step open
    remove cover
    remove ring
    remove pin
reassembly
  step close
    fit cover
    fit pin
`,
    '    fit ring\n    fit cover\n',
  ],
  [
    'above what was swapped in for its cover',
    'left-off',
    `part old "Old cover"
part longer "Longer cover"
part ring "Ring" behind old
teardown
  step open
    remove old
    remove ring
    swap old for longer
reassembly
  step close
    fit longer
`,
    '    fit ring\n    fit longer\n',
  ],
  [
    'what was swapped in goes where the old one would, behind what sits behind it',
    'left-off',
    `part old "Old cover"
part longer "Longer cover"
part ring "Ring" behind old
part lid "Lid"
teardown
  step open
    remove lid
    remove old
    remove ring
    swap old for longer
reassembly
  step close
    fit ring
    fit lid
`,
    '    fit ring\n    fit longer\n    fit lid\n',
  ],
  [
    'with a warning where the part can hurt and none stands above',
    'left-off',
    `part spring "Spring" hazard spring
teardown
  step open
    caution "It flies."
    remove spring
reassembly
  step close
    do "Wipe it"
`,
    `    do "Wipe it"
    warning "A loaded spring can fly out and injure eyes. Wear goggles."
    fit spring
`,
  ],
  [
    'before the unit is proved, though proving tightens what came off later once more',
    'left-open',
    `part cable "Cable"
part bolt x2 "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    disconnect cable
    remove bolt
reassembly
  step close
    fit bolt
    tighten bolt
proving
  step run
    check "Runs quietly."
    tighten bolt
`,
    '    tighten bolt\n    connect cable\nproving\n',
  ],
  [
    'before the unit is proved, though proving connects what came off earlier',
    'left-open',
    `part cable "Cable"
part pipe "Pipe"
part lid "Lid"
teardown
  step open
    disconnect cable
    disconnect pipe
    remove lid
reassembly
  step close
    fit lid
proving
  step run
    check "No leak."
    connect cable
`,
    '    fit lid\n    connect pipe\nproving\n',
  ],
  [
    'with what came off in the same step, not between the heating of something else and its fit',
    'left-off',
    `part gear "Gear"
part cone "Bearing cone"
part spacer "Spacer"
part packer "Packer"
teardown
  step strip-wheel
    remove gear
  step strip-shaft
    remove cone
    remove spacer
    remove packer
reassembly
  step build-wheel
    warning "Hot parts burn. Wear gloves."
    heat gear to 100 °C
    fit gear
  step build-shaft
    warning "Hot parts burn. Wear gloves."
    fit packer
    heat cone to 100 °C
    fit cone
`,
    '    fit packer\n    fit spacer\n    heat cone to 100 °C\n    fit cone\n',
  ],
  [
    'behind the rest of the step that it came off first in',
    'not-replaced',
    `part wire "Lock wire" renew
part bolt "Bolt"
part cap "Cap"
part lid "Lid"
teardown
  step open-lid
    remove lid
  step open-cap
    remove wire
    discard wire
    remove bolt
    remove cap
reassembly
  step close-cap
    fit cap
    fit bolt
  step close-lid
    fit lid
`,
    '    fit bolt\n    fit new wire\n  step close-lid\n',
  ],
  [
    'above the line that tightens it, which is then enough',
    'left-off',
    `part nut "Nut" thread M8 class 8.8 torque 20 N·m then 15°
part lid "Lid"
teardown
  step open
    remove nut
    remove lid
reassembly
  step close
    fit lid
    do "Degrease the thread"
    tighten nut to 20 N·m then 15°
`,
    '    do "Degrease the thread"\n    fit nut\n    tighten nut to 20 N·m then 15°\n',
  ],
])('%s', (_, code, text, expected) => {
  const after = mended(text, code);
  expect(after).toContain(expected);
  expect(told(judged(after))).toEqual([]);
});
