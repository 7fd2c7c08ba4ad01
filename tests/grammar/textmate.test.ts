import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import oniguruma from 'vscode-oniguruma';
import textmate, { type IGrammar, type IToken } from 'vscode-textmate';
import { parse } from '../../grammar/parser.ts';
import { reservedWords, statementWords } from '../../grammar/tokens.ts';
import { units } from '../../grammar/units.ts';

const root = join(import.meta.dirname, '../..');
const grammarText = readFileSync(join(root, 'grammar/fettle.tmLanguage.json'), 'utf8');
const samples = readdirSync(join(root, 'samples'), { recursive: true, encoding: 'utf8' })
  .filter((path) => path.endsWith('.fettle'))
  .sort();
const isFaulty = (path: string): boolean => path.startsWith('faulty');
const readSample = (path: string): string => readFileSync(join(root, 'samples', path), 'utf8');

let grammar: IGrammar;
beforeAll(async () => {
  const wasm = readFileSync(createRequire(import.meta.url).resolve('vscode-oniguruma/release/onig.wasm'));
  await oniguruma.loadWASM(wasm);
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => textmate.parseRawGrammar(grammarText, 'fettle.tmLanguage.json'),
  });
  grammar = (await registry.loadGrammar('source.fettle'))!;
});

interface Scoped {
  readonly line: number;
  readonly text: string;
  readonly scopes: string[];
}

function tokenise(text: string): Scoped[] {
  let state = textmate.INITIAL;
  return text.split(/\r?\n/).flatMap((line, index) => {
    const result = grammar.tokenizeLine(line, state);
    state = result.ruleStack;
    return result.tokens.map((token: IToken) => ({
      line: index,
      text: line.slice(token.startIndex, token.endIndex),
      scopes: token.scopes,
    }));
  });
}

/** Innermost scopes of each token that is not blank, as `text scope`. */
const spell = (text: string): string[] =>
  tokenise(text)
    .filter((token) => token.text.trim() !== '')
    .map((token) => `${token.text.trim()} ${token.scopes.at(-1)!.replace(/\.fettle$/, '')}`);

const scopesOf = (text: string, word: string): string[] => {
  const token = tokenise(text).find((each) => each.text.trim() === word);
  if (token === undefined) throw new Error(`no token '${word}' in: ${text}`);
  return token.scopes;
};

const isInvalid = (token: Scoped): boolean => token.scopes.some((scope) => scope.startsWith('invalid'));
const isBare = (token: Scoped): boolean => token.text.trim() !== '' && token.scopes.length === 1;

