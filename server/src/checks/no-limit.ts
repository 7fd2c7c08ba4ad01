import { statementsOf } from '../model/statements.ts';
import type { Check, Raw } from './check.ts';
import { named } from './wording.ts';

export const noLimit: Check = {
  code: 'no-limit',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  fires: 'a reading has no limit and nothing uses it.',
  why: 'A figure that nobody compares with anything is written down and forgotten.',
  bad: `teardown
  step look
    measure backlash`,
  good: `teardown
  step look
    measure backlash limit 0.10..0.20 mm`,
  *run({ model }): Generator<Raw> {
    let used: Set<string> | undefined;
    for (const { name, limit, max, min, broken } of statementsOf(model, 'measure')) {
      if (name === undefined || broken || (limit ?? max ?? min) !== undefined) continue;
      used ??= new Set(statementsOf(model, 'shim').flatMap(({ gap }) => gap?.text ?? []));
      if (used.has(name.text)) continue;
      yield {
        span: name,
        message: `the reading ${named(name.text)} has no limit and no \`shim\` uses it: add \`limit\`, \`max\` or \`min\`.`,
        related: [],
        data: { subject: name.text },
      };
    }
  },
};
