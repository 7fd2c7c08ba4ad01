/** What was most likely meant by a number that is written otherwise: with its thousands parted, with a fraction sign, as on a clock. */
import type { IToken, TokenType } from 'chevrotain';
import { type Advice, type Stopped, takeOut, touches } from './mend.ts';
import { Comma, endOf, isNumber, isUnit, keyword as k, Stray } from './tokens.ts';

/** Of the number at `at`, or of that before it. */
export function numberMeant(here: Stopped, at: number): Advice | undefined {
  const token = here.tokens[at]!;
  const next = here.onLine(at + 1);
  const before = here.tokens[at - 1];
  const sign = token.tokenType === Stray ? token.image : '';
  if (partsOf[sign] !== undefined || isNumber(before) || isUnit(before)) {
    const meant = whole(here, at);
    if (meant !== undefined) return meant;
  }
  // `torque = 25 N·m`, `+25 N·m`
  if (!/^[=+]$/.test(sign) || !isNumber(next) || isUnit(before)) return undefined;
  return before !== undefined && touches(before, token) ? ['write a blank in its place', ''] : takeOut;
}

function whole(here: Stopped, at: number): Advice | undefined {
  let first = at;
  while (first > 0 && (isNumber(here.tokens[first - 1]) || isUnit(here.tokens[first - 1])) && first > at - 2) first--;
  if (isUnit(here.tokens[first])) first++;
  const line = lineFrom(here, first);
  for (const [form, write] of forms) {
    const found = form.exec(line);
    const last = found === null ? -1 : lastWithin(here, first, found[0].length);
    const written = last < at ? undefined : write(found!, here.tokens[first - 1]);
    if (written !== undefined) return [`write \`${written}\``, written, last, first];
  }
  return undefined;
}

const lineFrom = ({ text, tokens }: Stopped, i: number): string => {
  const { startOffset } = tokens[i]!;
  return /^[^\r\n]*/.exec(text.slice(startOffset, startOffset + 60))![0];
};

/** The token at which `length` signs from that at `first` on end; -1 where none does. */
function lastWithin({ tokens }: Stopped, first: number, length: number): number {
  const end = tokens[first]!.startOffset + length;
  let last = first;
  while (last + 1 < tokens.length && endOf(tokens[last]!) < end) last++;
  return endOf(tokens[last]!) === end ? last : -1;
}

const partsOf: Readonly<Record<string, number>> = {
  '½': 1 / 2,
  '¼': 1 / 4,
  '¾': 3 / 4,
  '⅓': 1 / 3,
  '⅔': 2 / 3,
  '⅛': 1 / 8,
  '⅜': 3 / 8,
  '⅝': 5 / 8,
  '⅞': 7 / 8,
};
/** `½` */
export const isFraction = (token: IToken | undefined): boolean => partsOf[token?.image ?? ''] !== undefined;
const inDecimals = (value: number): string => `${Number(value.toFixed(4))}`;
/** Half hours and whole ones in hours. */
export const inTime = (hours: number, minutes: number): string =>
  minutes % 30 === 0 && hours > 3 ? `${hours + minutes / 60} h` : `${hours * 60 + minutes} min`;

type Form = readonly [form: RegExp, write: (found: RegExpExecArray, lead: IToken | undefined) => string | undefined];
const forms: readonly Form[] = [
  // `1 250`, `1'250.5`
  [
    /^[0-9]{1,3}(?:[ '’\u00A0\u202F][0-9]{3})+(?:\.[0-9]+)?(?![.,]?[0-9])/,
    ([all], lead) => (isOfWhole(lead) ? undefined : all!.replace(/[^0-9.]/g, '')),
  ],
  // `1.250,5`
  [/^([0-9]{1,3}(?:\.[0-9]{3})+),([0-9]+)/, ([, integer, rest]) => `${integer!.replaceAll('.', '')}.${rest}`],
  [
    new RegExp(`^([0-9]*) ?([${Object.keys(partsOf).join('')}])`),
    ([, integer, part]) => inDecimals(Number(integer) + partsOf[part!]!),
  ],
  // `1:30 h`
  [
    /^([0-9]{1,2}):([0-5][0-9])(?: ?h\b)?/,
    ([, hours, minutes], lead) => (isOfTime(lead) ? inTime(Number(hours), Number(minutes)) : undefined),
  ],
  // `25 +2/-1 N·m`, `25 N·m +2/-1`, `25 +2 -1 N·m`
  [
    /^([0-9.]+)( ?[^\s\d+/-]+)? ?\+ ?([0-9.]+)(?: ?\/ ?| )[-−–] ?([0-9.]+)/,
    ([, middle, unit = '', more, less]) => {
      const digits = Math.max(...[middle!, more!, less!].map((each) => each.split('.')[1]?.length ?? 0));
      const end = (value: number): string => value.toFixed(digits);
      return `${end(Number(middle) - Number(less))}..${end(Number(middle) + Number(more))}${unit}`;
    },
  ],
];

/** Behind these, one number after another stands for itself: in a list a comma or a unit may be missing between them. */
const isOfWhole = (lead: IToken | undefined): boolean =>
  lead !== undefined && (beforeNumbers.has(lead.tokenType) || isUnit(lead));
const beforeNumbers: ReadonlySet<TokenType> = new Set([
  k.circle,
  k.order,
  k.holes,
  k.at,
  k.class,
  k.grade,
  k.angles,
  k.points,
  k.stages,
  k.from,
  Comma,
]);
const isOfTime = (lead: IToken | undefined): boolean =>
  lead !== undefined && [k.cure, k.lead, k.takes, k.wait].includes(lead.tokenType);
