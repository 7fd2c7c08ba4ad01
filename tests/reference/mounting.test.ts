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
