/** As much of vitest as the tests that judge mutants need, without its start-up: a mutant is tried in a second. */
import assert from 'node:assert';
import { isDeepStrictEqual } from 'node:util';

type Body = (...args: never[]) => unknown;
export const tests: { readonly name: string; readonly run: () => unknown }[] = [];
let path: string[] = [];

type Cleanup = () => unknown;
let cleanups: Cleanup[] = [];
/** Runs behind the test that is running. */
export const onTestFinished = (cleanup: Cleanup): void => void cleanups.push(cleanup);
const run = async (body: () => unknown): Promise<void> => {
  try {
    await body();
  } finally {
    const due = cleanups;
    cleanups = [];
    for (const cleanup of due) await cleanup();
  }
};

const rows = (table: readonly unknown[]): unknown[][] => table.map((row) => (Array.isArray(row) ? row : [row]));
/** `$code` in a name stands for that field of the row. */
const named = (name: string, row: unknown): string =>
  name.replace(/\$(\w+)/g, (all, key: string) => String((row as Record<string, unknown> | undefined)?.[key] ?? all));
const bodyOf = (args: unknown[]): Body => args.find((each) => typeof each === 'function') as Body;

export const test = Object.assign(
  (name: string, ...args: unknown[]) => {
    const body = bodyOf(args);
    tests.push({ name: [...path, name].join(' > '), run: () => run(body as () => unknown) });
  },
  {
    each:
      (table: readonly unknown[]) =>
      (name: string, ...args: unknown[]) => {
        for (const row of rows(table)) test(`${name} ${String(row[0])}`, () => bodyOf(args)(...(row as never[])));
      },
  },
);
export const it = test;
export const describe = Object.assign(
  (name: string, ...args: unknown[]) => {
    const before = path;
    path = [...path, name];
    bodyOf(args)();
    path = before;
  },
  {
    each:
      (table: readonly unknown[]) =>
      (name: string, ...args: unknown[]) => {
        for (const row of rows(table)) describe(named(name, row[0]), () => bodyOf(args)(...(row as never[])));
      },
  },
);

/** Stands for any value that the test holds for. */
class Like {
  readonly test: (value: unknown) => boolean;
  constructor(test: (value: unknown) => boolean) {
    this.test = test;
  }
}

/** As `toEqual` has it: a field that holds `undefined` is no field. `begun` leads from values to those that they are held against already. */
function equal(a: unknown, b: unknown, begun = new Map<object, Set<object>>()): boolean {
  if (Object.is(a, b)) return true;
  if (b instanceof Like) return b.test(a);
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false;
  const others = begun.get(a) ?? new Set();
  if (others.has(b)) return true;
  begun.set(a, others.add(b));
  const within = (one: unknown, other: unknown): boolean => equal(one, other, begun);
  if (Array.isArray(a) || Array.isArray(b))
    return Array.isArray(a) && Array.isArray(b) && a.length === b.length && a.every((each, i) => within(each, b[i]));
  if (a instanceof Map && b instanceof Map)
    return a.size === b.size && [...a].every(([key, each]) => b.has(key) && within(each, b.get(key)));
  if (a instanceof Set || b instanceof Set || a instanceof Map || b instanceof Map) return isDeepStrictEqual(a, b);
  const [one, other] = [a as Record<string, unknown>, b as Record<string, unknown>];
  return [...new Set([...Object.keys(one), ...Object.keys(other)])].every((key) => within(one[key], other[key]));
}
const matches = (a: unknown, b: unknown): boolean =>
  typeof b !== 'object' || b === null || b instanceof Like
    ? equal(a, b)
    : typeof a === 'object' &&
      a !== null &&
      (!Array.isArray(b) || (Array.isArray(a) && a.length === b.length)) &&
      Object.entries(b).every(([key, each]) => matches((a as Record<string, unknown>)[key], each));
const at = (value: unknown, key: string | readonly string[]): unknown =>
  (typeof key === 'string' ? key.split('.') : key).reduce<unknown>((now, each) => (now as never)?.[each], value);

type Matcher = (actual: never, expected: never, ...more: never[]) => boolean;
const matchers: Readonly<Record<string, Matcher>> = {
  toBe: (a, b) => Object.is(a, b),
  toEqual: equal,
  toStrictEqual: isDeepStrictEqual,
  toMatchObject: matches,
  toBeUndefined: (a) => a === undefined,
  toBeDefined: (a) => a !== undefined,
  toBeNull: (a) => a === null,
  toBeTruthy: (a) => Boolean(a),
  toBeLessThan: (a, b) => a < b,
  toBeLessThanOrEqual: (a, b) => a <= b,
  toBeGreaterThan: (a, b) => a > b,
  toBeGreaterThanOrEqual: (a, b) => a >= b,
  toBeCloseTo: (a, b, digits: number = 2) => Math.abs(a - b) < 10 ** -digits / 2,
  toContain: (a: { includes(each: unknown): boolean }, b) =>
    (a as unknown) instanceof Set ? (a as unknown as Set<unknown>).has(b) : a.includes(b),
  toContainEqual: (a: readonly unknown[], b) => a.some((each) => equal(each, b)),
  toHaveLength: (a: { length: number }, b) => a.length === b,
  toHaveProperty: (a, b, ...more: unknown[]) => (more.length === 0 ? at(a, b) !== undefined : equal(at(a, b), more[0])),
  toMatch: (a: string, b: RegExp | string) =>
    typeof b === 'string' ? (a as string).includes(b) : (b as RegExp).test(a),
  toThrow: (a: () => unknown, b?: RegExp | string) => {
    try {
      a();
      return false;
    } catch (error) {
      const { message } = error as Error;
      return b === undefined || (typeof b === 'string' ? message.includes(b) : (b as RegExp).test(message));
    }
  },
};

export function expect(actual: unknown, message?: string): Record<string, unknown> {
  const all = (wanted: boolean): Record<string, unknown> =>
    Object.fromEntries(
      Object.entries(matchers).map(([name, matcher]) => [
        name,
        (...args: unknown[]) =>
          assert((matcher as (...all: unknown[]) => boolean)(actual, ...args) === wanted, `${message ?? ''} ${name}`),
      ]),
    );
  return { ...all(true), not: all(false) };
}

expect.objectContaining = (wanted: object): Like => new Like((value) => matches(value, wanted));
expect.stringContaining = (wanted: string): Like => new Like((value) => String(value).includes(wanted));
expect.stringMatching = (wanted: RegExp): Like => new Like((value) => wanted.test(String(value)));
expect.arrayContaining = (wanted: readonly unknown[]): Like =>
  new Like((value) => wanted.every((each) => (value as unknown[]).some((one) => equal(one, each))));
expect.any = (kind: { readonly name: string }): Like => new Like((value) => typeof value === kind.name.toLowerCase());

interface Spy {
  readonly mock: { readonly calls: readonly unknown[][] };
  mockRestore(): void;
}

let spied: (() => void)[] = [];
export const vi = {
  /** The method goes on doing what it does; its calls are noted. */
  spyOn(of: object, name: string): Spy {
    const own = of as Record<string, (...args: unknown[]) => unknown>;
    const method = own[name]!;
    const calls: unknown[][] = [];
    own[name] = function (this: unknown, ...args: unknown[]): unknown {
      calls.push(args);
      return method.apply(this, args);
    };
    const mockRestore = (): void => {
      own[name] = method;
    };
    spied.push(mockRestore);
    return { mock: { calls }, mockRestore };
  },
  restoreAllMocks(): void {
    for (const restore of spied) restore();
    spied = [];
  },
};
