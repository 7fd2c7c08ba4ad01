import { parse } from '../../../grammar/parser.ts';
import { judge } from '../checks/run.ts';
import { bind } from '../model/model.ts';
import { compare } from '../outputs/compare.ts';
import { compareText } from '../outputs/compare-text.ts';
import { type ComparedText, type CompareParams, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** What changed in the job from an earlier text of the file to this one, both judged by today's settings. */
export function comparedWith(snapshot: Snapshot, old: string): ComparedText {
  const before = bind(parse(snapshot.tree.uri, old), snapshot.resolve);
  const { model, judged, settings } = snapshot;
  const comparison = compare({ model: before, judged: judge(before, settings) }, { model, judged });
  return { text: compareText(comparison), review: comparison.review };
}

export const compareVersions = feature<CompareParams, ComparedText>(requests.compare, {}, (snapshot, { old }) =>
  comparedWith(snapshot, String(old)),
);
