import { describe, expect, it } from 'vitest';
import { adapterSetting, torqueAtSetting, wrenchTolerance } from '../../server/src/mechanics/wrench.ts';
import { expectNear, expectRounded } from './near.ts';

describe('adapters', () => {
  // Read: published examples; torque, wrench, extension, setting. Any unit of torque and of length, as long as it is one.
  it.each([
    [300, 10, 4, 214, 1],
    [135, 10, 1.5, 117.39, 0.01],
    [100, 12, 6, 66.7, 0.1],
    [30, 1, 0.25, 24, 1],
    [80, 40, 5, 71.1, 0.1],
  ])('%d at %d + %d reads %d', (torque, wrench, extension, setting, unit) => {
    // 214.3 is printed as 214.
    expectRounded(adapterSetting(torque, { wrench, extension }), setting, unit);
  });

  // Read: the second example with the adapter turned back over the wrench.
  it('raises the setting for an adapter turned back', () => {
    expectRounded(adapterSetting(135, { wrench: 10, extension: 1.5, angle: 180 }), 158.82, 0.01);
    expectNear(torqueAtSetting(158.8235, { wrench: 10, extension: 1.5, angle: 180 }), 135, 1e-5);
  });

  // Recomputed from the formula of the reference, T·L/(L + E·cos θ): at 60° half the adapter counts, at 45° 0.7071 of it.
  it.each([
    [100, 400, 50, 60, 94.118],
    [100, 400, 50, -60, 94.118],
    [100, 400, 50, 45, 91.879],
    [100, 400, 50, 120, 106.667],
    [100, 400, 50, 135, 109.696],
    [100, 400, 50, 300, 94.118],
  ])('%d N·m, %d mm + %d mm at %d° reads %d', (torque, wrench, extension, angle, setting) => {
    expectRounded(adapterSetting(torque, { wrench, extension, angle }), setting, 0.001);
    expectNear(torqueAtSetting(setting, { wrench, extension, angle }), torque, 1e-5);
  });

  // Common practice, no source: at a right angle the reading needs no change.
  it('changes nothing at a right angle', () => {
    expect(adapterSetting(80, { wrench: 400, extension: 50, angle: 90 })).toBe(80);
    expect(adapterSetting(80, { wrench: 400, extension: 50, angle: 270 })).toBe(80);
  });
});

describe('ISO 6789:2003, read as quoted', () => {
  it.each([
    [5, 0.06],
    [10, 0.06],
    [10.1, 0.04],
    [200, 0.04],
  ])('a tool up to %d N·m may be off by %d', (upperEnd, share) => {
    expect(wrenchTolerance(upperEnd)).toBe(share);
  });
});
