import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf, spanText } from '../../grammar/syntax.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { procedureOf } from '../bench/procedures.ts';

const uri = 'file:///unit.fettle';
const judged = (text: string): Judged => judge(bind(parse(uri, text)));
const units = 200;
/** Many times as long as a stretch. */
const clean = procedureOf({ lines: units * 49 + 12 });

/** Slips that local checks tell of: in declarations, in texts, in what steps do; the same in every unit. */
const slips: readonly (readonly [RegExp, string, string])[] = [
  [/\(18 lbf·ft\) holes/g, '(19 lbf·ft) holes', 'restated-wrong'],
  [/ to 100 °C/g, ' to 130 °C', 'too-hot'],
  [/ {4}warning "Hot parts burn skin. Wear heat-proof gloves."\n/g, '', 'unwarned'],
  [/fit new gasket/g, 'fit gasket', 'renew-refitted'],
  [/ {4}mark shaft.*\n/g, '', 'lost-mark'],
  [/"The shaft turns by hand\."/g, '"The shaft turns\u200b by hand."', 'hidden-text'],
];

describe('a file of many stretches', () => {
  it.each(slips)('tells once of each of %s to %j: %s', (what, by, code) => {
    const text = clean.replace(what, by);
    const { findings, ledger } = judged(text);
    const places = findings
      .filter((finding) => finding.code === code)
      .map(({ span }) => offsetsOf(ledger.model.tree, span).start);
    expect(places).toHaveLength(units);
    expect(new Set(places).size).toBe(units);
  });

  it('tells once of what is wrong in the head', () => {
    const text = clean.replace(/^(procedure \S+ )"[^"]*"/, `$1"${'word '.repeat(30)}"`);
    expect(judged(text).findings.map(({ code }) => code)).toEqual(['long-text']);
  });

  it('tells of a byte order mark in every chunk but the first', () => {
    const text = `\ufeff${clean.replace(/\n(?=part|supply|pattern)/g, '\n\ufeff')}`;
    const { findings, ledger } = judged(text);
    const hidden = findings.filter(({ code }) => code === 'hidden-text');
    expect(hidden).toHaveLength(units * 10);
    expect(hidden.map(({ span }) => spanText(span)).every((each) => each === '\ufeff')).toBe(true);
    expect(hidden.every(({ span }) => offsetsOf(ledger.model.tree, span).start > 0)).toBe(true);
  });

  it('tells the same to codes that see the same', () => {
    const text = clean
      .replace('applies to BU-1', 'applies to BU-1, BU-2, BU-3')
      .replaceAll('fit new gasket', 'fit gasket');
    const messages = judged(text)
      .findings.filter(({ code }) => code === 'renew-refitted')
      .map(({ message }) => message);
    expect(messages).toHaveLength(units);
    expect(messages.some((message) => message.startsWith('for '))).toBe(false);
  });
});
