import { describe, expect, it } from 'vitest';
import { alike } from '../../grammar/alike.ts';
import { read } from './tree.ts';

const isPlace = (_node: object, field: string): boolean => field === 'start' || field === 'end';
const areAlike = (one: string, other: string, passedOver = isPlace): boolean =>
  alike(read(one).chunks[0]!.item, read(other).chunks[0]!.item, passedOver);

describe('nodes that differ in what is made of their chunk when it is asked for', () => {
  it.each([
    ['tool t range 5..100 N·m', 'tool t range 5.0..100 N·m'],
    ['tool t range 5..100 N·m', 'tool t range 5..100.0 N·m'],
    ['tool t range 5..100 N·m', 'tool t range 5..100 Nm'],
    ['part b torque 25 N·m (18 lbf·ft)', 'part b torque 25 N·m (18.0 lbf·ft)'],
    ['part b "Lid"', 'part b "Cap"'],
    ['step s\n  do "Turn it"', 'step s\n  do "Lift it"'],
    ['step s\n  remove a x2', 'step s\n  remove a'],
    ['step s\n  fit new a', 'step s\n  fit a'],
  ])('%j is not %j', (one, other) => {
    expect(areAlike(one, other)).toBe(false);
    expect(areAlike(other, one)).toBe(false);
  });

  it.each([
    ['tool t range 5..100 N·m', '# above\ntool  t  range 5 .. 100  N·m'],
    ['part b "Lid" x2', 'part b\n  x2 "Lid"'],
    ['step s takes 5 min\n  fit new a x2 "So"', '# above\nstep   s takes 5   min\n\n  fit  new a\n x2 "So"'],
  ])('%j is %j in another place', (one, other) => {
    expect(areAlike(one, other)).toBe(true);
    expect(areAlike(one, other, () => false)).toBe(false);
  });
});
