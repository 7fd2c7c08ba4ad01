import { getNodeValue, type Node, type ParseError, parseTree, printParseErrorCode } from 'jsonc-parser';
import { nearest } from '../../../grammar/nearest.ts';
import { lineFinder } from '../../../grammar/syntax.ts';
import { unitOf } from '../../../grammar/units.ts';
import { allChecks } from '../checks/all.ts';
import { defaultSettings, type FrictionBand, type Settings, type Severity, threadConditions } from '../checks/check.ts';
import { convert } from '../model/quantity.ts';

/** Something in a project file that cannot be used. `start` and `end` are UTF-16 offsets, `line` counts from 1. */
export interface ProjectProblem {
  readonly start: number;
  readonly end: number;
  readonly line: number;
  /** What is wrong, and what would mend it. */
  readonly message: string;
}

export interface Project {
  /** Defaults stand in for whatever could not be used. */
  readonly settings: Settings;
  /** Those of the settings that the file itself states. */
  readonly stated: ReadonlySet<string>;
  readonly problems: readonly ProjectProblem[];
}

export const severities: readonly Severity[] = ['error', 'warning', 'information', 'hint'];
/** Lowest and highest that a project may state, °C; outside, a unit was most likely confused. */
export const heatingRange = [40, 400] as const;
export const ambientRange = [-40, 60] as const;
/** Least and greatest coefficient of friction. */
export const frictionRange = [0.01, 1] as const;
export const longTextRange = [5, 200] as const;

type Fail = (node: Node, message: string) => undefined;
/** Reads one value; nothing where it reported that it cannot. */
type Read<T> = (node: Node, fail: Fail, key: string) => T | undefined;

/** Every key of the file, and what it sets. */
const keys: Readonly<Record<string, Read<Partial<Settings>>>> = {
  $schema: () => ({}),
  measures: (node, fail, key) => {
    const measures = oneOf(['metric', 'imperial'] as const)(node, fail, key);
    return measures && { measures };
  },
  off: (node, fail, key) => {
    if (node.type !== 'array')
      return fail(node, `${key} takes a list of codes, as in ["long-text"], not ${nameOf(node)}`);
    const off = (node.children ?? []).map((child) => code(child, fail, key));
    return { off: off.filter((each) => each !== undefined) };
  },
  severities: (node, fail, key) => {
    const found = members(node, fail, key, (name, value) => {
      const known = knownCode(name.value, name, fail);
      if (value.value === 'off' && known !== undefined)
        return fail(
          value,
          known === 'syntax'
            ? syntaxOff
            : `"off" is no severity: to leave ${known} out, list it in off, as in "off": ["${known}"]`,
        );
      const severity = oneOf(severities)(value, fail, `the severity of ${name.value}`);
      return known === undefined ? undefined : severity;
    });
    return found && { severities: found };
  },
  friction: (node, fail, key) => {
    const { friction } = defaultSettings;
    let { stainless } = friction;
    const found = members(node, fail, key, (name, value) => {
      const known = knownKey(name, [...threadConditions, 'stainless'] as const, `a condition in ${key}`, fail);
      if (known !== 'stainless') return known && frictionBand(value, fail, known);
      const bands = members(value, fail, known, (condition, each) => {
        const inner = knownKey(condition, threadConditions, `a condition in ${known}`, fail);
        return inner && frictionBand(each, fail, inner);
      });
      stainless = { ...stainless, ...bands };
      return undefined;
    });
    return found && { friction: { ...friction, ...found, stainless } };
  },
  heating: (node, fail, key) => {
    const found = members(node, fail, key, (name, value) => {
      const known = knownKey(name, ['open', 'sealed'] as const, `a limit in ${key}`, fail);
      const limit = temperature(heatingRange)(value, fail, name.value);
      return known === undefined ? undefined : limit;
    });
    return (
      found && {
        ...(found['open'] === undefined ? {} : { heatLimit: found['open'] }),
        ...(found['sealed'] === undefined ? {} : { filledHeatLimit: found['sealed'] }),
      }
    );
  },
  ambient: (node, fail, key) => {
    const ambient = temperature(ambientRange)(node, fail, key);
    return ambient === undefined ? undefined : { ambient };
  },
  longText: (node, fail, key) => {
    const [least, most] = longTextRange;
    const words: unknown = getNodeValue(node);
    return typeof words === 'number' && Number.isInteger(words) && words >= least && words <= most
      ? { longText: words }
      : fail(node, `${key} takes a whole number of words from ${least} to ${most}, not ${nameOf(node)}`);
  },
};
export const projectKeys: readonly string[] = Object.keys(keys);

