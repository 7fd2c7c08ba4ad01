import { describe, expect, it } from 'vitest';
import {
  adapterSetting,
  bearingFace,
  chooseShims,
  crewSchedule,
  EXPANSION,
  equivalentStress,
  growth,
  judgeOrder,
  kelvinFor,
  nearestListed,
  nutFactor,
  opensFit,
  orderImbalance,
  type Plan,
  parseThread,
  plan,
  plausibleTorque,
  pressFit,
  propertyClass,
  rangeUse,
  rotationalSymmetry,
  spiralOrder,
  starOrder,
  strengthLoads,
  type Thread,
  threadFault,
  threadGeometry,
  tighteningOrder,
  torqueForClamp,
  type WorstReading,
  worstReading,
  wrenchTolerance,
} from '../../server/src/mechanics/index.ts';

// Steel, grey iron: read in public tables; stainless 304 from memory. Millionths per kelvin.
describe('expansion', () => {
  it.each([
    ['steel', 11.7],
    ['grey iron', 10.8],
    ['stainless steel', 17.2],
  ] as const)('%s', (material, millionths) => expect(EXPANSION[material] * 1e6).toBeCloseTo(millionths, 9));

  it('nothing below absolute zero, and a fit with clearance is open already', () => {
    const fit = { diameter: 50, interference: -5, temperature: 20 };
    expect(opensFit(fit)).toMatchObject({ opens: true, needed: 0, kelvin: 0, missing: 0, temperature: 20 });
    for (const wrong of [
      { temperature: -274 },
      { ambient: -274 },
      { clearance: -1 },
      { diameter: 0 },
      { interference: Number.NaN },
    ])
      expect(opensFit({ ...fit, ...wrong }), JSON.stringify(wrong)).toBeUndefined();
    expect(opensFit({ ...fit, temperature: -273.15, part: 'inner' })).toBeDefined();
    // What the verdict asks for is enough, a hundredth of a kelvin less is not.
    for (const part of ['outer', 'inner'] as const) {
      const tight = { diameter: 50, interference: 30, clearance: 10, temperature: 20, ambient: 15, part };
      const { temperature, needed, kelvin } = opensFit(tight)!;
      expect(needed).toBe(40);
      expect(kelvin).toBeCloseTo(40 / (50_000 * 12.5e-6), 9);
      expect(opensFit({ ...tight, temperature })?.opens).toBe(true);
      const short = temperature + (part === 'outer' ? -0.01 : 0.01);
      expect(opensFit({ ...tight, temperature: short })).toMatchObject({ opens: false });
      expect(opensFit({ ...tight, temperature: short })!.missing).toBeCloseTo(0.01, 6);
    }
  });
  it('heat opens by diameter times kelvin times expansion', () => {
    expect(growth(100, 10, 12e-6)).toBeCloseTo(12, 9);
    expect(growth(100, -10, 12e-6)).toBeCloseTo(-12, 9);
    expect(growth(100, 10)).toBeCloseTo(12.5, 9);
    expect(kelvinFor(100, 12, 12e-6)).toBeCloseTo(10, 9);
    for (const [diameter, expansion] of [
      [0, 12e-6],
      [-1, 12e-6],
      [100, 0],
    ] as const) {
      expect(growth(diameter, 10, expansion)).toBeUndefined();
      expect(kelvinFor(diameter, 10, expansion)).toBeUndefined();
    }
    expect(kelvinFor(100, -1)).toBeUndefined();
  });
});

