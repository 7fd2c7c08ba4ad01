/** A change of one place in a source file. */
export interface Mutant {
  readonly file: string;
  readonly start: number;
  readonly end: number;
  readonly text: string;
  /** Line from 1. */
  readonly line: number;
}

/** Comments, texts, templates, imports and types as blanks of the same length. */
export function masked(source: string): string {
  const blank = (text: string): string => text.replace(/[^\n]/g, ' ');
  let out = '';
  let rest = source;
  const pieces =
    /^(?:\/\*[\s\S]*?\*\/|\/\/[^\n]*|'(?:[^'\\\n]|\\.)*'|"(?:[^"\\\n]|\\.)*"|`(?:[^`\\]|\\[\s\S])*`|\/(?![/*])(?:[^/\\\n[]|\\.|\[(?:[^\]\\\n]|\\.)*\])+\/[a-z]*)/;
  while (rest.length > 0) {
    const piece = /^['"`/]/.test(rest) ? pieceAt(source, source.length - rest.length, pieces) : undefined;
    const plain = piece ?? rest.slice(0, Math.max(1, rest.slice(1).search(/['"`/]/) + 1 || rest.length));
    out += piece === undefined ? plain : blank(piece);
    rest = rest.slice(plain.length);
  }
  return out
    .replace(/^(?:import|export \{|export type|type) [\s\S]*?;$/gm, blank)
    .replace(/^(?:export )?interface [^{]*\{(?:[^}\n]*\}|[\s\S]*?^\})/gm, blank);
}

/** Nested templates end where their braces do. */
function pieceAt(source: string, at: number, pieces: RegExp): string | undefined {
  if (source[at] === '`') {
    let depth = 0;
    for (let i = at + 1; i < source.length; i++) {
      if (source[i] === '\\') i++;
      else if (source.startsWith('${', i)) {
        depth++;
        i++;
      } else if (depth > 0 && source[i] === '}') depth--;
      else if (depth > 0 && source[i] === '`') i += pieceAt(source, i, pieces)!.length - 1;
      else if (source[i] === '`') return source.slice(at, i + 1);
    }
    return source.slice(at);
  }
  if (
    source[at] === '/' &&
    source[at + 1] !== '/' &&
    source[at + 1] !== '*' &&
    !/[(,=:?&|!{[;]\s*$/.test(source.slice(Math.max(0, at - 40), at))
  )
    return undefined;
  return pieces.exec(source.slice(at))?.[0];
}

/**
 * Twice as much, or 1 for 0. A slack for rounding is made 1: nothing that is written or reckoned lies so near a bound that a
 * hundred-millionth or two of it would tell.
 */
function otherNumber(number: string): string {
  const value = Number(number);
  return String(value === 0 || value <= 1e-6 ? 1 : value * 2);
}

const swaps: readonly (readonly [pattern: RegExp, text: (match: string) => string])[] = [
  [/ === /g, () => ' !== '],
  [/ !== /g, () => ' === '],
  [/ <= /g, () => ' < '],
  [/ >= /g, () => ' > '],
  [/ < /g, () => ' <= '],
  [/ > /g, () => ' >= '],
  [/ && /g, () => ' || '],
  [/ \|\| /g, () => ' && '],
  [/ \+ /g, () => ' - '],
  [/ - /g, () => ' + '],
  [/ \* /g, () => ' / '],
  [/ \/ /g, () => ' * '],
  [/ \+= /g, () => ' -= '],
  [/ -= /g, () => ' += '],
  // Not the number of a type: `Parameters<F>[0]`.
  [/(?<![\w$.]|>\[)\d+(?:\.\d+)?(?:e-?\d+)?(?![\w$])/g, otherNumber],
  // `local` lets a check go by touched chunks alone: without it the check goes through all, later, to the same end.
  [/(?<!\blocal: )\btrue\b/g, () => 'false'],
  [/\bfalse\b/g, () => 'true'],
  [/\bcontinue;/g, () => ';'],
  [/(?<=[\s(])!(?=[\w(])/g, () => ''],
  [/\.some\(/g, () => '.every('],
  [/\.every\(/g, () => '.some('],
  [/\bMath\.min\(/g, () => 'Math.max('],
  [/\bMath\.max\(/g, () => 'Math.min('],
  [/\breturn (?=[^;\n]+;)[^;\n]+;/g, () => 'return undefined;'],
  [/\?\? /g, () => '&& '],
];

/** Every mutant of a source. */
export function mutantsOf(file: string, source: string): Mutant[] {
  const text = masked(source);
  const mutants: Mutant[] = [];
  for (const [pattern, swap] of swaps) {
    for (const match of text.matchAll(pattern)) {
      const start = match.index;
      // `&&` and `||` may not stand beside `??`.
      const wholeLine = text.slice(text.lastIndexOf('\n', start) + 1, text.indexOf('\n', start));
      const changed = swap(match[0]);
      if (/[&|]/.test(changed) && wholeLine.includes('??') && !(wholeLine.match(/\?\?|&&|\|\|/g)!.length === 1))
        continue;
      if (changed === 'return undefined;' && match[0] === changed) continue;
      const line = source.slice(0, start).split('\n').length;
      mutants.push({ file, start, end: start + match[0].length, text: changed, line });
    }
  }
  return mutants;
}
