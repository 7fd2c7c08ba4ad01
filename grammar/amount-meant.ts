/** What was most likely meant by numbers, bounds and quantities that are written otherwise. */
import type { IToken } from 'chevrotain';
import { type ChunkTokens, shownText } from './chunk-tokens.ts';
import { isStatement } from './heads.ts';
import { type Advice, type Stopped, takeOut, takeOutTo } from './mend.ts';
import { isFraction } from './number-meant.ts';
import { inQuotes } from './prose-meant.ts';
import type { Statement } from './syntax.ts';
import { Comma, DashedNumber, isNumber, isUnit, keyword as k, Slash, Word } from './tokens.ts';
import { type Unit, unitMeant, unitOf } from './units.ts';

/** `tighten bolt 10, 20, 25 N·m`, `tighten bolt 1, 3, 2, 4` */
export function listMeant(here: Stopped, at: number): Advice | undefined {
  let last = at;
  while (here.onLine(last + 1)?.tokenType === Comma && isNumber(here.onLine(last + 2))) last += 2;
  if (last === at || !isNumber(here.tokens[at])) return undefined;
  const unit = here.onLine(last + 1);
  const numbers = here.tokens.slice(at, last + 1).filter(isNumber);
  if (unit === undefined || !isUnit(unit)) return ['hole numbers stand behind `order` or `at holes`'];
  if (unitOf(unit.image)?.kind !== 'torque') return undefined;
  const stages = `in stages ${numbers.map(({ image }) => `${image} ${unit.image}`).join(', ')}`;
  return [`write \`${stages}\``, stages, last + 1];
}

/** `measure play not more than 0.1 mm`: the bound that words before a number say. */
export function boundMeant(here: Stopped, at: number): Advice | undefined {
  if (here.node!.kind !== 'measure') return undefined;
  let last = at;
  while (last < at + 4 && here.onLine(last + 1) !== undefined && !isNumber(here.onLine(last + 1))) last++;
  if (!isNumber(here.onLine(last + 1))) return undefined;
  const words = here.written(at, last);
  const bound = atMost.test(words) ? 'max' : atLeast.test(words) ? 'min' : undefined;
  return bound === undefined || here.seen.has(bound) ? undefined : [`write \`${bound}\``, bound, last];
}

const atMost =
  /^(?:no[t]? (?:more|greater|over|above|exceeding)(?: than)?|(?:less|smaller) than|under|below|up to|at most|maximum(?: of)?|(?:must|shall|should|may|does|do|is|to)? ?not (?:to )?exceed|upper limit(?: of)?)$/i;

const atLeast =
  /^(?:no[t]? (?:less|under|below)(?: than)?|(?:more|greater) than|over|above|at least|minimum(?: of)?|lower limit(?: of)?)$/i;

/** `to 10 N·m, then 25 N·m`: two torques, one behind the other. */
export function stagesMeant(here: Stopped, first: number, second: number): string | undefined {
  const [end, otherEnd] = [here.endOfQuantity(first), here.endOfQuantity(second)];
  if (end === undefined || otherEnd === undefined) return undefined;
  if ([end, otherEnd].some((each) => unitOf(here.tokens[each]!.image)?.kind !== 'torque')) return undefined;
  return `in stages ${here.written(first, end)}, ${here.written(second, otherEnd)}`;
}

