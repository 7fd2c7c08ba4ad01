import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { bind } from '../../server/src/model/model.ts';
import { card } from '../../server/src/outputs/card.ts';
import { duration } from '../../server/src/outputs/durations.ts';
import { planOf, type WorkPlan } from '../../server/src/outputs/plan.ts';
import { planSvg } from '../../server/src/outputs/plan-chart.ts';
import { moment, planText } from '../../server/src/outputs/plan-text.ts';
import { operations } from '../operations.ts';
import { openText } from './opened.ts';

const root = resolve(import.meta.dirname, '../..');
const planned = (text: string, options = {}): WorkPlan => {
  const result = planOf(bind(parse('file:///plan.fettle', text)), options);
  if ('message' in result) throw new Error(result.message);
  return result;
};
const row = (plan: WorkPlan, id: string) => plan.rows.find((each) => each.id === id)!;
const minutes = (seconds: number): number => seconds / 60;

const wordsIn = (page: string): string => page.replace(/<[^>]*>/g, '');

describe('the plan', () => {
  // A network of the form taught in introductions to the critical path method (activity on node, eight activities; constructed
  // for this test, forward and backward pass done by hand): a3 → b4, c2; b → d5; c → d, e6; d → f2; e → f; f → g1, with h2 beside it.
  const network = `teardown
  step a takes 3 h
    do "A."
  step b takes 4 h after a
    do "B."
  step c takes 2 h after a
    do "C."
  step d takes 5 h after b, c
    do "D."
  step e takes 6 h after c
    do "E."
  step f takes 2 h after d, e
    do "F."
  step h takes 2 h after a
    do "H."
  step g takes 1 h after f, h
    do "G."`;

  it('finds the critical path and the floats worked out by hand', () => {
    const plan = planned(network, { crew: 9 });
    expect(plan.criticalPath).toEqual(['a', 'b', 'd', 'f', 'g']);
    expect(plan.duration / 3600).toBe(15);
    expect(row(plan, 'c').float / 3600).toBe(1);
    expect(row(plan, 'e').float / 3600).toBe(1);
    expect(row(plan, 'h').float / 3600).toBe(9);
  });

  it('needs the sum of all work with one pair of hands', () => {
    expect(planned(network).duration / 3600).toBe(3 + 4 + 2 + 5 + 6 + 2 + 1 + 2);
  });

  it('lets work slip no further than the same hands have time for', () => {
    // b, c, e, d on one pair of hands behind a, one right behind the other: whichever slips delays the end.
    const plan = planned(network);
    expect(plan.rows.filter(({ critical }) => !critical)).toEqual([]);
    expect(plan.rows.map(({ float }) => float)).toEqual(plan.rows.map(() => 0));
    expect(plan.criticalPath).toHaveLength(8);
    // With two pairs, by hand: one does a b d f g, the other c e h; h may begin at 14 in place of 11, e at 6 in place of 5.
    const two = planned(network, { crew: 2 });
    expect(two.duration / 3600).toBe(15);
    expect(Object.fromEntries(two.rows.map(({ id, float }) => [id, float / 3600]))).toEqual({
      a: 0,
      b: 0,
      c: 1,
      d: 0,
      e: 1,
      f: 0,
      g: 0,
      h: 1,
    });
  });

  it('delays nothing where one row slips by as much as it may', () => {
    const text = `part a "A"
teardown
  step open takes 30 min
    do "Open."
  step left takes 2 h after open
    do "Left."
  step right takes 3 h after open
    do "Right."
  step bench takes 50 min after left
    do "Bench."
    wait 4 h "Soaks."
  step wash takes 20 min after right
    do "Wash."
  step close takes 1 h after bench, wash
    do "Close."`;
    for (const crew of [1, 2, 3]) {
      const plan = planned(text, { crew });
      for (const { id, float } of plan.rows.filter(({ kind }) => kind === 'work')) {
        // The row takes as much longer in place of beginning later, which comes to the same.
        const minutesOf = plan.rows.find((each) => each.id === id)!.duration / 60;
        const longer = planned(
          text.replace(
            `step ${id} takes ${/step \w+ takes (\S+ \S+)/.exec(text.slice(text.indexOf(`step ${id} `)))![1]}`,
            `step ${id} takes ${minutesOf + float / 60} min`,
          ),
          { crew },
        );
        expect(longer.duration, `${id}, ${crew}`).toBe(plan.duration);
      }
    }
  });

  it('lets a wait overlap other work where `after` allows it', () => {
    const text = (after: string) => `part cap "Cap"
part pump "Pump"
supply sealant "Sealant" cure 60 min
reassembly
  step close takes 10 min
    apply sealant to cap
    wait 60 min "Cures."
  step bench takes 40 min${after}
    inspect pump
  step fill takes 5 min after close
    inspect cap`;
    expect(minutes(planned(text('')).duration)).toBe(10 + 60 + 40 + 5);
    const overlapped = planned(
      text(' after bench-none')
        .replace(' after bench-none', '')
        .replace('step close', 'step clear takes 0 min\n    do "Begin."\n  step close')
        .replace('step bench takes 40 min', 'step bench takes 40 min after clear'),
    );
    expect(minutes(overlapped.duration)).toBe(10 + 60 + 5);
  });

  describe('keeps a step that states `after` from', () => {
    const unit = (close: string, next: string): WorkPlan =>
      planned(`part lid "Lid"
part shaft "Shaft"
part ring "Shim ring" carried by shaft
supply sealant "Sealant" cure 60 min
supply oil "Oil" 1 L
teardown
  step open takes 10 min
    remove lid
reassembly
  step begin takes 5 min
    check "The case is clean."
  step close takes 10 min
${close}
  step next takes 5 min after ${next}
`);
    const cured = '    apply sealant to lid\n    fit lid\n    wait 60 min';

    it('loading the unit while something cures', () => {
      expect(row(unit(cured, 'begin\n    fill oil 1 L'), 'next').start / 60).toBe(85);
      // The wait may stand in a step of its own.
      const apart = cured.replace('    wait', '  step cure\n    wait');
      expect(row(unit(apart, 'begin\n    fill oil 1 L'), 'next').start / 60).toBe(85);
      expect(
        row(unit(cured, 'begin\nproving\n  step prove takes 5 min after begin\n    check "It runs."'), 'prove').start /
          60,
      ).toBe(85);
      // Nothing is loaded, or nothing cures.
      expect(row(unit(cured, 'begin\n    clean shaft'), 'next').start / 60).toBe(25);
      expect(row(unit('    fit lid\n    wait 60 min', 'begin\n    fill oil 1 L'), 'next').start / 60).toBe(25);
    });

    it('going by a reading that is not taken yet, or filling what is still to be drained', () => {
      const measured = '    wait 60 min\n    measure play limit 0.1..0.3 mm';
      expect(
        row(unit(measured, 'begin\n    shim ring gap play endplay 0.1..0.2 mm from 0.1 mm'), 'next').start / 60,
      ).toBe(85);
      expect(row(unit('    wait 60 min\n    drain oil', 'begin\n    fill oil 1 L'), 'next').start / 60).toBe(85);
    });

    it('going its own way where no step has the name', () => {
      for (const named of ['begni', 'open, begni'])
        expect(row(unit('    wait 60 min', `${named}\n    clean shaft`), 'next').start / 60).toBe(85);
    });
  });

  it('keeps what follows such a step from the same', () => {
    const plan = planned(`part lid "Lid" held by bolt
part bolt x4 "Bolt"
part shaft "Shaft"
supply sealant "Sealant" cure 60 min
supply oil "Oil" 1 L
teardown
  step open takes 10 min
    remove bolt
    remove lid
  step out takes 5 min
    remove shaft
reassembly
  step close takes 10 min
    apply sealant to lid
    fit lid
    wait 60 min
  step bench takes 5 min after out
    clean shaft
  step mount takes 5 min
    fit shaft
  step bolts takes 5 min
    fit bolt
  step bench-again takes 5 min after out
    clean shaft
  step fill takes 5 min
    fill oil 1 L
`);
    // Open, out and close take 25 min.
    expect(['bench', 'mount', 'bolts', 'bench-again', 'fill'].map((id) => row(plan, id).start / 60)).toEqual([
      25, 30, 85, 35, 90,
    ]);
  });

  it('names of what a step follows the last, not all that these follow', () => {
    const { rows } = planned(`part cap "Cap"
part plug "Plug" behind cap
teardown
  step one takes 5 min
    inspect cap
  step two takes 5 min after one
    remove cap
  step three takes 5 min after one
    clean plug
  step four takes 5 min after three
    remove plug
reassembly
  step five takes 5 min after one
    do "Look."
  step six takes 5 min
    fit plug`);
    expect(rows.map(({ id, after }) => [id, after])).toEqual([
      ['one', []],
      ['two', ['one']],
      ['three', ['one', 'two']],
      ['four', ['three', 'two']],
      ['five', ['one', 'four']],
      ['six', ['five', 'four', 'two']],
    ]);
  });

  it('names of phases that come again no steps that the one above follows already', () => {
    const { rows } = planned(`teardown
  step one
    do "A."
reassembly
  step two
    do "B."
teardown
  step three
    do "C."
reassembly
  step four
    do "D."
  step five after two
    do "E."`);
    expect(rows.map(({ id, after }) => [id, after])).toEqual([
      ['one', []],
      ['two', ['one']],
      ['three', ['two']],
      ['four', ['three']],
      ['five', ['two', 'three']],
    ]);
  });

  it('keeps a step behind earlier work on its own parts and what covers them, whatever `after` says', () => {
    const plan = planned(
      `part cover "Cover"
part gear "Gear" behind cover
teardown
  step first takes 1 min
    do "Begin."
  step open takes 10 min after first
    remove cover
  step out takes 5 min after first
    remove gear`,
      { crew: 5 },
    );
    expect(minutes(row(plan, 'out').start)).toBe(11);
  });

  it('builds nothing up before all is apart', () => {
    const plan = planned(
      `part a "A"
teardown
  step begin takes 1 min
    do "Begin."
  step slow takes 50 min after begin
    remove a
reassembly
  step other takes 5 min after begin
    do "Other."`,
      { crew: 5 },
    );
    expect(minutes(row(plan, 'other').start)).toBe(51);
  });

  it('orders what states a lead time, and starts what needs it no earlier', () => {
    const sealed = `part seal "Seal" renew lead 2 d
teardown
  step off takes 30 min
    remove seal
reassembly
  step on takes 30 min
    fit new seal`;
    const plan = planned(sealed);
    expect(row(plan, 'order seal').duration).toBe(2 * 86400);
    expect(row(plan, 'on').start).toBe(2 * 86400);
    expect(plan.criticalPath).toEqual(['order seal', 'on']);
    expect(minutes(planned(sealed, { inStock: true }).duration)).toBe(60);
    expect(row(planned(sealed.replace('lead 2 d', 'lead 2..4 d')), 'order seal').duration).toBe(4 * 86400);
  });

  it('counts the longest wait of alternatives, and only what holds for the code', () => {
    const text = `procedure p "P"
  applies to A-1, B-2
reassembly
  step s takes 1 min
    either "One"
      wait 10 min
    or "Two"
      wait 30 min
    end
    for B-2
      wait 5 min
    end`;
    expect(minutes(planned(text, { code: 'A-1' }).duration)).toBe(31);
    expect(minutes(planned(text, { code: 'B-2' }).duration)).toBe(36);
  });

  it.each([
    ['if "it is below 5 °C"', 'wait 60 min', ['Wait, if “it is below 5 °C”'], '1 h only if “it is below 5 °C”'],
    [
      'if "it is cold"',
      'wait 60 min "The sealant cures."\n else\n wait 10 min',
      ['The sealant cures, if “it is cold”'],
      '1 h only if “it is cold”, else 10 min',
    ],
    [
      'if "it is cold"',
      'wait 10 min\n else\n wait 60 min',
      ['Wait, if “not so: it is cold”'],
      '1 h only if “not so: it is cold”, else 10 min',
    ],
    [
      'either',
      'do "By heat."\n or "By force"\n wait 1 min\n do "Press."\n wait 2 min',
      ['Wait, if “By force”', 'Wait, if “By force”'],
      '3 min only if “By force”',
    ],
    [
      'either "By oven"',
      'wait 60 min\n or "By plate"\n wait 1 h\n or "By lamp"\n wait 10 min\n or\n wait 30 min',
      ['Wait, if “By oven” or “By plate”'],
      '1 h only if “By oven” or “By plate”, else 10 min to 30 min',
    ],
    [
      'either "A"',
      'if "q"\n wait 5 min\n end\n or "B"\n wait 5 min\n or "C"\n do "x"',
      ['Wait, if either “A” or “B”, and also “q”'],
      '5 min only if “A” or “B”',
    ],
    [
      'if "q"',
      'either "A"\n wait 5 min\n or "B"\n wait 5 min\n or "C"\n wait 5 min\n or "D"\n do "x"\n end',
      ['Wait, if “q”, and also any of “A”, “B” or “C”'],
      '5 min only if “q”',
    ],
    ['if "a"', 'if "b"\n wait 5 min\n end\n wait 1 min', ['Wait, if “a” and “b”', 'Wait, if “a”'], '6 min only if “a”'],
  ])('says what a wait depends on: %s %s', (block, body, titles, note) => {
    const plan = planned(`teardown\n step s takes 4 min\n do "Clean it."\n ${block}\n ${body}\n end\n do "Go on."`);
    expect(plan.rows.filter(({ kind }) => kind === 'wait').map(({ title }) => title)).toEqual(titles);
    expect(plan.notes).toContain(`step s waits ${note}: the plan counts the longest`);
    expect(planText(plan)).toContain(`waiting up to ${duration(plan.waiting)};`);
  });

  it('says of no wait that it depends on anything where every way has it', () => {
    const plan = planned(
      'teardown\n step s takes 4 min\n either\n wait 5 min\n or\n do "Warm it."\n wait 5 min\n end\n wait 1 min',
    );
    expect(plan.rows.filter(({ kind }) => kind === 'wait').map(({ title }) => title)).toEqual(['Wait', 'Wait']);
    expect(plan.notes.join()).not.toContain('only if');
    expect(planText(plan)).toContain('waiting 6 min;');
  });

  describe('of what only an alternative calls for', () => {
    const text = (first: string, second = 'do "Fit it."', takes = '1 h') => `part gear "Gear" lead 2 d
part seal "Seal" renew lead 4 h
supply oil "Oil" 1 L lead 3 d
teardown
  step off takes 1 h
    remove gear
    drain oil
inspection
  step judge takes 1 h
    ${first}
reassembly
  step on takes ${takes}
    ${second}`;
    const decide = (yes: string, no = ''): string =>
      `if "it is chipped"\n      ${yes}\n${no === '' ? '' : `    else\n      ${no}\n`}    end`;

    it('orders it in case, with its condition, and waits for nothing', () => {
      const plan = planned(text(decide('replace gear')));
      expect(plan.duration / 3600).toBe(3);
      expect(row(plan, 'order gear')).toMatchObject({
        kind: 'order',
        title: 'Order Gear in case: “it is chipped”',
        inCase: ['it is chipped'],
        start: 0,
        finish: 2 * 86400,
        critical: false,
        float: 0,
        after: [],
      });
      expect(plan.criticalPath).toEqual(['off', 'judge', 'on']);
      // 2 d, then an hour each of inspection and reassembly.
      expect(plan.durationInCase! / 3600).toBe(50);
      expect(planText(plan)).toContain(
        'Nothing waits for what is ordered in case: if all of it is needed, finished after 2 d 2 h.',
      );
      expect(planned(text(decide('replace gear')), { inStock: true }).durationInCase).toBeUndefined();
    });

    it('tells how late it may be ordered where it would be there in time', () => {
      const plan = planned(
        text(decide('fit new seal'), 'do "Fit it."', '5 h').replace('step off takes 1 h', 'step off takes 9 h'),
      );
      expect(row(plan, 'order seal')).toMatchObject({ inCase: ['it is chipped'], float: 5 * 3600 });
      expect(plan.durationInCase).toBe(plan.duration);
      expect(planText(plan)).toContain('What is ordered in case is there before it may be needed.');
    });

    it('waits where each of the alternatives needs it, or a statement beside them does', () => {
      for (const sure of [
        text(decide('replace gear', 'replace gear')),
        text('either "Cold"\n replace gear\n or\n replace gear\n end'),
        text(decide('replace gear'), 'fit new gear'),
      ]) {
        const plan = planned(sure);
        expect(row(plan, 'order gear').inCase).toBeUndefined();
        expect(row(plan, 'order gear').critical).toBe(true);
        expect(plan.durationInCase).toBeUndefined();
      }
      const ways = planned(text('either "Cold"\n do "Wait."\n or\n replace gear\n end'));
      expect(row(ways, 'order gear').inCase).toEqual(['way B']);
      expect(row(planned(text(decide('do "Go on."', 'replace gear'))), 'order gear').inCase).toEqual([
        'not so: it is chipped',
      ]);
    });

    it('a step that may need what a later one needs for sure does not wait, unless it comes to that', () => {
      const plan = planned(text(decide('replace gear'), 'fit new gear'));
      expect(row(plan, 'judge').start / 3600).toBe(1);
      expect(row(plan, 'on').start / 3600).toBe(48);
    });

    it('orders nothing that is only drained', () => {
      expect(planned(text('do "Look."')).rows.map(({ id }) => id)).toEqual(['off', 'judge', 'on']);
      expect(row(planned(text('fill oil')), 'order oil').duration / 86400).toBe(3);
    });

    it('draws the order to its end, though the work ends before', () => {
      const svg = planSvg(planned(text(decide('replace gear'))));
      const bars = [...svg.matchAll(/<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="14"[^>]*>/g)];
      expect(bars).toHaveLength(4);
      for (const [, x, width] of bars) expect(Number(x) + Number(width)).toBeLessThanOrEqual(980 - 24 + 2);
      expect(svg.match(/stroke-dasharray/g)).toHaveLength(1);
      expect(svg).toContain('Dashed edge: ordered in case; nothing waits for it.');
    });
  });

  describe('keeps the order that the author wrote within a step', () => {
    const waiting = (body: string, options = {}) =>
      planned(
        `procedure p "P"
  applies to A-1, B-2
supply locker "Thread locker"
reassembly
  step s "Close it" takes 30 min
${body}
  step t takes 5 min
    do "Go on."`,
        options,
      ).rows.map(({ kind, title, start, finish }) => [kind, title, minutes(start), minutes(finish)]);

    it('a wait that comes first stands before the work', () =>
      expect(waiting('    caution "Hot."\n    wait 60 min "It cools."\n    do "Open it."')).toEqual([
        ['wait', 'It cools.', 0, 60],
        ['work', 'Close it', 60, 90],
        ['work', 't', 90, 95],
      ]));

    it('a wait in the middle parts the work, by the number of its statements', () =>
      expect(
        waiting('    do "One."\n    wait 60 min "Cures."\n    notice "Clean."\n    do "Two."\n    do "Three."'),
      ).toEqual([
        ['work', 'Close it', 0, 10],
        ['wait', 'Cures.', 10, 70],
        ['work', 'Close it, goes on', 70, 90],
        ['work', 't', 90, 95],
      ]));

    it('shares out whole minutes, so that times and durations agree', () =>
      expect(waiting('    do "One."\n    do "Two."\n    do "Three."\n    wait 60 min\n    do "Four."')).toEqual([
        ['work', 'Close it', 0, 23],
        ['wait', 'Wait', 23, 83],
        ['work', 'Close it, goes on', 83, 90],
        ['work', 't', 90, 95],
      ]));

    it('goes by the alternative with most work where they wait as long', () =>
      expect(
        waiting(
          '    do "One."\n    either "a"\n      do "Two."\n      do "Three."\n      do "Four."\n    or "b"\n      do "Two."\n    end\n    wait 60 min\n    do "Five."',
        )
          .slice(0, 3)
          .map(([kind, , start, finish]) => [kind, start, finish]),
      ).toEqual([
        ['work', 0, 24],
        ['wait', 24, 84],
        ['work', 84, 90],
      ]));

    it('keeps seconds and their fractions', () =>
      expect(planned('teardown\n  step s takes 1.5 s\n    do "One."\n    wait 1 s\n    do "Two."').handsOn).toBe(1.5));

    it('says that it shared out the time', () => {
      const { notes, handsOn, rows } = planned(
        'teardown\n  step s takes 30 min\n    do "One."\n    wait 1 h\n    do "Two."',
      );
      expect(notes).toEqual([expect.stringContaining('step s waits between its statements')]);
      expect(minutes(handsOn)).toBe(30);
      expect(rows.map(({ id, after }) => [id, after])).toEqual([
        ['s', []],
        ['s, wait', ['s']],
        ['s, goes on', ['s, wait']],
      ]);
    });

    it('what follows a step waits for its last stretch, and what is ordered for it for its first', () => {
      const plan = planned(
        `part seal "Seal" renew lead 2 h
reassembly
  step s takes 10 min
    wait 1 h
    fit new seal
  step t takes 5 min after s
    do "Go on."`,
        { crew: 3 },
      );
      expect(minutes(row(plan, 's, wait').start)).toBe(120);
      expect(row(plan, 't').after).toEqual(['s']);
      expect(minutes(row(plan, 't').start)).toBe(190);
    });

    it('where there is nothing but the wait, the time of the step comes first', () =>
      expect(waiting('    notice "Keep it warm."\n    wait 12 h "Cures."')).toEqual([
        ['work', 'Close it', 0, 30],
        ['wait', 'Cures.', 30, 750],
        ['work', 't', 750, 755],
      ]));

    it('each wait has its own words', () =>
      expect(
        waiting('    do "One."\n    wait 10 min "Sets."\n    wait 20 min "Cures."').map(([, title]) => title),
      ).toEqual(['Close it', 'Sets.', 'Cures.', 't']));

    it('without a code, the waits of the code that waits longest count: no unit is of two codes', () =>
      expect(
        waiting(
          '    do "One."\n    for A-1\n      wait 60 min "Cures."\n    end\n    for B-2\n      wait 90 min "Dries."\n    end',
        ),
      ).toEqual([
        ['work', 'Close it', 0, 30],
        ['wait', 'Dries.', 30, 120],
        ['work', 't', 120, 125],
      ]));
  });

  it('says where there is nothing to plan', () => {
    expect(planText(planned('procedure p "P"\npart a "A"\n'))).toBe('There are no steps to plan.');
  });

  it('tells work in hours, as a day of work has none of 24, and what runs on in days', () => {
    const text = `teardown
  step long takes 30 h
    do "Long."
    wait 26 h "Soaks."`;
    const opened = openText(text);
    const said = planText(planned(text));
    expect(said).toContain('Hands-on 30 h, waiting 1 d 2 h; with one pair of hands finished after 2 d 8 h.');
    expect(said).toMatch(/^\+0 min +\+1 d 6 h +30 h +\*/m);
    expect(said).toMatch(/ 1 d 2 h +\* +wait/);
    expect(wordsIn(card(opened.model, opened.judged.ledger, { findings: [] }))).toContain('1 step, 30 h of work');
  });

  it('takes no time for a step that is all for other codes, and the card neither', () => {
    const text = `procedure p "P"
  applies to A-1, B-2
part lid "Lid"
part fan "Fan"
teardown
  step off takes 10 min
    remove lid
  step others takes 3 h
    warning "Mind the fan."
    for B-2
      either
        remove fan
      or
        do "Leave it."
      end
    end
  step both takes 20 min
    do "Go on."
    for B-2
      do "And on."
    end
  step empty takes 5 min`;
    const opened = openText(text);
    for (const [code, minutes] of [
      ['A-1', 35],
      ['B-2', 215],
      [undefined, 215],
    ] as const) {
      expect(planned(text, { code }).handsOn / 60).toBe(minutes);
      const page = card(opened.model, opened.judged.ledger, { findings: [], ...(code === undefined ? {} : { code }) });
      expect(wordsIn(page)).toContain(`, ${duration(minutes * 60)} of work`);
      expect(page.includes('<b>3 h</b>')).toBe(code !== 'A-1');
    }
  });

  it('orders nothing that only other codes need', () => {
    const text = `procedure p "P"
  applies to A-1, B-2
part seal "Seal" renew lead 10 d
reassembly
  step s takes 10 min
    for B-2
      fit new seal
    end`;
    const ids = (options: object) => planned(text, options).rows.map(({ id }) => id);
    expect(ids({ code: 'A-1' })).toEqual(['s']);
    expect(ids({ code: 'B-2' })).toEqual(['order seal', 's']);
    expect(ids({})).toEqual(['order seal', 's']);
  });

  it('says which step follows one below it', () => {
    const fault = planOf(
      bind(parse('file:///p.fettle', 'teardown\n  step a after b\n    do "A."\n  step b\n    do "B."')),
    );
    expect(fault).toMatchObject({ message: expect.stringContaining('step a stands above b') });
  });

  it('notes a step without a time', () => {
    expect(planned('teardown\n  step a\n    do "A."').notes).toEqual([
      expect.stringContaining('step a states no time'),
    ]);
    // Nor is any missing where all its work is for other codes.
    const fan =
      'procedure p\n  applies to A-1, B-2\nteardown\n  step fan\n    warning "Mind it."\n    for B-2\n      do "Stop it."\n    end\n';
    const notes = (code: string): readonly string[] => planned(fan, { code }).notes;
    expect(notes('A-1')).toEqual([]);
    expect(notes('B-2')).toEqual([expect.stringContaining('step fan states no time')]);
  });

  it('calls a step without a name by its place', () => {
    const text = 'teardown\n  step "Open"\n    do "A."';
    expect(planned(text).notes).toEqual(['step 1 states no time: it counts as none; add `takes`']);
  });

  it('writes durations and moments for people', () => {
    expect(duration(90 * 60)).toBe('1 h 30 min');
    expect(duration(86400 + 60)).toBe('1 d 1 min');
    expect(duration(0)).toBe('0 min');
    expect(moment(3600, new Date('2027-03-01T07:00Z'))).toBe('2027-03-01 08:00');
  });

  it('draws a bar for each row, inside the picture, with hostile titles escaped', () => {
    const plan = planned('teardown\n  step a "<script>&" takes 5 min\n    do "A."\n  step b takes 5 min\n    do "B."');
    const svg = planSvg(plan, { title: '"quoted" <title>' });
    expect(svg).not.toContain('<script>');
    expect(svg).not.toContain('<title>"');
    const bars = [...svg.matchAll(/<rect x="([\d.]+)" y="\d+" width="([\d.]+)"/g)];
    expect(bars).toHaveLength(2);
    for (const [, x, width] of bars) expect(Number(x) + Number(width)).toBeLessThanOrEqual(980);
    expect(Number(bars[1]![1])).toBeCloseTo(Number(bars[0]![1]) + Number(bars[0]![2]), 1);
  });

  describe('with days of delivery between hours of work', () => {
    const ordered = planned(
      `part seal "Seal" renew lead 5 d\nteardown\n  step open "Open" takes 60 min\n    remove seal\n    discard seal\nreassembly\n  step close "Close" takes 60 min\n    fit new seal`,
    );
    const barsOf = (svg: string): Map<string, { from: number; width: number }> =>
      new Map(
        [...svg.matchAll(/<title>(\w+)[^<]*<\/title>.*?<rect x="([\d.]+)" y="\d+" width="([\d.]+)"/g)].map(
          ([, title, from, width]) => [title!, { from: Number(from), width: Number(width) }],
        ),
      );

    it.each(['wide', 'narrow'] as const)('shows the work wide enough to read, and tells the scale (%s)', (form) => {
      const svg = planSvg(ordered, { form });
      const bars = barsOf(svg);
      // Each an hour of 121: drawn at one scale, they would have six pixels at most.
      for (const title of ['Open', 'Close']) expect(bars.get(title)!.width).toBeGreaterThan(100);
      expect(bars.get('Open')!.width).toBeCloseTo(bars.get('Close')!.width, 0);
      // The order of five days reaches to where the work goes on.
      const order = bars.get('Order')!;
      expect(order.from + order.width).toBeCloseTo(bars.get('Close')!.from, 0);
      // Five days less the hour of opening, at the scale that the words tell.
      const [, times] = /Shaded: nobody works, and time is drawn (\d+) times shorter\./.exec(svg)!;
      const gap = bars.get('Close')!.from - bars.get('Open')!.from - bars.get('Open')!.width;
      expect(gap).toBeCloseTo((119 * bars.get('Open')!.width) / Number(times), 0);
      expect(svg).toMatch(new RegExp(`aria-label="[^"]*time is drawn ${times} times shorter"`));
      expect(svg).toContain('>5 d</text>');
    });

    it('says nothing of scales where all is at hand', () => {
      const svg = planSvg(planned('teardown\n  step a takes 5 min\n    do "A."'));
      expect(svg).not.toContain('shorter');
      expect(svg).not.toContain('class="shortened"');
    });
  });

  it('tells moments by the clock where the start is told, round ones, and none of them as a time from the start', () => {
    const ticks = (text: string, start?: Date): string[] =>
      [...planSvg(planned(text), { start }).matchAll(/<line [^>]*stroke="#bbb"\/><text[^>]*>([^<]*)<\/text>/g)].map(
        ([, words]) => words!,
      );
    const day = 'teardown\n  step a takes 4 h\n    do "A."';
    expect(ticks(day, new Date('2027-03-01T07:20Z'))).toEqual(
      '2027-03-01 07:20, 08:00, 08:30, 09:00, 09:30, 10:00, 10:30, 11:00'.split(', '),
    );
    const night = 'teardown\n  step a takes 20 h\n    do "A."';
    expect(ticks(night, new Date('2027-12-31T07:20Z'))).toEqual(
      '2027-12-31 07:20, 12:00, 16:00, 20:00, 2028-01-01'.split(', '),
    );
    const days = 'teardown\n  step a takes 100 h\n    do "A."';
    // The first midnight has no room beside the start.
    expect(ticks(days, new Date('2027-12-29T23:20Z'))).toEqual(
      '2027-12-29 23:20, 2027-12-31, 2028-01-01, 2028-01-02, 2028-01-03'.split(', '),
    );
    expect(ticks(day)).toEqual([
      '0 min',
      '30 min',
      '1 h',
      '1 h 30 min',
      '2 h',
      '2 h 30 min',
      '3 h',
      '3 h 30 min',
      '4 h',
    ]);
  });

  it('cuts titles before the bars, however wide their letters are', () => {
    const title = '軸受を外して洗浄し、摩耗を確認してから新しい軸受と交換する作業を行う';
    const svg = planSvg(planned(`teardown\n  step a "${title}" takes 5 min\n    do "A."`));
    const label = />([^<]*)<\/text><rect/.exec(svg)![1]!;
    expect(label).toMatch(/^軸受を.*…$/);
    // A square each, of 12 pixels.
    expect(label.length * 12).toBeLessThan(300 - 8);
  });

  it('refuses a step that takes longer than can be planned, with its name and the remedy', () =>
    expect(planOf(bind(parse('file:///p.fettle', 'teardown\n  step a takes 999999999 h\n    do "A."')))).toEqual({
      severity: 'error',
      message: expect.stringMatching(/^a cannot be planned \(duration\): check its `takes`/),
    }));

  it('lines titles up, and says of nothing that may not slip that it may', () => {
    const text = planText(
      planned('teardown\n  step a "Short" takes 5 min\n    do "A."\n  step b "Long" takes 90 min\n    do "B."'),
    );
    const [first, second] = text.split('\n');
    expect(first!.indexOf('Short')).toBe(second!.indexOf('Long'));
    expect(text).not.toContain('may slip');
  });

  it('tells the whole in text', () => {
    expect(planText(planned(network, { crew: 9 }))).toContain('Critical path (*): a – b – d – f – g');
  });
});

