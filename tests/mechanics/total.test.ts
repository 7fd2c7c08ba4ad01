import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as mechanics from '../../server/src/mechanics/index.ts';
import { between, anyNumber as n, unsound } from './sane.ts';

const text = fc.oneof(
  fc.string({ maxLength: 8 }),
  fc.constantFrom('M8', '1/4-20', 'H7', 'k6', 'H7/k6', '8.8', '5', 'N7', 'r6'),
);
const thread: fc.Arbitrary<mechanics.Thread> = fc.oneof(
  fc.constantFrom('M8', 'M3', 'M64-LH', '1/4-20').map((t) => mechanics.parseThread(t)!),
  fc.record({
    system: fc.constantFrom('metric' as const, 'unified' as const),
    designation: fc.constant('any'),
    leftHand: fc.boolean(),
    diameter: n,
    pitch: n,
    series: fc.constant(undefined),
    listed: fc.constant(false),
  }),
);
const strength = fc.record({ proof: n, yield: n, tensile: n, covered: fc.boolean() });
const maybe = <T>(arbitrary: fc.Arbitrary<T>) => fc.option(arbitrary, { nil: undefined });
const joint = fc.record({
  thread,
  threadFriction: n,
  headFriction: maybe(n),
  bearingDiameter: maybe(n),
  prevailing: maybe(n),
});
const friction = fc.record({ low: n, mid: n, high: n });
const adapter = fc.record({ wrench: n, extension: n, angle: maybe(n) });
const elastic = maybe(fc.record({ modulus: n, poisson: n }));
const press = fc.record({
  diameter: n,
  hub: n,
  shaftBore: maybe(n),
  length: n,
  interference: n,
  friction: n,
  hubMaterial: elastic,
  shaftMaterial: elastic,
});
const order = fc.array(n, { maxLength: 12 });
const holes: fc.Arbitrary<mechanics.Holes> = fc.oneof(
  fc.record({ kind: fc.constant('circle' as const), count: n }),
  fc.record({ kind: fc.constant('angles' as const), angles: fc.array(n, { maxLength: 12 }) }),
  fc.record({ kind: fc.constant('points' as const), points: fc.array(fc.record({ x: n, y: n }), { maxLength: 12 }) }),
);
const unit = fc.constantFrom('N·m' as const, 'lbf·ft' as const, 'lbf·in' as const, 'kgf·m' as const, 'kgf·cm' as const);
const style = fc.constantFrom('star' as const, 'spiral' as const);
const mounting = fc.record({
  diameter: n,
  interference: n,
  clearance: maybe(n),
  temperature: n,
  ambient: maybe(n),
  expansion: maybe(n),
  part: fc.constantFrom('outer' as const, 'inner' as const),
});