/** `25 N·m / 18 lbf·ft`, `25 N·m [18 lbf·ft]`, `25 N·m = 18 lbf·ft` */
export function restatementMeant(here: Stopped, at: number): Advice | undefined {
  const { image } = here.tokens[at]!;
  const unit = unitOf(here.tokens[at - 1]!.image);
  const last = here.endOfQuantity(at + 1);
  if (!/^[/[=]$/.test(image) || last === undefined || unit === undefined) return undefined;
  const other = here.unitAt(last);
  if (other === undefined || other.kind !== unit.kind || other.symbol === unit.symbol) return undefined;
  const isKnown = unitOf(here.tokens[last]!.image) !== undefined;
  const text = `(${isKnown ? here.written(at + 1, last) : `${here.written(at + 1, last - 1)} ${other.symbol}`})`;
  const isClosed = image === '[' && here.onLine(last + 1)?.image === ']';
  return [`write \`${text}\``, text, isClosed ? last + 1 : last];
}

/** `25 (18) N·m`: which of the two numbers the unit at `at` is of is not certain, so that the example has numbers of its own. */
export function unitsApart(here: Stopped, at: number): Advice | undefined {
  const unit = unitOf(here.tokens[at]!.image);
  const [first, , second, close] = [at - 4, at - 3, at - 2, at - 1].map((i) => here.tokens[i]);
  if (unit === undefined || close?.image !== ')' || !isNumber(second) || !isNumber(first)) return undefined;
  const example = restatedAs[unit.symbol];
  return [`a unit stands right behind each number${example === undefined ? '' : `, as in \`${example}\``}`];
}

/** A value in each unit with what it mostly is restated as, as rounded. */
const restatedAs: Readonly<Record<string, string>> = {
  N·m: '25 N·m (18 lbf·ft)',
  lbf·ft: '18 lbf·ft (24 N·m)',
  lbf·in: '90 lbf·in (10 N·m)',
  mm: '40 mm (1.57 in)',
  in: '1.57 in (39.9 mm)',
  '°C': '80 °C (176 °F)',
  '°F': '176 °F (80 °C)',
  kN: '12 kN (2698 lbf)',
  lbf: '100 lbf (445 N)',
  bar: '2 bar (29 psi)',
  psi: '29 psi (2 bar)',
  L: '1.8 L (1.9 qt)',
  qt: '1.9 qt (1.8 L)',
  kg: '5 kg (11 lb)',
  lb: '11 lb (5 kg)',
};

/** `measure vibration max 2.8 mm/s`, `max 0.02 mm per 100 mm`: one unit for each of another; `max 3 %`. */
export function rateMeant(here: Stopped, at: number): Advice | undefined {
  const { image } = here.tokens[at]!;
  if (here.node!.kind !== 'measure' || !/^(?:\/|%|per)$/.test(image)) return undefined;
  if (image === '%') return isNumber(here.tokens[at - 1]) ? [`it ${noUnit}`] : undefined;
  if (!isUnit(here.tokens[at - 1]) || here.onLine(at + 1) === undefined) return undefined;
  const last = here.endOfQuantity(at + 1) ?? at + 1;
  for (let each = at + 1; each <= last; each++) here.trouble(each);
  return [`\`${here.written(at - 1, last)}\` ${noUnit}`, undefined, last];
}
const noUnit = 'is no unit that Fettle knows, write all of it in a text: `check "…"`';

/** `range up to 100 N·m` */
export function upToMeant(here: Stopped, at: number): Advice | undefined {
  if (here.tokens[at - 1]?.tokenType !== k.range || here.tokens[at]!.image !== 'up') return undefined;
  if (here.onLine(at + 1)?.tokenType !== k.to || !isNumber(here.onLine(at + 2))) return undefined;
  return [
    `a range has two ends, as in \`range 5..${here.written(at + 2, here.endOfQuantity(at + 2)!)}\``,
    undefined,
    at + 1,
  ];
}

/** `approx. 25 N·m`, `~25 N·m`, `max. 12 kN` */
export function aboutMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  const { image } = here.tokens[at]!;
  const last = here.onLine(at + 1)?.image === '.' ? at + 1 : at;
  if (!isNumber(here.onLine(last + 1))) return undefined;
  if (image === '.' && expected === 'a number') return takeOut;
  const isAbout = /^(?:about|approx(?:imately)?|ca|circa|nom(?:inally)?|roughly|~|≈)$/i.test(image);
  if (isAbout) return takeOutTo(here, at, last);
  const [, bound] = /^(max|min)(?:imum)?$/i.exec(image) ?? [];
  return bound === undefined || expected !== 'a number' ? undefined : oneEndMeant(here, at, last, bound.toLowerCase());
}

