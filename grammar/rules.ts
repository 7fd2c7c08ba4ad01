import { EmbeddedActionsParser, type IRecognitionException, type IToken, type TokenType } from 'chevrotain';
import { finite } from './limits.ts';
import type {
  Chunk,
  Count,
  CountedName,
  Declaration,
  Head,
  Name,
  NumberLiteral,
  Pattern,
  PropertyClass,
  ShimPiece,
  Span,
  Statement,
  Step,
  UnitName,
  Use,
} from './syntax.ts';
import { decimalsIn, Quantity, Text } from './syntax.ts';
import {
  AnyNumber,
  AnyText,
  BareVerb,
  Close,
  Comma,
  CommaNumber,
  DashedNumber,
  Declares,
  endOf,
  FitPair,
  InchThread,
  isShaftClass,
  isStainlessClass,
  isThousands,
  keyword as k,
  MetricThread,
  NamedVerb,
  Name as NameToken,
  NumberToken,
  Open,
  PartVerb,
  PipeThread,
  Slash,
  Spread,
  Stray,
  Times,
  To,
  Unit,
  UnknownUnit,
  vocabulary,
} from './tokens.ts';
import { unitOf } from './units.ts';

const friendly = new Map<TokenType, string>([
  [NameToken, 'a name'],
  [AnyNumber, 'a number'],
  [NumberToken, 'a number'],
  [Unit, 'a unit'],
  [AnyText, 'a text in double quotes'],
  [Times, 'a count such as `x4`'],
  [Comma, '`,`'],
  [Open, '`(`'],
  [Close, '`)`'],
  [Spread, '`..` or `±`'],
  [MetricThread, 'a thread such as `M8x1.25`'],
  [InchThread, 'a thread such as `1/4-20`'],
  [PipeThread, 'a thread such as `G1/2`'],
  [FitPair, 'a fit such as `H7/k6`'],
]);
const say = (type: TokenType): string => friendly.get(type) ?? `\`${type.name}\``;
const list = (types: Iterable<TokenType>): string => {
  const words = [...new Set([...types].map(say))];
  return words.length > 6
    ? `${words.slice(0, 5).join(', ')} …`
    : words.length > 1
      ? `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`
      : (words[0] ?? 'nothing more');
};

/** What the parser says when it stops; the driver adds where it went on. */
const messages = {
  buildMismatchTokenMessage: ({ expected }: { expected: TokenType }) => say(expected),
  buildNotAllInputParsedMessage: () => '',
  buildNoViableAltMessage: ({ expectedPathsPerAlt }: { expectedPathsPerAlt: TokenType[][][] }) =>
    list(expectedPathsPerAlt.flatMap((paths) => paths.flatMap((path) => path.slice(0, 1)))),
  buildEarlyExitMessage: ({ expectedIterationPaths }: { expectedIterationPaths: TokenType[][] }) =>
    list(expectedIterationPaths.flatMap((path) => path.slice(0, 1))),
};

/** Asked before a clause is read: may it stand here? */
export interface ClauseKeeper {
  /** `word` is the clause's keyword, or `xN`, `text`, `quantity`; `token` the first of the clause. */
  clause(word: string, token: IToken): void;
}

type Alternatives = { ALT: () => void }[];

/**
 * The grammar of everything between one leading keyword and the next. Each rule fills the node that the driver hands it
 * as it goes, so that what was read before an error is kept.
 *
 * Lists of alternatives are built once, as Chevrotain advises.
 */
export class Rules extends EmbeddedActionsParser {
  chunk = { text: '' } as Chunk;
  /** Offset of the chunk in the text that was lexed. */
  base = 0;
  head = {} as Head;
  use = {} as Use;
  declaration = {} as Declaration;
  step = {} as Step;
  statement = {} as Statement;
  keeper: ClauseKeeper = { clause: () => {} };
  /** Where the next list of names or numbers goes. */
  private names: Name[] = [];
  private numbers: NumberLiteral[] = [];
  private quantities: Quantity[] = [];