describe('fettle plan', () => {
  const run = (...args: string[]) =>
    spawnSync(process.execPath, ['server/src/cli/main.ts', 'plan', ...args], { cwd: root, encoding: 'utf8' });
  it('plans the winch', () => {
    const { stdout, status } = run('samples/winch-reducer.fettle', '--format', 'json', '--start', '2027-03-01T07:00');
    expect(status).toBe(0);
    const plan = JSON.parse(stdout) as WorkPlan;
    const text = readFileSync(join(root, 'samples/winch-reducer.fettle'), 'utf8');
    const steps = [...text.matchAll(/^ {2}step (\S+)/gm)].map((match) => match[1]);
    expect(plan.rows.filter(({ kind }) => kind === 'work').map(({ id }) => id)).toEqual(steps);
    for (const each of plan.rows) {
      for (const id of each.after)
        expect(plan.rows.find((other) => other.id === id)!.finish).toBeLessThanOrEqual(each.start + 1e-6);
    }
  });
  it('tells times on the clock of the start: one with an offset from UTC came out on another clock', () => {
    const first = (start: string) =>
      run('samples/gear-pump.fettle', '--in-stock', '--start', start).stdout.split('\n')[2];
    for (const zone of ['', 'Z', '+02:00', '-08:00'])
      expect(first(`2027-03-01T07:00${zone}`)).toMatch(/^2027-03-01 07:00 /);
    const json = (start: string) =>
      JSON.parse(run('samples/gear-pump.fettle', '--format', 'json', '--start', start).stdout).start;
    expect(json('2027-03-01T07:00+02:00')).toBe('2027-03-01T05:00:00.000Z');
    expect(json('2027-03-01T07:00')).toBe('2027-03-01T07:00:00.000Z');
  });
  it('warns where the procedure has errors: a wait that cannot be read is not in the plan', () => {
    const { stdout, stderr, status } = run('samples/irrigation-pump.fettle');
    expect(status).toBe(0);
    expect(stderr).toMatch(/irrigation-pump\.fettle: \d+ errors in the procedure, so the plan may lack something/);
    expect(stdout).toContain('Critical path');
    expect(run('samples/winch-reducer.fettle').stderr).toBe('');
  });
  it.each([
    [['samples/winch-reducer.fettle', '--crew', '0'], '--crew'],
    [['samples/winch-reducer.fettle', '--start', 'tomorrow'], 'ISO'],
    [['samples/winch-reducer.fettle', '--start', '2027-02-30T07:00'], 'no day of the calendar'],
    [['samples/winch-reducer.fettle', '--code', 'XX'], 'does not apply'],
    [['samples/none.fettle'], 'samples/none.fettle'],
    [[], 'no file'],
  ])('refuses %j with the remedy', (args, message) => {
    const { stderr, status } = run(...args);
    expect(status).toBe(2);
    expect(stderr).toContain(message);
  });
});

it('takes time by the number of steps, of what is ordered in case, and of waits within one step', () => {
  const cost = (n: number): number => {
    const each = (line: (i: number) => string): string => Array.from({ length: n }, (_, i) => line(i)).join('\n');
    const { model } = openText(
      [
        each((i) => `part seal-${i} "Seal" renew lead 3 d`),
        'teardown',
        each((i) => `step open-${i} takes 5 min\nremove seal-${i}\nif "it is worn"\nreplace seal-${i}\nend`),
        'step rest takes 5 min',
        each(() => 'do "Turn it."\nwait 10 min'),
      ].join('\n'),
    );
    return operations(() => planOf(model));
  };
  expect(cost(400) / cost(100)).toBeLessThan(4.6);
});
