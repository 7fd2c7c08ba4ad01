import type { Change, Comparison } from './compare.ts';
import { duration } from './plan.ts';
import { counted, visible } from './wording.ts';

/** The comparison for people: first what somebody has to review, then the rest in the order of the text. */
export function compareText(comparison: Comparison): string {
  const { changes, findings, allowed } = comparison;
  const rows = (list: readonly Change[]): string[] => list.map(({ text, place }) => `  ${visible(text)}${at(place)}`);
  const review = changes.filter((change) => change.review);
  const rest = changes.filter((change) => !change.review);
  const found = [
    ...findings.added.map((each) => `  new: ${each.severity} ${each.code} ${visible(each.message)}${at(each.place)}`),
    ...findings.gone.map((each) => `  gone: ${each.severity} ${each.code} ${visible(each.message)}${at(each.place)}`),
    ...allowed.added.map(({ code, subject, place }) => `  silenced now: ${code} ${visible(subject)}${at(place)}`),
    ...allowed.gone.map(({ code, subject, place }) => `  no longer silenced: ${code} ${visible(subject)}${at(place)}`),
  ];
  const sections: [string, string[]][] = [
    ['Safety messages and torques: to be reviewed', rows(review)],
    [review.length > 0 ? 'Other changes' : 'Changes', rows(rest)],
    ['Findings', found],
    ['Plan', planRows(comparison)],
  ];
  const said = sections
    .filter(([, lines]) => lines.length > 0)
    .map(([title, lines]) => [title, ...lines, ''].join('\n'));
  const total =
    changes.length === 0
      ? 'Nothing changed in the job.'
      : `${counted(changes.length, 'change')}, ${review.length} to be reviewed.`;
  return [...said, total].join('\n');
}

const at = (place: Change['place']): string =>
  place === undefined
    ? ''
    : ` (${place.version === 'old' ? 'old ' : ''}line ${place.line}${place.file === undefined ? '' : ` of ${visible(place.file)}`})`;

/** How much longer or shorter the work is; empty where it is not. */
function planRows({ plan }: Comparison): string[] {
  if (plan === undefined || plan.before === plan.after) return [];
  const { before, after } = plan;
  return [
    `  ${duration(Math.abs(after - before))} ${after > before ? 'longer' : 'shorter'}: ${duration(before)} → ${duration(after)}, with one pair of hands and everything in stock`,
  ];
}