  constructor() {
    super(vocabulary, {
      recoveryEnabled: false,
      maxLookahead: 2,
      skipValidations: true,
      errorMessageProvider: messages,
      nodeLocationTracking: 'none',
    });
  }

  private prepared = false;

  /**
   * Has Chevrotain analyse the rules, once, before the first is read by. That takes as long as to read thousands of lines
   * without them, as most files are. It runs the rules without input, on the nodes of a new `Rules`.
   */
  prepare(): void {
    if (this.prepared) return;
    this.performSelfAnalysis();
    this.prepared = true;
  }

  /** The tokens that the rule reads; one array for all, as most stretches are a few tokens long. */
  private readonly window: IToken[] = [];

  /** Runs `rule`, one of this grammar's, on the tokens from `from` to `to`; its first trouble. */
  read(rule: () => void, tokens: readonly IToken[], from: number, to: number): IRecognitionException | undefined {
    const { window } = this;
    const length = to - from;
    if (window.length > length) window.length = length;
    for (let i = 0; i < length; i++) window[i] = tokens[from + i]!;
    this.input = window;
    rule.call(this);
    return this.errors[0];
  }

  private span(first: IToken, last: IToken = first): Span {
    return { chunk: this.chunk, start: first.startOffset - this.base, end: endOf(last) - this.base };
  }
  private nameOf(token: IToken): Name {
    const start = token.startOffset - this.base;
    return { chunk: this.chunk, start, end: start + token.image.length, text: token.image };
  }
  private textOf(token: IToken): Text {
    const { start, end } = this.span(token);
    return new Text(this.chunk, start, end);
  }
  private numberOf(token: IToken): NumberLiteral {
    const { image, tokenType } = token;
    let plain = tokenType === CommaNumber ? image.replace(',', '.').replace(/,.*$/, '') : image;
    if (plain.startsWith('−')) plain = `-${plain.slice(1)}`;
    const start = token.startOffset - this.base;
    return {
      chunk: this.chunk,
      start,
      end: start + image.length,
      value: finite(Number(plain)),
      decimals: decimalsIn(image),
      image,
    };
  }
  private numbersIn(token: IToken): NumberLiteral[] {
    if (token.tokenType !== CommaNumber) return [this.numberOf(token)];
    let start = token.startOffset - this.base;
    return token.image.split(',').map((image) => {
      const number = {
        chunk: this.chunk,
        start,
        end: start + image.length,
        value: finite(Number(image)),
        decimals: 0,
        image,
      };
      start = number.end + 1;
      return number;
    });
  }
  /** Nobody counts none: `x0` is told of and stands for no count. */
  private countOf(token: IToken): Count | undefined {
    if (Number(token.image.slice(1)) === 0) return undefined;
    // Hundreds of digits would be Infinity.
    return { ...this.span(token), value: Math.min(Number(token.image.slice(1)), Number.MAX_SAFE_INTEGER) };
  }
  private unitName(token: IToken): UnitName {
    const start = token.startOffset - this.base;
    // The `N` of `25 N m` is none by itself.
    const unit = token.tokenType === UnknownUnit ? undefined : unitOf(token.image);
    return { chunk: this.chunk, start, end: start + token.image.length, text: token.image, unit };
  }
  private lastEnd(): number {
    return endOf(this.LA(0)) - this.base;
  }
  /** Consumes a clause's own word, after asking whether it may stand here. */
  private open(type: TokenType): IToken {
    const token = this.CONSUME(type);
    this.keeper.clause(type.name, token);
    return token;
  }

  // --- values -------------------------------------------------------------------------------------------------------

  private number = this.RULE('number', (): NumberLiteral => this.numberOf(this.CONSUME(AnyNumber)));

