import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parse } from '../../grammar/parser.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { bind, type Model, type Resolve } from '../../server/src/model/model.ts';

export const folder = join(import.meta.dirname, '..', '..', 'samples');

/** The `.fettle` files right in a folder of the samples, by their path below `samples`. */
export const filesIn = (below: string): string[] =>
  readdirSync(join(folder, below))
    .filter((name) => name.endsWith('.fettle'))
    .sort()
    .map((name) => (below === '' ? name : `${below}/${name}`));

export const uriOf = (name: string): string => pathToFileURL(join(folder, name)).href;
export const textOf = (name: string): string => readFileSync(join(folder, name), 'utf8');

/** Judges a sample as it stands on disk, or with other texts in place of some files (by their path below `samples`). */
export function judgeSample(
  name: string,
  texts: Readonly<Record<string, string>> = {},
): { model: Model; judged: Judged } {
  const changed = new Map(Object.entries(texts).map(([file, text]) => [uriOf(file), text]));
  const read = (uri: string): string => changed.get(uri) ?? readFileSync(new URL(uri), 'utf8');
  const resolve: Resolve = (path, from) => {
    const { href } = new URL(path, from);
    try {
      return parse(href, read(href));
    } catch (error) {
      return { missing: true, reason: (error as NodeJS.ErrnoException).code };
    }
  };
  const model = bind(parse(uriOf(name), read(uriOf(name))), resolve);
  return { model, judged: judge(model) };
}
