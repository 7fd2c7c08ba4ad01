import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from '../../grammar/parser.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { Loader } from '../../server/src/cli/load.ts';
import { bind, type Model } from '../../server/src/model/model.ts';
import { root } from '../cli/run.ts';

export interface Opened {
  readonly model: Model;
  readonly judged: Judged;
}

const kept = new Map<string, Opened>();

/** A sample with the files it uses, bound and judged once. */
export function openSample(name: string): Opened {
  const known = kept.get(name);
  if (known !== undefined) return known;
  const path = join(root, 'samples', `${name}.fettle`);
  const { tree, resolve } = new Loader().open(path, readFileSync(path, 'utf8'));
  const model = bind(tree, resolve);
  const opened = { model, judged: judge(model) };
  kept.set(name, opened);
  return opened;
}

/** A procedure that stands alone. */
export function openText(text: string): Opened {
  const model = bind(parse('file:///opened.fettle', text));
  return { model, judged: judge(model) };
}
