/** What was most likely meant by a quantity that another sign leads to than its word, and by one in words. */
import { setBy } from './clauses.ts';
import { type Advice, type Stopped, touches, write } from './mend.ts';
import { endOf, isNumber, keyword as k } from './tokens.ts';
import { unitOf } from './units.ts';

/** `tighten bolt, 25 N·m`, `tighten bolt (25 N·m)`, `heat race: 80 °C`, `fill oil (2 L)`: what the statement sets stands behind a sign. */
export function ledMeant(here: Stopped, at: number): Advice | undefined {
  const { image } = here.tokens[at]!;
  const { kind } = here.node!;
  const unit = /^[,:(=@–—-]$/.test(image) ? here.endOfQuantity(at + 1) : undefined;
  const found = unit === undefined ? undefined : here.unitAt(unit);
  if (found === undefined || isNumber(here.tokens[at - 1])) return undefined;
  const clause = kind === 'press' ? 'max' : setBy[kind] === undefined ? 'quantity' : 'to';
  // Without the sign it is right.
  if (clause === 'quantity' && image === ':') return undefined;
  if (setBy[kind] !== undefined && found.kind !== setBy[kind]) return undefined;
  if (!here.allowed.has(clause) || [clause, 'in', 'by'].some((each) => here.seen.has(each))) return undefined;
  const last = image === '(' ? unit! + 1 : unit!;
  if (image === '(' && here.onLine(last)?.image !== ')') return undefined;
  const isKnown = unitOf(here.tokens[unit!]!.image) !== undefined;
  const quantity = isKnown ? here.written(at + 1, unit!) : `${here.written(at + 1, unit! - 1)} ${found.symbol}`;
  const written = clause === 'quantity' ? quantity : `${clause} ${quantity}`;
  for (let i = at + 1; i <= last; i++) here.trouble(i);
  // Whether the dash of `cool race - 20 °C` is a minus cannot be told.
  if (kind === 'cool' && /^[–—-]$/.test(image))
    return ['write `to` before the temperature, as in `to -20 °C`', undefined, last];
  return [`write \`${written}\``, touches(here.tokens[at - 1]!, here.tokens[at]) ? ` ${written}` : written, last];
}

/** `wait an hour`, `takes half an hour`, `then a quarter turn`: a quantity in words from `at` on. */
export function inWordsMeant(here: Stopped, at: number): Advice | undefined {
  const lead = here.tokens[at - 1]?.tokenType;
  const isTime = lead !== undefined && [k.wait, k.takes, k.cure, k.lead].includes(lead);
  const found = isTime ? timeInWords(here, at) : lead === k.then ? turnInWords(here, at) : undefined;
  return found === undefined ? undefined : [...write(found.written), found.last];
}

interface InWords {
  readonly written: string;
  readonly last: number;
}

export function timeInWords(here: Pick<Stopped, 'onLine' | 'tokens' | 'text'>, at: number): InWords | undefined {
  return found(here, at, times);
}

const turnInWords = (here: Stopped, at: number): InWords | undefined => found(here, at, turns);

function found(
  here: Pick<Stopped, 'onLine' | 'tokens' | 'text'>,
  at: number,
  forms: readonly (readonly [RegExp, string])[],
): InWords | undefined {
  const first = here.onLine(at);
  if (first === undefined || isNumber(first)) return undefined;
  const line = here.text.slice(first.startOffset, first.startOffset + 40);
  for (const [form, written] of forms) {
    const said = form.exec(line)?.[0];
    if (said === undefined) continue;
    let last = at;
    while (endOf(here.tokens[last]!) < first.startOffset + said.length) last++;
    return { written, last };
  }
  return undefined;
}

const times: readonly (readonly [RegExp, string])[] = [
  [/^an hour and a half\b/, '90 min'],
  [/^half an hour\b/, '30 min'],
  [/^a quarter of an hour\b/, '15 min'],
  [/^half a day\b/, '12 h'],
  [/^an hour\b/, '1 h'],
  [/^a minute\b/, '1 min'],
  [/^a day\b/, '1 d'],
  [/^a week\b/, '7 d'],
];
const turns: readonly (readonly [RegExp, string])[] = [
  [/^(?:a(?:nother)? )?(?:further )?(?:quarter)(?: of a| a)? turn\b/, '90°'],
  [/^(?:a(?:nother)? )?(?:further )?half(?: of a| a)? turn\b/, '180°'],
  [/^(?:a|one|another)(?: further)?(?: full)? turn\b/, '360°'],
];
