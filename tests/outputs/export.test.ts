import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Ajv } from 'ajv';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { units } from '../../grammar/units.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind, type Resolve } from '../../server/src/model/model.ts';
import { toSI } from '../../server/src/model/quantity.ts';
import { exported } from '../../server/src/outputs/export.ts';
import { ucumOf } from '../../server/src/outputs/ucum.ts';
import { anyLayout, mutated, procedureText } from '../fuzz/generate.ts';

const root = join(import.meta.dirname, '../..');
const schema = JSON.parse(readFileSync(join(root, 'server/schemas/procedure.schema.json'), 'utf8'));
const valid = new Ajv({ strict: true }).compile(schema);
const disk: Resolve = (path, from) => {
  const url = new URL(path, from);
  return parse(url.href, readFileSync(fileURLToPath(url), 'utf8'));
};
// biome-ignore lint/suspicious/noExplicitAny: plain data, whose form the schema states.
const exportOf = (text: string, uri = 'file:///a.fettle', resolve?: Resolve): any => {
  const model = bind(parse(uri, text), resolve);
  return JSON.parse(JSON.stringify(exported(model, replay(model))));
};
const check = (data: unknown): void => {
  expect(valid(data), JSON.stringify(valid.errors, undefined, 2)).toBe(true);
};

