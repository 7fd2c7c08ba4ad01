import { describe, expect, it } from 'vitest';
import { nearestPipeThread, parsePipeThread } from '../../server/src/mechanics/pipe-threads.ts';
import { INCH } from '../../server/src/mechanics/threads.ts';
import { expectNear } from './near.ts';

describe('ISO 228-1', () => {
  // Read in public tables: major diameter, pitch, threads per inch. Of 2-1/4, 2-3/4, 3-1/2, 4-1/2 and 5-1/2 from memory.
  it.each([
    ['G1/16', 7.723, 0.907, 28],
    ['G1/8', 9.728, 0.907, 28],
    ['G1/4', 13.157, 1.337, 19],
    ['G3/8', 16.662, 1.337, 19],
    ['G1/2', 20.955, 1.814, 14],
    ['G5/8', 22.911, 1.814, 14],
    ['G3/4', 26.441, 1.814, 14],
    ['G7/8', 30.201, 1.814, 14],
    ['G1', 33.249, 2.309, 11],
    ['G1-1/8', 37.897, 2.309, 11],
    ['G1-1/4', 41.91, 2.309, 11],
    ['G1-1/2', 47.803, 2.309, 11],
    ['G1-3/4', 53.746, 2.309, 11],
    ['G2', 59.614, 2.309, 11],
    ['G2-1/4', 65.71, 2.309, 11],
    ['G2-1/2', 75.184, 2.309, 11],
    ['G2-3/4', 81.534, 2.309, 11],
    ['G3', 87.884, 2.309, 11],
    ['G3-1/2', 100.33, 2.309, 11],
    ['G4', 113.03, 2.309, 11],
    ['G4-1/2', 125.73, 2.309, 11],
    ['G5', 138.43, 2.309, 11],
    ['G5-1/2', 151.13, 2.309, 11],
    ['G6', 163.83, 2.309, 11],
  ] as const)('%s', (text, diameter, pitch, perInch) => {
    const thread = parsePipeThread(text)!;
    expect(thread).toMatchObject({ standard: 'ISO 228-1', tapered: false, listed: true, diameter, perInch });
    expect(Math.abs(INCH / perInch - pitch)).toBeLessThan(0.0006);
  });
});

describe('ISO 7-1', () => {
  // Read in a public pocket book: major diameter at the gauge plane, threads per inch.
  it.each([
    ['R1/8', 9.728, 28],
    ['R1/4', 13.157, 19],
    ['R3/8', 16.662, 19],
  ] as const)('%s', (text, diameter, perInch) => {
    expect(parsePipeThread(text)).toMatchObject({
      standard: 'ISO 7-1',
      tapered: true,
      listed: true,
      diameter,
      perInch,
    });
  });

  it('has 15 of the 24 sizes of ISO 228-1', () => {
    // How many: read in a public page; that 5/8, 7/8 and 1-1/8 are not among them from memory.
    const sixteenths = ['1/16', '1/8', '1/4', '3/8', '1/2', '5/8', '3/4', '7/8'];
    const sizes = [0, 1, 2, 3, 4, 5, 6].flatMap((whole) =>
      whole === 0 ? sixteenths : [`${whole}`, ...sixteenths.map((part) => `${whole}-${part}`)],
    );
    const listed = (kind: string): string[] => sizes.filter((size) => parsePipeThread(kind + size)!.listed);
    expect(listed('G').length).toBe(24);
    for (const kind of ['R', 'Rc', 'Rp']) expect(listed(kind).length, kind).toBe(15);
    for (const size of ['5/8', '7/8', '1-1/8']) expect(listed('R')).not.toContain(size);
  });
});

describe('ASME B1.20.1', () => {
  // Read in public tables: outside diameter of the pipe in inches, threads per inch.
  it.each([
    ['1/16', 0.3125, 27],
    ['1/8', 0.405, 27],
    ['1/4', 0.54, 18],
    ['3/8', 0.675, 18],
    ['1/2', 0.84, 14],
    ['3/4', 1.05, 14],
    ['1', 1.315, 11.5],
    ['1-1/4', 1.66, 11.5],
    ['1-1/2', 1.9, 11.5],
    ['2', 2.375, 11.5],
    ['2-1/2', 2.875, 8],
    ['3', 3.5, 8],
    ['3-1/2', 4, 8],
    ['4', 4.5, 8],
    ['5', 5.563, 8],
    ['6', 6.625, 8],
  ] as const)('%s NPT', (size, outside, perInch) => {
    for (const text of [`${size}-${perInch} NPT`, `${size} NPT`, `NPT ${size}`]) {
      const thread = parsePipeThread(text)!;
      expect(thread).toMatchObject({
        standard: 'ASME B1.20.1',
        designation: `${size}-${perInch} NPT`,
        tapered: true,
        listed: true,
        perInch,
      });
      expectNear(thread.diameter, outside * INCH, 1e-9);
    }
  });
});

describe('how they are written', () => {
  it.each([
    ['G 1/2 A', 'G1/2A'],
    ['G1 1/4', 'G1-1/4'],
    ['G1/2-LH', 'G1/2-LH'],
    ['Rp2', 'Rp2'],
    ['1/8-27 NPTF', '1/8-27 NPTF'],
    ['3-8 NPT', '3-8 NPT'],
    ['1 1/4-11.5 NPT-LH', '1-1/4-11.5 NPT-LH'],
  ])('%s is %s', (text, designation) => {
    expect(parsePipeThread(text)).toMatchObject({ designation, listed: true, leftHand: designation.endsWith('-LH') });
  });

  it.each(['1/2-14', 'M8', 'G', 'NPT', 'NPT 1/2 NPT', 'G1/2B5', 'g1/2', '1/2-13 UNC'])('%s is none', (text) => {
    expect(parsePipeThread(text)).toBeUndefined();
  });

  it.each([
    ['G7/16', 'G3/8'],
    ['R5/8', 'R1/2'],
    ['R1/2A', 'R1/2'],
    ['1/2-18 NPT', '1/2-14 NPT'],
    ['9/16-14 NPTF-LH', '1/2-14 NPTF-LH'],
    ['G40', 'G6'],
    ['G1/2', 'G1/2'],
  ])('of %s the nearest in the standard is %s', (text, near) => {
    expect(nearestPipeThread(parsePipeThread(text)!)).toBe(near);
  });
});