/** `torque max. 25 N·m`, `cure min. 60 min`: one end of what is allowed, where a figure or a range stands. */
function oneEndMeant(here: Stopped, at: number, last: number, bound: string): Advice | undefined {
  const out = takeOutTo(here, at, last);
  const lead = here.tokens[at - 1]!.tokenType.name;
  const other = oppositeOf[bound]!;
  // `measure play limit max. 0.2 mm`
  if (lead === 'limit' && here.node!.kind === 'measure') return [`write \`${bound}\``, bound, last, at - 1];
  // `limit max. 120 °C` says twice what `limit` says by itself.
  if (lead === bound || boundBy[lead] === bound) return out;
  if (lead === other || boundBy[lead] === other)
    return [`what stands behind ${shownText(lead)} is the ${ends[other]!}, not the ${ends[bound]!}`];
  const example = rangeAs[unitOf(here.tokens[here.endOfQuantity(last + 1) ?? at]!.image)?.kind ?? ''];
  if (example === undefined || isOne.has(lead)) return out;
  return [`${out[0]}, or give the ${ends[other]!} as well, as in \`${example}\``, ...out.slice(1)] as Advice;
}

const oppositeOf: Readonly<Record<string, string>> = { max: 'min', min: 'max' };
const ends: Readonly<Record<string, string>> = { max: 'most', min: 'least' };
/** Clauses whose figure is one end of what is allowed. */
const boundBy: Readonly<Record<string, string>> = { limit: 'max', cure: 'min', lead: 'min' };
/** A range of each kind of quantity that is often bounded at both ends. */
const rangeAs: Readonly<Record<string, string>> = { torque: '20..25 N·m', length: '0.05..0.10 mm' };
/** Sizes that have no least and most. */
const isOne: ReadonlySet<string> = new Set(['length', 'bore', 'diameter']);

/** `1 h 30 min`: what begins at `at` goes on with the time before it. */
export function timesMeant(here: Stopped, at: number): Advice | undefined {
  const inMinutes = (i: number): number => {
    const size = minutesIn[unitOf(here.onLine(i + 1)?.image ?? '')?.symbol ?? ''];
    return size === undefined ? Number.NaN : Number(here.tokens[i]!.image) * size;
  };
  const minutes = inMinutes(at - 2) + inMinutes(at);
  if (!Number.isInteger(minutes)) return undefined;
  const whole = minutes % 30 === 0 && minutes >= 240 ? `${minutes / 60} h` : `${minutes} min`;
  return [`write \`${whole}\``, whole, at + 1, at - 2];
}

const minutesIn: Readonly<Record<string, number>> = { d: 1440, h: 60, min: 1 };

/** What says how far something is turned; in a statement it is for a reader, but for the angle of `tighten`. */
export const isTurns = /^(?:turns?|rev(?:olution)?s?)$/i;

/** `tighten nut 1 turn`, `loosen nut 1/4 turn` */
export function turnsMeant(here: Stopped, at: number): Advice | undefined {
  const amount = endOfAmount(here, at);
  const last = isTurns.test(here.onLine(amount + 1)?.image ?? '') ? amount + 1 : amount;
  const first = here.tokens[at];
  const isMeant = (isNumber(first) || isFraction(first)) && isTurns.test(here.tokens[last]!.image);
  if (!isMeant || !isStatement(here.node!.kind)) return undefined;
  if (here.node!.kind === 'tighten') return ['an angle stands behind `then`, in degrees'];
  return here.allowed.has('text') && !here.seen.has('text') ? inQuotes(here, at, last) : undefined;
}

/** The unit of the number or fraction that begins at `at`, or its last token where it has none. */
export function endOfAmount(here: Stopped, at: number): number {
  let last = at;
  const isPart = (token: IToken | undefined): boolean =>
    isNumber(token) || isFraction(token) || token?.tokenType === Slash;
  // `1 1/4`
  while (last < at + 3 && isPart(here.onLine(last + 1))) last++;
  return isUnit(here.onLine(last + 1)) ? last + 1 : last;
}