  private spread = (): { form: Quantity['form']; second: NumberLiteral } => {
    const form = this.CONSUME(Spread).tokenType === To ? 'range' : 'tolerance';
    return { form, second: this.SUBRULE2(this.number) };
  };
  private unit = (): UnitName => this.unitName(this.CONSUME(Unit));
  private measure = this.RULE('measure', (): Quantity => {
    const first = this.SUBRULE(this.number);
    const spread = this.OPTION1(this.spread);
    const unit = this.OPTION2(this.unit);
    return this.ACTION(() => {
      const { chunk, start, value, end } = first;
      const form = spread === undefined ? 'single' : spread.form;
      // Of `1,250 N·m` nobody knows how much it is, so that nothing is concluded from it.
      const inUnit = [first, spread?.second].some((each) => isThousands(each?.image ?? '')) ? undefined : unit?.unit;
      return new Quantity(chunk, start, this.lastEnd(), form, value, end, spread?.second, inUnit, unit?.start ?? 0);
    });
  });

  private restatement = (): Quantity => {
    this.CONSUME(Open);
    const value = this.SUBRULE2(this.measure);
    this.CONSUME(Close);
    return value;
  };
  private quantity = this.RULE('quantity', (): Quantity => {
    const value = this.SUBRULE(this.measure);
    const restated = this.OPTION(this.restatement);
    this.ACTION(() => {
      if (restated === undefined) return;
      value.end = this.lastEnd();
      value.restated = restated;
    });
    return value;
  });

  private name = this.RULE('name', (): Name => this.nameOf(this.CONSUME(NameToken)));

  private text = this.RULE('text', (): Text => this.textOf(this.CONSUME(AnyText)));

  private namesApart = {
    SEP: Comma,
    DEF: (): void => {
      this.names.push(this.nameOf(this.CONSUME(NameToken)));
    },
  };
  private nameList = this.RULE('nameList', (): void => {
    this.AT_LEAST_ONE_SEP(this.namesApart);
  });

