import { describe, expect, it } from 'vitest';
import { bearingOnShaft } from '../../server/src/mechanics/fits.ts';
import { EXPANSION, growth, HEATING_LIMITS, kelvinFor, opensFit } from '../../server/src/mechanics/heating.ts';
import { pressFit, STEEL } from '../../server/src/mechanics/press.ts';
import { expectNear, expectRounded } from './near.ts';

describe('heating', () => {
  // Read: a maker's table of bore growth, 50 mm from 20 °C; it comes to 10.9e-6 /K, up to 125 °C.
  it.each([
    [75, 30.0],
    [100, 43.6],
    [125, 57.3],
  ])('50 mm at %d °C grows %d µm', (celsius, micrometres) => {
    expectNear(growth(50, celsius - 20, 10.9e-6), micrometres, 0.002);
  });

  // Reference, section 6: 50 mm m6, greatest interference 37 µm: 59 K (computed there).
  it('50 mm m6 needs 59 K', () => {
    const { max } = bearingOnShaft(50, 'm6')!.interference;
    expectRounded(kelvinFor(50, max), 59, 1);
    expect(opensFit({ diameter: 50, interference: max, temperature: 80 })?.opens).toBe(true);
    const cool = opensFit({ diameter: 50, interference: max, temperature: 60 })!;
    expect(cool.opens).toBe(false);
    expectRounded(cool.missing, 19.2, 0.1);
    expectRounded(cool.temperature, 79.2, 0.1);
  });

  it('cools a shaft as it heats a ring', () => {
    const cold = opensFit({ diameter: 50, interference: 37, temperature: -60, part: 'inner' })!;
    expect(cold.opens).toBe(true);
    expectRounded(cold.gained, 50, 0.1);
    expectRounded(cold.temperature, -39.2, 0.1);
    expect(opensFit({ diameter: 50, interference: 37, temperature: 80, part: 'inner' })?.opens).toBe(false);
  });

  // Read: makers' handbooks.
  it('knows the limits of bearings', () => expect(HEATING_LIMITS).toEqual({ open: 120, sealed: 80 }));

  // The rule by which the temperature to join at is reckoned in a public page on shrink fits, read: both sides move, the ring
  // from room temperature, Δ + clearance ≤ α D (T − T room). Recomputed for a 60 mm p6 shaft (51 µm) in a Normal ring (15 µm).
  it('a ring on a p6 shaft, with clearance to slip it on', () => {
    const { max } = bearingOnShaft(60, 'p6')!.interference;
    expect(max).toBe(51 + 15);
    const mounting = { diameter: 60, interference: max, clearance: 20, temperature: 120 };
    const rise = (66 + 20) / (12.5e-6 * 60_000);
    expectNear(opensFit(mounting)?.temperature, 20 + rise, 1e-9);
    expect(opensFit(mounting)?.opens).toBe(false);
    expect(opensFit({ ...mounting, temperature: 135 })?.opens).toBe(true);
  });

  // Callister, appendix B, from memory: plain carbon steel 1020 11.7, stainless steel 304 17.2; grey cast iron read in a public table.
  it.each([
    ['steel', 11.7],
    ['stainless steel', 17.2],
    ['grey iron', 10.8],
  ] as const)('%s: %d millionths per kelvin', (material, millionths) => {
    expectNear(EXPANSION[material], millionths * 1e-6, 1e-12);
  });

  // Read: Callister, appendix B (6061, C93200, C26000, 356.0, ductile 60-40-18); a maker's catalogue (bearing steel).
  it.each([
    ['aluminium', 23.6],
    ['cast aluminium', 21.5],
    ['bronze', 18],
    ['brass', 19.9],
    ['ductile iron', 11.2],
    ['bearing steel', 12.5],
  ] as const)('%s: %d millionths per kelvin', (material, millionths) => {
    expectNear(EXPANSION[material], millionths * 1e-6, 1e-12);
  });
});