/** `3/4 in`, `1 1/4 in`, `1-1/4 in` */
export function fractionMeant(here: Stopped, at: number): Advice | undefined {
  const slash = here.tokens[at]!.tokenType === Slash ? at : at + 1;
  if (here.tokens[slash]?.tokenType !== Slash) return undefined;
  const [over, under] = [here.tokens[slash - 1], here.tokens[slash + 1]];
  // `angles 0/90/180`
  const list = here.tokens[slash - 2]?.tokenType;
  if (here.onLine(slash + 2)?.tokenType === Slash && (list === k.angles || list === k.stages))
    return [
      list === k.angles
        ? 'angles are parted by commas, each with its sign, as in `0°, 60°`'
        : 'stages are parted by commas, each with its unit, as in `12 N·m, 25 N·m`',
    ];
  const isWhole = slash !== at && over?.tokenType !== DashedNumber && isNumber(here.tokens[at - 1]);
  const whole = isWhole ? `${here.tokens[at - 1]!.image}-` : '';
  const written = `${whole}${over?.image}/${under?.image}`;
  const said = /^(?:([0-9]+)-)?([0-9]+)\/([0-9]+)$/.exec(written);
  if (said === null) return undefined;
  const value = Number(said[1] ?? 0) + Number(said[2]) / Number(said[3]);
  if (here.tokens[at - 1]?.tokenType === k.thread)
    return [
      `a thread in inches states its threads per inch, as in \`1/2-13\`, a pipe thread is written as in \`G${written}\``,
    ];
  if (!Number.isFinite(value)) return undefined;
  const decimal = `${Number(value.toFixed(4))}`;
  const first = whole === '' ? slash - 1 : slash - 2;
  return [`a fraction is written \`${decimal}\``, decimal, slash + 1, first];
}

/** `20 to 30 N·m` */
export function rangeMeant(here: Stopped, at: number): Advice | undefined {
  const next = here.tokens[at + 1];
  if (here.tokens[at]!.tokenType !== k.to || !isNumber(next)) return undefined;
  const before = here.tokens[at - 1];
  const twice = rangeOfTwo(here, at);
  if (twice !== undefined) return twice;
  const from = isUnit(before) ? here.tokens[at - 2] : before;
  if (!isNumber(from)) return undefined;
  return [`a range is written with two points, \`${from!.image}..${next!.image}\``, from === before ? '..' : undefined];
}

/** `5 N·m to 100 N·m`, where one unit stands behind both */
export function rangeOfTwo(here: Stopped, at: number): Advice | undefined {
  const [from, unit, end, again] = [at - 2, at - 1, at + 1, at + 2].map((i) => here.tokens[i]);
  if (!isNumber(from) || !isUnit(unit) || !isNumber(here.onLine(at + 1)) || again?.image !== unit!.image)
    return undefined;
  const range = `${from!.image}..${end!.image}`;
  return [`a range is written with two points, \`${range} ${unit!.image}\``, range, at + 1, at - 2];
}

/** `measure play 0.05-0.1 mm`, `0.05 to 0.1 mm`, `0.05 mm – 0.1 mm` */
export function limitMeant(here: Stopped, at: number): Advice | undefined {
  const first = here.endOfQuantity(at) === at ? at : undefined;
  const sign = first === undefined ? at + 2 : at + 1;
  const isJoined = /^[-−][0-9.]+$/.test(here.onLine(sign)?.image ?? '') && isNumber(here.tokens[sign]);
  const end = isJoined ? sign : sign + 1;
  const between = here.onLine(sign)?.image ?? '';
  if (!isJoined && !/^(?:to|\.\.\.?|[–—~…-])$/.test(between)) return undefined;
  if (!isNumber(here.onLine(end)) || here.unitAt(end + 1) === undefined || here.onLine(end + 1) === undefined)
    return undefined;
  if (first === undefined && here.tokens[at + 1]!.image !== here.tokens[end + 1]!.image) return undefined;
  const to = here.tokens[end]!.image.replace(/^[-−]/, isJoined ? '' : '$&');
  const range = `limit ${here.tokens[at]!.image}..${to} ${here.unitAt(end + 1)!.symbol}`;
  for (let i = at + 1; i <= end + 1; i++) here.trouble(i);
  return [`write \`${range}\``, range, end + 1];
}

