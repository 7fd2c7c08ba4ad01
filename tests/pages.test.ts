import { describe, expect, it } from 'vitest';
import { stalePages, testFiles } from '../server/src/cli/pages.ts';
import { methodTable, untested } from '../server/src/methods.ts';
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

describe('the table of protocol methods', () => {
  it('has a test of its own and one over the protocol for each', () => {
    expect(untested(testFiles())).toEqual([]);
    expect(methodTable(testFiles())).not.toMatch(/\|[^\S\n]*\|/);
  });
  it('names what has none', () => {
    const without = (part: string) => testFiles().map(([path, text]) => [path, text.replaceAll(part, '')] as const);
    expect(untested(without("'fettle/plan'"))).toEqual(['fettle/plan: no test in tests/protocol asks it']);
    expect(untested(without("/src/features/hover.ts'"))).toEqual([
      'textDocument/hover: no test in tests/features imports hover.ts',
    ]);
  });
});
