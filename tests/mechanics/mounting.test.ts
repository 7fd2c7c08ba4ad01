import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { growth, kelvinFor, opensFit } from '../../server/src/mechanics/heating.ts';
import { pressFit } from '../../server/src/mechanics/press.ts';
import { between } from './sane.ts';

describe('heating', () => {
  it('growth and kelvin invert each other, and scale with the diameter', () => {
    fc.assert(
      fc.property(between(1, 2000), between(0, 500), between(1e-6, 5e-5), (d, um, alpha) => {
        expect(growth(d, kelvinFor(d, um, alpha)!, alpha)).toBeCloseTo(um, 8);
        expect(growth(2 * d, 60, alpha)).toBeCloseTo(2 * growth(d, 60, alpha)!, 8);
      }),
    );
  });

  it('opens at exactly the temperature it names, from either side', () => {
    const part = fc.constantFrom('outer' as const, 'inner' as const);
    fc.assert(
      fc.property(
        between(10, 500),
        between(-50, 200),
        between(0, 50),
        between(-20, 60),
        part,
        (diameter, interference, clearance, ambient, p) => {
          const mounting = { diameter, interference, clearance, ambient, part: p };
          const { temperature, needed } = opensFit({ ...mounting, temperature: ambient })!;
          fc.pre(temperature > -273);
          expect(opensFit({ ...mounting, temperature })!.opens).toBe(true);
          if (needed > 0.01) {
            const short = ambient + 0.99 * (temperature - ambient);
            const verdict = opensFit({ ...mounting, temperature: short })!;
            expect(verdict.opens).toBe(false);
            expect(verdict.missing).toBeCloseTo(Math.abs(temperature - short), 6);
          }
        },
      ),
    );
  });

  it('asks for no heat where the parts go together cold', () => {
    for (const interference of [-5, 0])
      expect(opensFit({ diameter: 60, interference, temperature: 20 })).toMatchObject({
        opens: true,
        needed: 0,
        kelvin: 0,
      });
  });
});

describe('press fits', () => {
  const press = fc
    .record({
      diameter: between(5, 500),
      wall: between(1.05, 5),
      bored: between(0, 0.95),
      length: between(1, 500),
      friction: between(0.01, 0.5),
    })
    .map(({ diameter, wall, bored, ...rest }) => ({
      ...rest,
      diameter,
      hub: diameter * wall,
      shaftBore: diameter * bored,
    }));

  it('everything rises with the interference; torque is force on its radius; the hub carries more than the pressure', () => {
    fc.assert(
      fc.property(press, between(1, 200), (p, interference) => {
        const [once, twice] = [pressFit({ ...p, interference })!, pressFit({ ...p, interference: 2 * interference })!];
        for (const key of ['pressure', 'hubHoop', 'hubEquivalent', 'shaftHoop', 'force', 'torque'] as const) {
          expect(twice[key] / once[key]).toBeCloseTo(2, 9);
        }
        expect(once.torque).toBeCloseTo((once.force * p.diameter) / 2000, 6);
        expect(once.hubHoop).toBeGreaterThan(once.pressure);
        expect(once.shaftHoop).toBeLessThanOrEqual(-once.pressure);
      }),
    );
  });

  it('keeps its pressure when every length is scaled', () => {
    fc.assert(
      fc.property(press, between(1, 200), between(0.1, 10), (p, interference, k) => {
        const scaled = {
          ...p,
          diameter: k * p.diameter,
          hub: k * p.hub,
          shaftBore: k * p.shaftBore,
          interference: k * interference,
        };
        expect(pressFit(scaled)!.pressure / pressFit({ ...p, interference })!.pressure).toBeCloseTo(1, 9);
      }),
    );
  });
});