/** `25 N·m ± 2 N·m`, `25 N·m ± 10 %`, whose sign stands at `at` */
export function toleranceBehindUnit(here: Stopped, at: number): Advice | undefined {
  const [number, unit, share, behind] = [at - 2, at - 1, at + 1, at + 2].map((i) => here.tokens[i]);
  if (!isNumber(number) || !isNumber(here.onLine(at + 1)) || here.onLine(at + 2) === undefined) return undefined;
  if (/^\.\.|^±/.test(here.tokens[at - 3]?.image ?? '')) return undefined;
  const value = Number(number!.image);
  if (behind!.image === '%') {
    const part = (value * Number(share!.image)) / 100;
    const written = `${value} ± ${Number(part.toPrecision(3))} ${unit!.image}`;
    return part > 0 ? [`a tolerance is written in the unit, write \`${written}\``, written, at + 2, at - 2] : undefined;
  }
  const [own, other] = [here.unitAt(at - 1), here.unitAt(at + 2)];
  // A difference of 5 K is one of 5 °C.
  const isSame = own !== undefined && (own === other || (own.symbol === '°C' && other?.symbol === 'K'));
  if (!isUnit(behind) || !isSame) return undefined;
  const written = `${number!.image} ± ${share!.image} ${own.symbol}`;
  return [`the unit stands once, behind both numbers, write \`${written}\``, written, at + 2, at - 2];
}

/** `heat race 80–100 °C`, `80 to 100 °C`: the range that stands from `at` on with one unit behind both numbers, and the last of its tokens. */
export function rangeAt(here: Stopped, at: number): { range: string; end: string; last: number } | undefined {
  const [from, sign, end, unit] = [at, at + 1, at + 2, at + 3].map((i) => here.tokens[i]);
  if (!isNumber(from) || !isNumber(here.onLine(at + 2)) || !isUnit(here.onLine(at + 3))) return undefined;
  if (sign!.tokenType !== k.to && !/^(?:[–—~-]|\.\.)$/.test(sign!.image)) return undefined;
  const last = `${end!.image} ${unit!.image}`;
  return { range: `${from!.image}..${last}`, end: last, last: at + 3 };
}

export function isAngle(here: Stopped, at: number): boolean {
  return isNumber(here.tokens[at]) && here.unitAt(at + 1)?.kind === 'angle';
}

/** `lead two days`, `circle six`, `remove bolt four`, `remove four bolts`: a number in words. */
export function digitsMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  const { image, tokenType } = here.tokens[at]!;
  if (tokenType !== Word) return undefined;
  const { allowed, seen, node } = here;
  const value = inWords.get(image.toLowerCase());
  const before = here.tokens[at - 1];
  const follows = here.onLine(at + 1);
  if (value === undefined) {
    const count = inWords.get(before?.image.toLowerCase() ?? '');
    const isInName = before?.startOffset === ((node as Statement).name?.start ?? -1) + here.base;
    if (expected !== '' || count === undefined || !isInName || !allowed.has('xN') || seen.has('xN')) return undefined;
    const name = here.onLine(here.behindFillers(at))?.image;
    if (name === undefined) return undefined;
    const turned = `${name} x${count}`;
    return [`a count stands behind the name, \`${turned}\``, turned, here.behindFillers(at), at - 1];
  }
  const unit = follows && (unitOf(follows.image)?.symbol ?? unitMeant(follows.image));
  const isQuantity = allowed.has('quantity') && !seen.has('quantity') && unit !== undefined;
  if (expected === 'a number' || isQuantity || (expected === '' && before?.tokenType === k.circle)) {
    const written = unit === undefined ? `${value}` : `${value} ${unit}`;
    return [`a number is written in digits, \`${written}\``, written, unit === undefined ? at : at + 1];
  }
  if (expected !== '' || !allowed.has('xN') || seen.has('xN') || follows?.tokenType === Word) return undefined;
  const isLed = /^[x×]$/.test(before?.image ?? '');
  return [`a count is written \`x${value}\``, `x${value}`, at, isLed ? at - 1 : at];
}