describe('threads at their edges', () => {
  it.each([
    ['M0.2x0.05', /no metric thread/],
    ['M1001x6', /no metric thread/],
    ['M8x6', /does not fit on M8/],
    ['M8x0', /does not fit on M8/],
    ['M15', /has no coarse pitch/],
    ['#13-20', /end at 12/],
    ['#1/4-20', /whole number/],
    ['1/1-20', /below one/],
    ['3/2-20', /below one/],
    ['1/0-20', /below one/],
    ['0/4-20', /zero/],
    ['1/4-0', /do not fit/],
    ['1/4-5', /do not fit/],
    ['1/4', /threads per inch are missing/],
    ['#10', /threads per inch are missing/],
    ['bolt', /is written M8x1.25/],
  ])('%s is none: %s', (text, why) => {
    expect(parseThread(text)).toBeUndefined();
    expect(threadFault(text)).toMatch(why);
  });
  it.each(['M0.25x0.075', 'M1000x6', 'M8x5', '1/4-6', '1/4-1.00', '2-1', '#0-80', '#12-24'])(
    '%s fits, just',
    (text) => {
      // 1.5 pitches may be as much as the diameter.
      const thread = parseThread(text);
      if (thread === undefined) expect(threadFault(text)).toMatch(/do not fit/);
      else expect(1.5 * thread.pitch).toBeLessThanOrEqual(thread.diameter * (1 + 1e-12));
    },
  );
  it('a whole number is an inch size where the standard lists it, a number size from 20 threads per inch on', () => {
    const inches = (text: string): number => parseThread(text)!.diameter / 25.4;
    expect(inches('8-32')).toBeCloseTo(0.164, 9);
    expect(inches('12-28')).toBeCloseTo(0.216, 9);
    expect(inches('1-8')).toBeCloseTo(1, 9);
    expect(inches('2-4.5')).toBeCloseTo(2, 9);
    expect(inches('10-20')).toBeCloseTo(0.19, 9);
    expect(inches('10-19')).toBeCloseTo(10, 9);
    expect(inches('13-20')).toBeCloseTo(13, 9);
    expect(inches('1-1/8-7')).toBeCloseTo(1.125, 9);
  });
  it('a coarse odd pitch is a thread as long as one and a half fit on the diameter', () => {
    expect(parseThread('1/4-7')?.listed).toBe(false);
    expect(parseThread('1/4-6')?.listed).toBe(false);
    expect(parseThread('1/4-5.99')).toBeUndefined();
    expect(parseThread('M9x6')?.listed).toBe(false);
    expect(parseThread('M9x6.01')).toBeUndefined();
  });
  it('the nearest listed one: by diameter, then by pitch, of the same system', () => {
    expect(nearestListed(parseThread('M8x1.1')!)?.designation).toBe('M8x1');
    expect(nearestListed(parseThread('M8x1.2')!)?.designation).toBe('M8x1.25');
    expect(nearestListed(parseThread('M8.4x1.25')!)?.designation).toBe('M8x1.25');
    expect(nearestListed(parseThread('M13x1.75')!)?.designation).toBe('M12x1.75');
    expect(nearestListed(parseThread('1/4-22')!)?.designation).toBe('1/4-20');
    expect(nearestListed(parseThread('1/4-30')!)?.designation).toMatch(/^1\/4-(28|32)$/);
    expect(nearestListed(parseThread('#10-30')!)?.designation).toBe('10-32');
    expect(nearestListed({ ...parseThread('M8')!, pitch: 0 })).toBeUndefined();
    expect(nearestListed({ ...parseThread('M8')!, diameter: -8 })).toBeUndefined();
  });
  const thread: Thread = parseThread('M8')!;
  it('without core or size there is no strength', () => {
    const strength = propertyClass('8.8', 8)!;
    expect(strengthLoads({ ...thread, pitch: 7 }, strength)).toBeUndefined();
    for (const key of ['proof', 'yield', 'tensile'] as const)
      expect(strengthLoads(thread, { ...strength, [key]: 0 }), key).toBeUndefined();
    expect(bearingFace({ ...thread, diameter: 0 })).toBeUndefined();
  });
});

