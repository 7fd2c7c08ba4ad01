/** What a clause wants behind its word, told with an example: more than that a number, a name or a text is missing. */
import type { IToken } from 'chevrotain';
import { hazards, isStatement } from './heads.ts';
import type { Stopped } from './mend.ts';
import {
  Comma,
  conditionWords,
  headWords,
  InchThread,
  isContextual,
  isKeyword,
  isNumber,
  keyword as k,
  MetricThread,
  PipeThread,
  Word,
} from './tokens.ts';

/** As `expected` behind the word that leads to the token at `at`, with an example where one is known; where few words may stand there, those. */
export function wanted(here: Stopped, at: number, expected: string): readonly [expected: string, mend: string] {
  if (!isPlain.has(expected)) return [expected, ''];
  let i = at - 1;
  const isInList = here.tokens[i]?.tokenType === Comma;
  const nearest = Math.max(0, at - mostNamed);
  while (isInList && i > nearest && !isKeyword(here.tokens[i]!) && wantedBehind(here, i) === undefined) i--;
  const words = i < 0 ? undefined : oneOf[here.tokens[i]!.image];
  return [(i < 0 ? undefined : wantedBehind(here, i)) ?? expected, words === undefined ? '' : writeOneOf(words)];
}

/**
 * Whether the word at `i`, to which the one at `lead` leads, begins a clause although a name is wanted there, as in `held by thread M8`:
 * any word may be a name, but none goes on like that.
 */
export function isInPlaceOfName(here: Stopped, i: number, lead: number): boolean {
  const { image } = here.tokens[i]!;
  if (isBeforePattern(here, i)) return true;
  if (!isContextual(image) || !here.allowed.has(image) || alone.has(image)) return false;
  return leadsToName.has(here.tokens[lead]?.tokenType.name ?? '') && goesOn(image, here.onLine(i + 1));
}

/** `holes in rim`, `holes by rim` */
export const isBeforePattern = (here: Stopped, i: number): boolean =>
  here.node!.kind === 'part' &&
  here.tokens[i - 1]?.tokenType === k.holes &&
  /^(?:by|in|on)$/.test(here.tokens[i]!.image) &&
  here.onLine(i + 1)?.tokenType === Word;

function goesOn(word: string, next: IToken | undefined): boolean {
  if (next === undefined) return false;
  if (next.tokenType === k.by) return word === 'held' || word === 'carried';
  if (word === 'thread')
    return /^M[0-9]/.test(next.image) || [MetricThread, InchThread, PipeThread].includes(next.tokenType);
  if (word === 'keep' || word === 'in') return next.image === (word === 'in' ? 'stages' : 'in');
  if (word === 'order' && /^(?:star|spiral)$/.test(next.image)) return true;
  const words = oneOf[word];
  if (words !== undefined) return words.includes(next.image);
  if (isNumber(next)) return !leadsToName.has(word);
  return next.tokenType === Word && leadsToName.has(word);
}

/** Words behind which a name stands. */
const leadsToName: ReadonlySet<string> = new Set([
  'by',
  'behind',
  'holes',
  'thread',
  'head',
  'hazard',
  'using',
  'with',
  'after',
]);
/** Clauses of one word. */
export const alone: ReadonlySet<string> = new Set([
  'renew',
  'index',
  ...conditionWords,
  'sealed',
  'greased',
  'spoiled',
]);

export const writeOneOf = (words: readonly string[]): string => `write one of ${words.join(', ')}`;

function wantedBehind(here: Stopped, i: number): string | undefined {
  const { tokenType, image } = here.tokens[i]!;
  if (tokenType.name !== image) return undefined;
  const { kind } = here.node!;
  if (isStatement(image)) return behindStatement[image] ?? aPart;
  return behindWord[`${kind} ${image}`] ?? behindWord[image];
}

/** So far back it is looked for what leads to a list, which may have thousands of names. */
const mostNamed = 200;
const isPlain: ReadonlySet<string> = new Set(['a number', 'a name', 'a text in double quotes']);
const aPart = 'the name of a part';
const aSupply = 'the name of a supply';
const aTool = 'the name of a tool';
/** Behind these words one of a few stands. */
const oneOf: Readonly<Record<string, readonly string[]>> = { hazard: hazards, head: headWords };
const behindStatement: Readonly<Record<string, string>> = {
  drain: aSupply,
  fill: aSupply,
  apply: aSupply,
  measure: 'a name for the reading such as `end-float`',
};
/** By the word; where it depends on the node, by that and the word. */
const behindWord: Readonly<Record<string, string>> = {
  procedure: 'a name such as `winch-reducer`',
  use: 'a path in double quotes such as `"common/fasteners.fettle"`',
  plate: 'a place in double quotes such as `"On the rib"`',
  part: 'a name such as `housing-bolt`',
  tool: 'a name such as `torque-wrench`',
  supply: 'a name such as `gear-oil`',
  pattern: 'a name such as `rim`',
  step: 'a name such as `drain-oil`',
  if: 'a condition in double quotes such as `"the teeth are worn"`',
  grade: 'a grade such as `5`',
  length: 'a length such as `40 mm`',
  torque: 'a torque such as `25 N·m`',
  prevailing: 'a torque such as `1..6 N·m`',
  'part then': 'an angle such as `90°`',
  'tighten then': 'an angle such as `90°`',
  lead: 'a time such as `2 d`',
  cure: 'a time such as `60 min`',
  takes: 'a time such as `30 min`',
  bore: 'a diameter such as `62 mm`',
  diameter: 'a diameter such as `80 mm`',
  interference: 'a range such as `10..45 µm`',
  'part limit': 'a temperature such as `120 °C`',
  range: 'a range such as `5..100 N·m`',
  angles: 'angles such as `0°, 60°`',
  number: 'a marking in double quotes such as `"6206-C3"`',
  spec: 'a specification in double quotes such as `"ISO VG 68"`',
  head: 'the head of a bolt or nut',
  hazard: 'a hazard',
  'part holes': 'the name of a pattern',
  'part at': 'hole numbers such as `1, 3`',
  by: aPart,
  behind: aPart,
  new: aPart,
  with: aPart,
  for: aPart,
  from: aPart,
  on: aPart,
  'apply to': aPart,
  'transfer to': aPart,
  gap: 'the name of a reading',
  using: aTool,
  after: 'the name of a step',
  'tighten to': 'a torque such as `25 N·m`',
  'heat to': 'a temperature such as `80 °C`',
  'cool to': 'a temperature such as `-20 °C`',
  stages: 'a torque such as `12 N·m`',
  holes: 'hole numbers such as `1, 5`',
  'press max': 'a force such as `20 kN`',
  max: 'a quantity such as `0.10 mm`',
  min: 'a quantity such as `0.05 mm`',
  'measure limit': 'a range such as `0.05..0.10 mm`',
  endplay: 'a length such as `0.05..0.10 mm`',
  preload: 'a length such as `0.05..0.10 mm`',
  'shim from': 'a thickness such as `0.1 mm`',
  extension: 'a length such as `60 mm`',
  at: 'an angle such as `45°`',
  'tighten on': 'a length such as `400 mm`',
  in: 'a place in double quotes such as `"bag A"`',
  see: 'a reference in double quotes such as `"Fig. 4"`',
};