// biome-ignore lint/suspicious/noExplicitAny: each function is given what it takes, by name
const CALLS: Record<string, [fn: (...args: any[]) => unknown, ...args: fc.Arbitrary<unknown>[]]> = {
  parseThread: [mechanics.parseThread, text],
  threadGeometry: [mechanics.threadGeometry, thread],
  nearestListed: [mechanics.nearestListed, thread],
  propertyClass: [mechanics.propertyClass, text, n],
  saeGrade: [mechanics.saeGrade, text, n],
  strengthLoads: [mechanics.strengthLoads, thread, strength],
  bearingFace: [mechanics.bearingFace, thread],
  torqueForClamp: [mechanics.torqueForClamp, n, joint],
  clampForTorque: [mechanics.clampForTorque, n, joint],
  shortTorque: [mechanics.shortTorque, n, n, n],
  nutFactor: [mechanics.nutFactor, joint],
  clampAtUtilisation: [mechanics.clampAtUtilisation, thread, n, n, n],
  equivalentStress: [mechanics.equivalentStress, thread, n, n, n],
  clampBand: [
    mechanics.clampBand,
    fc.record({
      thread,
      torque: n,
      friction: maybe(friction),
      bearingDiameter: maybe(n),
      prevailing: maybe(n),
      strength: maybe(strength),
    }),
  ],
  angleGain: [
    mechanics.angleGain,
    fc.record({ thread, angle: n, grip: maybe(n), shank: maybe(n), boltModulus: maybe(n), partModulus: maybe(n) }),
  ],
  plausibleTorque: [mechanics.plausibleTorque, thread],
  oddTorque: [mechanics.oddTorque, n, unit, thread, maybe(strength)],
  starOrder: [mechanics.starOrder, n],
  spiralOrder: [mechanics.spiralOrder, n],
  starBound: [mechanics.starBound, n],
  tighteningOrder: [mechanics.tighteningOrder, holes, style],
  stagedPasses: [mechanics.stagedPasses, fc.array(fc.nat(20), { maxLength: 8 }), fc.array(n, { maxLength: 4 })],
  orderImbalance: [mechanics.orderImbalance, order, holes],
  rotationalSymmetry: [mechanics.rotationalSymmetry, holes, n],
  adapterSetting: [mechanics.adapterSetting, n, adapter],
  torqueAtSetting: [mechanics.torqueAtSetting, n, adapter],
  rangeUse: [mechanics.rangeUse, n, n, n],
  wrenchTolerance: [mechanics.wrenchTolerance, n],
  standardTolerance: [mechanics.standardTolerance, n, n],
  shaftLimits: [mechanics.shaftLimits, n, text],
  boreLimits: [mechanics.boreLimits, n, text],
  fit: [mechanics.fit, n, text],
  bearingOnShaft: [mechanics.bearingOnShaft, n, text],
  bearingInHousing: [mechanics.bearingInHousing, n, text],
  growth: [mechanics.growth, n, n, n],
  kelvinFor: [mechanics.kelvinFor, n, n, n],
  opensFit: [mechanics.opensFit, mounting],
  pressFit: [mechanics.pressFit, press],
};

describe('no figure is NaN or infinite, and nothing throws, whatever goes in', () => {
  it.each(Object.entries(CALLS))('%s', (_, [fn, ...args]) => {
    fc.assert(
      fc.property(fc.tuple(...args), (values) => {
        expect(unsound(fn(...values))).toBeUndefined();
      }),
      { numRuns: 1000 },
    );
  });

  it('judging takes any order on any pattern', () => {
    fc.assert(
      fc.property(order, holes, (o, h) => void mechanics.judgeOrder(o, h)),
      { numRuns: 1000 },
    );
  });

  it('plans take any durations', () => {
    const activity = fc.record({
      id: fc.constantFrom('a', 'b', 'c', 'd'),
      duration: n,
      after: fc.array(fc.constantFrom('a', 'b', 'c', 'd'), { maxLength: 2 }),
      hands: maybe(n),
    });
    fc.assert(
      fc.property(fc.uniqueArray(activity, { maxLength: 4, selector: (a) => a.id }), n, (list, hands) => {
        for (const answer of [mechanics.plan(list), mechanics.crewSchedule(list, hands)]) {
          if (!('problem' in answer)) expect(unsound(answer)).toBeUndefined();
        }
      }),
      { numRuns: 1000 },
    );
  });

  it('usual figures do give an answer', () => {
    const threads = fc.constantFrom('M6', 'M8', 'M12x1.25', '3/8-16').map((t) => mechanics.parseThread(t)!);
    fc.assert(
      fc.property(threads, between(1, 200), between(5, 60), (t, torque, grip) => {
        expect(
          mechanics.clampBand({ thread: t, torque, strength: mechanics.propertyClass('8.8', t.diameter)! }),
        ).toBeDefined();
        expect(mechanics.angleGain({ thread: t, angle: 90, grip })?.clamp).toBeGreaterThan(0);
      }),
    );
  });
});