/** Reads the text of a project file (JSON, RFC 8259). Total: what cannot be used is listed, in the order of the text. */
export function readProject(text: string): Project {
  const problems: ProjectProblem[] = [];
  const lineAt = lineFinder(text);
  const report = (start: number, end: number, message: string): void => {
    problems.push({ start, end, line: lineAt(start) + 1, message });
  };
  const fail: Fail = (node, message) => {
    report(node.offset, node.offset + node.length, message);
    return undefined;
  };
  const errors: ParseError[] = [];
  const root = parseTree(text, errors, { disallowComments: true, allowTrailingComma: false });
  if (errors.length > 0) {
    const { offset, length, error } = errors[0]!;
    report(
      offset,
      offset + length,
      faults[printParseErrorCode(error)] ?? 'this is no JSON: check quotes, commas and brackets',
    );
    return { settings: defaultSettings, stated: new Set(), problems };
  }
  if (root === undefined || root.type !== 'object') {
    report(0, text.length, 'a project file is one object: write { … }');
    return { settings: defaultSettings, stated: new Set(), problems };
  }
  let stated: Partial<Settings> = {};
  for (const { name, value } of propertiesOf(root, fail)) {
    const known = knownKey(name, projectKeys, 'a key', fail);
    if (known !== undefined) stated = { ...stated, ...keys[known]!(value, fail, known) };
  }
  return {
    settings: { ...defaultSettings, ...stated },
    stated: new Set(Object.keys(stated)),
    problems: problems.sort((a, b) => a.start - b.start),
  };
}

const faults: Readonly<Record<string, string>> = {
  InvalidCommentToken: 'JSON has no comments: take this one out',
  CommaExpected: 'a comma is missing before this',
  ColonExpected: 'a colon is missing between this key and its value',
  PropertyNameExpected: 'a key in double quotes is expected here: take a comma too many out',
  ValueExpected: 'a value is expected here: take a comma too many out, or write the value',
  CloseBraceExpected: 'the object is not closed: write }',
  CloseBracketExpected: 'the list is not closed: write ]',
  EndOfFileExpected: 'nothing may follow the object: take this out',
  UnexpectedEndOfString: 'a text is not closed: write "',
  InvalidSymbol: 'this word is no JSON: put texts in double quotes',
};

interface Property {
  readonly name: Node;
  readonly value: Node;
}

function propertiesOf(node: Node, fail: Fail): Property[] {
  const seen = new Set<string>();
  const properties: Property[] = [];
  for (const { children } of node.children ?? []) {
    const [name, value] = children ?? [];
    if (name === undefined || value === undefined) continue;
    if (seen.has(name.value)) fail(name, `"${name.value}" stands twice: keep one`);
    else properties.push({ name, value });
    seen.add(name.value);
  }
  return properties;
}

/** The members of an object that `read` could use; nothing where it is no object. */
function members<T>(
  node: Node,
  fail: Fail,
  key: string,
  read: (name: Node, value: Node) => T | undefined,
): Record<string, T> | undefined {
  if (node.type !== 'object') return fail(node, `${key} takes an object, { … }, not ${nameOf(node)}`);
  const found: Record<string, T> = {};
  for (const { name, value } of propertiesOf(node, fail)) {
    const member = read(name, value);
    if (member !== undefined) found[name.value] = member;
  }
  return found;
}