const inWords: ReadonlyMap<string, number> = new Map(
  ['one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten', 'eleven', 'twelve', 'twenty'].map(
    (word, i) => [word, i < 12 ? i + 1 : 20],
  ),
);

/** A line may have thousands of them, each with a comma too few. */
const mostAngles = 200;

/** So far it is looked back for the beginning of a list, and so many of it are written anew. */
const mostListed = 20;
const mostWritten = 200;

/** `in stages 50 120 N·m`, `in stages 50 N·m 120 N·m` */
export function stagesPartedMeant(here: Stopped, at: number): Advice | undefined {
  if (!here.seen.has('in') || here.isTroubled(at, at)) return undefined;
  return stagesBehind(here, isUnit(here.tokens[at - 1]) ? at - 3 : at - 2, at);
}

/** `in stages 10/25 N·m`, `10 – 25 N·m`, `10-25 N·m`: what parts the stages stands at `at`, or they do. */
export function stagesDividedMeant(here: Stopped, at: number): Advice | undefined {
  return stagesBehind(here, leadOfList(here, at), at);
}

/** The stages behind the word at `lead`, at least up to `at`, written with commas. */
function stagesBehind(here: Stopped, lead: number, at: number): Advice | undefined {
  if (here.tokens[lead]?.tokenType !== k.stages) return undefined;
  const { written, last, isAngle } = listedFrom(here, lead + 1) ?? {};
  if (written === undefined || isAngle || last! < at) return undefined;
  forgetStages(here);
  for (let i = at + 1; i <= last!; i++) here.trouble(i);
  return [`stages are parted by commas, each with its unit, write ${shownText(written)}`, written, last, lead + 1];
}

/** What was read of them is not all of them, so that nothing is concluded from it. */
function forgetStages({ node }: Stopped): void {
  (node as Statement).stages = undefined;
}

/** `10, 20 and 30 N·m`: the numbers of a list that begins at `first`, each with the unit of those that have one, and the last token. */
export function listedFrom(
  here: ChunkTokens,
  first: number,
): { written: string; last: number; isAngle: boolean } | undefined {
  const numbers: string[] = [];
  let unit: Unit | undefined;
  let last = first;
  for (let next = first; ; ) {
    if (numbers.length > mostWritten) return undefined;
    const token = next === first ? here.tokens[next] : here.onLine(next);
    const isDashed = token?.tokenType === DashedNumber && /^[0-9.]+(?:-[0-9.]+)+$/.test(token.image);
    if (!isNumber(token) && !isDashed) return undefined;
    numbers.push(...token!.image.split(isDashed ? '-' : ' '));
    const isOfNumber = (isDashed || isUnit(here.onLine(next + 1))) && here.onLine(next + 1)?.image !== 'and';
    const behind = isOfNumber ? here.unitAt(next + 1) : undefined;
    // `in stages 10-25 N·m then 1/4 turn`
    if (unit !== undefined && here.tokens[next - 1]!.image === 'then' && here.onLine(next + 1)?.tokenType === Slash) {
      numbers.pop();
      break;
    }
    if (isOfNumber && behind === undefined) return undefined;
    // `in stages 10 N·m 25 N·m then 90°`
    if (behind !== undefined && unit !== undefined && behind.kind !== unit.kind) {
      numbers.pop();
      break;
    }
    if ((unit ?? behind)?.symbol !== (behind ?? unit)?.symbol) return undefined;
    unit ??= behind;
    last = isOfNumber ? next + 1 : next;
    next = last + 1;
    while (isBetween(here.onLine(next))) next++;
    if (next === last + 1 && !isNumber(here.onLine(next))) break;
  }
  if (unit?.kind !== 'torque' && unit?.kind !== 'angle') return undefined;
  const { symbol } = unit;
  const isAngle = unit.kind === 'angle';
  return {
    written: numbers.map((each) => (symbol === '°' ? each + symbol : `${each} ${symbol}`)).join(', '),
    last,
    isAngle,
  };
}

