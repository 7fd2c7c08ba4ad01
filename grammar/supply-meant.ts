/** What was most likely meant by words and amounts around the name of a supply that is applied. */
import { fillers } from './meant.ts';
import { type Advice, type Stopped, takeOutTo, write } from './mend.ts';
import { inQuotes } from './prose-meant.ts';
import type { Statement } from './syntax.ts';
import { Comma, isKeyword, isNumber, keyword as k, Text, Word } from './tokens.ts';

/** `apply a thin bead of sealant to lid`, `apply some grease to lid`: the supply is named behind words for how much. */
export function spreadMeant(here: Stopped, at: number): Advice | undefined {
  if (here.node!.kind !== 'apply') return undefined;
  let of = at;
  while (isOfStatement(here, of) && here.tokens[of]!.image !== 'of') of++;
  const supply = here.onLine(of)?.image === 'of' ? of + 1 : lastOfSome(here, at);
  if (here.onLine(supply)?.tokenType !== Word || here.onLine(supply + 1)?.image !== 'to') return undefined;
  const { image } = here.tokens[supply]!;
  return [`write \`apply ${image}\``, image, supply, at - 1];
}

/** `some grease`, `a little clean grease`: the word behind those that say how much or how it is, which go on up to `at`. */
function lastOfSome(here: Stopped, at: number): number {
  let last = at - 1;
  while (someWords.has(here.tokens[last]!.image) || fillers.has(here.tokens[last]!.image)) {
    if (here.onLine(last + 1) === undefined) break;
    last++;
  }
  return last < at ? -1 : last;
}
const someWords: ReadonlySet<string> = new Set([
  'bit',
  'enough',
  'fresh',
  'little',
  'light',
  'more',
  'plenty',
  'some',
  'sufficient',
  'thin',
]);

/** `apply grease 15 g to seal`, `apply 15 g of grease to seal`, `apply grease to seal 15 g`: the amount begins at `at`. */
export function dosageMeant(here: Stopped, at: number): Advice | undefined {
  if (here.node!.kind !== 'apply') return undefined;
  const isInBrackets = here.tokens[at]!.image === '(';
  let first = isInBrackets ? at + 1 : at;
  if (/^(?:about|approx|ca)$/.test(here.tokens[first]!.image)) first++;
  if (here.onLine(first)?.image === '.') first++;
  const unit = isNumber(here.tokens[first]) ? here.endOfQuantity(first) : undefined;
  if (unit === undefined || !/^(?:mass|volume)$/.test(here.unitAt(unit)?.kind ?? '')) return undefined;
  const behind = isInBrackets && here.onLine(unit + 1)?.image === ')' ? unit + 2 : unit + 1;
  const [from, to] = isInBrackets ? [first, unit] : [at, unit];
  const named = here.behindFillers(behind);
  const isFirst = here.tokens[at - 1]!.tokenType === k.apply;
  const supply = isFirst && here.onLine(named)?.tokenType === Word ? here.tokens[named]!.image : undefined;
  if (isFirst && supply === undefined) return undefined;
  const words = `how much there is of it stands behind \`supply ${supply ?? (here.node as Statement).name?.text ?? '…'}\``;
  const last = endOfParts(here, isFirst ? named + 1 : behind);
  const [, text] = inQuotes(here, from, to) ?? [];
  const isOnly = here.allowed.has('text') && !here.seen.has('text') && !hasText(here, behind);
  if (isFirst && last !== undefined && text !== undefined) {
    const rest = here.written(named, last);
    return isOnly ? [`${words}, ${forReader}`, `${rest} ${text}`, last] : [words, rest, last];
  }
  if (!isOnly || text === undefined || (!isFirst && last === undefined && here.onLine(behind)?.image === 'to')) {
    const [out, nothing, end] = takeOutTo(here, at, behind - 1);
    return [`${words}, ${out}`, nothing, end];
  }
  if (last === undefined) return [`${words}, ${forReader}`, text, behind - 1];
  return [`${words}, ${forReader}`, `${here.written(behind, last)} ${text}`, last];
}
const forReader = 'for a reader in a text';

/** The last of the parts that `to` at `i` leads to. */
function endOfParts(here: Stopped, i: number): number | undefined {
  if (here.onLine(i)?.image !== 'to' || here.onLine(i + 1)?.tokenType !== Word) return undefined;
  let last = i + 1;
  while (here.onLine(last + 1)?.tokenType === Comma && here.onLine(last + 2)?.tokenType === Word) last += 2;
  return last;
}

function hasText(here: Stopped, from: number): boolean {
  for (let i = from; i < from + mostBehind && isOfStatement(here, i); i++)
    if (here.tokens[i]!.tokenType === Text) return true;
  return false;
}

/** A line may have thousands of amounts. */
const mostBehind = 40;

function isOfStatement(here: Stopped, i: number): boolean {
  const token = here.onLine(i);
  return token !== undefined && !isKeyword(token);
}

/** `curing time 60 min`, `dries in 1 hour`: other words for `cure`, up to the time itself. */
export function cureMeant(here: Stopped, at: number): Advice | undefined {
  if (!here.allowed.has('cure') || here.seen.has('cure')) return undefined;
  if (!/^(?:cur(?:es?|ing)(?:-time)?|dr(?:ies|ying)|sets?|setting)$/i.test(here.tokens[at]!.image)) return undefined;
  let last = at;
  while (last < at + 4 && /^(?:time|in|for|within|after|of|is|:)$/.test(here.onLine(last + 1)?.image ?? '')) last++;
  const unit = isNumber(here.onLine(last + 1)) ? here.endOfQuantity(last + 1) : undefined;
  if (unit === undefined || here.unitAt(unit)?.kind !== 'time') return undefined;
  if (last > at) for (let i = at + 1; i <= unit; i++) here.trouble(i);
  if (last === at) return /^cures?$/.test(here.tokens[at]!.image) ? undefined : write('cure');
  const cure = `cure ${here.written(last + 1, unit - 1)} ${here.unitAt(unit)!.symbol}`;
  return [...write(cure), unit];
}
