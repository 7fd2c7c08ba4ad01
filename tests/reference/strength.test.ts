import { describe, expect, it } from 'vitest';
import { KSI, propertyClass, saeGrade, strengthLoads } from '../../server/src/mechanics/strength.ts';
import { INCH, parseThread } from '../../server/src/mechanics/threads.ts';
import { expectNear } from './near.ts';

const LBF = 4.4482216152605;

// Read: public table of proof loads after EN ISO 898-1, N. It multiplies areas rounded to three figures and cuts the
// product to three figures, M6 8.8 from 11 658 to 11 600: so within 0.7 %.
// biome-ignore format: a table
const PROOF_LOADS: readonly (readonly [thread: string, loads: number[]])[] = [
  //       4.6     4.8     5.6     5.8     6.8     8.8     9.8     10.9    12.9
  ['M3',   [1130,   1560,   1410,   1910,   2210,   2920,   3270,   4180,   4880]],
  ['M4',   [1980,   2720,   2460,   3340,   3860,   5100,   5710,   7290,   8520]],
  ['M5',   [3200,   4400,   3980,   5400,   6250,   8230,   9230,   11800,  13800]],
  ['M6',   [4520,   6230,   5630,   7640,   8840,   11600,  13100,  16700,  19500]],
  ['M8',   [8240,   11400,  10200,  13900,  16100,  21200,  23800,  30400,  35500]],
  ['M10',  [13000,  18000,  16200,  22000,  25500,  33700,  37700,  48100,  56300]],
  ['M12',  [19000,  26100,  23600,  32000,  37100,  48900,  54800,  70000,  81800]],
  ['M14',  [25900,  35600,  32200,  43700,  50600,  66700,  74800,  95500,  112000]],
  ['M16',  [35300,  48700,  44000,  59700,  69100,  91000,  102000, 130000, 152000]],
  ['M18',  [43200,  59500,  53800,  73000,  84500,  115000, 0,      159000, 186000]],
  ['M20',  [55100,  76000,  68600,  93100,  108000, 147000, 0,      203000, 238000]],
  ['M22',  [68200,  93900,  84800,  115000, 133000, 182000, 0,      252000, 294000]],
  ['M24',  [79400,  109000, 98800,  134000, 155000, 212000, 0,      293000, 342000]],
  ['M27',  [103000, 142000, 128000, 174000, 202000, 275000, 0,      381000, 445000]],
];
const CLASSES = ['4.6', '4.8', '5.6', '5.8', '6.8', '8.8', '9.8', '10.9', '12.9'];

describe('ISO 898-1', () => {
  it.each(PROOF_LOADS)('%s: proof loads', (text, loads) => {
    const thread = parseThread(text)!;
    loads.forEach((load, i) => {
      const strength = propertyClass(CLASSES[i]!, thread.diameter)!;
      if (load === 0) expect(strength.covered).toBe(false);
      else expectNear(strengthLoads(thread, strength)?.proof, load, 0.007);
    });
  });

  // ISO 898-1, tables of proof loads, from memory: coarse over M27 and fine pitches, N.
  // biome-ignore format: a table
  it.each([
    ['M30',      [126000, 337000, 466000, 544000]],
    ['M33',      [156000, 416000, 576000, 673000]],
    ['M36',      [184000, 490000, 678000, 792000]],
    ['M39',      [220000, 586000, 810000, 947000]],
    ['M8x1',     [8820,   22700,  32500,  38000]],
    ['M10x1.25', [13800,  35500,  50800,  59400]],
    ['M12x1.5',  [19800,  51100,  73100,  85500]],
    ['M16x1.5',  [37600,  96900,  139000, 162000]],
    ['M20x1.5',  [61200,  163000, 226000, 264000]],
    ['M24x2',    [86400,  230000, 319000, 372000]],
    ['M36x3',    [195000, 519000, 718000, 839000]],
  ] as const)('%s: proof loads of 4.6, 8.8, 10.9, 12.9', (text, loads) => {
    const thread = parseThread(text)!;
    ['4.6', '8.8', '10.9', '12.9'].forEach((name, i) => {
      const strength = propertyClass(name, thread.diameter)!;
      expect(strength.covered).toBe(true);
      expectNear(strengthLoads(thread, strength)?.proof, loads[i]!, 0.005);
    });
  });

  // Read: public table of minimum ultimate tensile loads after EN ISO 898-1, N.
  it.each([
    ['M5', '4.6', 5680],
    ['M6', '8.8', 16100],
    ['M8', '4.8', 15400],
    ['M8', '8.8', 29200],
    ['M8', '10.9', 38100],
    ['M8', '12.9', 44600],
    ['M10', '8.8', 46400],
    ['M12', '6.8', 50600],
    ['M12', '10.9', 87700],
    ['M16', '8.8', 125000],
    ['M18', '8.8', 159000],
    ['M20', '8.8', 203000],
    ['M24', '10.9', 367000],
    ['M36', '12.9', 997000],
  ])('%s %s: tensile load %d N', (text, name, load) => {
    const thread = parseThread(text)!;
    expectNear(strengthLoads(thread, propertyClass(name, thread.diameter)!)?.tensile, load, 0.005);
  });

  it('splits 8.8 after 16 mm and ends 9.8 there', () => {
    expect(propertyClass('8.8', 16)?.yield).toBe(640);
    expect(propertyClass('8.8', 18)?.yield).toBe(660);
    expect(propertyClass('9.8', 18)?.covered).toBe(false);
    expect(propertyClass('7.7', 8)).toBeUndefined();
    expect(propertyClass('constructor', 8)).toBeUndefined();
  });
});

