import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isSafety } from '../model/statements.ts';
import { type Check, type Raw, related, type Statement } from './check.ts';
import { insertBefore, linesToMove, removeLine } from './edits.ts';
import { ByPlace } from './entries.ts';
import { rowOf } from './for-codes.ts';
import { type HeatBehindFit, heatBehindFits } from './heat-behind-fits.ts';
import { named } from './wording.ts';

export const lateHeat: Check = {
  code: 'late-heat',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  local: true,
  fires:
    'a part with a tight fit is heated or cooled right behind its `fit`, was not so before, and neither comes off again nor takes up another part.',
  why: 'Heat opens the bore so that the part slides on: behind the fit it comes too late, and the part was driven on cold.',
  bad: `part gear "Gear" bore 40 mm H7/p6
teardown
  step strip
    remove gear
reassembly
  step build
    warning "Hot parts burn skin. Wear heat-proof gloves."
    fit gear
    heat gear to 110 °C`,
  good: `part gear "Gear" bore 40 mm H7/p6
teardown
  step strip
    remove gear
reassembly
  step build
    warning "Hot parts burn skin. Wear heat-proof gloves."
    heat gear to 110 °C
    fit gear`,
  *run({ model }): Generator<Raw> {
    for (const { statement, fit } of lateIn(model)) {
      const { kind, name } = statement;
      yield {
        span: name!,
        message: `${named(name!.text)} is ${kind === 'heat' ? 'heated' : 'cooled'} only once it is on: ${kind} it above its \`fit\`.`,
        related: related(fit.name, `${named(name!.text)} goes on here`),
        data: { subject: name!.text },
      };
    }
  },
  repairs({ span }, { model }) {
    const late = byName(model).get(span);
    if (late === undefined || span.chunk.uri !== model.tree.uri) return [];
    const { statement, fit } = late;
    const row = rowOf(statement);
    // What warns of it goes along.
    const moved = row.slice(row.indexOf(fit) + 1, row.indexOf(statement) + 1).filter(isMovedAlong);
    return [
      {
        title: `Move it above \`fit ${fit.name!.text}\``,
        edits: [
          insertBefore(
            model.tree,
            fit,
            moved.flatMap((each) => linesToMove(model.tree, each)),
          ),
          ...moved.map((each) => removeLine(model.tree, each)),
        ],
        safe: false,
      },
    ];
  },
};

const lateIn = (model: Model): readonly HeatBehindFit[] => heatBehindFits(model).filter(({ isLate }) => isLate);

const byName = noted((model: Model) => new ByPlace(lateIn(model).map((late) => [late.statement.name!, late])));

const isMovedAlong = (statement: Statement): boolean =>
  isSafety(statement) || statement.kind === 'heat' || statement.kind === 'cool';
