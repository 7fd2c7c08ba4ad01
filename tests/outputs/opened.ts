import { join } from 'node:path';
import { parse } from '../../grammar/parser.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { openProcedure } from '../../server/src/cli/procedure.ts';
import { bind, type Model } from '../../server/src/model/model.ts';
import { root } from '../cli/run.ts';

export interface Opened {
  readonly model: Model;
  readonly judged: Judged;
}

const kept = new Map<string, Opened>();

/** A sample with the files it uses, bound and judged once. */
export function openSample(name: string): Opened {
  const known = kept.get(name) ?? openProcedure('card', [join(root, 'samples', `${name}.fettle`)]);
  kept.set(name, known);
  return known;
}

/** A procedure that stands alone. */
export function openText(text: string): Opened {
  const model = bind(parse('file:///opened.fettle', text));
  return { model, judged: judge(model) };
}