describe('samples', () => {
  it('are found', () => {
    expect(samples).toContain('winch-reducer.fettle');
    expect(samples.filter(isFaulty).length).toBeGreaterThan(5);
  });

  for (const path of samples.filter((each) => !isFaulty(each))) {
    it(`${path}: every token has a scope of its own, none is invalid`, () => {
      expect(parse(path, readSample(path)).chunks.flatMap((chunk) => chunk.issues)).toEqual([]);
      const tokens = tokenise(readSample(path));
      expect(tokens.filter(isInvalid)).toEqual([]);
      expect(tokens.filter(isBare)).toEqual([]);
    });
  }

  for (const path of samples.filter(isFaulty)) {
    it(`${path}: only open quotes and decimal commas are invalid`, () => {
      const text = readSample(path);
      const lines = text.split('\n').map((line) => line.replace(/^\s*#.*/, ''));
      const wrong = lines.flatMap((line, index) =>
        /\d,\d/.test(line) || line.split('"').length % 2 === 0 ? [index] : [],
      );
      const marked = tokenise(text).filter(isInvalid);
      expect([...new Set(marked.map((token) => token.line))]).toEqual(wrong);
    });
  }
});

describe('statements', () => {
  it('colours verb, part, clause and tool', () => {
    expect(spell('    fit new idler-bearing x2 "Push home" using arbor-press')).toEqual([
      'fit support.function.statement',
      'new storage.modifier',
      'idler-bearing variable.other.part',
      'x keyword.operator.count',
      '2 constant.numeric.count',
      '" punctuation.definition.string.begin',
      'Push home string.quoted.double',
      '" punctuation.definition.string.end',
      'using keyword.other.clause',
      'arbor-press variable.other.tool',
    ]);
  });

  it('knows every statement word', () => {
    for (const word of statementWords) {
      expect(scopesOf(`    ${word} thing "Text"`, word).at(-1)).toMatch(/^(support\.function|keyword\.other\.safety)/);
    }
  });

  it('tells the `for` of a swap from the `for` of a code', () => {
    expect(spell('swap old-drum for new-drum').slice(2)).toEqual([
      'for keyword.other.clause',
      'new-drum variable.other.part',
    ]);
    expect(spell('for DW-40B, 4XL end')).toEqual([
      'for keyword.control.conditional',
      'DW-40B constant.other.code',
      ', punctuation.separator.list',
      '4XL constant.other.code',
      'end keyword.control.conditional',
    ]);
  });

  it('colours the clauses of a step as those of a statement', () => {
    const clause = scopesOf('remove lid using lever', 'using').at(-1);
    expect(scopesOf('step close "Close" takes 5 min after open', 'takes').at(-1)).toBe(clause);
    expect(scopesOf('step close "Close" takes 5 min after open', 'after').at(-1)).toBe(clause);
  });

  it('colours the clauses of a declaration and of the head as those of a statement', () => {
    // As attributes they had the colour of names in the editor's usual dark theme.
    const text = `procedure box "Box"
  applies to B-1
  code plate "On the foot"
  measures metric
part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m holes rim number "B 1"
part lid held by bolt carried by box-side behind door
tool bit range 5..9 N·m
pattern rim circle 4 diameter 90 mm
`;
    const clauses = 'applies plate measures thread class torque holes number held carried behind range circle diameter';
    for (const word of clauses.split(' '))
      expect(
        tokenise(text)
          .find((token) => token.text.split(/\s+/).includes(word))!
          .scopes.at(-1),
        word,
      ).toBe('keyword.other.clause.fettle');
  });

  it('ends a statement at the next statement, on the same line or not', () => {
    const expected = [
      'remove support.function.statement',
      'lid variable.other.part',
      'discard support.function.statement',
      'lid variable.other.part',
    ];
    expect(spell('remove lid discard lid')).toEqual(expected);
    expect(spell('remove\n  lid\ndiscard lid')).toEqual(expected);
  });

  it('does not take stages for inches', () => {
    expect(spell('tighten cap order 1 3 2 in stages 1 in, 20 N·m').slice(3)).toEqual([
      '1 constant.numeric.decimal',
      '3 constant.numeric.decimal',
      '2 constant.numeric.decimal',
      'in keyword.other.clause',
      'stages keyword.other.clause',
      '1 constant.numeric.decimal',
      'in keyword.other.unit',
      ', punctuation.separator.list',
      '20 constant.numeric.decimal',
      'N·m keyword.other.unit',
    ]);
  });
});

describe('keywords only in their place', () => {
  it.each([
    ['step drain "Drain it"', 'drain', 'entity.name.function.step.fettle'],
    ['step close after clean, fit takes 5 min', 'clean', 'variable.other.step.fettle'],
    ['step close after clean, fit takes 5 min', 'fit', 'variable.other.step.fettle'],
    ['remove plate', 'plate', 'variable.other.part.fettle'],
    ['remove top with min, m', 'min', 'variable.other.part.fettle'],
    ['remove top with min, m', 'm', 'variable.other.part.fettle'],
    ['part threadlock "Odd name"', 'threadlock', 'entity.name.type.part.fettle'],
    ['part cap held by index, class', 'index', 'variable.other.part.fettle'],
    ['part cap held by index, class', 'class', 'variable.other.part.fettle'],
    ['part cap hazard heat "Cap"', 'heat', 'constant.language.hazard.fettle'],
    ['part pin thread M8 class A4L-80 oiled', 'A4L-80', 'constant.numeric.class.fettle'],
    ['part ring bore 50 mm k6 limit 90 °C', 'k6', 'constant.other.fit.fettle'],
    ['part ring bore 50 mm j6 limit 90 °C', 'j6', 'constant.other.fit.fettle'],
    ['part ring bore 62 mm H7/k6 limit 90 °C', 'H7/k6', 'constant.other.fit.fettle'],
    ['part ring held by an, k6', 'k6', 'variable.other.part.fettle'],
    ['procedure plate "Plate" code plate "Here"', 'procedure', 'storage.type.procedure.fettle'],
  ])('%s: %s', (text, word, scope) => {
    expect(scopesOf(text, word).at(-1)).toBe(scope);
  });

  it('leaves a reserved word inside a name alone', () => {
    for (const word of reservedWords) {
      expect(spell(`remove ${word}-cap`)[1]).toBe(`${word}-cap variable.other.part`);
      expect(spell(`remove end-${word}`)[1]).toBe(`end-${word} variable.other.part`);
    }
  });

  it('lets every reserved word that starts something end what came before', () => {
    for (const word of reservedWords.filter((each) => each !== 'new')) {
      for (const open of ['remove lid', 'part lid', 'step one', 'procedure one', 'swap a for b', 'drain oil', 'sign']) {
        expect(spell(`${open}\n${word}`).at(-1), `${open} / ${word}`).toMatch(
          new RegExp(`^${word} (storage\\.type|keyword|support\\.function)`),
        );
      }
    }
  });
});

describe('quantities', () => {
  const spellings = units.flatMap((unit) => [unit.symbol, ...unit.also]).concat('N⋅m', 'lbf∙ft', 'μm', 'º', 'ºC', '˚F');
  it.each(spellings)('reads 25 %s, with or without a space', (unit) => {
    const expected = ['25 constant.numeric.decimal', `${unit} keyword.other.unit`];
    expect(spell(`fill oil 25 ${unit}`).slice(2)).toEqual(expected);
    expect(spell(`fill oil 25${unit} "x"`).slice(2, 4)).toEqual(expected);
  });

  it('does not cut a unit out of a longer word', () => {
    expect(spell('part pin class 8.8 length 40 mm').map((each) => each.split(' ')[0])).toEqual([
      'part',
      'pin',
      'class',
      '8.8',
      'length',
      '40',
      'mm',
    ]);
  });

  it('reads range, tolerance and restatement', () => {
    expect(spell('measure gap-one limit 0.40..0.80 mm max 25 +/- 2 N·m (18 lbf·ft)').slice(3)).toEqual([
      '0.40 constant.numeric.decimal',
      '.. keyword.operator.range',
      '0.80 constant.numeric.decimal',
      'mm keyword.other.unit',
      'max keyword.other.clause',
      '25 constant.numeric.decimal',
      '+/- keyword.operator.tolerance',
      '2 constant.numeric.decimal',
      'N·m keyword.other.unit',
      '( punctuation.section.parens.begin',
      '18 constant.numeric.decimal',
      'lbf·ft keyword.other.unit',
      ') punctuation.section.parens.end',
    ]);
  });

  it('marks a comma between digits', () => {
    const comma = tokenise('fill oil 1,8 L').filter(isInvalid);
    expect(comma.map((token) => token.text)).toEqual([',']);
    expect(tokenise('tighten cap at holes 1, 5').filter(isInvalid)).toEqual([]);
  });

  it.each([
    ...['M8', 'M8x1.25', 'M1.6', '1/4-20', '1-1/8-7', '10-32'],
    ...['G1/2', 'G 1 1/4 A', 'R3/8', '1/2-14 NPT', '3/4 NPT-LH'],
    ...['G1', 'Rp3', 'G1A-LH', 'NPT1'],
  ])('reads the thread %s', (thread) => {
    expect(scopesOf(`part pin thread ${thread} torque 9 N·m`, thread).at(-1)).toBe('constant.other.thread.fettle');
  });

  it('reads points and their one unit', () => {
    expect(spell('pattern lid points (0, 0) (60, 0) mm').at(-1)).toBe('mm keyword.other.unit');
  });
});

describe('texts and comments', () => {
  it('marks the two escapes and nothing else', () => {
    const escapes = tokenise('do "a \\" b \\\\ c # d"').filter((token) =>
      token.scopes.includes('constant.character.escape.fettle'),
    );
    expect(escapes.map((token) => token.text)).toEqual(['\\"', '\\\\']);
    expect(spell('do "a # b"').some((each) => each.includes('comment'))).toBe(false);
  });

  it('lets an open quote cost its own line only', () => {
    const next = 'remove lid keep in "bag A"   # shelf 2';
    const tokens = tokenise(`remove cap "under the plate keep in x\n${next}`);
    expect(tokens.filter(isInvalid).every((token) => token.line === 0)).toBe(true);
    expect(tokens.filter(isInvalid).map((token) => token.text)).toEqual(['"', 'under the plate keep in x']);
    expect(tokens.filter((token) => token.line === 1).map((token) => token.scopes.slice(1))).toEqual(
      tokenise(next).map((token) => token.scopes.slice(1)),
    );
  });

  it('reads comments, after a statement and with a silenced check', () => {
    expect(scopesOf('remove lid # on the left', 'on the left').at(-1)).toBe('comment.line.number-sign.fettle');
    expect(spell('  # fettle-allow no-class: brass carries none')).toEqual([
      '# punctuation.definition.comment',
      'fettle-allow keyword.other.allow',
      'no-class constant.other.check',
      ': punctuation.separator.reason',
      'brass carries none comment.line.number-sign.allow',
    ]);
  });
});

describe('the files beside the grammar', () => {
  const configuration = JSON.parse(readFileSync(join(root, 'grammar/language-configuration.json'), 'utf8'));
  const expression = (rule: { pattern: string; flags: string }): RegExp => new RegExp(rule.pattern, rule.flags);

  it('indents blocks and only blocks', () => {
    const { increaseIndentPattern, decreaseIndentPattern } = configuration.indentationRules;
    for (const line of ['teardown', '  step drain "x"', '    either "a"', '    or "b"', '    if "c"', '    else']) {
      expect(line).toMatch(expression(increaseIndentPattern));
    }
    for (const line of ['    remove lid', '    end', 'part for-now', 'step-ladder', '# step']) {
      expect(line).not.toMatch(expression(increaseIndentPattern));
    }
    for (const line of ['    or "b"', '    else', '    end']) expect(line).toMatch(expression(decreaseIndentPattern));
    for (const line of ['    end-cap', '    order star', '  step a']) {
      expect(line).not.toMatch(expression(decreaseIndentPattern));
    }
  });

  it('takes a hyphened name for one word', () => {
    const words = 'tighten end-screw-2 to 25.5 N·m'.match(new RegExp(configuration.wordPattern.pattern, 'gu'));
    expect(words).toEqual(['tighten', 'end-screw-2', 'to', '25.5', 'N', 'm']);
  });

  const snippets: Record<string, { prefix: string; body: string[] }> = JSON.parse(
    readFileSync(join(root, 'grammar/snippets.json'), 'utf8'),
  );
  it.each(Object.entries(snippets))('snippet %s is correct Fettle, without tabs', (_, { body }) => {
    const text = expand(body.join('\n'));
    expect(text).not.toMatch(/[\t$]/);
    const standsAlone = /^(#|procedure|use|part|tool|supply|pattern|step)\b/.test(text);
    const tree = parse('snippet', standsAlone ? text : `teardown\n  step one\n${text}`);
    expect(tree.chunks.flatMap((chunk) => chunk.issues.map((issue) => issue.message))).toEqual([]);
    const tokens = tokenise(text);
    expect(tokens.filter(isInvalid)).toEqual([]);
    expect(tokens.filter(isBare)).toEqual([]);
  });
  it('gives each snippet its own prefix', () => {
    const prefixes = Object.values(snippets).map((each) => each.prefix);
    expect(new Set(prefixes).size).toBe(prefixes.length);
  });
});

/** What stands in the editor when a snippet is inserted and left as it is. */
function expand(body: string): string {
  const defaults = new Map<string, string>();
  let text = body;
  for (let before = ''; before !== text; ) {
    before = text;
    text = text.replace(/\$\{(\d+):([^${}]*)\}|\$\{(\d+)\|([^,|]*)[^|]*\|\}/g, (_, n, value, m, choice) => {
      defaults.set(n ?? m, value ?? choice);
      return value ?? choice;
    });
    text = text.replace(
      /\$(\d+)|\$\{(\d+)\}/g,
      (place, n, m) => defaults.get(n ?? m) ?? ((n ?? m) === '0' ? '' : place),
    );
  }
  return text.replace(/\$\d+/g, '');
}
