import { describe, expect, it } from 'vitest';
import { stalePages } from '../server/src/cli/pages.ts';
import { replaceBetween } from '../server/src/outputs/pages.ts';

describe('generated pages', () => {
  it('are what the checks and commands say now', () => {
    expect(stalePages(), 'run `npm run pages`').toEqual([]);
  });
  it('refuse a text whose marks are missing', () => {
    expect(() => replaceBetween('no marks', 'checks', 'x')).toThrow(/marks/);
    expect(replaceBetween('a<!-- t -->old<!-- /t -->b', 't', 'new')).toBe('a<!-- t -->\nnew\n<!-- /t -->b');
  });
});
