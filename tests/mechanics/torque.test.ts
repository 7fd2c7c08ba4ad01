import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { propertyClass } from '../../server/src/mechanics/strength.ts';
import { parseThread, type Thread } from '../../server/src/mechanics/threads.ts';
import {
  angleGain,
  bearingFace,
  clampAtUtilisation,
  clampBand,
  clampForTorque,
  equivalentStress,
  type Joint,
  judgeClamp,
  oddTorque,
  plausibleTorque,
  TORQUE_UNITS,
  type TorqueUnit,
  torqueForClamp,
} from '../../server/src/mechanics/torque.ts';
import { between } from './sane.ts';

const thread = fc
  .constantFrom(
    'M3',
    'M5',
    'M8',
    'M8x1',
    'M12',
    'M16x1.5',
    'M24',
    'M39',
    'M64',
    '6-32',
    '1/4-20',
    '1/2-20',
    '1-8',
    'M21x2',
  )
  .map((text) => parseThread(text)!);

const joint: fc.Arbitrary<Joint> = fc.record({
  thread,
  threadFriction: between(0.01, 0.5),
  headFriction: fc.option(between(0, 0.5), { nil: undefined }),
  head: fc.constantFrom('hexagon' as const, 'socket' as const),
  prevailing: fc.option(between(0, 20), { nil: undefined }),
});

const close = (a: number | undefined, b: number) =>
  expect(Math.abs(a! - b)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(b)));

describe('torque and clamp', () => {
  it('are each the inverse of the other', () => {
    fc.assert(
      fc.property(joint, between(1, 1e6), (j, clamp) => {
        const { total } = torqueForClamp(clamp, j)!;
        close(clampForTorque(total, j)! / clamp, 1);
      }),
    );
  });

  it('shares add up, and only the pitch share stretches the bolt', () => {
    fc.assert(
      fc.property(joint, between(1, 1e6), (j, clamp) => {
        const shares = torqueForClamp(clamp, j)!;
        close(shares.pitch + shares.thread + shares.bearing + shares.prevailing, shares.total);
        // Work: one turn lifts the pitch, so that 2π T of the pitch share is clamp times pitch.
        close((shares.pitch * 1000 * 2 * Math.PI) / (clamp * j.thread.pitch), 1);
      }),
    );
  });

  it('scale: twice the clamp takes twice the torque, twice the size too', () => {
    fc.assert(
      fc.property(joint, between(1, 1e5), between(0.1, 10), (j, clamp, k) => {
        const [once, scaled] = [torqueForClamp(clamp, j)!, torqueForClamp(k * clamp, j)!];
        close(scaled.total - scaled.prevailing, k * (once.total - once.prevailing));
        const larger: Thread = { ...j.thread, diameter: k * j.thread.diameter, pitch: k * j.thread.pitch };
        const bearingDiameter = bearingFace(j.thread)!.mean;
        const small = torqueForClamp(clamp, { ...j, bearingDiameter })!;
        const large = torqueForClamp(clamp, { ...j, thread: larger, bearingDiameter: k * bearingDiameter })!;
        close((large.total - large.prevailing) / (k * (small.total - small.prevailing)), 1);
      }),
    );
  });

  it('the prevailing torque comes first', () => {
    const lock: Joint = { thread: parseThread('M8')!, threadFriction: 0.12, prevailing: 4 };
    expect(clampForTorque(3.9, lock)).toBe(0);
    close(clampForTorque(14, lock), clampForTorque(10, { ...lock, prevailing: 0 })!);
  });

  it('clamp at a utilisation makes exactly that equivalent stress', () => {
    fc.assert(
      fc.property(thread, between(100, 1200), between(0, 0.5), between(0.1, 1), (t, yieldPoint, mu, share) => {
        const clamp = clampAtUtilisation(t, yieldPoint, mu, share)!;
        close(equivalentStress(t, clamp, mu), share * yieldPoint);
      }),
    );
  });
});