/** What stands between two of a list: also `then`, a stroke or a dash. */
const isBetween = (token: IToken | undefined): boolean =>
  token !== undefined && (token.tokenType === Comma || /^(?:and|then|to|[/–—-])$/.test(token.image));
const isOfList = (token: IToken): boolean =>
  isBetween(token) || isNumber(token) || token.tokenType === DashedNumber || isUnit(token);

/** Where the word stands that leads a list which goes on at `at`. */
function leadOfList(here: ChunkTokens, at: number): number {
  let lead = at - 1;
  while (lead > at - 3 * mostListed && here.onLine(lead) !== undefined && isOfList(here.tokens[lead]!)) lead--;
  return lead;
}

/** `in stages 10, 20 and 30 N·m`, `angles 0, 90 and 180°`, whose `and` stands at `at`. */
export function listWithAnd(
  here: ChunkTokens,
  at: number,
): [words: string, written: string, last: number, first: number] | undefined {
  const lead = leadOfList(here, at);
  const type = here.tokens[lead]?.tokenType;
  if (here.tokens[at]!.image !== 'and' || (type !== k.stages && type !== k.angles)) return undefined;
  const { written, last } = listedFrom(here, lead + 1) ?? {};
  if (written === undefined || last! < at) return undefined;
  const what = type === k.stages ? 'stages' : 'angles';
  return [`${what} are parted by commas, each with its unit, write ${shownText(written)}`, written, last!, lead + 1];
}

/** `in 3 stages: 10, 20, 30 N·m`, `in two stages 10 N·m and 25 N·m` */
export function countedStagesMeant(here: Stopped, at: number): Advice | undefined {
  const isCounted =
    isNumber(here.tokens[at]) || here.onLine(at + 1)?.tokenType === Word || isSteps(here.onLine(at + 1));
  let steps = at;
  while (isCounted && steps < at + 2 && !isSteps(here.onLine(steps))) steps++;
  if (!isSteps(here.onLine(steps))) return undefined;
  let first = steps + 1;
  while (/^(?:of|at|to|:)$/.test(here.onLine(first)?.image ?? '')) first++;
  const { written, last, isAngle } = (here.onLine(first) && listedFrom(here, first)) ?? {};
  for (let i = at + 1; i <= (last ?? steps); i++) here.trouble(i);
  const counted = inWords.get(here.tokens[at]!.image) ?? Number(here.tokens[at]!.image);
  // `in 3 steps to 25 N·m`
  if (written === undefined || isAngle || written.split(', ').length < counted)
    return ['`in stages` names the torque of each, as in `in stages 12 N·m, 25 N·m`', undefined, last ?? steps, at - 1];
  return [`write ${shownText(`in stages ${written}`)}`, `in stages ${written}`, last, at - 1];
}

/** What the trade also says for stages. */
const isSteps = (token: IToken | undefined): boolean =>
  /^(?:stages?|steps?|passes|pass|rounds?|increments?)$/.test(token?.image ?? '');
/** `in 2 steps`, `in 3 equal passes`, whose last word stands at `i`. */
export const areStepsCounted = (here: ChunkTokens, i: number): boolean =>
  here.tokens[i - 2]?.tokenType === k.in && (isSteps(here.tokens[i]) || isSteps(here.onLine(i + 1)));

/** `angles 0° 90° 180°` */
export function anglesMeant(here: Stopped, at: number): Advice | undefined {
  if (!here.seen.has('angles') || here.isTroubled(at, at) || unitOf(here.tokens[at - 1]?.image ?? '')?.kind !== 'angle')
    return undefined;
  let last = at - 1;
  for (let end = here.endOfQuantity(last + 1); end !== undefined; end = here.endOfQuantity(last + 1)) {
    if (unitOf(here.tokens[end]!.image)?.kind !== 'angle' || end > at + mostAngles) break;
    last = end;
  }
  if (last < at) return undefined;
  const first = at - 2;
  const written = here.written(first, last).replace(/([^\s,]),?\s+(?=[-−]?[0-9])/g, '$1, ');
  for (let i = at + 1; i <= last; i++) here.trouble(i);
  return [`angles are parted by commas, write ${shownText(written)}`, written, last, first];
}
