import { unitOf } from '../../../grammar/units.ts';
import { pressFit, STEEL } from '../mechanics/index.ts';
import { extentOf, figure, fromSI, say, siValueOf, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { inNoTable, interferenceOf, unknownFit } from './mounting.ts';
import { digitsApart } from './rounding.ts';
import { named } from './wording.ts';

/** Steel on steel, dry to lightly oiled; from memory, common in handbooks. */
const friction = 0.15;

export const pressShort: Check = {
  code: 'press-short',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  local: true,
  fires:
    'the greatest interference needs more force than `max` allows (for parts that declare bore, fit, length and outside diameter); an information where the fit is in no table.',
  why: 'Stopped half-way, the ring sits crooked; forced on, the seat is scored.',
  assumes: () => [
    `Hub and solid shaft are of steel (${STEEL.modulus / 1000} GPa, Poisson's ratio ${STEEL.poisson}), thick cylinders after Lamé; the friction is ${friction}.`,
  ],
  bad: `part ring "Ring" bore 50 mm interference 20..40 µm length 20 mm diameter 80 mm
teardown
  step off
    remove ring
reassembly
  step on
    warning "Parts can fly off. Stand clear."
    press ring max 5 kN
    fit ring`,
  good: `part ring "Ring" bore 50 mm interference 20..40 µm length 20 mm diameter 80 mm
teardown
  step off
    remove ring
reassembly
  step on
    warning "Parts can fly off. Stand clear."
    press ring max 50 kN
    fit ring`,
  *run({ model }): Generator<Raw> {
    for (const statement of statementsOf(model, 'press')) {
      const part = model.parts.get(statement.name?.text ?? '');
      const joint = interferenceOf(part);
      const max = extentOf(statement.max);
      const length = siValueOf(part?.length, 'length');
      const outside = siValueOf(part?.outside, 'length');
      if (part === undefined || max?.kind !== 'force' || length === undefined || outside === undefined) continue;
      const unknown = unknownFit(part);
      if (unknown !== undefined) {
        yield {
          span: statement.max!,
          severity: 'information',
          message: `whether ${written(statement.max!)} presses ${named(part.name!.text)} on cannot be judged: ${inNoTable(unknown)}.`,
          related: related(unknown, 'the fit is declared here'),
          data: { subject: part.name!.text },
        };
      }
      if (joint === undefined || joint.max <= 0) continue;
      const figures = pressFit({
        diameter: joint.diameter,
        hub: outside * 1000,
        length: length * 1000,
        interference: joint.max,
        friction,
      });
      if (figures === undefined || figures.force <= max.high * (1 + 1e-9)) continue;
      const unit = statement.max!.inUnit ?? unitOf('kN')!;
      const force = fromSI(figures.force, unit);
      yield {
        span: statement.max!,
        message: `${named(part.name!.text)} may need ${say(force, unit, digitsApart(force, fromSI(max.high, unit)))} to go on (${figure(joint.max)} µm, friction ${friction}, solid steel shaft), more than ${written(statement.max!)}: heat it instead, or check the fit.`,
        related: related(part.interference ?? part.fit ?? part.bore, 'the fit is declared here'),
        data: { subject: part.name!.text },
      };
    }
  },
};
