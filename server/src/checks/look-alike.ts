import type { Name } from '../../../grammar/syntax.ts';
import { carriedByNames } from '../model/amended.ts';
import type { Definition, Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { type Check, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { codePoint } from './hidden-text.ts';
import { named } from './wording.ts';

/**
 * Latin letters, each with the Greek and Cyrillic ones that look like it: what Unicode's confusables.txt (UTS #39) maps to
 * single Latin letters, from memory.
 */
const lookAlikes = {
  A: '\u0391\u0410',
  B: '\u0392\u0412',
  C: '\u03f9\u0421',
  E: '\u0395\u0415',
  G: '\u050c',
  H: '\u0397\u041d',
  I: '\u0399\u0406',
  J: '\u037f\u0408',
  K: '\u039a\u041a',
  M: '\u039c\u041c',
  N: '\u039d',
  O: '\u039f\u041e',
  P: '\u03a1\u0420',
  Q: '\u051a',
  S: '\u0405',
  T: '\u03a4\u0422',
  W: '\u051c',
  X: '\u03a7\u0425',
  Y: '\u03a5\u0423\u04ae',
  Z: '\u0396',
  a: '\u03b1\u0430',
  c: '\u03f2\u0441',
  d: '\u0501',
  e: '\u0435',
  h: '\u04bb',
  i: '\u03b9\u0456',
  j: '\u03f3\u0458',
  l: '\u04cf',
  o: '\u03bf\u03c3\u043e',
  p: '\u03c1\u0440',
  q: '\u051b',
  r: '\u0433',
  s: '\u0455',
  u: '\u03c5',
  v: '\u03bd\u0475',
  w: '\u051d',
  x: '\u0445',
  y: '\u03b3\u0443\u04af',
};
const latin = new Map(
  Object.entries(lookAlikes).flatMap(([letter, others]) => [...others].map((other) => [other, letter] as const)),
);

/** So are most names, and all are gone through at every keystroke. */
const isPlain = (name: string): boolean => /^[ -~]*$/.test(name);
/** The name with every look-alike in Latin letters. */
const inLatin = (name: string): string =>
  isPlain(name) ? name : [...name.normalize('NFC')].map((letter) => latin.get(letter) ?? letter).join('');
/** The same for all names that look alike, capital I, l and 1, capital O and 0 among them. */
const skeleton = (name: string): string => inLatin(name).replace(/0/g, 'O').replace(/[1I]/g, 'l');
/** What its skeleton may differ from. */
const suspect = /[01I\u0080-\uffff]/;
const mixes = (name: string): boolean =>
  !isPlain(name) && /\p{Script=Latin}/u.test(name) && [...name.normalize('NFC')].some((letter) => latin.has(letter));

interface Known {
  readonly name: Name;
  readonly definition: Definition;
}

/** Names of one kind, each with what it stands for. */
const kindsOf = noted((model: Model): (readonly [kind: string, ReadonlyMap<string, Known>])[] => {
  const known = (all: Iterable<readonly [Name | undefined, Definition]>): ReadonlyMap<string, Known> => {
    const names = new Map<string, Known>();
    for (const [name, definition] of all)
      if (name !== undefined && !names.has(name.text)) names.set(name.text, { name, definition });
    return names;
  };
  const declared = (table: Model['parts']) => known([...table.values()].map((each) => [each.name, each] as const));
  return [
    ['part', declared(model.parts)],
    ['tool', declared(model.tools)],
    ['supply', declared(model.supplies)],
    ['pattern', declared(model.patterns)],
    ['step', known([...model.stepNames.values()].map(({ step }) => [step.name, step] as const))],
    ['reading', known([...model.readings.values()].map((each) => [each.name, each] as const))],
    ['code', known((model.head?.codes ?? []).map((name) => [name, name] as const))],
  ];
});

/** The first sign in which `name` differs from `other`, and its place from 1. */
function difference(name: string, other: string): string {
  const signs = [...name];
  const others = [...other];
  const at = signs.findIndex((sign, i) => sign !== others[i]);
  return at < 0 ? `it is ${signs.length} signs long` : `its sign ${at + 1} is ${codePoint(signs[at]!)}`;
}

/** Whether any name is doubtful, by table, and by what stays where names do. */
const doubtful = new Beside<object, boolean>();

const codeOf = (sign: string): number => sign.charCodeAt(0);
const [zero, one, capitalI, capitalO, smallL] = [codeOf('0'), codeOf('1'), codeOf('I'), codeOf('O'), codeOf('l')];

/** The same number for all names of one skeleton, and seldom for others; below zero where a name is not in plain letters. */
function skeletonNumber(name: string): number {
  let sum = 0;
  for (let i = 0; i < name.length; i++) {
    const code = name.charCodeAt(i);
    if (code < 32 || code > 126) return -1;
    sum = (Math.imul(sum, 31) + (code === zero ? capitalO : code === one || code === capitalI ? smallL : code)) | 0;
  }
  return sum & 0x3fffffff;
}

interface Names {
  readonly size: number;
  has(name: string): boolean;
  keys(): Iterable<string>;
}

interface Skeletons {
  /** As many as names where each has one of its own. */
  readonly numbers: Set<number>;
  /** Whether {@link isDoubtful} has to look closely: hardly ever where it is not. */
  readonly maybeDoubtful: boolean;
}

function skeletonsOf(names: Names): Skeletons {
  const numbers = new Set<number>();
  for (const name of names.keys()) numbers.add(skeletonNumber(name));
  return { numbers, maybeDoubtful: numbers.size < names.size || numbers.has(-1) };
}

const skeletonsIn = carriedByNames(skeletonsOf, (known, outgoing, incoming) => {
  if (known.maybeDoubtful) return undefined;
  const { numbers } = known;
  for (const name of outgoing) numbers.delete(skeletonNumber(name));
  for (const name of incoming) {
    const number = skeletonNumber(name);
    if (number < 0 || numbers.has(number)) return undefined;
    numbers.add(number);
  }
  return known;
});

/** True where one of `names`, all different, can be taken for another, or is not in plain letters. */
function isDoubtful(names: Names, { maybeDoubtful } = skeletonsOf(names)): boolean {
  if (!maybeDoubtful) return false;
  const alike = new Set<string>();
  for (const name of names.keys()) {
    if (!suspect.test(name)) continue;
    if (!isPlain(name)) return true;
    const letters = skeleton(name);
    if (alike.has(letters) || (letters !== name && names.has(letters))) return true;
    alike.add(letters);
  }
  return false;
}

/** The first name of each skeleton. */
const bySkeleton = noted((names: readonly string[]): ReadonlyMap<string, string> => {
  const first = new Map<string, string>();
  for (const name of names) {
    const letters = suspect.test(name) ? skeleton(name) : name;
    if (!first.has(letters)) first.set(letters, name);
  }
  return first;
});

/** Of the kinds of names, those in which any could be taken for another, or mixes letters. */
function doubtfulIn(model: Model): ReturnType<typeof kindsOf> {
  let any = doubtful.get(model.naming);
  if (any === undefined) {
    const { parts, tools, supplies, patterns, stepNames, readings } = model;
    any = [parts, tools, supplies, patterns, stepNames, readings].some((table) => {
      // An edit seldom changes the names of more than one.
      const known = doubtful.get(table) ?? isDoubtful(table, skeletonsIn(table));
      doubtful.set(table, known);
      return known;
    });
    doubtful.set(model.naming, any);
  }
  return any || isDoubtful(new Set(model.codes)) ? kindsOf(model) : [];
}

export const lookAlike: Check = {
  code: 'look-alike',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires:
    'two names are told apart by look-alike letters only, such as a Latin and a Cyrillic `o`, or a name mixes such letters.',
  why: 'On the card both read the same: the wrong one is taken, or a part is thought to be answered for.',
  bad: `part b\u043elt "Bolt"
teardown
  step open
    remove b\u043elt
reassembly
  step close
    fit b\u043elt`,
  good: `part bolt "Bolt"
teardown
  step open
    remove bolt
reassembly
  step close
    fit bolt`,
  *run({ model }): Generator<Raw> {
    const { uri } = model.tree;
    for (const [kind, names] of doubtfulIn(model)) {
      const skeletons = new Set([...names.keys()].filter((text) => suspect.test(text)).map(skeleton));
      const first = new Map<string, Name>();
      for (const [text, { name }] of names) {
        const alike = suspect.test(text) ? skeleton(text) : text;
        if (!skeletons.has(alike)) continue;
        const other = first.get(alike);
        if (other === undefined) {
          first.set(alike, name);
          if (mixes(text))
            yield {
              span: name,
              message: `the ${kind} ${named(text)} mixes letters that look alike: ${difference(text, inLatin(text))}, which is no Latin letter; write the name in one script.`,
              related: [],
              data: { subject: text, kind, latin: inLatin(text) },
            };
          continue;
        }
        const [own, meant] = name.chunk.uri === uri ? [name, other] : [other, name];
        yield {
          span: own,
          message: `the ${kind} ${named(own.text)} looks like the ${kind} ${named(meant.text)} and is another: ${difference(own.text, meant.text)}; rename one of them.`,
          related: related(meant, 'looks the same'),
          data: { subject: own.text },
        };
      }
    }
    for (const { name, kind, candidates } of model.unknown) {
      const meant = bySkeleton(candidates).get(skeleton(name.text));
      if (meant === undefined) continue;
      yield {
        span: name,
        message: `${named(name.text)} looks like the ${kind} ${named(meant)} and is another name: ${difference(name.text, meant)}; write it as it is declared.`,
        related: [],
        data: { subject: name.text, meant },
      };
    }
  },
  repairs(finding, { model }) {
    const { subject, kind, meant, latin: written } = finding.data ?? {};
    if (typeof meant === 'string')
      return [
        { title: `Write ${meant} as declared`, edits: [replaceSpan(model.tree, finding.span, meant)], safe: false },
      ];
    if (typeof written !== 'string' || !/^[\p{Script=Latin}\p{M}0-9-]+$/u.test(written)) return [];
    const names = kindsOf(model).find(([each]) => each === kind)?.[1];
    const known = names?.get(String(subject));
    if (known === undefined || names!.has(written)) return [];
    const places = [known.name, ...model.references.to(known.definition)];
    // A name that other files use is for `rename`, which sees them.
    if (places.some(({ chunk }) => chunk.uri !== model.tree.uri)) return [];
    return [
      {
        title: `Write ${written} in Latin letters`,
        edits: [...new Set(places)].map((place) => replaceSpan(model.tree, place, written)),
        safe: false,
      },
    ];
  },
};