describe('SAE J429', () => {
  // Read: public table for grade 2, clamp = 75 % of proof stress times stress area, lbf.
  it.each([
    ['1/4-20', 1312],
    ['1/4-28', 1502],
    ['5/16-18', 2162],
    ['5/16-24', 2397],
    ['3/8-16', 3197],
    ['3/8-24', 3622],
    ['7/16-14', 4385],
    ['7/16-20', 4896],
    ['1/2-13', 5853],
    ['1/2-20', 6600],
    ['9/16-12', 7508],
    ['5/8-11', 9323],
    ['3/4-10', 13778],
    ['7/8-9', 11435],
    ['1-8', 14999],
    ['1-1/4-7', 23983],
    ['1-1/2-6', 34774],
  ])('%s grade 2: 75 %% of proof is %d lbf', (text, clamp) => {
    const thread = parseThread(text)!;
    const loads = strengthLoads(thread, saeGrade(2, thread.diameter)!)!;
    expectNear((0.75 * loads.proof) / LBF, clamp, 0.0025);
  });

  // Read: scanned table of proof and tensile loads after SAE J429, lbf, rounded to 50 or 100.
  it.each([
    ['1/4-20', '5', 2700, 3800],
    ['5/16-18', '5', 4450, 6300],
    ['3/8-16', '5', 6600, 9300],
    ['7/16-14', '5', 9050, 12800],
    ['5/8-11', '5', 19200, 27100],
    ['3/4-10', '5', 28400, 40100],
    ['1/4-28', '5', 3100, 4350],
    ['3/8-24', '5', 7450, 10500],
    ['1/4-20', '8', 3800, 4750],
    ['5/16-18', '8', 6300, 7850],
    ['5/8-11', '8', 27100, 33900],
    ['3/4-10', '8', 40100, 50100],
    ['7/8-9', '8', 55400, 69300],
    ['1-8', '8', 72700, 90900],
    ['1-1/8-7', '8', 91600, 114400],
  ])('%s grade %s: proof %d, tensile %d lbf', (text, grade, proof, tensile) => {
    const thread = parseThread(text)!;
    const loads = strengthLoads(thread, saeGrade(grade, thread.diameter)!)!;
    expectNear(loads.proof / LBF, proof, 0.005);
    expectNear(loads.tensile / LBF, tensile, 0.005);
  });

  it('splits grade 2 over 3/4 in and grade 5 over 1 in', () => {
    expectNear(saeGrade(2, 0.75 * INCH)?.proof, 55 * KSI, 1e-12);
    expectNear(saeGrade(2, 0.875 * INCH)?.proof, 33 * KSI, 1e-12);
    expectNear(saeGrade(5, INCH)?.yield, 92 * KSI, 1e-12);
    expectNear(saeGrade(5, 1.125 * INCH)?.yield, 81 * KSI, 1e-12);
    // psi in kPa, NIST SP 811.
    expectNear(KSI, 6.894757293168, 1e-12);
  });
});
