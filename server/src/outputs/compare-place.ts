import { offsetsOf, type Span } from '../../../grammar/syntax.ts';
import { lineOf } from '../checks/check.ts';
import { pathTo } from '../checks/elsewhere.ts';
import type { Model } from '../model/model.ts';

/** Where something stands; in the old version where it is gone. Lines count from 1. */
export interface Place {
  readonly version: 'old' | 'new';
  readonly uri: string;
  readonly line: number;
  /** Of a shared file: its path from the one that is compared. */
  readonly file?: string;
}

export function placeOf(version: 'old' | 'new', { files, tree: own }: Model, span: Span): Place | undefined {
  const tree = files.find(({ uri }) => uri === span.chunk.uri);
  if (tree === undefined) return undefined;
  const line = lineOf(tree, offsetsOf(tree, span).start);
  return { version, uri: tree.uri, line, ...(tree !== own && { file: pathTo(tree.uri, own.uri) }) };
}