describe('clamp band', () => {
  it('runs from high to low friction, and a share of 1 is the proof load', () => {
    fc.assert(
      fc.property(
        thread,
        between(0.1, 500),
        fc.constantFrom('dry', 'oiled', 'paste', 'threadlock', 'unstated'),
        (t, torque, condition) => {
          const strength = propertyClass('8.8', t.diameter)!;
          const { low, mid, high } = clampBand({ thread: t, torque, condition: condition as 'dry', strength })!;
          expect(low.clamp).toBeLessThan(mid.clamp);
          expect(mid.clamp).toBeLessThan(high.clamp);
          expect(low.friction).toBeGreaterThan(high.friction);
          close(mid.proofShare! / mid.yieldShare!, strength.yield / strength.proof);
          expect(mid.equivalentStress).toBeGreaterThan((mid.proofShare! * strength.proof) / 1.0001);
        },
      ),
    );
  });

  it('takes a band of the caller, and none that runs backwards', () => {
    const t = parseThread('M8')!;
    expect(
      clampBand({ thread: t, torque: 20, friction: { low: 0.1, mid: 0.1, high: 0.1 } })!.low.proofShare,
    ).toBeUndefined();
    expect(clampBand({ thread: t, torque: 20, friction: { low: 0.2, mid: 0.1, high: 0.1 } })).toBeUndefined();
    expect(clampBand({ thread: t, torque: 20, condition: 'wet' as 'dry' })).toBeUndefined();
  });

  it('judges: past proof, past yield at low friction, too slack', () => {
    const judge = (torque: number) =>
      judgeClamp(clampBand({ thread: parseThread('M8')!, torque, strength: propertyClass('8.8', 8)! })!);
    expect(judge(40)).toEqual({ over: 'proof', under: false });
    expect(judge(30)).toEqual({ over: 'yield', under: false });
    expect(judge(25)).toEqual({ over: undefined, under: false });
    expect(judge(5)).toEqual({ over: undefined, under: true });
    expect(judgeClamp(clampBand({ thread: parseThread('M8')!, torque: 25 })!)).toBeUndefined();
  });
});

describe('torque, then an angle', () => {
  it('gains in proportion to the angle, less on a longer grip', () => {
    fc.assert(
      fc.property(thread, between(1, 360), between(5, 200), (t, angle, grip) => {
        const once = angleGain({ thread: t, angle, grip })!;
        close(angleGain({ thread: t, angle: 2 * angle, grip })!.clamp! / once.clamp!, 2);
        expect(angleGain({ thread: t, angle, grip: 2 * grip })!.clamp).toBeLessThan(once.clamp!);
        expect(once.stretch).toBeLessThan(once.travel);
      }),
    );
  });

  it('knows only the travel without a grip', () => {
    expect(angleGain({ thread: parseThread('M10')!, angle: 90 })).toEqual({
      travel: 0.375,
      stiffness: undefined,
      stretch: undefined,
      clamp: undefined,
    });
  });
});

describe('odd sizes', () => {
  it.each([
    [2400, 'N·m', 'M8', { kind: 'slipped decimal', factor: 0.01 }],
    [250, 'N·m', 'M8', { kind: 'slipped decimal', factor: 0.1 }],
    [0.25, 'N·m', 'M8', { kind: 'slipped decimal', factor: 100 }],
    [25, 'kgf·m', 'M8', { kind: 'swapped unit', unit: 'N·m' }],
    [220, 'lbf·ft', 'M8', { kind: 'swapped unit', unit: 'lbf·in' }],
    [3, 'kgf·cm', 'M10', { kind: 'swapped unit', unit: 'kgf·m' }],
    [75, 'lbf·ft', '1/4-20', { kind: 'swapped unit', unit: 'lbf·in' }],
  ] as const)('%d %s on %s', (value, unit, text, slip) => {
    expect(oddTorque(value, unit, parseThread(text)!)?.slips).toContainEqual(expect.objectContaining(slip));
  });

  it('answers nothing for a torque that is none', () => {
    expect(oddTorque(-2400, 'N·m', parseThread('M8')!)).toBeUndefined();
    expect(oddTorque(Number.NaN, 'N·m', parseThread('M8')!)).toBeUndefined();
  });

  it('answers nothing for a strength whose proof load is out of range', () => {
    const strength = { proof: 1e12, yield: 1, tensile: 1, covered: false };
    expect(oddTorque(0, 'N·m', parseThread('M8')!, strength)).toBeUndefined();
  });

  it('is silent inside the plausible range; every slip it names lies inside', () => {
    const unit = fc.constantFrom(...(Object.keys(TORQUE_UNITS) as TorqueUnit[]));
    fc.assert(
      fc.property(thread, between(0, 1e6), unit, (t, value, u) => {
        const { low, high } = plausibleTorque(t)!;
        const odd = oddTorque(value, u, t);
        const stated = value * TORQUE_UNITS[u];
        expect(odd === undefined).toBe(stated >= low && stated <= high);
        for (const slip of odd?.slips ?? []) {
          expect(slip.torque).toBeGreaterThanOrEqual(low);
          expect(slip.torque).toBeLessThanOrEqual(high);
          close(slip.torque, slip.kind === 'swapped unit' ? value * TORQUE_UNITS[slip.unit] : stated * slip.factor);
        }
      }),
    );
  });
});
