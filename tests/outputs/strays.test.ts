import { describe, expect, it } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { replay, toldApart } from '../../server/src/ledger/ledger.ts';
import { bind } from '../../server/src/model/model.ts';
import { draft } from '../../server/src/outputs/draft.ts';
import { kit } from '../../server/src/outputs/kit.ts';

const read = (text: string) => {
  const model = bind(parse('file:///strays.fettle', text));
  return { model, ledger: replay(model) };
};

describe('a draft of statements outside any step', () => {
  it('changes nothing, and says what to do', () => {
    const text = 'part ring remove ring\nreassembly\nremove ring ';
    const { model, ledger } = read(text);
    expect(draft(model, ledger)).toEqual({ edits: [], text, notes: [expect.stringContaining('put them into a step')] });
  });
});

describe('codes that no `for` tells apart', () => {
  const text = (rest: string) => `procedure p "P"
  applies to A-1, B-2
part seal "Seal" renew
teardown
  step off
    remove seal
reassembly
  step on
    fit new seal
${rest}`;
  it('count as one job, whose kit names both codes', () => {
    const { model, ledger } = read(text(''));
    expect(toldApart(ledger.variants).map(({ code }) => code)).toEqual([undefined]);
    const list = kit(model, ledger);
    expect(list.codes).toEqual(['A-1', 'B-2']);
    expect(list.parts).toHaveLength(1);
    expect(list.parts[0]!.codes).toBeUndefined();
  });
  it('stay apart where one `for` names one of them', () => {
    const { ledger } = read(text('    for B-2\n      do "Look."\n    end'));
    expect(toldApart(ledger.variants).map(({ code }) => code)).toEqual(['A-1', 'B-2']);
  });
});
