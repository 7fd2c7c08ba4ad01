import { unitOf } from '../../../grammar/units.ts';
import { extentOf, fromSI, say, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, named, type Raw, related } from './check.ts';
import { celsius, heatLimitOf } from './mounting.ts';
import { roundedDown } from './rounding.ts';

export const tooHot: Check = {
  code: 'too-hot',
  severity: 'error',
  section: 'Mounting, waiting, measuring',
  local: true,
  fires: 'a part is heated past its limit: as declared, else 120 °C, or 80 °C for a sealed or greased bearing.',
  why: 'Past its limit a bearing loses hardness and size, and its grease and seals are gone.',
  bad: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 150 °C
    fit race`,
  good: `part race "Bearing"
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 110 °C
    fit race`,
  *run({ model, settings }): Generator<Raw> {
    for (const statement of statementsOf(model, 'heat')) {
      const part = model.parts.get(statement.name?.text ?? '');
      const heat = extentOf(statement.to);
      if (part === undefined || heat?.kind !== 'temperature' || statement.to === undefined) continue;
      const known = extentOf(part.limit)?.kind === 'temperature';
      if (part.broken && !known) continue;
      const limit = heatLimitOf(part, settings);
      if (celsius(heat.high) <= limit + 1e-6) continue;
      const unit = statement.to.inUnit ?? unitOf('°C')!;
      const most = known ? written(part.limit!) : say(roundedDown(fromSI(limit + 273.15, unit)), unit);
      const why = known
        ? 'its declared limit'
        : part.filled === undefined
          ? 'the limit where none is declared'
          : `the limit of a ${part.filled.text} bearing`;
      yield {
        span: statement.to,
        message: `${written(statement.to)} is past ${most}, ${why}: heat ${named(part.name!.text)} to ${most} at most.`,
        related: related(
          part.limit ?? part.filled ?? part.name,
          known ? 'the limit is declared here' : `${named(part.name!.text)} is declared here`,
        ),
        data: { subject: part.name!.text },
      };
    }
  },
};
