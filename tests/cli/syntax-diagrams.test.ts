import { describe, expect, it } from 'vitest';
import { validateXML } from 'xmllint-wasm';
import { reservedWords } from '../../grammar/tokens.ts';
import { syntaxDiagrams } from '../../server/src/cli/syntax-diagrams.ts';

describe('the syntax diagrams', () => {
  const drawing = syntaxDiagrams();
  const words = [...drawing.matchAll(/<text[^>]*>([^<]*)<\/text>/g)].map(([, word]) => word!);

  it('hold every reserved word', () => {
    expect([...reservedWords].filter((word) => !words.includes(word))).toEqual([]);
  });
  it('draw each rule that they name, once', () => {
    const titles = [...drawing.matchAll(/<text class="rule"[^>]*>([^<]*)<\/text>/g)].map(([, title]) => title!);
    // Words have round ends, rules have corners.
    const named = [...drawing.matchAll(/<rect (?![^>]*rx)[^>]*><\/rect>\s*<text[^>]*>([^<]*)<\/text>/g)].map(
      ([, name]) => name!,
    );
    expect(new Set(titles).size).toBe(titles.length);
    expect(named.length).toBeGreaterThan(30);
    expect([...new Set(named)].filter((name) => !titles.includes(name))).toEqual([]);
  });
  it('are well-formed and need nothing from elsewhere', async () => {
    expect((await validateXML({ xml: drawing, normalization: 'format' })).errors).toEqual([]);
    expect(drawing.replace('xmlns="http://www.w3.org/2000/svg"', '')).not.toMatch(/https?:|href|<script/);
  });
});
