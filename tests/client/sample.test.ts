import { describe, expect, it } from 'vitest';
import { sample } from '../../client/src/sample.ts';
import { parse } from '../../grammar/parser.ts';
import { format } from '../../grammar/printer.ts';
import { allChecks } from '../../server/src/checks/all.ts';
import type { Edit } from '../../server/src/checks/check.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { draft } from '../../server/src/outputs/draft.ts';

const read = (text: string) => {
  const model = bind(parse('untitled:sample', text));
  const { findings, ledger } = judge(model);
  return { model, ledger, findings, codes: findings.map(({ code }) => code) };
};
const edited = (text: string, edits: readonly Edit[]): string =>
  [...edits]
    .sort((a, b) => b.start - a.start)
    .reduce((all, { start, end, text: put }) => all.slice(0, start) + put + all.slice(end), text);

describe('the sample of the walkthrough', () => {
  it('is laid out, and has the faults that its head tells of', () => {
    expect(format(sample)).toBe(sample);
    expect(read(sample).codes).toEqual(['restated-wrong', 'left-off', 'left-off', 'left-off', 'not-replaced']);
  });

  it('is clean after the repair and the draft', () => {
    const { model, ledger, findings } = read(sample);
    const [wrong] = findings;
    const context = { model, ledger, settings: defaultSettings };
    const [repair] = allChecks.find(({ code }) => code === 'restated-wrong')!.repairs!(wrong!, context);
    const mended = edited(sample, repair!.edits);
    expect(mended).toContain('torque 9 N·m (6.6 lbf·ft)');
    const now = read(mended);
    const whole = edited(mended, draft(now.model, now.ledger).edits);
    expect(read(whole).codes).toEqual([]);
    expect(whole).toContain('fit new seal');
  });
});
