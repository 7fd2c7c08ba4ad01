import { describe, expect, it } from 'vitest';
import { comparedWith } from '../../server/src/features/compare-versions.ts';
import { scene } from './scene.ts';

const text = `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bo¦lt`;

describe('compare with an earlier text', () => {
  it('tells a torque that changed, for review', async () => {
    const { snapshot } = await scene(text);
    const { text: told, review } = comparedWith(snapshot, snapshot.text.replace('25 N·m', '20 N·m'));
    expect(told).toContain('20 N·m');
    expect(told).toContain('25 N·m');
    expect(review).toBe(true);
  });
  it('is silent on layout', async () => {
    const { snapshot } = await scene(text);
    expect(
      comparedWith(snapshot, `# before\n${snapshot.text.replace('  step close', '\n      step close')}`).review,
    ).toBe(false);
  });
});