describe('the exported model is of the published form', () => {
  const samples = join(root, 'samples');
  const names = readdirSync(samples, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.fettle'));
  test.each(names)('of the sample %s', (name) => {
    const path = join(samples, name);
    const missing: Resolve = (use, from) => {
      try {
        return disk(use, from);
      } catch {
        return { missing: true };
      }
    };
    check(exportOf(readFileSync(path, 'utf8'), pathToFileURL(path).href, missing));
  });

  test('of any procedure, and of what is left of one', () => {
    fc.assert(fc.property(fc.oneof(procedureText(), anyLayout()), (text) => check(exportOf(text))));
    fc.assert(fc.property(mutated(), (text) => check(exportOf(text))));
  });

  test('which refuses what it does not name', () => {
    const data = exportOf('part a\n');
    check(data);
    expect(valid({ ...data, parts: [{ ...data.parts[0], colour: 'red' }] })).toBe(false);
    expect(valid({ ...data, steps: [{ statements: [{ kind: 'polish' }] }] })).toBe(false);
    expect(valid({ ...data, parts: [{ count: 1, torque: { value: 1, unit: 'Nm', text: '1 Nm' } }] })).toBe(false);
  });
});

test('it holds all that the procedure says', () => {
  const data = exportOf(`procedure job "Job"
  applies to A-1, A-2
  measures metric
part bolt x4 "Bolt" thread M8x1 class 8.8 oiled torque 25 ± 2 N·m (18 lbf·ft) then 90° holes rim
part cap "Cap" held by bolt renew lead 2 d hazard weight, heat limit 80..110 °C
pattern rim points (0, 0) (10, 0) (10, 10) (0, 10) mm
supply oil "Oil" x2 1.5 qt number "S-1"
tool bar "Bar" x3 number "T-1" hazard weight
teardown
  step open "Open" takes 5 min
    warning "Hot."
    remove bolt x3 keep in "tray"
    remove bolt
    for A-1
      drain oil
    end
reassembly
  step close after open
    fit new cap
    tighten bolt x4 in stages 12 N·m, 25 N·m order 1 3 2 4
    remvoe cap
`);
  check(data);
  expect(data).toMatchObject({ name: 'job', title: 'Job', codes: ['A-1', 'A-2'], measures: 'metric' });
  expect(data.parts[0]).toEqual({
    name: 'bolt',
    title: 'Bolt',
    count: 4,
    thread: 'M8x1',
    class: '8.8',
    condition: 'oiled',
    torque: {
      value: 25,
      tolerance: 2,
      unit: 'N.m',
      text: '25 ± 2 N·m',
      restated: { value: 18, unit: '[lbf_av].[ft_i]', text: '18 lbf·ft' },
    },
    angle: { value: 90, unit: 'deg', text: '90°' },
    holes: 'rim',
  });
  expect(data.parts[1]).toMatchObject({
    heldBy: ['bolt'],
    renew: true,
    lead: { value: 2, unit: 'd' },
    hazards: ['weight', 'heat'],
    limit: { low: 80, high: 110, unit: 'Cel' },
  });
  expect(data.tools).toEqual([{ name: 'bar', title: 'Bar', count: 3, number: 'T-1', hazards: ['weight'] }]);
  expect(data.supplies).toMatchObject([{ name: 'oil', count: 2, number: 'S-1' }]);
  expect(data.patterns).toEqual([
    {
      name: 'rim',
      form: 'points',
      count: 4,
      points: [
        { x: 0, y: 0 },
        { x: 10, y: 0 },
        { x: 10, y: 10 },
        { x: 0, y: 10 },
      ],
      unit: 'mm',
    },
  ]);
  const [open, close] = data.steps;
  expect(open).toMatchObject({ name: 'open', phase: 'teardown', takes: { value: 5, unit: 'min', text: '5 min' } });
  expect(open.statements).toEqual([
    { kind: 'warning', text: 'Hot.' },
    { kind: 'remove', name: 'bolt', count: 3, pieces: 3, keep: 'tray' },
    { kind: 'remove', name: 'bolt', pieces: 1 },
    { kind: 'for', codes: ['A-1'], branches: [{ statements: [{ kind: 'drain', name: 'oil' }] }] },
  ]);
  expect(close).toMatchObject({ phase: 'reassembly', after: ['open'] });
  expect(close.statements[0]).toMatchObject({ kind: 'fit', name: 'cap', new: true });
  expect(close.statements[1]).toMatchObject({ count: 4, stages: [{ value: 12 }, { value: 25 }], order: [1, 3, 2, 4] });
  expect(close.statements[2]).toEqual({ kind: 'unknown', text: 'remvoe cap' });
});

test('of used files it holds what the work comes to, and no more', () => {
  const shared = parse(
    'file:///s.fettle',
    'part bolt held by nut\npart nut\npart spare\npart cap held by spare\ntool wrench\n',
  );
  const data = exportOf('use "s.fettle"\nteardown\n  step a\n    remove bolt\n', 'file:///a.fettle', () => shared);
  expect(data.parts.map(({ name }: { name: string }) => name)).toEqual(['bolt', 'nut']);
  expect(data.tools).toEqual([]);
});

describe('UCUM codes', () => {
  /**
   * Definitions of the Unified Code for Units of Measure in base units (m, s, g, rad, K), as its published table of
   * case-sensitive units has them (ucum-cs.units in the public repository of UCUM, read 2026); prefixes stand before metric atoms.
   */
  const definitions: Readonly<Record<string, readonly [number, string]>> = {
    '[g]': [9.80665, 'm/s2'],
    N: [1, 'kg.m/s2'],
    Pa: [1, 'N/m2'],
    bar: [1e5, 'Pa'],
    L: [1, 'dm3'],
    gf: [1, 'g.[g]'],
    '[gr]': [64.79891, 'mg'],
    '[lb_av]': [7000, '[gr]'],
    '[lbf_av]': [1, '[lb_av].[g]'],
    '[in_i]': [2.54, 'cm'],
    '[ft_i]': [12, '[in_i]'],
    '[psi]': [1, '[lbf_av]/[in_i]2'],
    '[gal_us]': [231, '[in_i]3'],
    '[qt_us]': [1 / 4, '[gal_us]'],
    '[gal_br]': [4.54609, 'L'],
    '[qt_br]': [1 / 4, '[gal_br]'],
    '[pt_br]': [1 / 2, '[qt_br]'],
    min: [60, 's'],
    h: [60, 'min'],
    d: [24, 'h'],
    deg: [(2 * Math.PI) / 360, 'rad'],
    // The two with a zero of their own: here the size of a degree alone.
    Cel: [1, 'K'],
    '[degF]': [5 / 9, 'K'],
  };
  const metric = new Set(['m', 's', 'g', 'N', 'Pa', 'bar', 'L', 'gf', 'K']);
  const prefixes: Readonly<Record<string, number>> = { M: 1e6, k: 1e3, d: 1e-1, c: 1e-2, m: 1e-3, u: 1e-6 };
  const base = new Set(['m', 's', 'g', 'rad', 'K']);

  /** Value in base units; throws where the code is none. */
  const value = (code: string): number => {
    let result = 1;
    let sign = 1;
    for (const [term] of code.matchAll(/\/|\.|[^./]+/g)) {
      if (term === '.') sign = 1;
      else if (term === '/') sign = -1;
      else {
        const [, atom, power] = /^(.*?)(\d*)$/.exec(term)!;
        result *= atomValue(atom!) ** (sign * Number(power || 1));
      }
    }
    return result;
  };
  const atomValue = (atom: string): number => {
    if (base.has(atom)) return 1;
    const [factor, of] = definitions[atom] ?? [];
    if (factor !== undefined && of !== undefined) return factor * value(of);
    const prefix = prefixes[atom[0]!];
    if (prefix === undefined || !metric.has(atom.slice(1))) throw new Error(`UCUM has no ${atom}`);
    return prefix * atomValue(atom.slice(1));
  };
  /** The SI unit of each kind in base units: kg and N hold 1000 g. */
  const si = {
    torque: 1e3,
    length: 1,
    angle: 1,
    temperature: 1,
    time: 1,
    volume: 1,
    force: 1e3,
    pressure: 1e3,
    mass: 1e3,
  };

  test.each(units.map((unit) => [unit.symbol, unit] as const))(
    '%s has the size that UCUM gives its code',
    (_, unit) => {
      const size = toSI(2, unit) - toSI(1, unit);
      expect(value(ucumOf(unit)) / si[unit.kind] / size).toBeCloseTo(1, 12);
    },
  );

  test('are those of the table of reference for the units that people mix up', () => {
    const code = (symbol: string) => ucumOf(units.find((unit) => unit.symbol === symbol)!);
    expect(['lbf·ft', 'lbf·in', 'kgf·m', 'kgf·cm', 'qt', 'pt', '°F', '°C'].map(code)).toEqual([
      '[lbf_av].[ft_i]',
      '[lbf_av].[in_i]',
      'kgf.m',
      'kgf.cm',
      '[qt_us]',
      '[pt_br]',
      '[degF]',
      'Cel',
    ]);
  });
});