describe('torque', () => {
  const joint = { thread: parseThread('M10')!, threadFriction: 0.12 };
  it('is linear in clamp load and rises with friction; a prevailing torque is added', () => {
    const once = torqueForClamp(10_000, joint)!;
    expect(torqueForClamp(20_000, joint)!.total).toBeCloseTo(2 * once.total, 9);
    expect(torqueForClamp(10_000, { ...joint, prevailing: 3 })!.total).toBeCloseTo(once.total + 3, 9);
    expect(torqueForClamp(0, joint)!.total).toBe(0);
    // VDI 2230: pitch 0.159 P, thread 0.577 d2 µ, bearing 0.5 DKm µ, for each newton.
    expect(once.pitch).toBeCloseTo((10_000 * 0.159155 * 1.5) / 1000, 4);
    expect(once.thread).toBeCloseTo((10_000 * 0.57735 * 9.02572 * 0.12) / 1000, 3);
    expect(once.bearing).toBeCloseTo((10_000 * 0.5 * ((14.63 + 11) / 2) * 0.12) / 1000, 4);
    expect(nutFactor(joint)).toBeCloseTo(once.total / 100, 9);
  });
  // VDI 2230 since 2001: torsion of the plastic section, τ = T / (π d0³ / 12); von Mises √3 τ where nothing pulls.
  it('a prevailing torque twists without pulling', () => {
    const d0 = threadGeometry(joint.thread)!.stressDiameter;
    expect(equivalentStress(joint.thread, 0, 0.12, 10)).toBeCloseTo(
      (Math.sqrt(3) * 10_000 * 12) / (Math.PI * d0 ** 3),
      6,
    );
    expect(equivalentStress(joint.thread, 0, 0.12)).toBe(0);
    expect(equivalentStress(joint.thread, -1, 0.12)).toBeUndefined();
    expect(equivalentStress(joint.thread, 1, 0.12, -1)).toBeUndefined();
  });
  it('friction is from 0 to 2', () => {
    expect(torqueForClamp(10_000, { ...joint, threadFriction: 2 })).toBeDefined();
    expect(torqueForClamp(10_000, { ...joint, threadFriction: 2.01 })).toBeUndefined();
    expect(torqueForClamp(10_000, { ...joint, threadFriction: -0.01 })).toBeUndefined();
    expect(torqueForClamp(10_000, { ...joint, headFriction: 2.01 })).toBeUndefined();
    expect(torqueForClamp(10_000, { ...joint, threadFriction: 0 })).toMatchObject({ thread: 0, bearing: 0 });
  });
  // A tenth of the proof load of 4.6 at friction 0.08; the tensile load of 12.9 at 0.20; M10 with As 57.99 (ISO 898-1).
  it('is plausible from a weak bolt hardly turned to a strong one broken', () => {
    const arm = (friction: number): number => 0.159155 * 1.5 + (0.57735 * 9.02572 + 0.5 * 12.815) * friction;
    const { low, high } = plausibleTorque(joint.thread)!;
    expect(low).toBeCloseTo((0.1 * 225 * 57.99 * arm(0.08)) / 1000, 2);
    expect(high).toBeCloseTo((1220 * 57.99 * arm(0.2)) / 1000, 0);
  });
});

describe('wrenches', () => {
  it.each([
    [10, 10, 100, 'low'],
    [9.99, 10, 100, 'below'],
    [20, 10, 100, 'good'],
    [19.99, 10, 100, 'low'],
    [100, 10, 100, 'good'],
    [100.01, 10, 100, 'above'],
    [0, 0, 5, 'low'],
    [5, 5, 5, 'good'],
  ] as const)('%d N·m on %d..%d is %s', (torque, from, to, verdict) => {
    expect(rangeUse(torque, from, to)).toEqual({ verdict, share: torque / to });
  });
  it('a range runs upwards from zero', () => {
    expect(rangeUse(5, 10, 5)).toBeUndefined();
    expect(rangeUse(-1, 0, 5)).toBeUndefined();
    expect(rangeUse(1, -1, 5)).toBeUndefined();
    expect(rangeUse(0, 0, 0)).toBeUndefined();
  });
  // ISO 6789:2003, read as quoted: 6 % up to 10 N·m, 4 % above.
  it('read to 6 % up to 10 N·m, to 4 % above', () => {
    expect([5, 10, 10.01, 200].map(wrenchTolerance)).toEqual([0.06, 0.06, 0.04, 0.04]);
    expect(wrenchTolerance(0)).toBeUndefined();
  });
  it('an adapter folded back to the grip or past it sets nothing', () => {
    expect(adapterSetting(10, { wrench: 100, extension: 99.5, angle: 180 })).toBeCloseTo((10 * 100) / 0.5, 6);
    expect(adapterSetting(10, { wrench: 100, extension: 100, angle: 180 })).toBeUndefined();
    expect(adapterSetting(10, { wrench: 100, extension: 101, angle: 180 })).toBeUndefined();
    expect(adapterSetting(10, { wrench: 100, extension: 50, angle: 90 })).toBe(10);
    for (const angle of [270, 450, -90]) expect(adapterSetting(10, { wrench: 100, extension: 50, angle })).toBe(10);
    expect(adapterSetting(10, { wrench: 100, extension: 100, angle: 300 })).toBeCloseTo(10 / 1.5, 9);
    expect(adapterSetting(-1, { wrench: 100, extension: 50 })).toBeUndefined();
  });
});

