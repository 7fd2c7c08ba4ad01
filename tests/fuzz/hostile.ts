/** Inputs that try to be costly, by what they try. `size` is the length wanted in UTF-16 units. */
export const hostile: Readonly<Record<string, (size: number) => string>> = {
  'either in either': (size) => within('step s\n', 'either "a"\n', size),
  'either in either, closed': (size) => within('step s\n', 'either "a"\n', size / 2, 'end\n'),
  'if in either in for': (size) => within('step s\n', 'either "a"\nif "b"\nfor A\n', size),
  'alternatives one behind the other': (size) =>
    `part p "P"\nteardown\nstep s\n${fill('either "a"\nremove p\nor "b"\nfit p\nend\n', size)}`,
  'many alternatives of one': (size) => `part p "P"\nteardown\nstep s\neither\n${fill('remove p\nor\n', size)}end\n`,
  'one line': (size) => `teardown step s ${fill('do "Turn." ', size)}`,
  'one text': (size) => `teardown\nstep s\ndo "${fill('ab ', size)}"\n`,
  'one comment': (size) => `# ${fill('fettle-allow ', size)}\n`,
  'one name': (size) => `part ${fill('a', size)} "A"\n`,
  'one number': (size) => `part a "A" torque ${fill('9', size)} N·m\n`,
  'one open text a line': (size) => fill('do "a\n', size),
  'backslashes in an open text': (size) => `do "${fill('\\', size)}`,
  'quotes only': (size) => fill('"', size),
  'hyphens only': (size) => fill('-', size),
  'digits and commas': (size) => `part a torque ${fill('1,', size)}`,
  'dots only': (size) => fill('.', size),
  'blank lines': (size) => fill('\n', size),
  'blanks in one line': (size) => `part a${fill(' ', size)}"A"\n`,
  'carriage returns': (size) => fill('part a\r', size),
  NULs: (size) => fill('\0', size),
  'lone surrogates': (size) => fill('\ud800', size),
  'surrogates in a text': (size) => `do "${fill('\udc00', size)}"`,
  'byte order marks': (size) => fill('\ufeff', size),
  'bidirectional controls': (size) => `# ${fill('\u202e\u2066a', size)}\n`,
  'hidden characters between letters': (size) => fill('a\u200b', size),
  'combining marks': (size) => `part a${fill('\u0301', size)} "A"\n`,
  'words that nobody knows': (size) => fill('foo bar\n', size),
  'unknown names': (size) => `part bolt-aaaa "B"\nteardown\nstep s\n${numbered((i) => `remove bolt-${i}\n`, size)}`,
  'names that look alike': (size) => numbered((i) => `part b\u043elt-${i} "B"\npart bolt-${i} "B"\n`, size),
  declarations: (size) => `procedure p "P"\n${numbered((i) => `part p${i} "P"\n`, size)}`,
  'one part declared again and again': (size) => fill('part a "A"\n', size),
  'parts of a million pieces': (size) =>
    `${numbered((i) => `part p${i} x1000000 "P" thread M8 torque 25 N·m\n`, size / 2)}teardown\nstep s\n${numbered((i) => `remove p${i} x999999\n`, size / 2)}`,
  'a million pieces at one pattern': (size) =>
    `part p x1000000 "P" thread M8 class 8.8 torque 25 N·m holes ring\npattern ring circle 1000000 diameter 1 m\nteardown\nstep s\nremove p\nreassembly\nstep t\n${fill('fit p x7\ntighten p order star\n', size)}`,
  'every part holds the next': (size) => numbered((i) => `part p${i} "P" held by p${i + 1}\n`, size),
  'all parts hold all': (size) =>
    numbered(
      (i) => `part p${i} "P" behind ${Array.from({ length: 40 }, (_, k) => `p${(i * 7 + k) % 90}`).join(', ')}\n`,
      size,
    ),
  'every part carries the next': (size) =>
    `${numbered((i) => `part p${i} "P" carried by p${i + 1}\n`, size / 2)}teardown\nstep s\n${numbered((i) => `remove p${i}\n`, size / 2)}`,
  'many codes': (size) =>
    `procedure p\napplies to ${numbered((i) => `C${i}, `, size)}Z\npart a "A"\nteardown\nstep s\nremove a\n`,
  'many codes, many statements': (size) =>
    `procedure p\napplies to ${numbered((i) => `C${i}, `, size / 2)}Z\npart a "A"\nteardown\nstep s\n${fill('remove a\nfit a\n', size / 2)}`,
  'steps that wait for each other': (size) =>
    `teardown\n${numbered((i) => `step s${i} takes 5 min after s${i + 1}\n`, size)}`,
  'steps that wait for all before': (size) =>
    `teardown\n${numbered((i) => `step s${i} takes 5 min${i > 0 ? ` after ${Array.from({ length: Math.min(i, 30) }, (_, k) => `s${i - 1 - k}`).join(', ')}` : ''}\n`, size)}`,
  'many stages': (size) => `part a x9 "A" torque 1 N·m\nstep s\ntighten a in stages ${fill('1 N·m, ', size)}2 N·m\n`,
  'a long order': (size) => `part a x9 "A" torque 1 N·m\nstep s\ntighten a order ${fill('1 3 2 ', size)}\n`,
  'many points': (size) =>
    `pattern p points ${fill('(1, 2) ', size)}mm\npart a x4 "A" torque 1 N·m holes p\nstep s\ntighten a order star\n`,
  'many points in one place': (size) =>
    `part a "A" index holes p\npattern p points ${fill('(0, 0) ', size)}mm\nteardown\nstep s\nremove a\n`,
  'many angles': (size) =>
    `part a "A" index holes p\npattern p circle angles ${numbered((i) => `${(i * 7919) % 360}°, `, size)}1° diameter 9 m\nteardown\nstep s\nremove a\n`,
  'many shims': (size) =>
    `step s\nmeasure gap limit 0.1..9 mm\nshim a gap gap endplay 0.05..0.1 mm from ${numbered((i) => `0.${10 + (i % 89)} mm x99, `, size)}1 mm x1000000\n`,
  'fine shims': (size) =>
    `part a "A"\nstep s\nmeasure gap limit 0.000001..1000000 mm\nshim a gap gap endplay 0.000001..0.000002 mm from ${numbered((i) => `0.${String(i + 1).padStart(6, '0')} mm x1000, `, size)}1 mm\n`,
  'huge quantities': (size) =>
    numbered((i) => `part p${i} thread M8x1.25 class 8.8 torque 1e999 N·m bore 9${'9'.repeat(330)} mm\n`, size),
  'use of itself': (size) => fill('use "unit.fettle"\n', size),
  'use of what is not there': (size) => numbered((i) => `use "../../../../etc/${i}"\n`, size),
  allowances: (size) => `part a "A"\nteardown\nstep s\n${fill('# fettle-allow left-off: x\nremove a\n', size)}`,
  'fills and cures': (size) =>
    `supply s 1 L cure 9 min\npart a "A"\nreassembly\n${numbered((i) => `step s${i} takes 1 min\napply s to a\nwait 1 min\nfill s 1 L\n`, size)}`,
  'swap after swap': (size) =>
    `part a "A"\npart b "B"\nteardown\nstep s\nremove a\n${fill('swap a for b\nswap b for a\n', size)}`,
  'with and with': (size) =>
    `part a "A"\npart b "B"\nteardown\nstep s\n${fill('remove a with b x2, b\nfit a with b\n', size)}`,
};

const fill = (piece: string, size: number): string => piece.repeat(Math.max(1, Math.floor(size / piece.length)));
const within = (start: string, open: string, size: number, close = ''): string => {
  const depth = Math.max(1, Math.floor(size / open.length));
  return start + open.repeat(depth) + close.repeat(depth);
};
function numbered(line: (i: number) => string, size: number): string {
  let text = '';
  for (let i = 0; text.length < size; i++) text += line(i);
  return text;
}
