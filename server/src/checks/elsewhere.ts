import { offsetsOf, type Text } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { stepsOfChunk } from '../model/statements.ts';
import { type Finding, lineOf, type Raw } from './check.ts';

/**
 * A finding in a step that is taken in from a shared file, as it is shown at the path of the `use`: its message says where
 * it stands, and its real place comes first among the related ones.
 */
export function shownAt(path: Text, raw: Raw, model: Model): Omit<Finding, 'code' | 'severity'> {
  const { span } = raw;
  const { chunk } = span;
  const tree = model.files.find(({ uri }) => uri === chunk.uri)!;
  const step = stepsOfChunk(chunk).at(-1)?.name;
  const place = `in ${pathTo(chunk.uri, model.tree.uri)} line ${lineOf(tree, offsetsOf(tree, span).start)}`;
  return {
    ...raw,
    span: path,
    message: `${place}${step === undefined ? '' : `, step ${step.text}`}: ${raw.message}`,
    related: [{ span, message: 'it stands here' }, ...raw.related],
    elsewhere: span,
  };
}

/** The path of the file `uri` from the folder of the file `from`, as `use` would have it. */
export function pathTo(uri: string, from: string): string {
  const to = uri.split('/');
  const base = from.split('/').slice(0, -1);
  let same = 0;
  while (same < base.length && same < to.length - 1 && base[same] === to[same]) same++;
  return [...base.slice(same).map(() => '..'), ...to.slice(same).map(decodeURIComponent)].join('/');
}
