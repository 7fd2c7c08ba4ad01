import { describe, expect, it } from 'vitest';
import { fresh } from './core.ts';
import { cssOf, jsonOf, judgeCss, judgeJson } from './neighbours.ts';
import { procedureOf } from './procedures.ts';

const lines = 1000;
const texts = { fettle: procedureOf({ lines }), json: jsonOf(lines), css: cssOf(lines) };
const bytesOf = (text: string): number => Buffer.byteLength(text) / text.split('\n').length;

describe('what the bench compares', () => {
  it('is clean', async () => {
    expect(fresh(texts.fettle).findings).toEqual([]);
    expect(await judgeJson(texts.json)).toBe(0);
    expect(await judgeJson(texts.json, { flat: true })).toBe(0);
    expect(judgeCss(texts.css)).toBe(0);
  });

  it.each(Object.entries(texts))('has as many lines as wanted: %s', (_, text) =>
    expect(Math.abs(text.split('\n').length - lines)).toBeLessThan(lines / 10),
  );

  it('gives the others no more to read in a line than us', () => {
    expect(bytesOf(texts.json)).toBeLessThanOrEqual(bytesOf(texts.fettle));
    expect(bytesOf(texts.css)).toBeLessThanOrEqual(bytesOf(texts.fettle));
  });

  it.each([
    ['"count": 7', '"count": 0'],
    ['"torque": "25 N·m"', '"torque": "25 Nm"'],
    ['"do": "remove"', '"do": "remov"'],
    ['"do": "heat", "part"', '"do": "heat", "supply"'],
    ['"step": "open-1",', ''],
    ['"renew": true', '"renews": true'],
  ])('really checks the JSON: %s → %s', async (good, bad) => {
    expect(texts.json).toContain(good);
    expect(await judgeJson(texts.json.replace(good, bad))).toBeGreaterThan(0);
  });
});
