import { judgeClamp } from '../mechanics/index.ts';
import { forceUnitFor, fromSI, say, written } from '../model/quantity.ts';
import { type Check, type Raw, related } from './check.ts';
import { clampAssumes, clampOf, fastenerOf, oddTorqueAt, torqueEnds, torquesOf } from './fastening.ts';
import { digitsApart } from './rounding.ts';
import { named } from './wording.ts';

export const overProof: Check = {
  code: 'over-proof',
  severity: 'error',
  section: 'Tightening',
  local: true,
  fires:
    'the clamp load passes the proof load at the middle of the friction band; a warning where it passes the yield load at the low end.',
  why: 'A bolt pulled past its proof load stays longer, holds less, and breaks later.',
  assumes: clampAssumes,
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 45 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  *run({ model, settings }): Generator<Raw> {
    for (const place of torquesOf(model)) {
      const { torque, part } = place;
      const fastener = fastenerOf(part, settings);
      const ends = torqueEnds(torque);
      const band = ends === undefined ? undefined : clampOf(fastener, ends.high);
      const verdict = band === undefined ? undefined : judgeClamp(band);
      if (band === undefined || verdict?.over === undefined || fastener.loads === undefined) continue;
      const { loads, friction } = fastener;
      const [clamp, load] = verdict.over === 'proof' ? [band.mid.clamp, loads.proof] : [band.high.clamp, loads.yield];
      const unit = forceUnitFor(torque);
      const digits = digitsApart(fromSI(clamp, unit), fromSI(load, unit));
      const force = (newton: number): string => say(fromSI(newton, unit), unit, digits);
      const what =
        `${written(torque)} on ${part.thread!.text} class ${part.propertyClass?.image ?? `grade ${part.grade?.image}`}`.replace(
          'class grade',
          'grade',
        );
      yield {
        span: torque,
        severity: verdict.over === 'proof' ? 'error' : 'warning',
        message:
          verdict.over === 'proof'
            ? `${what} clamps ${force(clamp)} at friction ${friction.mid}, past the proof load of ${force(load)}: ${oddTorqueAt(place, settings) === undefined ? 'lower the torque, or state a stronger class' : 'correct the figure, as no class bears so much'}.`
            : `${what} can clamp ${force(clamp)} at friction ${friction.low}, past the yield load of ${force(load)}: lower the torque${part.condition === undefined ? ", or state the thread's condition" : ''}.`,
        related:
          torque.chunk === part.chunk ? [] : related(part.name, `${named(part.name?.text ?? '')} is declared here`),
        data: { subject: part.name?.text ?? '' },
      };
    }
  },
};