describe('press fits', () => {
  const press = { diameter: 100, hub: 150, length: 50, interference: 100, friction: 0.15 };
  it.each([
    [{ hub: 100 }],
    [{ hub: 90 }],
    [{ shaftBore: 100 }],
    [{ shaftBore: -1 }],
    [{ diameter: 0 }],
    [{ length: 0 }],
    [{ interference: -1 }],
    [{ friction: -0.1 }],
    [{ friction: 2.1 }],
    [{ hubMaterial: { modulus: 0, poisson: 0.3 } }],
    [{ shaftMaterial: { modulus: 210_000, poisson: 0.51 } }],
  ])('%j is none', (wrong) => expect(pressFit({ ...press, ...wrong })).toBeUndefined());
  it.each([[{ friction: 2 }], [{ interference: 0 }], [{ shaftBore: 99 }], [{ hub: 100.1 }]])('%j is one', (edge) =>
    expect(pressFit({ ...press, ...edge })).toBeDefined(),
  );
  // Lamé: a solid shaft is under even pressure; a bored one has twice the pressure over 1 − (b/d)² at its bore.
  it('presses the shaft together, most at its bore', () => {
    const solid = pressFit(press)!;
    expect(solid.shaftHoop).toBeCloseTo(-solid.pressure, 9);
    const bored = pressFit({ ...press, shaftBore: 50 })!;
    expect(bored.shaftHoop).toBeCloseTo((-2 * bored.pressure) / (1 - 0.25), 9);
    expect(bored.pressure).toBeLessThan(solid.pressure);
    // Radial pressure and hoop tension together, von Mises.
    expect(solid.hubEquivalent).toBeCloseTo(
      Math.sqrt(solid.hubHoop ** 2 + solid.hubHoop * solid.pressure + solid.pressure ** 2),
      9,
    );
    expect(solid.force).toBeCloseTo(0.15 * solid.pressure * Math.PI * 100 * 50, 6);
    expect(solid.torque).toBeCloseTo((solid.force * 50) / 1000, 9);
  });
});