describe('press fits', () => {
  const read = { diameter: 100, hub: 150, length: 50, interference: 100, friction: 0.15 };

  // Read: worked example; solid shaft, 0.1 mm on the diameter, 210 GPa.
  it('100 mm in a 150 mm hub', () => {
    const figures = pressFit(read)!;
    expectNear(figures.pressure, 58.3, 0.001);
    expectNear(figures.hubHoop, 151.7, 0.001);
    expectNear(figures.torque, 6870, 0.001);
    expectNear(figures.force, 137_400, 0.001);
  });

  // Read: two public worked examples of a 50 mm shaft in an 80 mm hub, 0.04 mm on the diameter, 40 mm long.
  const steel = (modulus: number) => ({
    hubMaterial: { modulus, poisson: 0.3 },
    shaftMaterial: { modulus, poisson: 0.3 },
  });
  const gear = { diameter: 50, hub: 80, length: 40, interference: 40 };
  it('50 mm in an 80 mm hub, 200 GPa, friction 0.15', () => {
    const figures = pressFit({ ...gear, friction: 0.15, ...steel(200_000) })!;
    expectRounded(figures.pressure, 48.75, 0.01);
    expectRounded(figures.force, 45_950, 10);
    expectRounded(figures.torque, 1149, 1);
    expectRounded(figures.hubHoop, 111.3, 0.1);
  });
  it('50 mm in an 80 mm hub, 210 GPa, friction 0.12', () => {
    const figures = pressFit({ ...gear, friction: 0.12, ...steel(210_000) })!;
    expectRounded(figures.force, 38_600, 100);
    expectRounded(figures.torque, 965, 1);
    expectRounded(figures.hubHoop, 117, 1);
    const tighter = pressFit({ ...gear, interference: 60, friction: 0.12, ...steel(210_000) })!;
    expectRounded(tighter.pressure, 77, 1);
    expect(tighter.torque).toBeGreaterThan(1400);
  });

  // Timoshenko, Strength of Materials, thick cylinders, from memory: how far a radius r of a ring from a to b moves under
  // pressure p inside and q outside, u = (1 − ν)/E·(a²p − b²q)r/(b² − a²) + (1 + ν)/E·a²b²(p − q)/((b² − a²)r). The two
  // sides of the joint part by the interference; the stresses at the hub's bore are those of the same theory.
  it.each([
    ['a cast-iron hub on a hollow steel shaft', 40, 90, 15, { modulus: 100_000, poisson: 0.21 }, STEEL],
    ['a bronze bush on a solid steel shaft', 30, 42, 0, { modulus: 110_000, poisson: 0.34 }, STEEL],
    ['a steel hub on an aluminium tube', 60, 80, 50, STEEL, { modulus: 69_000, poisson: 0.33 }],
  ] as const)('%s', (_, diameter, hub, shaftBore, hubMaterial, shaftMaterial) => {
    const figures = pressFit({ ...gear, diameter, hub, shaftBore, friction: 0.1, hubMaterial, shaftMaterial })!;
    const { pressure } = figures;
    const moved = ({ modulus, poisson }: typeof STEEL, a: number, b: number, p: number, q: number, r: number): number =>
      ((1 - poisson) * (a * a * p - b * b * q) * r) / (modulus * (b * b - a * a)) +
      ((1 + poisson) * a * a * b * b * (p - q)) / (modulus * (b * b - a * a) * r);
    const c = diameter / 2;
    const apart =
      moved(hubMaterial, c, hub / 2, pressure, 0, c) - moved(shaftMaterial, shaftBore / 2, c, 0, pressure, c);
    expectNear(2 * apart * 1000, gear.interference, 1e-9);
    const [a2, b2] = [c * c, (hub / 2) ** 2];
    const hoop = (pressure * (b2 + a2)) / (b2 - a2);
    const radial = -pressure;
    expectNear(figures.hubHoop, hoop, 1e-9);
    // Von Mises of two principal stresses, the third being zero.
    const equivalent = Math.sqrt(((hoop - radial) ** 2 + radial ** 2 + hoop ** 2) / 2);
    expectNear(figures.hubEquivalent, equivalent, 1e-9);
  });

  // Recomputed: one material and a solid shaft make p = E δ (D² − d²)/(2 d D²), Poisson's ratio falling out.
  it.each([
    [100, 150],
    [30, 62],
    [12, 40],
  ])('%d mm in %d mm: the short formula', (d, D) => {
    const figures = pressFit({ ...read, diameter: d, hub: D, interference: 20 })!;
    expectNear(figures.pressure, (STEEL.modulus * 0.02 * (D ** 2 - d ** 2)) / (2 * d * D ** 2), 1e-9);
  });

  // Recomputed: a hollow shaft of one material, p = E δ (D² − d²)(d² − b²)/(2 d³ (D² − b²)).
  it('a hollow shaft', () => {
    const [d, D, b] = [60, 100, 30];
    const figures = pressFit({ ...read, diameter: d, hub: D, shaftBore: b })!;
    const pressure = (STEEL.modulus * 0.1 * (D ** 2 - d ** 2) * (d ** 2 - b ** 2)) / (2 * d ** 3 * (D ** 2 - b ** 2));
    expectNear(figures.pressure, pressure, 1e-9);
    expectNear(figures.shaftHoop, (-2 * pressure * d ** 2) / (d ** 2 - b ** 2), 1e-9);
  });
});