function knownKey<K extends string>(name: Node, candidates: readonly K[], what: string, fail: Fail): K | undefined {
  const word: string = name.value;
  if ((candidates as readonly string[]).includes(word)) return word as K;
  return fail(name, `"${word}" is not ${what}: ${meant(word, candidates)}`);
}

const meant = (word: string, candidates: readonly string[]): string => {
  const near = nearest(word, candidates);
  return near === undefined ? `write one of ${candidates.join(', ')}` : `did you mean "${near}"?`;
};

const oneOf =
  <K extends string>(choices: readonly K[]): Read<K> =>
  (node, fail, key) => {
    const value: unknown = getNodeValue(node);
    if (typeof value !== 'string') return fail(node, `${key} takes one of ${choices.join(', ')}, not ${nameOf(node)}`);
    if ((choices as readonly string[]).includes(value)) return value as K;
    return fail(node, `"${value}" cannot be ${key}: ${meant(value, choices)}`);
  };

const syntaxOff = 'syntax cannot be off: what cannot be read is not checked';

const code: Read<string> = (node, fail, key) => {
  const word: unknown = getNodeValue(node);
  if (typeof word !== 'string') return fail(node, `${key} takes codes of checks, not ${nameOf(node)}`);
  if (word === 'syntax') return fail(node, syntaxOff);
  return knownCode(word, node, fail);
};

function knownCode(word: string, node: Node, fail: Fail): string | undefined {
  const codes = allChecks.map((check) => check.code);
  if (codes.includes(word)) return word;
  const near = nearest(word, codes);
  return fail(
    node,
    `"${word}" is no check of Fettle: ${near === undefined ? '`fettle explain` lists them' : `did you mean "${near}"?`}`,
  );
}

const frictionBand: Read<FrictionBand> = (node, fail, key) => {
  const [least, most] = frictionRange;
  const values: unknown[] = node.type === 'array' ? getNodeValue(node) : [];
  const [low, mid, high] = values;
  return values.length === 3 &&
    typeof low === 'number' &&
    typeof mid === 'number' &&
    typeof high === 'number' &&
    least <= low &&
    low <= mid &&
    mid <= high &&
    high <= most
    ? { low, mid, high }
    : fail(
        node,
        `${key} takes three coefficients of friction, low to high, from ${least} to ${most}, as in [0.12, 0.15, 0.18]`,
      );
};

/** A text such as "110 °C", in °C. */
const temperature =
  ([least, most]: readonly [number, number]): Read<number> =>
  (node, fail, key): number | undefined => {
    const value: unknown = getNodeValue(node);
    const remedy = `write it as in "${key === 'ambient' ? 20 : 110} °C"`;
    if (typeof value !== 'string')
      return fail(node, `${key} takes a text with number and unit, not ${nameOf(node)}: ${remedy}`);
    const [, number, spelling] = /^\s*(-?\d+(?:\.\d+)?)\s*(\S.*?)\s*$/.exec(value) ?? [];
    const unit = unitOf(spelling ?? '');
    if (number === undefined || unit?.kind !== 'temperature')
      return fail(node, `"${value}" is no temperature: ${remedy}`);
    // What came from °F is rounded, so that 248 °F is 120 °C and no more.
    const celsius = Number(convert(Number(number), unit, unitOf('°C')!).toFixed(6));
    return celsius >= least && celsius <= most
      ? celsius
      : fail(node, `"${value}" cannot be right for ${key}: it takes ${least} to ${most} °C; check number and unit`);
  };

const nameOf = (node: Node): string => {
  switch (node.type) {
    case 'object':
      return 'an object';
    case 'array':
      return 'a list';
    case 'string':
      return `the text ${JSON.stringify(node.value)}`;
    default:
      return String(node.value);
  }
};