describe('shims at their edges', () => {
  const some = [{ thickness: 100 }];
  const target = { kind: 'endplay', low: 0, high: 50 } as const;
  const problem = (value: unknown): unknown => (value as { problem?: string }).problem;
  it.each([
    [[], /no shims/],
    [[{ thickness: 0 }], /above zero/],
    [[{ thickness: -1 }], /above zero/],
    [[{ thickness: 1e8 }], /above zero/],
    [[{ thickness: 100, count: 1.5 }], /whole number/],
    [[{ thickness: 100, count: -1 }], /whole number/],
    [[{ thickness: 100, count: 0 }], /no shims/],
    [Array.from({ length: 201 }, (_, i) => ({ thickness: 100 + i })), /more than 200/],
  ] as const)('a stock of %j is told of by both', (stock, why) => {
    expect(problem(chooseShims(500, target, stock))).toMatch(why);
    expect(problem(worstReading({ low: 0, high: 500 }, target, stock))).toMatch(why);
  });
  it('a target, a gap and limits run upwards from zero', () => {
    for (const wrong of [
      { low: -1, high: 5 },
      { low: 6, high: 5 },
      { low: 0, high: 1e8 },
    ]) {
      expect(problem(chooseShims(500, { kind: 'preload', ...wrong }, some))).toMatch(/target/);
      expect(problem(worstReading({ low: 0, high: 9 }, { kind: 'preload', ...wrong }, some))).toMatch(/target/);
      expect(problem(worstReading(wrong, target, some))).toMatch(/limits/);
    }
    expect(problem(chooseShims(-1, target, some))).toMatch(/gap/);
    expect(problem(chooseShims(1e8, target, some))).toMatch(/gap/);
    expect(chooseShims(0, target, some)).toMatchObject({ reached: true, stack: { pieces: [] } });
  });
  it('thicknesses of one size add their counts; an open count is any number', () => {
    const twice = [
      { thickness: 100, count: 1 },
      { thickness: 100, count: 2 },
    ];
    expect(chooseShims(500, target, twice)).toMatchObject({ reached: false, stack: { total: 300 } });
    expect(chooseShims(500, target, [...twice, { thickness: 100 }])).toMatchObject({
      reached: true,
      stack: { total: 500 },
    });
    expect(chooseShims(500, target, [{ thickness: 100 }, ...twice])).toMatchObject({
      reached: true,
      stack: { total: 500 },
    });
  });
  it('what is too fine for the gap is refused, not reckoned for ever', () => {
    expect(problem(chooseShims(1e6, target, [{ thickness: 0.001 }]))).toMatch(/too fine/);
    expect(problem(worstReading({ low: 0, high: 1e6 }, target, [{ thickness: 0.001 }]))).toMatch(/too fine/);
  });
  // 100 µm shims serve an end play of 0 to 50 at readings of k × 100 to k × 100 + 50: half of all readings are left open.
  it('the readings that no stack serves are listed, and the farthest is named', () => {
    const worst = worstReading({ low: 100, high: 300 }, target, some) as WorstReading;
    expect(worst.gaps).toEqual([
      [150, 200],
      [250, 300],
    ]);
    expect(worst.reading).toBe(175);
    expect(worstReading({ low: 100, high: 150 }, target, some)).toBeUndefined();
    expect(worstReading({ low: 120, high: 120 }, target, some)).toBeUndefined();
    expect(worstReading({ low: 170, high: 170 }, target, some)).toMatchObject({ reading: 170, gaps: [[170, 170]] });
    // Three pieces end at 300: a reading above 350 has none.
    expect(worstReading({ low: 300, high: 500 }, target, [{ thickness: 100, count: 3 }])).toMatchObject({
      reading: 500,
      gaps: [[350, 500]],
    });
    const many = worstReading({ low: 0, high: 100_000 }, target, some) as WorstReading;
    expect(many.gaps).toHaveLength(100);
  });
});

