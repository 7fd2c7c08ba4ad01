import type { Settings } from '../checks/check.ts';
import { type Mendable, mended } from '../checks/mend.ts';
import { judge } from '../checks/run.ts';
import { bind } from '../model/model.ts';
import type { Source, Unusable } from './files.ts';
import { Loader } from './load.ts';
import { readProcedure } from './procedure-file.ts';
import { replaceFile } from './replace.ts';

/** What a file would be with its safe repairs made. Plain data. */
export interface Mended {
  /** Findings that they take away. */
  readonly gone: number;
  /** The bytes of the file, and those that should stand in their place; absent where nothing is to be mended. */
  readonly change?: { readonly from: Uint8Array; readonly to: Uint8Array };
}

/** Makes the safe repairs of the checks `wanted`, or of all, again and again until none is left, and leaves the file alone. */
export function mendedSource(
  path: string,
  { text: before, bytes }: Source,
  settings: Settings,
  wanted?: ReadonlySet<string>,
): Mended {
  const open = (text: string): Mendable => {
    const { tree, resolve } = new Loader().open(path, text);
    const model = bind(tree, resolve);
    return { text, model, judged: judge(model, settings), settings, resolve };
  };
  const file = open(before);
  const text = mended(file, ({ code }, repairs) =>
    wanted === undefined || wanted.has(code) ? repairs.find(({ safe }) => safe) : undefined,
  );
  if (text === before) return { gone: 0 };
  const mark = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? '\ufeff' : '';
  return {
    gone: file.judged.findings.length - open(text).judged.findings.length,
    change: { from: bytes, to: Buffer.from(mark + text) },
  };
}

/** Writes what is mended. Gives how many findings that took away; the file is left alone where somebody changed it meanwhile. */
export function writeMended(path: string, { gone, change }: Mended): number | Unusable {
  return (change === undefined ? undefined : replaceFile(path, change.from, change.to)) ?? gone;
}

/** {@link mendedSource} of the file at `path`, written at once. */
export function fixFile(path: string, settings: Settings, wanted?: ReadonlySet<string>): number | Unusable {
  const source = readProcedure(path);
  return 'reason' in source ? source : writeMended(path, mendedSource(path, source, settings, wanted));
}
