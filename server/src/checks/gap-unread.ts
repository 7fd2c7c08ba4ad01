import { isAbove, statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related, type Statement } from './check.ts';
import { named } from './wording.ts';

export const gapUnread: Check = {
  code: 'gap-unread',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires: 'shims are chosen from a reading that is taken only further down.',
  why: 'Nobody can reckon with a figure that has not been read yet: the stack of the last job goes in.',
  bad: `part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
  step set
    shim pack gap play endplay 0.1..0.2 mm from 0.1 mm
    fit pack
    measure play limit 0.2..0.5 mm`,
  good: `part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
  step set
    measure play limit 0.2..0.5 mm
    shim pack gap play endplay 0.1..0.2 mm from 0.1 mm
    fit pack`,
  *run({ model }): Generator<Raw> {
    const shims = statementsOf(model, 'shim');
    if (shims.length === 0) return;
    const taken = new Map<string, Statement>();
    for (const measure of statementsOf(model, 'measure')) {
      const reading = measure.name?.text;
      if (reading !== undefined && !taken.has(reading)) taken.set(reading, measure);
    }
    for (const shim of shims) {
      const { gap } = shim;
      const measure = taken.get(gap?.text ?? '');
      if (gap === undefined || measure === undefined || !isAbove(model, shim, measure)) continue;
      yield {
        span: gap,
        message: `${named(gap.text)} is measured only below: take the reading before the shims are chosen from it.`,
        related: related(measure.name, 'measured here'),
      };
    }
  },
};
