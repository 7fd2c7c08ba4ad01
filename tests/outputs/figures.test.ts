import { spawnSync } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { type Figure, figuresOf } from '../../server/src/outputs/figures.ts';
import { judgeFiles } from '../checks/fixtures.ts';

const root = resolve(import.meta.dirname, '../..');
const samples = readdirSync(join(root, 'samples'), { recursive: true, encoding: 'utf8' }).filter((name) =>
  name.endsWith('.fettle'),
);

function figuresIn(sample: string): Figure[] {
  const { stdout, status } = spawnSync(
    process.execPath,
    ['server/src/cli/main.ts', 'figures', join('samples', sample), '--format', 'json'],
    {
      cwd: root,
      encoding: 'utf8',
    },
  );
  expect(status).toBe(0);
  return JSON.parse(stdout).figures;
}

const all = samples.flatMap((sample) => figuresIn(sample).map((figure) => ({ sample, ...figure })));
const ofKind = (kind: Figure['figure']) => all.filter(({ figure }) => figure === kind);
const numbers = (value: unknown): number[] => value as number[];

describe('a reviewer can recompute each figure from its inputs', () => {
  it('has every kind of figure in the samples', () => {
    expect([...new Set(all.map(({ figure }) => figure))].sort()).toEqual([
      'angle',
      'clamp load',
      'cure',
      'mounting',
      'order',
      'shims',
      'wrench',
    ]);
  });

  // VDI 2230, long form, as in shared reference §3 (from memory there): T = F·(0.159·P + 0.577·µ·d2 + 0.5·µ·DKm).
  it.each(ofKind('clamp load'))('clamp load, $sample line $line', ({ inputs, results }) => {
    const [low, mid, high] = numbers(inputs['friction']);
    for (const [i, friction] of [high!, mid!, low!].entries()) {
      const arm =
        0.1592 * Number(inputs['pitch_mm']) +
        0.577 * friction * Number(inputs['pitch_diameter_mm']) +
        0.5 * friction * Number(inputs['mean_bearing_diameter_mm']);
      const clamp = (Number(inputs['torque_Nm']) * 1000) / arm;
      expect(numbers(results['clamp_N'])[i]! / clamp).toBeCloseTo(1, 2);
    }
    if (inputs['proof_MPa'] !== null) {
      // ISO 898-1: proof load = stress under proof load × stress area.
      expect(Number(results['proof_load_N'])).toBeCloseTo(
        Number(inputs['proof_MPa']) * Number(inputs['stress_area_mm2']),
        3,
      );
    }
    if (String(inputs['thread']).startsWith('M')) {
      // ISO 724: d2 = d − 0.649519 P.
      expect(Number(inputs['pitch_diameter_mm'])).toBeCloseTo(
        Number(inputs['diameter_mm']) - 0.649519 * Number(inputs['pitch_mm']),
        4,
      );
    }
  });

  it.each(ofKind('angle'))('angle, $sample line $line', ({ inputs, results }) => {
    expect(Number(results['travel_mm'])).toBeCloseTo(
      (Number(inputs['angle_deg']) / 360) * Number(inputs['pitch_mm']),
      9,
    );
    expect(results['elastic_gain_N'] === null).toBe(inputs['grip_mm'] === null);
  });

  it('angle, with the stiffness of bolt and parts', () => {
    const text = `part bolt x4 "Bolt" thread M10 class 10.9 length 60 mm torque 30 N·m then 90°
part stud x4 "Stud" thread M10 class 10.9 length 60 mm torque 30 N·m
reassembly
  step s
    tighten stud to 35 N·m then 45° order star
    tighten bolt to 30 N·m then 60° order star
    tighten bolt to 30 N·m then 90° order star
`;
    const { model, judged } = judgeFiles([{ name: 'bolt.fettle', text }])[0]!;
    const figures = figuresOf(model, judged.ledger, defaultSettings);
    expect(figures.filter(({ figure }) => figure === 'clamp load').map(({ inputs }) => inputs['then_deg'])).toEqual([
      90,
      null,
      45,
    ]);
    const angles = figures.filter(({ figure }) => figure === 'angle');
    expect(angles.map(({ subject, line, text }) => [subject, line, text])).toEqual([
      ['bolt', 1, '90°'],
      ['stud', 5, '45°'],
      ['bolt', 6, '60°'],
    ]);
    const { inputs, results } = angles[0]!;
    // One diameter of the length in the thread; 58.0 mm² and 940 MPa (ISO 898-1), stiffness by Shigley, ch. 8, with steel at 205 GPa.
    const [d, l, As, E] = [10, 50, 58, 205_000];
    expect(inputs).toMatchObject({
      angle_deg: 90,
      diameter_mm: d,
      pitch_mm: 1.5,
      length_mm: 60,
      grip_mm: l,
      modulus_MPa: E,
    });
    const bolt = (E * As) / l;
    const parts = (0.5774 * Math.PI * E * d) / (2 * Math.log((5 * (0.5774 * l + 0.5 * d)) / (0.5774 * l + 2.5 * d)));
    expect(Number(results['elastic_gain_N']) / (0.375 / (1 / bolt + 1 / parts))).toBeCloseTo(1, 3);
    expect(Number(results['yield_load_N']) / (940 * As)).toBeCloseTo(1, 3);
    expect(Number(angles[1]!.results['elastic_gain_N']) / Number(results['elastic_gain_N'])).toBeCloseTo(0.5, 9);
  });

  it.each(ofKind('wrench'))('wrench, $sample line $line', ({ inputs, results }) => {
    const [T, L, E] = [inputs['torque_Nm'], inputs['wrench_mm'], inputs['extension_mm']].map(Number) as [
      number,
      number,
      number,
    ];
    const angle = (Number(inputs['angle_deg'] ?? 0) * Math.PI) / 180;
    const setting = inputs['wrench_mm'] === null ? T : (T * L) / (L + E * Math.cos(angle));
    expect(Number(results['setting_Nm'])).toBeCloseTo(setting, 9);
    const stages = numbers(inputs['stages_Nm']);
    expect(stages.at(-1)).toBe(T);
    for (const [i, stage] of numbers(results['stage_settings_Nm']).entries())
      expect(stage / stages[i]!).toBeCloseTo(setting / T, 9);
    for (const [i, range] of (inputs['ranges_Nm'] as number[][]).entries()) {
      expect(numbers(results['share_of_upper_end'])[i]).toBeCloseTo(setting / range[1]!, 9);
      // ISO 6789:2003 (read as quoted).
      expect(numbers(results['permitted_deviation'])[i]).toBe(range[1]! > 10 ? 0.04 : 0.06);
    }
  });

  // A stated order may be wrong, and is then found by `bad-order`; ours never is.
  it.each(ofKind('order').filter(({ inputs }) => inputs['order'] !== 'list'))(
    'order, $sample line $line',
    ({ results }) => {
      const order = numbers(results['order']);
      expect([...order].sort((a, b) => a - b)).toEqual(order.map((_, i) => i + 1));
    },
  );

  it.each(ofKind('order'))('imbalance of an order, $sample line $line', ({ inputs, results }) => {
    const order = numbers(results['order']);
    const angles = inputs['angles_deg'] as number[] | null;
    const points = inputs['points'] as [number, number][] | null;
    const count = Number(inputs['holes']);
    const at = (degrees: number): [number, number] => [
      Math.sin((degrees * Math.PI) / 180),
      Math.cos((degrees * Math.PI) / 180),
    ];
    const middle = [0, 1].map((axis) => (points ?? []).reduce((sum, point) => sum + point[axis]!, 0) / count);
    const arrows =
      points?.map(([x, y]): [number, number] => [x - middle[0]!, y - middle[1]!]) ??
      angles?.map(at) ??
      Array.from({ length: count }, (_, i) => at((360 * i) / count));
    expect(arrows).toHaveLength(count);
    if (results['imbalance'] === null) return;
    const longest = points === null ? 1 : Math.max(...arrows.map(([x, y]) => Math.hypot(x, y)));
    const whole = [0, 1].map((axis) => arrows.reduce((sum, arrow) => sum + arrow[axis]!, 0));
    const strays = order.map((_, i) => {
      const done = order.slice(0, i + 1).map((hole) => arrows[hole - 1]!);
      return Math.hypot(
        ...[0, 1].map((axis) => done.reduce((sum, arrow) => sum + arrow[axis]!, 0) - (whole[axis]! * (i + 1)) / count),
      );
    });
    expect(Number(results['imbalance'])).toBeCloseTo(Math.max(...strays) / longest, 9);
  });

  it('has orders on each kind of pattern', () => {
    expect(new Set(ofKind('order').map(({ inputs }) => inputs['pattern']))).toEqual(
      new Set(['circle', 'angles', 'points']),
    );
    expect(new Set(ofKind('order').map(({ inputs }) => inputs['order']))).toEqual(new Set(['star', 'spiral', 'list']));
  });

  it.each(ofKind('mounting'))('mounting, $sample line $line', ({ inputs, results }) => {
    const growth =
      Number(inputs['diameter_mm']) *
      1000 *
      Number(inputs['expansion_per_K']) *
      (Number(inputs['temperature_C']) - Number(inputs['ambient_C']));
    expect(Math.abs(Number(results['gained_um']))).toBeCloseTo(Math.abs(growth), 6);
    expect(results['opens']).toBe(Math.abs(growth) >= numbers(inputs['interference_um'])[1]! - 1e-6);
  });

  it.each(ofKind('shims'))('shims, $sample line $line', ({ inputs, results }) => {
    for (const [reading, pieces, result] of results['choices'] as [number, number[], number, boolean][]) {
      const stack = pieces.reduce((sum, piece) => sum + piece, 0);
      expect(result).toBeCloseTo(inputs['target'] === 'endplay' ? reading - stack : stack - reading, 6);
    }
  });

  it.each(ofKind('shims'))('rows of the card, $sample line $line', ({ inputs, results }) => {
    const [low, high] = numbers(inputs['target_um']);
    const rows = results['table_um'] as [number, number, number[] | null, number | null][];
    expect(rows.length).toBeGreaterThan(0);
    for (const [from, to, pieces, total] of rows) {
      if (pieces === null) continue;
      expect(pieces.reduce((sum, piece) => sum + piece, 0)).toBeCloseTo(total!, 6);
      for (const reading of [from, to]) {
        const result = inputs['target'] === 'endplay' ? reading - total! : total! - reading;
        expect(result).toBeGreaterThanOrEqual(low! - 1e-6);
        expect(result).toBeLessThanOrEqual(high! + 1e-6);
      }
    }
  });

  it('as text, what belongs together stands in brackets', () => {
    const { stdout } = spawnSync(process.execPath, ['server/src/cli/main.ts', 'figures', 'samples/gear-pump.fettle'], {
      cwd: root,
      encoding: 'utf8',
    });
    expect(stdout).toMatch(/= choices: \(\d+, \(\d+(?:, \d+)*\), -?\d+, (?:true|false)\), \(/);
    expect(stdout).not.toContain('null');
  });

  it.each(ofKind('cure'))('cure, $sample line $line', ({ inputs, results }) => {
    expect(Number(results['missing_min'])).toBeCloseTo(Number(inputs['cure_min']) - Number(results['elapsed_min']), 9);
  });
});
