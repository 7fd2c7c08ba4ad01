import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf } from '../../grammar/syntax.ts';
import { checkOf } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { replay, stateBefore } from '../../server/src/ledger/ledger.ts';
import { describe as inWords, on, type PartState } from '../../server/src/ledger/state.ts';
import { bind } from '../../server/src/model/model.ts';

const parts = ['a', 'b', 'c', 'd', 'e', 'f'];
const name = fc.constantFrom(...parts);
const count = fc.integer({ min: 1, max: 5 }).map((n) => `x${n}`);
const maybe = (text: fc.Arbitrary<string>): fc.Arbitrary<string> => fc.oneof(fc.constant(''), text);

const declaration = (part: string): fc.Arbitrary<string> =>
  fc
    .tuple(
      maybe(count),
      maybe(fc.constant('renew')),
      maybe(fc.constant('thread M8')),
      maybe(name.map((other) => `held by ${other}`)),
      maybe(name.map((other) => `behind ${other}`)),
      maybe(name.map((other) => `carried by ${other}`)),
    )
    .map((clauses) => `part ${part} ${clauses.join(' ')}`);

const simple: fc.Arbitrary<string> = fc
  .oneof(
    fc.tuple(
      fc.constantFrom('remove', 'discard', 'replace', 'fit', 'fit new', 'loosen', 'tighten', 'mark'),
      name,
      maybe(count),
    ),
    fc.tuple(fc.constantFrom('disconnect', 'connect'), name),
    fc.tuple(fc.constant('remove'), name, maybe(count), fc.constant('spoiled')),
    fc.tuple(fc.constantFrom('remove', 'fit', 'fit new'), name, fc.constant('with'), name),
    fc.tuple(fc.constant('omit'), name, maybe(count), fc.constant('"Not here"')),
    fc.tuple(fc.constant('tighten'), name, fc.constant('by hand')),
    fc.tuple(fc.constant('tighten'), name, fc.constant('at holes 1, 3')),
    fc.tuple(fc.constant('swap'), name, fc.constant('for'), name),
    fc.tuple(fc.constant('transfer'), name, maybe(count), fc.constant('from'), name, fc.constant('to'), name),
    fc.constantFrom(['drain oil'], ['fill oil 1 L'], ['apply oil to a'], ['wait 10 min'], ['remvoe a x2'], ['fit']),
  )
  .map((words) => words.filter((word) => word !== '').join(' '));

const { block } = fc.letrec<{ block: string; statement: string }>((tie) => ({
  statement: fc.oneof({ maxDepth: 3, depthSize: 'small' }, simple, tie('block')),
  block: fc
    .tuple(
      fc.constantFrom('either', 'if "worn"', 'for X1', 'for X2'),
      fc.array(tie('statement'), { maxLength: 4 }),
      maybe(fc.array(tie('statement'), { maxLength: 4 }).map((lines) => lines.join('\n'))),
    )
    .map(([opening, first, second]) =>
      [
        opening,
        ...first,
        ...(second === '' || opening.startsWith('for') ? [] : [opening === 'either' ? 'or' : 'else', second]),
        'end',
      ].join('\n'),
    ),
}));

const procedures = fc
  .tuple(
    fc.tuple(...parts.map(declaration)),
    fc.array(fc.oneof({ weight: 6, arbitrary: simple }, { weight: 1, arbitrary: block }), { maxLength: 30 }),
    fc.nat(30),
  )
  .map(([declarations, statements, at]) =>
    [
      'procedure p applies to X1, X2',
      ...declarations,
      'supply oil 1 L cure 30 min',
      'teardown',
      'step one takes 5 min',
      ...statements.slice(0, at),
      'reassembly',
      'step two takes 5 min',
      ...statements.slice(at),
      '',
    ].join('\n'),
  );

const pieces = (state: PartState): number[] => [
  state.tight,
  state.snug,
  state.loose,
  state.off,
  state.fresh,
  state.spoiled,
  state.scrap,
  state.settled,
  state.swappedOut,
  state.omitted,
  state.inStock,
];
const total = (state: PartState): number => pieces(state).reduce((sum, each) => sum + each, 0);

