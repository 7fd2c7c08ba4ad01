/** Which property of a declaration was most likely meant where its word is missing, or another one. */
import { type ChunkTokens, shownText } from './chunk-tokens.ts';
import { hazards } from './heads.ts';
import { hazardFor } from './meant.ts';
import { type Advice, type Stopped, touches, write } from './mend.ts';
import type { Declaration } from './syntax.ts';
import { Comma, DashedNumber, FitPair, isNumber, isUnit, keyword as k, NumberToken, Text, Word } from './tokens.ts';
import { writeOneOf } from './wanted.ts';

/** `ID 25 mm`, `outer diameter 52 mm`, `size M8` */
export function sizeMeant(here: Stopped, at: number): Advice | undefined {
  const { image } = here.tokens[at]!;
  const next = here.onLine(at + 1);
  if (image === 'size' && next !== undefined && /^M[0-9]/.test(next.image)) return write('thread');
  const isInner = /^(?:id|inner|inside|internal)$/i.test(image);
  if (!isInner && !/^(?:dia|diam|od|outer|outside|external)$/i.test(image)) return undefined;
  const last = next?.tokenType === k.diameter ? at + 1 : at;
  if (last === at ? !isNumber(next) : /^.d$/i.test(image)) return undefined;
  return [...write(isInner ? 'bore' : 'diameter'), last];
}

/** `6206-2RS`, `"6206-2RS"` forgotten behind `number` */
export function markingMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  if (here.tokens[at]!.tokenType !== DashedNumber || !here.allowed.has('number')) return undefined;
  let last = at;
  while (touches(here.tokens[last]!, here.onLine(last + 1))) last++;
  if (last === at) return undefined;
  const marking = `"${here.written(at, last)}"`;
  if (expected === 'a text in double quotes') return [`write \`${marking}\``, marking, last];
  return expected === '' && !here.seen.has('number')
    ? [`write \`number ${marking}\``, `number ${marking}`, last]
    : undefined;
}

/** `no. 6206`, `p/n 6206-2RS` */
export function partNumberMeant(here: Stopped, at: number): Advice | undefined {
  if (!here.allowed.has('number') || here.seen.has('number')) return undefined;
  const [word, stroke, n] = [at, at + 1, at + 2].map((i) => here.tokens[i]?.image);
  const isSlashed = /^p$/i.test(word!) && stroke === '/' && /^n$/i.test(n ?? '');
  const lead = isSlashed ? at + 2 : at;
  if (!isSlashed && !/^(?:no|pn|ref)$/i.test(word!)) return undefined;
  const first = here.onLine(lead + 1)?.image === '.' ? lead + 2 : lead + 1;
  const behind = here.onLine(first);
  if (behind?.tokenType === Text)
    return [`write ${shownText(`number ${behind.image}`)}`, `number ${behind.image}`, first];
  if (!/^[\p{L}\d]/u.test(behind?.image ?? '')) return undefined;
  let last = first;
  while (touches(here.tokens[last]!, here.onLine(last + 1))) last++;
  const number = `number "${here.written(first, last)}"`;
  return [`write ${shownText(number)}`, number, last];
}

/** The hazard that a word says by itself: what stands for one with words around it may be a name. */
export const hazardCalled = (image: string): string | undefined => {
  // `spring-loaded`
  for (const word of [image, ...image.split('-')]) {
    const meant = hazards.includes(word) ? word : hazardFor(word);
    if (meant !== undefined) return meant;
  }
  return undefined;
};
/** The hazards that words for them say; `load` says a weight only where nothing else is said. */
function hazardsIn(words: readonly string[]): string {
  const meant = new Set(words.flatMap((word) => (word === 'load' ? [] : (hazardCalled(word.toLowerCase()) ?? []))));
  if (meant.size === 0 && words.includes('load')) meant.add('weight');
  return [...meant].join(', ');
}

/** `hazard high pressure`: words for one, of which that before `at` was taken. */
export function hazardMeant(here: Stopped, at: number): Advice | undefined {
  if (/^(?:and|or)$/.test(here.tokens[at]!.image)) return undefined;
  // `hazard heat, high pressure`
  let lead = at - 2;
  while (lead > at - 2 * hazards.length && here.tokens[lead]?.tokenType === Comma) lead -= 2;
  if (here.tokens[lead]?.tokenType !== k.hazard) return undefined;
  let last = at;
  while (here.onLine(last + 1)?.tokenType === Word && !/^(?:and|or)$/.test(here.tokens[last + 1]!.image)) last++;
  const words = here.tokens.slice(at - 1, last + 1).map(({ image }) => image);
  const meant = hazardsIn(words);
  here.trouble(at - 1);
  const one = 'a hazard is one word';
  if (meant === '' && words.some((word) => /^energy$/i.test(word)))
    return [`${one}, for stored energy write \`spring\`, \`pressure\` or \`charge\``, undefined, last, at - 1];
  if (meant === '') return [`${one}, ${writeOneOf(hazards)}`, undefined, last, at - 1];
  const rule = meant.includes(',') ? 'hazards are parted by commas' : one;
  return [`${rule}, write \`${meant}\``, meant, last, at - 1];
}