  private quantityList = this.RULE('quantityList', (): void => {
    const into = this.quantities;
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        into.push(this.SUBRULE(this.quantity));
      },
    });
  });

  /** `1, 5`, `1 5`; of `1,5` both count although the blank is missing. */
  private holeNumbers = this.RULE('holeNumbers', (): void => {
    const into = this.numbers;
    this.AT_LEAST_ONE(() => {
      into.push(...this.numbersIn(this.CONSUME(AnyNumber)));
      this.OPTION(() => {
        this.CONSUME(Comma);
      });
    });
  });

  /** Pieces of a code: whatever stands together without a blank, as in `DW-40B`, `4015-2`, `6206.2`. */
  private codeStart = this.RULE(
    'codeStart',
    (): IToken =>
      this.OR([
        // A word that begins a clause of the head is one, else it would have been made a name.
        {
          GATE: () => this.LA(1).tokenType !== k.code && this.LA(1).tokenType !== k.measures,
          ALT: () => this.CONSUME(NameToken),
        },
        { ALT: () => this.CONSUME(AnyNumber) },
        { ALT: () => this.CONSUME(DashedNumber) },
        { ALT: () => this.CONSUME(Unit) },
        { ALT: () => this.CONSUME(MetricThread) },
        { ALT: () => this.CONSUME(InchThread) },
        { ALT: () => this.CONSUME(PipeThread) },
        { ALT: () => this.CONSUME(FitPair) },
        { ALT: () => this.CONSUME(Times) },
      ]),
  );
  private codeRest = this.RULE(
    'codeRest',
    (): IToken =>
      this.OR([
        { ALT: () => this.SUBRULE(this.codeStart) },
        { ALT: () => this.CONSUME(Slash) },
        { ALT: () => this.CONSUME(Stray) },
      ]),
  );

  private codes = this.RULE('codes', (): void => {
    const into = this.names;
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        const first = this.SUBRULE(this.codeStart);
        let last = first;
        this.MANY({
          GATE: () => this.LA(1).startOffset === endOf(this.LA(0)),
          DEF: () => {
            last = this.SUBRULE(this.codeRest);
          },
        });
        this.ACTION(() => {
          const { start, end } = this.span(first, last);
          into.push({ chunk: this.chunk, start, end, text: this.chunk.text.slice(start, end) });
        });
      },
    });
  });

  // --- head and declarations ----------------------------------------------------------------------------------------

  public procedureHead = this.RULE('procedureHead', (): void => {
    this.CONSUME(k.procedure);
    this.head.name = this.SUBRULE(this.name);
    this.SUBRULE(this.headClauses);
  });

  private headClause: Alternatives = [
    {
      ALT: () => {
        this.keeper.clause('text', this.LA(1));
        const title = this.SUBRULE(this.text);
        this.head.title ??= title;
      },
    },
    {
      ALT: () => {
        this.open(k.applies);
        this.CONSUME(k.to);
        this.names = this.head.codes;
        this.SUBRULE(this.codes);
      },
    },
    {
      ALT: () => {
        this.open(k.code);
        this.CONSUME(k.plate);
        const plate = this.SUBRULE2(this.text);
        this.head.codePlate ??= plate;
      },
    },
    {
      ALT: () => {
        this.open(k.measures);
        const token = this.OR2([{ ALT: () => this.CONSUME(k.metric) }, { ALT: () => this.CONSUME(k.imperial) }]);
        this.ACTION(() => {
          this.head.measures ??= this.nameOf(token);
        });
      },
    },
  ];
  private oneHeadClause = (): void => this.OR(this.headClause);
  public headClauses = this.RULE('headClauses', (): void => {
    this.MANY(this.oneHeadClause);
  });

  public useLine = this.RULE('useLine', (): void => {
    this.CONSUME(k.use);
    this.SUBRULE(this.usePath);
  });
  public usePath = this.RULE('usePath', (): void => {
    this.use.path = this.SUBRULE(this.text);
  });

  public declarationLine = this.RULE('declarationLine', (): void => {
    this.CONSUME(Declares);
    this.declaration.name = this.SUBRULE(this.name);
    this.SUBRULE(this.properties);
  });

  /** Sets a property that has not been set yet. */
  private put<K extends keyof Declaration>(field: K, value: Declaration[K]): void {
    if (this.declaration[field] === undefined) this.declaration[field] = value;
  }
  private flag(field: 'condition' | 'renew' | 'index' | 'filled', type: TokenType): { ALT: () => void } {
    return { ALT: () => this.put(field, this.nameOf(this.open(type))) };
  }
  /** Figures of a circle behind points, which count, go to one that nobody keeps. */
  private circle(): Pattern {
    this.declaration.pattern ??= { form: 'circle' };
    const { pattern } = this.declaration;
    return pattern.form === 'circle' ? pattern : { form: 'circle' };
  }

  private property: Alternatives = [
    {
      ALT: () => {
        const token = this.CONSUME(Times);
        this.keeper.clause('xN', token);
        this.put('count', this.countOf(token));
      },
    },
    {
      ALT: () => {
        this.keeper.clause('text', this.LA(1));
        this.put('title', this.SUBRULE(this.text));
      },
    },
    {
      ALT: () => {
        this.open(k.thread);
        this.put('thread', this.SUBRULE(this.threadName));
      },
    },
    {
      ALT: () => {
        this.open(k.class);
        const propertyClass = this.SUBRULE(this.propertyClass);
        if (this.declaration.grade === undefined) this.put('propertyClass', propertyClass);
      },
    },
    {
      ALT: () => {
        this.open(k.grade);
        const grade = this.SUBRULE(this.number);
        if (this.declaration.propertyClass === undefined) this.put('grade', grade);
      },
    },
    this.flag('condition', k.dry),
    this.flag('condition', k.oiled),
    this.flag('condition', k.paste),
    this.flag('condition', k.threadlock),
    {
      ALT: () => {
        this.open(k.length);
        this.put('length', this.SUBRULE(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.torque);
        const isFirst = this.declaration.torque === undefined;
        this.put('torque', this.SUBRULE2(this.quantity));
        this.OPTION(() => {
          this.CONSUME(k.then);
          const angle = this.SUBRULE3(this.quantity);
          if (isFirst) this.put('angle', angle);
        });
      },
    },
    {
      ALT: () => {
        this.open(k.holes);
        const isFirst = this.declaration.holes === undefined;
        this.put('holes', this.SUBRULE(this.name));
        this.OPTION4(() => {
          this.CONSUME(k.at);
          this.numbers = [];
          if (isFirst) this.put('holesAt', this.numbers);
          this.SUBRULE(this.holeNumbers);
        });
      },
    },
    {
      ALT: () => {
        this.open(k.prevailing);
        this.put('prevailing', this.SUBRULE1(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.head);
        this.put('head', this.SUBRULE3(this.name));
      },
    },
    this.flag('renew', k.renew),
    {
      ALT: () => {
        this.open(k.lead);
        this.put('lead', this.SUBRULE4(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.held);
        this.CONSUME(k.by);
        this.names = this.declaration.heldBy;
        this.SUBRULE(this.nameList);
      },
    },
    {
      ALT: () => {
        this.open(k.behind);
        this.names = this.declaration.behind;
        this.SUBRULE2(this.nameList);
      },
    },
    {
      ALT: () => {
        this.open(k.carried);
        this.CONSUME2(k.by);
        this.put('carriedBy', this.SUBRULE2(this.name));
      },
    },
    this.flag('index', k.index),
    {
      ALT: () => {
        this.open(k.hazard);
        this.names = this.declaration.hazards;
        this.SUBRULE3(this.nameList);
      },
    },
    {
      ALT: () => {
        this.open(k.bore);
        const isFirst = this.declaration.bore === undefined;
        this.put('bore', this.SUBRULE5(this.quantity));
        this.OPTION2({
          GATE: () => this.LA(1).tokenType === FitPair || isShaftClass(this.LA(1).image),
          DEF: () => {
            const fit = this.SUBRULE(this.fit);
            if (isFirst) this.put('fit', fit);
          },
        });
      },
    },
    {
      ALT: () => {
        this.open(k.interference);
        this.put('interference', this.SUBRULE6(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.limit);
        this.put('limit', this.SUBRULE7(this.quantity));
      },
    },
    this.flag('filled', k.sealed),
    this.flag('filled', k.greased),
    {
      ALT: () => {
        this.open(k.number);
        this.put('number', this.SUBRULE2(this.text));
      },
    },
    {
      ALT: () => {
        this.open(k.range);
        this.put('range', this.SUBRULE8(this.quantity));
      },
    },
    {
      ALT: () => {
        this.keeper.clause('quantity', this.LA(1));
        this.put('amount', this.SUBRULE9(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.spec);
        this.put('spec', this.SUBRULE3(this.text));
      },
    },
    {
      ALT: () => {
        this.open(k.cure);
        this.put('cure', this.SUBRULE1(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.circle);
        const pattern = this.circle();
        this.OPTION3(() => {
          const count = this.SUBRULE3(this.number);
          pattern.count ??= count;
        });
      },
    },
    {
      ALT: () => {
        this.open(k.angles);
        const angles: Quantity[] = [];
        this.circle().angles ??= angles;
        this.quantities = angles;
        this.SUBRULE(this.quantityList);
      },
    },
    {
      ALT: () => {
        this.open(k.diameter);
        const diameter = this.SUBRULE(this.diameterOf);
        if (this.declaration.kind === 'part') this.put('outside', diameter);
        else this.circle().diameter ??= diameter;
      },
    },
    {
      ALT: () => {
        this.open(k.points);
        this.SUBRULE(this.pointList);
      },
    },
  ];
  private oneProperty = (): void => this.OR(this.property);
  public properties = this.RULE('properties', (): void => {
    this.MANY(this.oneProperty);
  });

  /** All occurrence numbers of `quantity` in `properties` are taken. */
  private diameterOf = this.RULE('diameterOf', (): Quantity => this.SUBRULE(this.quantity));

  private fit = this.RULE('fit', (): Name => {
    const token = this.OR([{ ALT: () => this.CONSUME(FitPair) }, { ALT: () => this.CONSUME(NameToken) }]);
    return this.ACTION(() => this.nameOf(token));
  });

  private propertyClass = this.RULE(
    'propertyClass',
    (): PropertyClass =>
      this.OR([
        { ALT: () => this.SUBRULE(this.number) },
        {
          GATE: () => isStainlessClass(this.LA(1).image),
          ALT: () => {
            const token = this.CONSUME(NameToken);
            return { ...this.span(token), image: token.image };
          },
        },
      ]),
  );

  private threadName = this.RULE('threadName', (): Name => {
    const token = this.OR([
      { ALT: () => this.CONSUME(MetricThread) },
      { ALT: () => this.CONSUME(InchThread) },
      { ALT: () => this.CONSUME(PipeThread) },
      { ALT: () => this.CONSUME(DashedNumber) },
      { ALT: () => this.CONSUME(NameToken) },
    ]);
    return this.ACTION(() => this.nameOf(token));
  });

  private pointList = this.RULE('pointList', (): void => {
    const points: { x: NumberLiteral; y: NumberLiteral }[] = [];
    this.AT_LEAST_ONE(() => {
      this.CONSUME(Open);
      this.OR([
        {
          ALT: () => {
            const [x, y] = this.numbersIn(this.CONSUME(CommaNumber));
            points.push({ x: x!, y: y! });
          },
        },
        {
          ALT: () => {
            const x = this.SUBRULE(this.number);
            this.CONSUME(Comma);
            const y = this.SUBRULE2(this.number);
            points.push({ x, y });
          },
        },
      ]);
      this.CONSUME(Close);
    });
    const pattern: Pattern = { form: 'points', points };
    const { pattern: before } = this.declaration;
    // A diameter by itself places no holes.
    if (before?.form !== 'points' && before?.count === undefined && before?.angles === undefined)
      this.declaration.pattern = pattern;
    this.OPTION(() => {
      pattern.unit = this.unitName(this.CONSUME(Unit));
    });
  });

  // --- steps and statements -----------------------------------------------------------------------------------------

  public stepLine = this.RULE('stepLine', (): void => {
    this.CONSUME(k.step);
    this.step.name = this.SUBRULE(this.name);
    this.SUBRULE(this.stepClauses);
  });

  private stepClause: Alternatives = [
    {
      ALT: () => {
        this.keeper.clause('text', this.LA(1));
        const title = this.SUBRULE(this.text);
        this.step.title ??= title;
      },
    },
    {
      ALT: () => {
        this.open(k.takes);
        const takes = this.SUBRULE(this.quantity);
        this.step.takes ??= takes;
      },
    },
    {
      ALT: () => {
        this.open(k.after);
        this.names = this.step.after;
        this.SUBRULE(this.nameList);
      },
    },
  ];
  private oneStepClause = (): void => this.OR(this.stepClause);
  public stepClauses = this.RULE('stepClauses', (): void => {
    this.MANY(this.oneStepClause);
  });

  public partStatement = this.RULE('partStatement', (): void => {
    this.CONSUME(PartVerb);
    this.statement.name = this.SUBRULE(this.name);
    this.SUBRULE(this.clauses);
  });

  public fitStatement = this.RULE('fitStatement', (): void => {
    this.CONSUME(k.fit);
    this.OPTION(() => {
      this.statement.fresh = this.span(this.CONSUME(k.new));
    });
    this.statement.name = this.SUBRULE(this.name);
    this.SUBRULE(this.clauses);
  });

  public namedStatement = this.RULE('namedStatement', (): void => {
    this.CONSUME(NamedVerb);
    this.statement.name = this.SUBRULE(this.name);
    this.SUBRULE(this.clauses);
  });

  public bareStatement = this.RULE('bareStatement', (): void => {
    this.CONSUME(BareVerb);
    this.SUBRULE(this.clauses);
  });

  public swapStatement = this.RULE('swapStatement', (): void => {
    this.CONSUME(k.swap);
    this.statement.name = this.SUBRULE(this.name);
    this.CONSUME(k.for);
    this.statement.targets = [this.SUBRULE2(this.name)];
    this.SUBRULE(this.clauses);
  });

  public transferStatement = this.RULE('transferStatement', (): void => {
    this.CONSUME(k.transfer);
    this.statement.name = this.SUBRULE(this.name);
    this.OPTION(() => {
      const token = this.CONSUME(Times);
      this.keeper.clause('xN', token);
      this.statement.count = this.countOf(token);
    });
    this.CONSUME(k.from);
    this.statement.source = this.SUBRULE3(this.name);
    this.CONSUME(k.to);
    this.statement.targets = [this.SUBRULE2(this.name)];
    this.SUBRULE(this.clauses);
  });

  public tryStatement = this.RULE('tryStatement', (): void => {
    this.CONSUME(k.try);
    this.statement.name = this.SUBRULE(this.name);
    this.CONSUME(k.on);
    this.statement.targets = [this.SUBRULE2(this.name)];
    this.SUBRULE(this.clauses);
  });

  public applyStatement = this.RULE('applyStatement', (): void => {
    this.CONSUME(k.apply);
    this.statement.name = this.SUBRULE(this.name);
    this.CONSUME(k.to);
    this.statement.targets = this.names = [];
    this.SUBRULE(this.nameList);
    this.SUBRULE(this.clauses);
  });

  public shimStatement = this.RULE('shimStatement', (): void => {
    this.CONSUME(k.shim);
    this.statement.name = this.SUBRULE(this.name);
    this.CONSUME(k.gap);
    this.statement.gap = this.SUBRULE3(this.name);
    const token = this.OR([{ ALT: () => this.CONSUME(k.endplay) }, { ALT: () => this.CONSUME(k.preload) }]);
    const quantity = this.SUBRULE(this.quantity);
    this.statement.aim = { kind: token.image as 'endplay' | 'preload', quantity };
    this.CONSUME(k.from);
    const stock: ShimPiece[] = [];
    this.statement.stock = stock;
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        const thickness = this.SUBRULE2(this.quantity);
        const count = this.SUBRULE(this.maybeCount);
        stock.push({ thickness, count });
      },
    });
    this.SUBRULE(this.clauses);
  });

  private maybeCount = this.RULE('maybeCount', (): Count | undefined => {
    let count: Count | undefined;
    this.OPTION(() => {
      count = this.countOf(this.CONSUME(Times));
    });
    return count;
  });

  public blockOpening = this.RULE('blockOpening', (): void => {
    this.OR([
      {
        ALT: () => {
          this.CONSUME(k.either);
          this.OPTION(() => {
            this.statement.text = this.SUBRULE(this.text);
          });
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.if);
          this.statement.text = this.SUBRULE2(this.text);
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.for);
          this.statement.codes = this.names = [];
          this.SUBRULE(this.codes);
        },
      },
    ]);
  });

  /** `or "…"`, `else`, `end` */
  public blockPart = this.RULE('blockPart', (): void => {
    this.OR([
      {
        ALT: () => {
          this.CONSUME(k.or);
          this.OPTION(() => {
            this.statement.text = this.SUBRULE(this.text);
          });
        },
      },
      { ALT: () => this.CONSUME(k.else) },
      { ALT: () => this.CONSUME(k.end) },
    ]);
  });

  /** Sets a clause that has not been set yet. */
  private set<K extends keyof Statement>(field: K, value: Statement[K]): void {
    if (this.statement[field] === undefined) this.statement[field] = value;
  }
  private setUnlessByHand<K extends 'to' | 'angle' | 'stages'>(field: K, value: Statement[K]): void {
    if (this.statement.byHand === undefined) this.set(field, value);
  }

  private clause: Alternatives = [
    {
      ALT: () => {
        const token = this.CONSUME(Times);
        this.keeper.clause('xN', token);
        this.set('count', this.countOf(token));
      },
    },
    {
      ALT: () => {
        this.keeper.clause('text', this.LA(1));
        this.set('text', this.SUBRULE(this.text));
      },
    },
    {
      ALT: () => {
        this.keeper.clause('quantity', this.LA(1));
        this.set('amount', this.SUBRULE(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.to);
        this.setUnlessByHand('to', this.SUBRULE2(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.then);
        this.setUnlessByHand('angle', this.SUBRULE3(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.in);
        this.CONSUME(k.stages);
        this.quantities = [];
        this.setUnlessByHand('stages', this.quantities);
        this.SUBRULE(this.quantityList);
      },
    },
    {
      ALT: () => {
        this.SUBRULE(this.order);
      },
    },
    {
      ALT: () => {
        this.open(k.at);
        this.CONSUME(k.holes);
        this.numbers = [];
        this.set('holes', this.numbers);
        this.SUBRULE(this.holeNumbers);
      },
    },
    {
      ALT: () => {
        const token = this.open(k.by);
        this.CONSUME(k.hand);
        const { to, stages } = this.statement;
        if ((to ?? stages) === undefined) this.set('byHand', this.nameOf(token));
      },
    },
    {
      ALT: () => {
        this.set('spoiled', this.nameOf(this.open(k.spoiled)));
      },
    },
    {
      ALT: () => {
        this.open(k.with);
        const together: CountedName[] = [];
        this.set('together', together);
        this.AT_LEAST_ONE_SEP({
          SEP: Comma,
          DEF: () => {
            const name = this.SUBRULE(this.name);
            const count = this.SUBRULE(this.maybeCount);
            together.push({ name, count });
          },
        });
      },
    },
    {
      ALT: () => {
        this.open(k.limit);
        this.set('limit', this.SUBRULE4(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.max);
        this.set('max', this.SUBRULE5(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.min);
        this.set('min', this.SUBRULE6(this.quantity));
      },
    },
    {
      ALT: () => {
        this.open(k.using);
        this.statement.using ??= [];
        this.names = this.statement.using;
        this.SUBRULE(this.nameList);
      },
    },
    {
      ALT: () => {
        this.SUBRULE(this.extension);
      },
    },
    {
      ALT: () => {
        this.open(k.keep);
        this.CONSUME2(k.in);
        this.set('keep', this.SUBRULE2(this.text));
      },
    },
    {
      ALT: () => {
        this.open(k.see);
        this.set('see', this.SUBRULE3(this.text));
      },
    },
  ];
  private oneClause = (): void => this.OR(this.clause);
  public clauses = this.RULE('clauses', (): void => {
    this.MANY(this.oneClause);
  });

  private order = this.RULE('order', (): void => {
    const { start } = this.span(this.open(k.order));
    let form: 'star' | 'spiral' | 'list' = 'list';
    const holes: NumberLiteral[] = [];
    this.OR([
      {
        ALT: () => {
          this.CONSUME(k.star);
          form = 'star';
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.spiral);
          form = 'spiral';
        },
      },
      {
        ALT: () => {
          this.numbers = holes;
          this.SUBRULE(this.holeNumbers);
        },
      },
    ]);
    this.set('order', { chunk: this.chunk, start, end: this.lastEnd(), form, holes });
  });

  /** `extension 60 mm at 45° on 400 mm`; `at` and `on` in either order. */
  private extension = this.RULE('extension', (): void => {
    const { start } = this.span(this.open(k.extension));
    const length = this.SUBRULE(this.quantity);
    let on: Quantity | undefined;
    let at: Quantity | undefined;
    this.OPTION(() => {
      this.CONSUME(k.at);
      at = this.SUBRULE2(this.quantity);
    });
    this.OPTION2(() => {
      this.CONSUME(k.on);
      on = this.SUBRULE3(this.quantity);
    });
    this.OPTION3({
      GATE: () => at === undefined,
      DEF: () => {
        this.CONSUME2(k.at);
        at = this.SUBRULE4(this.quantity);
      },
    });
    this.set('extension', { chunk: this.chunk, start, end: this.lastEnd(), length, on, at });
  });
}
