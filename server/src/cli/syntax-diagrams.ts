import type { TokenType } from 'chevrotain';
import railroad, { type Drawn } from 'railroad-diagrams';
import { Rules } from '../../../grammar/rules.ts';
import { phaseWords, vocabulary } from '../../../grammar/tokens.ts';

const { Choice, Diagram, NonTerminal, OneOrMore, Optional, Sequence, Terminal, ZeroOrMore } = railroad;

/** A production as Chevrotain tells it, with the fields that some kinds have. */
interface Production {
  readonly type: string;
  readonly name?: string;
  readonly definition?: readonly Production[];
  readonly separator?: Production;
}

/** What stands for tokens that are no words of the language. */
const shown: Readonly<Record<string, string>> = {
  Name: 'name',
  AnyNumber: 'number',
  Unit: 'unit',
  AnyText: '"text"',
  Times: 'x4',
  Comma: ',',
  CommaNumber: '0,60',
  OpenBracket: '(',
  CloseBracket: ')',
  Spread: '.. or ±',
  Slash: '/',
  Stray: 'any other sign',
  DashedNumber: '10-32',
  MetricThread: 'M8x1.25',
  InchThread: '1/4-20',
  FitPair: 'H7/k6',
};

/** Words that the grammar takes for one another, such as all that begin a declaration. */
const wordsOf = (category: string): string[] =>
  vocabulary
    .filter(({ CATEGORIES = [] }: TokenType) => CATEGORIES.some(({ name }) => name === category))
    .map(({ name }) => name);

function token(name: string): Drawn {
  const sign = shown[name];
  if (sign !== undefined) return Terminal(sign);
  const words = wordsOf(name);
  return words.length === 0 ? Terminal(name) : choice(words.map((word) => Terminal(word)));
}

const choice = (ways: readonly Drawn[]): Drawn => Choice(0, ...ways);
const spaced = (rule: string): string => rule.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);

/** Draws productions. Rules that are no more than one thing are drawn as that wherever they are named. */
class Drawing {
  private readonly rules: ReadonlyMap<string, Production>;

  constructor(rules: readonly Production[]) {
    this.rules = new Map(rules.map((rule) => [rule.name!, rule]));
  }

  isPlain(name: string): boolean {
    return (
      this.rules.get(name)?.definition?.length === 1 &&
      /^(?:Terminal|NonTerminal|Option)$/.test(this.rules.get(name)!.definition![0]!.type)
    );
  }

  rule(name: string): Drawn {
    return this.isPlain(name) ? this.content(name) : NonTerminal(spaced(name));
  }

  content(name: string): Drawn {
    return this.draw(this.rules.get(name)!);
  }

  /** Throws on a kind of production that it does not know. */
  private draw({ type, name, definition = [], separator }: Production): Drawn {
    const parts = definition.map((each) => this.draw(each));
    const inside = parts.length === 1 ? parts[0]! : Sequence(...parts);
    switch (type) {
      case 'Terminal':
        return token(name!);
      case 'NonTerminal':
        return this.rule(name!);
      case 'Rule':
      case 'Alternative':
        return inside;
      case 'Alternation':
        return choice(parts);
      case 'Option':
        return Optional(inside);
      case 'Repetition':
        return ZeroOrMore(inside);
      case 'RepetitionMandatory':
        return OneOrMore(inside);
      case 'RepetitionMandatoryWithSeparator':
        return OneOrMore(inside, this.draw(separator!));
      default:
        throw new Error(`no way to draw ${type}`);
    }
  }

  /** `names` and all rules that they lead to, each once, nearest first. */
  reached(names: readonly string[]): string[] {
    const found = new Set(names);
    const look = ({ type, name, definition = [] }: Production): void => {
      if (type === 'NonTerminal') found.add(name!);
      definition.forEach(look);
    };
    // What is added meanwhile is come by, too.
    for (const name of found) look(this.rules.get(name)!);
    return [...found];
  }
}

const isStatement = (rule: string): boolean => rule.endsWith('Statement');

/** How what the rules read is put together: the reader of a file does that itself (`grammar/chunk-reader.ts`). */
function outline(drawing: Drawing, rules: readonly string[]): [string, Drawn][] {
  const rule = (name: string): Drawn => drawing.rule(name);
  // What is drawn knows its place: each stands once.
  const statement = (): Drawn => NonTerminal('statement');
  const between = choice([Sequence(Terminal('or'), Optional(rule('text'))), Terminal('else')]);
  return [
    [
      'file',
      ZeroOrMore(choice([rule('procedureHead'), rule('useLine'), rule('declarationLine'), NonTerminal('phase')])),
    ],
    [
      'phase',
      Sequence(
        choice(phaseWords.map((word) => Terminal(word))),
        ZeroOrMore(choice([NonTerminal('step'), rule('useLine')])),
      ),
    ],
    ['step', Sequence(rule('stepLine'), ZeroOrMore(statement()))],
    ['statement', choice([...rules.filter(isStatement).map(rule), NonTerminal('block')])],
    ['block', Sequence(rule('blockOpening'), OneOrMore(ZeroOrMore(statement()), between), Terminal('end'))],
  ];
}

const gap = 14;
const lineHeight = 24;
const pageWidth = 1040;
const style = `text { font: 14px monospace; text-anchor: middle; fill: #1c1c1c }
text.rule { font: bold 15px sans-serif; text-anchor: start }
path { stroke: #1c1c1c; stroke-width: 1.5; fill: none }
rect { stroke: #1c1c1c; stroke-width: 1; fill: #ffffff }
rect.page { stroke: none }`;

/** The grammar as one drawing (SVG): how a file is put together, then every rule. It needs nothing from elsewhere. */
export function syntaxDiagrams(): string {
  const grammar = new Rules();
  grammar.prepare();
  const rules = grammar.getSerializedGastProductions() as readonly Production[];
  const drawing = new Drawing(rules);
  const names = rules.map(({ name }) => name!);
  const tops = [
    'procedureHead',
    'useLine',
    'declarationLine',
    'stepLine',
    ...names.filter(isStatement),
    'blockOpening',
  ];
  const inOrder = drawing.reached(tops).filter((name) => !drawing.isPlain(name));
  const diagrams = [
    ...outline(drawing, names),
    ...inOrder.map((name): [string, Drawn] => [name, drawing.content(name)]),
  ];
  // Side by side as long as a line has room.
  let [left, top, bottom] = [gap, gap, gap];
  const placed = diagrams.map(([name, content]) => {
    const text = Diagram(content).toString().trim();
    const [width, height] = /^<svg class="railroad-diagram" width="([\d.]+)" height="([\d.]+)"/
      .exec(text)!
      .slice(1)
      .map(Number) as [number, number];
    if (left > gap && left + width > pageWidth) {
      left = gap;
      top = bottom;
    }
    const [x, y] = [left, top + lineHeight];
    left += width + gap;
    bottom = Math.max(bottom, y + height + gap);
    return `<text class="rule" x="${x}" y="${y - 4}">${spaced(name)}</text>\n${text.replace('<svg class="railroad-diagram"', `<svg x="${x}" y="${y}"`)}`;
  });
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${pageWidth}" height="${bottom}" viewBox="0 0 ${pageWidth} ${bottom}">`,
    '<title>The grammar of Fettle</title>',
    `<style>${style}</style>`,
    '<rect class="page" width="100%" height="100%"/>',
    ...placed,
    '</svg>',
    '',
  ].join('\n');
}