/** Which property of a declaration was meant where a quantity stands alone. */
export function propertyMeant(here: Stopped, at: number): Advice | undefined {
  const { image } = here.tokens[at]!;
  const last = here.endOfQuantity(at) ?? at;
  const kind = here.unitAt(last)?.kind;
  const lead = (word: string): [string, string] => [
    `write ${here.shownFrom(at, last, `${word} `)}`,
    `${word} ${image}`,
  ];
  const behind = here.onLine(last + 1);
  if (kind === 'length' && behind?.tokenType === FitPair && here.allowed.has('bore') && !here.seen.has('bore')) {
    here.trouble(last + 1);
    return [`write ${here.shownFrom(at, last + 1, 'bore ')}`, `bore ${image}`];
  }
  if (kind === 'angle' && isUnit(here.tokens[at - 1]) && here.tokens[at - 3]?.tokenType === k.torque)
    return lead('then');
  if (kind === undefined && here.node!.kind === 'pattern' && !here.seen.has('circle') && /^[0-9]+$/.test(image)) {
    if (behind?.image !== 'holes') return lead('circle');
    here.trouble(last + 1);
    return [...lead('circle'), last + 1];
  }
  const { seen } = here;
  if (kind === 'mass' && here.node!.kind === 'part') {
    const title = 'say in the title what it weighs';
    if (seen.has('hazard')) return [`${title}, take ${here.shownFrom(at, last)} out`, '', last];
    return [`${title}, write \`hazard weight\` where it can hurt`, 'hazard weight', last];
  }
  let words: readonly string[] = propertiesFor[kind ?? ''] ?? [];
  if (kind === 'length' && seen.has('thread')) words = ['length'];
  else if (kind === 'length' && (seen.has('bore') || seen.has('diameter'))) words = ['interference'];
  else if (kind === undefined && seen.has('thread') && !seen.has('grade') && /^[0-9]+\.[0-9]$/.test(image))
    words = ['class'];
  const meant = words.filter((word) => here.allowed.has(word) && !seen.has(word));
  if (meant.length > 1) return ['write `length`, `bore` or `diameter` before it'];
  return meant[0] === undefined ? undefined : lead(meant[0]);
}

/** Which properties a quantity of a kind may be. */
const propertiesFor: Readonly<Record<string, readonly string[]>> = {
  torque: ['torque', 'range'],
  temperature: ['limit'],
  time: ['lead'],
  length: ['length', 'bore', 'diameter'],
};

/** `then` or `at` of a part that no torque or pattern leads to, or that stands there already. */
export function tailMeant(here: Stopped, at: number): Advice | undefined {
  if (here.node!.kind !== 'part') return undefined;
  const { tokenType } = here.tokens[at]!;
  const { angle, holesAt } = here.node as unknown as Declaration;
  if (tokenType === k.then)
    return [
      angle === undefined
        ? 'an angle stands right behind a torque, as in `torque 40 N·m then 90°`'
        : 'one angle stands behind a torque, take the other out',
    ];
  if (tokenType !== k.at || !isNumber(here.onLine(at + 1))) return undefined;
  return [
    holesAt === undefined
      ? 'hole numbers stand right behind their pattern, as in `holes rim at 1, 3`'
      : `all holes stand behind one \`at\`, as in \`at 1, 3\``,
  ];
}

/** `thread "M8"`, `length "40 mm"`, `held by "lid-screw"` */
export function unquotedMeant(here: Stopped, at: number, expected: string): Advice | undefined {
  const { tokenType, image } = here.tokens[at]!;
  if (tokenType === Text && here.tokens[at - 1]?.tokenType === k.hazard) {
    const meant = hazardsIn(
      image
        .slice(1, -1)
        .split(/[^\p{L}-]+/u)
        .slice(0, hazards.length),
    );
    if (meant !== '') return [`a hazard is one word without quotes, write \`${meant}\``, meant];
  }
  const written = formOf[expected] ?? (expected.startsWith('a thread') ? threadWritten : undefined);
  const value = image.slice(1, -1);
  const what = expected === 'a name' ? expected : 'it';
  return tokenType === Text && written?.test(value)
    ? [`${what} stands without quotes, write \`${value}\``, value]
    : undefined;
}

const number = '[-−]?[0-9]+(?:\\.[0-9]+)?';
const formOf: Readonly<Record<string, RegExp>> = {
  'a number': new RegExp(`^${number}(?: ?(?:\\.\\.|±) ?${number})?(?: ?[\\p{L}°µ·.]+)?$`, 'u'),
  'a name': /^\p{L}[\p{L}\d]*(?:-[\p{L}\d]+)*$/u,
  'a code such as `DW-40`': /^[\p{L}\d][\p{L}\d-]*$/u,
  'a class such as `8.8`': /^(?:[0-9]+\.[0-9]|[A-Z][0-9]L?-[0-9]+)$/,
};
const threadWritten = /^(?:M[0-9.]+(?:[x×][0-9.]+)?|[0-9/]+-[0-9]+|(?:G|R[pc]?)[0-9/-]+)(?:-LH)?$/;

/** `radius 50 mm` of a pattern. */
export function doubled(here: ChunkTokens, at: number): Advice | undefined {
  const number = here.onLine(at + 1);
  const last = here.endOfQuantity(at + 1);
  if (here.tokens[at]!.image !== 'radius' || number?.tokenType !== NumberToken || last !== at + 2) return undefined;
  const diameter = `diameter ${2 * Number(number.image)} ${here.tokens[last]!.image}`;
  return [`write \`${diameter}\``, diameter, last];
}
