import type { Settings } from '../checks/check.ts';
import { type Mendable, mended } from '../checks/mend.ts';
import { judge } from '../checks/run.ts';
import { bind } from '../model/model.ts';
import { readSource, type Unusable } from './files.ts';
import { Loader } from './load.ts';
import { replaceFile } from './replace.ts';

/**
 * Makes the safe repairs of the checks `wanted` in the file at `path`, again and again until none is left. Gives how many
 * findings that took away; the file is replaced whole, and left alone where somebody else changed it meanwhile.
 */
export function fixFile(path: string, settings: Settings, wanted: ReadonlySet<string>): number | Unusable {
  const source = readSource(path);
  if ('reason' in source) return source;
  const open = (text: string): Mendable => {
    const { tree, resolve } = new Loader().open(path, text);
    const model = bind(tree, resolve);
    return { text, model, judged: judge(model, settings), settings, resolve };
  };
  const before = open(source.text);
  const text = mended(before, ({ code }, repairs) => (wanted.has(code) ? repairs.find(({ safe }) => safe) : undefined));
  if (text === source.text) return 0;
  const mark = source.bytes[0] === 0xef && source.bytes[1] === 0xbb && source.bytes[2] === 0xbf ? '\ufeff' : '';
  const refused = replaceFile(path, source.bytes, Buffer.from(mark + text));
  return refused ?? before.judged.findings.length - open(text).judged.findings.length;
}