describe('any procedure', () => {
  test('counts are never negative, shares never exceed their whole', () => {
    fc.assert(
      fc.property(procedures, (text) => {
        for (const { entries } of replay(bind(parse('test.fettle', text))).variants) {
          for (const { after } of entries.flatMap((entry) => entry.changes)) {
            for (const each of pieces(after)) expect(Number.isInteger(each) && each >= 0, inWords(after)).toBe(true);
            expect(after.stranded).toBeGreaterThanOrEqual(0);
            expect(after.stranded).toBeLessThanOrEqual(on(after));
            expect(after.scrapOnCarrier).toBeLessThanOrEqual(after.scrap);
            expect(after.scrapSpoiled).toBeLessThanOrEqual(after.scrap);
            expect(after.carried.every((carried) => carried.count >= 0)).toBe(true);
          }
        }
      }),
      { numRuns: 400 },
    );
  });

  test('no piece is lost or made but by what is swapped in', () => {
    fc.assert(
      fc.property(procedures, (text) => {
        for (const { entries, initial } of replay(bind(parse('test.fettle', text))).variants) {
          const grown = new Map<string, number>();
          for (const { actions } of entries) {
            for (const { verb, part, before, after, acted, available } of actions) {
              expect(acted).toBeLessThanOrEqual(Math.max(available, verb === 'swap-out' ? on(before) : 0));
              if (verb === 'swap-in') grown.set(part, Math.max(grown.get(part) ?? 0, total(after)));
              else expect(total(after), `${verb} ${part} in\n${text}`).toBe(total(before));
            }
          }
          for (const { part, after } of entries.flatMap((entry) => entry.changes)) {
            if (!grown.has(part)) expect(total(after), `${part} in\n${text}`).toBe(total(initial.get(part)!));
          }
        }
      }),
      { numRuns: 400 },
    );
  });

  test('each change begins where the one before it ended, and the last is the end', () => {
    fc.assert(
      fc.property(procedures, (text) => {
        for (const variant of replay(bind(parse('test.fettle', text))).variants) {
          const now = new Map(variant.initial);
          for (const [index, { changes }] of variant.entries.entries()) {
            for (const { part } of changes) expect(stateBefore(variant, part, index)).toBe(now.get(part));
            for (const { part, before, after } of changes) {
              expect(before).toBe(now.get(part));
              now.set(part, after);
            }
          }
          expect(now).toEqual(new Map(variant.final));
        }
      }),
      { numRuns: 300 },
    );
  });

  test('judging and repairing never fail, and findings lie in the text', () => {
    fc.assert(
      fc.property(procedures, (text) => {
        const model = bind(parse('test.fettle', text));
        const { ledger, findings } = judge(model);
        for (const finding of findings) {
          const { start, end } = offsetsOf(model.tree, finding.span);
          expect(0 <= start && start < end && end <= text.length, finding.message).toBe(true);
          const repairs = checkOf(finding.code)!.repairs?.(finding, { model, ledger, settings: defaultSettings }) ?? [];
          for (const { start, end } of repairs.flatMap(({ edits }) => edits))
            expect(0 <= start && start <= end && end <= text.length).toBe(true);
        }
      }),
      { numRuns: 300 },
    );
  });

  test('one thing is told once', () => {
    fc.assert(
      fc.property(procedures, (text) => {
        const { findings } = judge(bind(parse('test.fettle', text)));
        const said = findings.map(({ code, span, message }) => `${code} ${span.start} ${span.chunk.text} ${message}`);
        expect(said).toEqual([...new Set(said)]);
      }),
      { numRuns: 200 },
    );
  });

  test('a procedure that puts back in turn what it took off is clean of ledger findings', () => {
    const taken = fc.uniqueArray(fc.tuple(fc.constantFrom('p', 'q', 'r', 's', 't'), fc.integer({ min: 1, max: 4 })), {
      selector: ([part]) => part,
      minLength: 1,
    });
    fc.assert(
      fc.property(taken, (all) => {
        const text = [
          ...all.map(([part, n], i) => `part ${part} x${n} "P"${i === 0 ? '' : ` behind ${all[i - 1]![0]}`}`),
          'teardown',
          'step off',
          ...all.map(([part, n]) => `remove ${part} x${n}`),
          'reassembly',
          'step back',
          ...all.toReversed().map(([part]) => `fit ${part}`),
          '',
        ].join('\n');
        expect(judge(bind(parse('test.fettle', text))).findings.map(({ code }) => code)).toEqual([]);
      }),
    );
  });
});
