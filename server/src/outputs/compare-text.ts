import { hanging } from './columns.ts';
import type { Comparison } from './compare.ts';
import type { Change } from './compare-changes.ts';
import { duration } from './durations.ts';
import { counted, visible } from './wording.ts';

/** The comparison for people: first what somebody has to review, then the rest in the order of the text; in lines of `width` columns. */
export function compareText(comparison: Comparison, width = Number.POSITIVE_INFINITY): string {
  const { changes, findings, allowed } = comparison;
  const rows = (list: readonly Change[]): string[] => list.map(({ text, place }) => `${visible(text)}${at(place)}`);
  const review = changes.filter((change) => change.review);
  const rest = changes.filter((change) => !change.review);
  const found = [
    ...findings.added.map((each) => `new ${each.severity}, ${each.code}: ${visible(each.message)}${at(each.place)}`),
    ...findings.gone.map((each) => `gone ${each.severity}, ${each.code}: ${visible(each.message)}${at(each.place)}`),
    ...allowed.added.map(({ code, subject, place }) => `silenced now: ${code} ${visible(subject)}${at(place)}`),
    ...allowed.gone.map(({ code, subject, place }) => `no longer silenced: ${code} ${visible(subject)}${at(place)}`),
  ];
  const sections: [string, string[]][] = [
    ['Safety messages and torques: to be reviewed', rows(review)],
    [review.length > 0 ? 'Other changes' : 'Changes', rows(rest)],
    ['Findings', found],
    ['Plan', planRows(comparison)],
  ];
  const said = sections
    .filter(([, lines]) => lines.length > 0)
    .map(([title, lines]) => [title, ...lines.map((line) => hanging('  ', line, width)), ''].join('\n'));
  return [...said, total(changes.length, review.length), ...newErrors(comparison)].join('\n');
}

function total(changes: number, review: number): string {
  if (changes === 0) return 'Nothing changed in the job.';
  const all = counted(changes, 'change');
  if (review === 0) return `${all}, none to a safety message or a torque.`;
  return review === 1
    ? `${all}, 1 to a safety message or a torque: have it reviewed.`
    : `${all}, ${review} to safety messages or torques: have them reviewed.`;
}

/** Where nothing is to be reviewed, nobody should take that for all being well. */
function newErrors({ findings }: Comparison): string[] {
  const errors = findings.added.filter(({ severity }) => severity === 'error').length;
  if (errors === 0) return [];
  return [`${counted(errors, 'new error')}: mend ${errors === 1 ? 'it' : 'them'} before anyone works by this version.`];
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
    `${duration(Math.abs(after - before))} ${after > before ? 'longer' : 'shorter'}: ${duration(before)} → ${duration(after)}, with one pair of hands and everything in stock`,
  ];
}
