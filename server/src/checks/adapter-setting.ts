import { unitOf } from '../../../grammar/units.ts';
import { fromSI, say, siValueOf, written } from '../model/quantity.ts';
import { statementsOf } from '../model/statements.ts';
import type { Check, Raw } from './check.ts';
import { appendTo } from './edits.ts';
import { digitsApart } from './rounding.ts';
import { joinedInShort } from './wording.ts';
import { wrenchUse } from './wrenches.ts';

export const adapterSettingCheck: Check = {
  code: 'adapter-setting',
  severity: 'information',
  section: 'Tightening',
  local: true,
  fires: 'an adapter on the wrench changes its reading; the message gives the setting to dial in.',
  why: 'An extension lengthens the lever: dialled in as it stands, the torque comes out too high.',
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
tool wrench "Torque wrench" range 5..100 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt using wrench extension 60 mm on 400 mm`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
tool wrench "Torque wrench" range 5..100 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt using wrench`,
  *run({ model }): Generator<Raw> {
    for (const statement of statementsOf(model, 'tighten')) {
      if (statement.extension === undefined) continue;
      const use = wrenchUse(model, statement);
      if (use === undefined) continue;
      const { extension } = statement;
      const length = siValueOf(extension.length, 'length');
      const turned = siValueOf(extension.at, 'angle') ?? 0;
      if (extension.on === undefined && length !== undefined && length > 0 && Math.abs(Math.cos(turned)) > 5e-4) {
        yield {
          span: extension,
          message: `the adapter changes the reading, and the length of the wrench is not stated: add it, as in \`extension ${written(extension.length!)} on 400 mm\`.`,
          related: [],
          data: { subject: statement.name?.text ?? '' },
        };
      }
      if (!use.adapted) continue;
      const settings = use.torques.map(({ quantity, low, high }) => {
        const unit = quantity.inUnit ?? unitOf('N·m')!;
        const ends = [...new Set([low, high])].map((end) => {
          const dial = fromSI(use.setting(end), unit);
          return say(dial, unit, digitsApart(dial, fromSI(end, unit)));
        });
        return { dial: ends.join(' to '), stated: written(quantity) };
      });
      // The author has worked it out and says so.
      if (settings.every(({ dial }) => statement.text?.value.includes(dial))) continue;
      const dials = joinedInShort(settings.map(({ dial }) => dial));
      yield {
        span: statement.extension,
        message: `the adapter changes the reading: dial in ${joinedInShort(settings.map(({ dial, stated }) => `${dial} for ${stated}`))}.`,
        related: [],
        data: { subject: statement.name?.text ?? '', dials: statement.text === undefined ? dials : '' },
      };
    }
  },
  repairs(finding, { model }) {
    const dials = String(finding.data?.['dials'] ?? '');
    return dials === ''
      ? []
      : [
          {
            title: `Say it on the card: dial in ${dials}`,
            edits: [appendTo(model.tree, finding.span, `"Dial in ${dials}."`)],
            safe: false,
          },
        ];
  },
};