describe('orders on points and uneven circles', () => {
  const points = (...at: [number, number][]) => ({ kind: 'points' as const, points: at.map(([x, y]) => ({ x, y })) });
  // Common practice, no source: a cover is drawn down from its middle outwards, crosswise within a ring.
  it('holes of one ring are taken crosswise, rings from the inside', () => {
    const cross = points([0, 10], [10, 0], [0, -10], [-10, 0], [0, 100], [100, 0], [0, -100], [-100, 0]);
    expect(tighteningOrder(cross)).toEqual([1, 3, 2, 4, 5, 7, 6, 8]);
    expect(tighteningOrder(cross, 'spiral')).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
  });
  it('within a hundredth of the greatest distance is one ring, beyond is another', () => {
    const ring = (last: number) => points([0, 100], [100, 0], [0, -100], [-last, 0]);
    // One ring: crosswise. Two: the nearer one first.
    expect(tighteningOrder(points([0, 100], [99.5, 0], [0, -100], [-99.5, 0]))).toEqual([1, 3, 2, 4]);
    expect(tighteningOrder(points([0, 100], [99.2, 0], [0, -100], [-99.2, 0]))).toEqual([1, 3, 2, 4]);
    expect(tighteningOrder(points([0, 100], [98.8, 0], [0, -100], [-98.8, 0]))).toEqual([2, 4, 1, 3]);
    expect(tighteningOrder(ring(100))).toEqual([1, 3, 2, 4]);
  });
  it('an order on points that runs inwards is told, one that runs outwards is not', () => {
    const grid = points([0, 0], [60, 0], [120, 0], [0, 80], [60, 80], [120, 80]);
    expect(judgeOrder([2, 5, 1, 6, 3, 4], grid).inwards).toBe(false);
    expect(judgeOrder([1, 6, 3, 4, 2, 5], grid).inwards).toBe(true);
  });
  it('the wrap is no pair, and fewer than five holes have no neighbours to avoid', () => {
    const circle = (count: number) => ({ kind: 'circle' as const, count });
    expect(judgeOrder([1, 3, 5, 2, 4], circle(5)).nextDoor).toEqual([]);
    expect(judgeOrder([1, 2, 4, 3, 5], circle(5)).nextDoor).toEqual([
      [1, 2],
      [4, 3],
    ]);
    expect(judgeOrder([1, 2, 3, 4], circle(4)).nextDoor).toEqual([]);
    expect(judgeOrder([6, 1, 3, 5, 2, 4], circle(6)).nextDoor).toEqual([[6, 1]]);
  });
  // Arrows of equal length: of two that are opposite nothing is left, of one all.
  it('the pull is the greatest sum of the arrows so far', () => {
    const circle = { kind: 'circle' as const, count: 4 };
    expect(orderImbalance([1, 3, 2, 4], circle)).toBeCloseTo(1, 9);
    expect(orderImbalance([1, 2, 3, 4], circle)).toBeCloseTo(Math.SQRT2, 9);
  });
  it('is nothing where one bolt is the whole', () =>
    expect(orderImbalance([1], { kind: 'circle', count: 1 })).toBeCloseTo(0, 9));
  it('uneven circles keep the pull lower than going round', () => {
    const angles = [0, 10, 20, 90, 180, 190, 200, 270];
    const uneven = { kind: 'angles' as const, angles };
    const order = tighteningOrder(uneven)!;
    expect([...order].sort((a, b) => a - b)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect(order[0]).toBe(1);
    expect(orderImbalance(order, uneven)!).toBeLessThanOrEqual(1.2);
    expect(judgeOrder(order, uneven).nextDoor).toEqual([]);
  });
  // reference: ASME PCC-1 legacy pattern for 4, 8 and 12.
  it('the usual stars', () => {
    expect(starOrder(4)).toEqual([1, 3, 2, 4]);
    expect(starOrder(8)).toEqual([1, 5, 3, 7, 2, 6, 4, 8]);
    expect(starOrder(12)).toEqual([1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12]);
    for (const make of [starOrder, spiralOrder]) {
      expect(make(0)).toBeUndefined();
      expect(make(1.5)).toBeUndefined();
      expect(make(2001)).toBeUndefined();
      expect(make(1)).toEqual([1]);
      expect(make(2000)).toHaveLength(2000);
    }
  });
  it('one hole set off from even spacing leaves one way to fit', () => {
    expect(rotationalSymmetry({ kind: 'circle', count: 6 })).toBe(6);
    expect(rotationalSymmetry({ kind: 'angles', angles: [0, 60, 120, 180, 240, 297] })).toBe(1);
    expect(rotationalSymmetry({ kind: 'angles', angles: [0, 120, 240] })).toBe(3);
    expect(rotationalSymmetry({ kind: 'angles', angles: [0, 10, 180, 190] })).toBe(2);
    expect(rotationalSymmetry(points([0, 0], [60, 0], [60, 80], [0, 80]))).toBe(2);
    expect(rotationalSymmetry(points([0, 0], [60, 0], [60, 60], [0, 60]))).toBe(4);
  });
});

describe('holes that are set off', () => {
  const off = (degrees: number) => ({ kind: 'angles' as const, angles: [0, 90, 180, 270 + degrees] });
  // Half a degree is what drilling may be off and the part still goes on; a default of this project.
  it('by half a degree are as good as even, by more they are not', () => {
    expect(rotationalSymmetry(off(0.4))).toBe(4);
    expect(rotationalSymmetry(off(-0.4))).toBe(4);
    expect(rotationalSymmetry(off(0.8))).toBe(1);
    expect(rotationalSymmetry(off(0.8), 1)).toBe(4);
    expect(rotationalSymmetry(off(5), 4)).toBe(1);
    expect(rotationalSymmetry(off(0), 0)).toBe(4);
  });
  it('a tolerance is from 0 to 180 degrees', () => {
    expect(rotationalSymmetry(off(0), -1)).toBeUndefined();
    expect(rotationalSymmetry(off(0), 180)).toBe(4);
    expect(rotationalSymmetry(off(0), 181)).toBeUndefined();
  });
  // Nine in ten pairs may not run inwards for an order that works outwards.
  it('every pair of an order counts when it runs inwards', () => {
    const row = { kind: 'points' as const, points: [0, 10, 20, 30, 40].map((x) => ({ x, y: 0 })) };
    // From the middle at 20: holes 3, then 2 and 4, then 1 and 5.
    expect(judgeOrder([3, 2, 4, 1, 5], row).inwards).toBe(false);
    expect(judgeOrder([1, 5, 2, 4, 3], row).inwards).toBe(true);
    expect(judgeOrder([3, 1, 5, 2, 4], row).inwards).toBe(false);
    expect(judgeOrder([1, 3, 5, 2, 4], row).inwards).toBe(false);
    expect(judgeOrder([5, 2, 1, 4, 3], row).inwards).toBe(true);
  });
});

describe('plans at their edges', () => {
  const act = (id: string, duration: number, ...after: string[]) => ({ id, duration, after });
  it('an activity of no time may be on the critical path', () => {
    const all = [act('a', 10), act('sign', 0, 'a'), act('b', 5, 'sign'), act('short', 3)];
    expect(plan(all)).toMatchObject({ duration: 15, criticalPath: ['a', 'sign', 'b'] });
  });
  it('of two that end together the path goes through one', () => {
    const answer = plan([act('a', 4), act('b', 4), act('c', 1, 'a', 'b')]) as Plan;
    expect(answer.criticalPath).toEqual(['a', 'c']);
    expect(answer.activities.every(({ critical }) => critical)).toBe(true);
  });

  it('leads to the end over work at the end that states no time', () => {
    const answer = plan([act('a', 10), act('b', 0, 'a'), act('c', 0, 'b')]) as Plan;
    expect(answer.activities.map(({ critical }) => critical)).toEqual([true, true, true]);
    expect(answer.criticalPath).toEqual(['a', 'b', 'c']);
  });
  it('float is what is left beside the longest path', () => {
    const { activities } = plan([
      act('long', 10),
      act('short', 3),
      act('mid', 2, 'short'),
      act('end', 1, 'long', 'mid'),
    ]) as Plan;
    expect(activities.map(({ id, totalFloat, freeFloat }) => [id, totalFloat, freeFloat])).toEqual([
      ['long', 0, 0],
      ['short', 5, 0],
      ['mid', 5, 5],
      ['end', 0, 0],
    ]);
  });
  // Common practice: what most work waits for goes first. The other way round it would be 20.
  it('what the rest waits for goes first, however the list runs', () => {
    const all = [
      { ...act('short', 5), hands: 1 },
      { ...act('long', 5), hands: 1 },
      { ...act('cure', 10, 'long'), hands: 0 },
    ];
    expect(crewSchedule(all, 1)).toMatchObject({ duration: 15 });
    expect(crewSchedule(all.toReversed(), 1)).toMatchObject({ duration: 15 });
  });
  it('one pair of hands does one thing at a time, two do two', () => {
    const all = [act('a', 4), act('b', 4), act('c', 1, 'a', 'b')].map((each) => ({ ...each, hands: 1 }));
    expect(crewSchedule(all, 1)).toMatchObject({ duration: 9, work: 9 });
    expect(crewSchedule(all, 2)).toMatchObject({ duration: 5, work: 9 });
  });
  it.each([
    ['a loop', [act('a', 1, 'b'), act('b', 1, 'a')]],
    ['one that nobody knows', [act('a', 1, 'x')]],
    ['one name twice', [act('a', 1), act('a', 2)]],
    ['time that runs backwards', [act('a', -1)]],
  ])('%s is told of', (_, all) => {
    expect(plan(all)).toHaveProperty('problem');
    expect(crewSchedule(all, 1)).toHaveProperty('problem');
  });
});
