import { expect, test } from 'vitest';
import { judgeFiles } from './fixtures.ts';

// Names of the Unicode Character Database, in small letters; C0 and C1 by ISO 6429 (ECMA-48). From memory.
test.each([
  [0x00, 'NUL', false],
  [0x08, 'backspace', false],
  [0x1b, 'escape', false],
  [0x7f, 'delete', false],
  [0xad, 'soft hyphen', false],
  [0x61c, 'Arabic letter mark', true],
  [0x200b, 'zero-width space', false],
  [0x200c, 'zero-width non-joiner', false],
  [0x200d, 'zero-width joiner', false],
  [0x200e, 'left-to-right mark', true],
  [0x200f, 'right-to-left mark', true],
  [0x2028, 'line separator', false],
  [0x2029, 'paragraph separator', false],
  [0x202a, 'left-to-right embedding', true],
  [0x202b, 'right-to-left embedding', true],
  [0x202c, 'end of embedding', true],
  [0x202d, 'left-to-right override', true],
  [0x202e, 'right-to-left override', true],
  [0x2060, 'word joiner', false],
  [0x2066, 'left-to-right isolate', true],
  [0x2067, 'right-to-left isolate', true],
  [0x2068, 'first-strong isolate', true],
  [0x2069, 'end of isolate', true],
  [0xfeff, 'byte order mark', false],
])('U+%s', (code, name, marksDirection) => {
  const text = `part lid "Li${String.fromCodePoint(code)}d"\n`;
  const { judged } = judgeFiles([{ name: 'example.fettle', text }])[0]!;
  const found = judged.findings.filter((finding) => finding.code === 'hidden-text');
  expect(found).toHaveLength(1);
  const { message, severity } = found[0]!;
  expect(message).toContain(`U+${code.toString(16).toUpperCase().padStart(4, '0')} (a`);
  expect(message).toContain(name);
  // What only marks a direction may be seen in no way; embeddings, overrides and isolates reorder (UAX #9, explicit formatting).
  const explicit = (code >= 0x202a && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069);
  if (explicit) expect(severity).toBe('error');
  else if (!marksDirection) expect(severity).toBe('warning');
});
