import type { Chunk } from '../../../grammar/syntax.ts';
import { noted } from '../model/noted.ts';
import { statementsOf } from '../model/statements.ts';
import type { Check, Model, Name, Raw } from './check.ts';
import { named } from './wording.ts';

export const noLimit: Check = {
  code: 'no-limit',
  severity: 'warning',
  section: 'Mounting, waiting, measuring',
  fires:
    'a reading has no limit and nothing uses it, and its name does not say that it is of the old state, to compare with later: `old-play`, `as-found-play`, `play-before`.',
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
      if (used.has(name.text) || isAsFound(name.text)) continue;
      yield {
        span: name,
        message: `the reading ${named(name.text)} has no limit and no \`shim\` uses it: add \`limit\`, \`max\` or \`min\`${comesFirst(model, name) ? `, or call it ${named(`old-${name.text}`)} where it is noted to compare with later` : ''}.`,
        related: [],
        data: { subject: name.text },
      };
    }
  },
};

/** A reading of how things were before anybody touched them has no limit. Common practice, no source. */
const isAsFound = (reading: string): boolean =>
  /^(?:as-found|before|former|found|initial|old|previous)-|-(?:as-found|before|found|old)$/i.test(reading);

const comesFirst = (model: Model, { chunk }: Name): boolean => teardown(model).has(chunk);

const teardown = noted(
  ({ steps }: Model): ReadonlySet<Chunk> =>
    new Set(steps.flatMap(({ step, phase }) => (phase === 'teardown' ? [step.chunk] : []))),
);
