import { unitOf } from '../../../grammar/units.ts';
import { EXPANSION } from '../mechanics/index.ts';
import { figure, fromSI, say, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, defaultSettings, type Raw, related } from './check.ts';
import { heatBehindFits } from './heat-behind-fits.ts';
import { heatLimitOf, inNoTable, mountingBy, unknownFit } from './mounting.ts';
import { roundedDown, roundedUp } from './rounding.ts';
import { named } from './wording.ts';

export const tooCool: Check = {
  code: 'too-cool',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  local: true,
  fires:
    'heating (or cooling) cannot open the fit: the message gives the kelvin needed for this interference and diameter; an information where the fit is not in the tables.',
  why: 'A ring that is not warm enough jams half-way on and is spoiled getting it off.',
  assumes: () => [
    `A ring of bearing steel grows by ${figure(EXPANSION['bearing steel'] * 1e6)} µm a metre and kelvin. The workshop is at ${defaultSettings.ambient} °C, unless \`ambient\` in a \`fettle.json\` says otherwise.`,
    'A fit is that of ISO 286; where only the shaft has a class, the part is a rolling bearing of Normal class (ISO 492).',
  ],
  bad: `part race "Bearing" bore 50 mm interference 10..45 µm
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 60 °C
    fit race`,
  good: `part race "Bearing" bore 50 mm interference 10..45 µm
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 110 °C
    fit race`,
  *run({ model, settings }): Generator<Raw> {
    const settled = new Set(heatBehindFits(model).flatMap(({ statement, isLate }) => (isLate ? [] : [statement])));
    for (const statement of [...statementsOf(model, 'heat'), ...statementsOf(model, 'cool')]) {
      if (settled.has(statement)) continue;
      const unknown = unknownFit(model.parts.get(statement.name?.text ?? ''));
      if (unknown !== undefined && statement.to !== undefined) {
        yield {
          span: statement.to,
          severity: 'information',
          message: `whether ${written(statement.to)} opens the fit of ${named(statement.name!.text)} cannot be judged: ${inNoTable(unknown)}.`,
          related: related(unknown, 'the fit is declared here'),
          data: { subject: statement.name!.text },
        };
        continue;
      }
      const mounting = mountingBy(statement, model, settings.ambient);
      if (mounting === undefined || mounting.verdict.opens || statement.to === undefined) continue;
      const { part, joint, outer, verdict } = mounting;
      const unit = statement.to.inUnit ?? unitOf('°C')!;
      const exact = fromSI(verdict.temperature + 273.15, unit);
      const bound = outer ? roundedUp(exact) : roundedDown(exact);
      const needed =
        unit.symbol === '°F'
          ? `${figure(roundedUp(verdict.kelvin * 1.8))} °F of difference`
          : `${figure(roundedUp(verdict.kelvin))} K`;
      const room =
        unit.symbol === '°F' ? `${figure(settings.ambient * 1.8 + 32)} °F` : `${figure(settings.ambient)} °C`;
      const fit =
        part.bore?.inUnit?.symbol === 'in'
          ? `${figure(joint.max / 25_400, 2)} in on ${written(part.bore)}`
          : `${figure(joint.max)} µm on ${figure(joint.diameter, 4)} mm`;
      const limit = heatLimitOf(part, settings);
      const end =
        outer && verdict.temperature > limit + 1e-6
          ? `past its limit of ${say(roundedDown(fromSI(limit + 273.15, unit)), unit)}: press it on, or cool what it goes on as well`
          : 'and something more for clearance';
      yield {
        span: statement.to,
        message:
          `${written(statement.to)} does not open the fit of ${named(part.name!.text)}: ${fit} needs ${needed} above a workshop of ${room}, ${outer ? 'at least' : 'at most'} ${say(bound, unit)}, ${end}.`.replace(
            'above a workshop',
            outer ? 'above a workshop' : 'below a workshop',
          ),
        related: related(part.interference ?? part.fit ?? part.bore, 'the fit is declared here'),
        data: { subject: part.name!.text },
      };
    }
  },
};
