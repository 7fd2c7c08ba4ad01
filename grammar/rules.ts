import { EmbeddedActionsParser, type IToken, type TokenType } from 'chevrotain';
import type {
  Chunk,
  Count,
  CountedName,
  Declaration,
  Extension,
  Head,
  Name,
  NumberLiteral,
  Quantity,
  ShimPiece,
  Span,
  Statement,
  Step,
  Text,
  UnitName,
  Use,
} from './syntax.ts';
import {
  AnyNumber,
  AnyText,
  BareVerb,
  Close,
  Comma,
  CommaNumber,
  DashedNumber,
  endOf,
  FitPair,
  InchThread,
  keyword as k,
  MetricThread,
  NamedVerb,
  Name as NameToken,
  NumberToken,
  Open,
  PartVerb,
  PlusMinus,
  Slash,
  Stray,
  Times,
  To,
  Unit,
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
  [To, '`..`'],
  [PlusMinus, '`±`'],
  [MetricThread, 'a thread such as `M8x1.25`'],
  [InchThread, 'a thread such as `1/4-20`'],
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

/** The clauses that may follow, for one kind of statement or declaration. */
type Clause = string;

/**
 * The grammar of everything between one leading keyword and the next. Each rule fills the node that the driver hands it
 * as it goes, so that what was read before an error is kept.
 */
export class Rules extends EmbeddedActionsParser {
  chunk!: Chunk;
  /** Offset of the chunk in the text that was lexed. */
  base = 0;
  head!: Head;
  use!: Use;
  declaration!: Declaration;
  step!: Step;
  statement!: Statement;
  /** Called before a clause is read; reports one that does not belong or stands twice. */
  clause: (word: Clause, token: IToken) => void = () => {};

  constructor() {
    super(vocabulary, {
      recoveryEnabled: false,
      maxLookahead: 2,
      skipValidations: true,
      errorMessageProvider: messages,
      nodeLocationTracking: 'none',
    });
    this.performSelfAnalysis();
  }

  private span(first: IToken, last: IToken = first): Span {
    return { chunk: this.chunk, start: first.startOffset - this.base, end: endOf(last) - this.base };
  }
  private nameOf(token: IToken): Name {
    return {
      chunk: this.chunk,
      start: token.startOffset - this.base,
      end: endOf(token) - this.base,
      text: token.image,
    };
  }
  private textOf(token: IToken): Text {
    const raw = token.image;
    const inner =
      raw.length > 1 && raw.endsWith('"') && token.tokenType.name === 'Text' ? raw.slice(1, -1) : raw.slice(1);
    return { ...this.span(token), value: inner.includes('\\') ? inner.replace(/\\(["\\])/g, '$1') : inner };
  }
  private numberOf(token: IToken): NumberLiteral {
    const image = token.image.replace('−', '-').replace(',', '.').replace(/,.*$/, '');
    const point = image.indexOf('.');
    return {
      ...this.span(token),
      value: Number(image),
      decimals: point < 0 ? 0 : image.length - point - 1,
      image: token.image,
    };
  }
  private numbersIn(token: IToken): NumberLiteral[] {
    let start = token.startOffset - this.base;
    return token.image.split(',').map((image) => {
      const number = { chunk: this.chunk, start, end: start + image.length, value: Number(image), decimals: 0, image };
      start = number.end + 1;
      return number;
    });
  }
  private countOf(token: IToken): Count {
    return { ...this.span(token), value: Number(token.image.slice(1)) };
  }
  private unitName(token: IToken): UnitName {
    return { ...this.span(token), text: token.image, unit: unitOf(token.image) };
  }
  private lastEnd(): number {
    return endOf(this.LA(0)) - this.base;
  }

  // --- values -------------------------------------------------------------------------------------------------------

  private number = this.RULE('number', (): NumberLiteral => {
    const token = this.CONSUME(AnyNumber);
    return this.ACTION(() => this.numberOf(token));
  });

  private measure = this.RULE('measure', (): Quantity => {
    const first = this.SUBRULE(this.number);
    const numbers = [first];
    let form: Quantity['form'] = 'single';
    let unit: UnitName | undefined;
    this.OPTION(() => {
      this.OR([
        {
          ALT: () => {
            this.CONSUME(To);
            form = 'range';
          },
        },
        {
          ALT: () => {
            this.CONSUME(PlusMinus);
            form = 'tolerance';
          },
        },
      ]);
      numbers.push(this.SUBRULE2(this.number));
    });
    this.OPTION2(() => {
      const token = this.CONSUME(Unit);
      this.ACTION(() => {
        unit = this.unitName(token);
      });
    });
    return this.ACTION(() => ({
      chunk: this.chunk,
      start: first.start,
      end: this.lastEnd(),
      form,
      numbers,
      unit,
      restated: undefined,
    }));
  });

  private quantity = this.RULE('quantity', (): Quantity => {
    const value = this.SUBRULE(this.measure);
    let restated: Quantity | undefined;
    this.OPTION(() => {
      this.CONSUME(Open);
      restated = this.SUBRULE2(this.measure);
      this.CONSUME(Close);
    });
    return this.ACTION(() => (restated === undefined ? value : { ...value, end: this.lastEnd(), restated }));
  });

  private name = this.RULE('name', (): Name => {
    const token = this.CONSUME(NameToken);
    return this.ACTION(() => this.nameOf(token));
  });

  private text = this.RULE('text', (): Text => {
    const token = this.CONSUME(AnyText);
    return this.ACTION(() => this.textOf(token));
  });

  private names = this.RULE('names', (into: Name[] = []): void => {
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        into.push(this.SUBRULE(this.name));
      },
    });
  });

  private countedNames = this.RULE('countedNames', (into: CountedName[] = []): void => {
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        const name = this.SUBRULE(this.name);
        let count: Count | undefined;
        this.OPTION(() => {
          const token = this.CONSUME(Times);
          this.ACTION(() => {
            count = this.countOf(token);
          });
        });
        into.push({ name, count });
      },
    });
  });

  /** A code is whatever stands together without a blank: `DW-40B`, `4015-2`, `6206.2`. */
  private code = this.RULE('code', (): Name => {
    let first: IToken | undefined;
    let last: IToken | undefined;
    const take = (token: IToken): void => {
      first ??= token;
      last = token;
    };
    const piece = (i: number): void => {
      const alternatives = [NameToken, AnyNumber, DashedNumber, Unit, MetricThread, InchThread, FitPair, Times].map(
        (type) => ({
          ALT: () => take(i === 1 ? this.CONSUME1(type) : this.CONSUME2(type)),
        }),
      );
      if (i === 1) this.OR1(alternatives);
      else
        this.OR2([
          ...alternatives,
          { ALT: () => take(this.CONSUME2(Slash)) },
          { ALT: () => take(this.CONSUME2(Stray)) },
        ]);
    };
    piece(1);
    this.MANY({
      GATE: () => this.LA(1).startOffset === endOf(this.LA(0)),
      DEF: () => piece(2),
    });
    return this.ACTION(() => {
      const start = first!.startOffset - this.base;
      const end = endOf(last!) - this.base;
      return { chunk: this.chunk, start, end, text: this.chunk.text.slice(start, end) };
    });
  });

  private codes = this.RULE('codes', (into: Name[] = []): void => {
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        into.push(this.SUBRULE(this.code));
      },
    });
  });

  // --- head and declarations ----------------------------------------------------------------------------------------

  public procedureHead = this.RULE('procedureHead', (): void => {
    this.CONSUME(k.procedure);
    const name = this.SUBRULE(this.name);
    this.ACTION(() => {
      this.head.name = name;
    });
    this.SUBRULE(this.headClauses);
  });

  public headClauses = this.RULE('headClauses', (): void => {
    this.MANY(() => {
      this.OR([
        {
          ALT: () => {
            const title = this.SUBRULE(this.text);
            this.ACTION(() => {
              this.clause('text', this.LA(0));
              this.head.title ??= title;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.applies);
            this.CONSUME(k.to);
            this.SUBRULE(this.codes, { ARGS: [this.head?.codes] });
          },
        },
        {
          ALT: () => {
            this.open(k.code);
            this.CONSUME(k.plate);
            const text = this.SUBRULE2(this.text);
            this.ACTION(() => {
              this.head.codePlate = text;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.measures);
            const token = this.OR2([{ ALT: () => this.CONSUME(k.metric) }, { ALT: () => this.CONSUME(k.imperial) }]);
            this.ACTION(() => {
              this.head.measures = this.nameOf(token);
            });
          },
        },
      ]);
    });
  });

  public useLine = this.RULE('useLine', (): void => {
    this.CONSUME(k.use);
    const path = this.SUBRULE(this.text);
    this.ACTION(() => {
      this.use.path = path;
    });
  });

  public declarationLine = this.RULE('declarationLine', (): void => {
    this.OR([k.part, k.tool, k.supply, k.pattern].map((type) => ({ ALT: () => this.CONSUME(type) })));
    const name = this.SUBRULE(this.name);
    this.ACTION(() => {
      this.declaration.name = name;
    });
    this.SUBRULE(this.properties);
  });

  /** Consumes a clause's own word, after asking whether it may stand here. */
  private open(type: TokenType): IToken {
    const token = this.CONSUME(type);
    this.ACTION(() => this.clause(type.name, token));
    return token;
  }

  public properties = this.RULE('properties', (): void => {
    const d = (): Declaration => this.declaration;
    const set = <K extends keyof Declaration>(field: K, value: Declaration[K]): void => {
      this.ACTION(() => {
        if (d()[field] === undefined) d()[field] = value;
      });
    };
    this.MANY(() => {
      this.OR([
        {
          ALT: () => {
            const token = this.CONSUME(Times);
            this.ACTION(() => {
              this.clause('xN', token);
              d().count ??= this.countOf(token);
            });
          },
        },
        {
          ALT: () => {
            const title = this.SUBRULE(this.text);
            this.ACTION(() => {
              this.clause('text', this.LA(0));
              d().title ??= title;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.thread);
            set('thread', this.SUBRULE(this.threadName));
          },
        },
        {
          ALT: () => {
            this.open(k.class);
            set('propertyClass', this.SUBRULE(this.number));
          },
        },
        {
          ALT: () => {
            this.open(k.grade);
            set('grade', this.SUBRULE2(this.number));
          },
        },
        {
          ALT: () => {
            set('condition', this.word(this.open1(k.dry)));
          },
        },
        {
          ALT: () => {
            set('condition', this.word(this.open1(k.oiled)));
          },
        },
        {
          ALT: () => {
            set('condition', this.word(this.open1(k.threadlock)));
          },
        },
        {
          ALT: () => {
            this.open(k.length);
            set('length', this.SUBRULE(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.torque);
            set('torque', this.SUBRULE2(this.quantity));
            this.OPTION(() => {
              this.CONSUME(k.then);
              set('angle', this.SUBRULE3(this.quantity));
            });
          },
        },
        {
          ALT: () => {
            this.open(k.holes);
            set('holes', this.SUBRULE(this.name));
          },
        },
        {
          ALT: () => {
            set('renew', this.word(this.open1(k.renew)));
          },
        },
        {
          ALT: () => {
            this.open(k.lead);
            set('lead', this.SUBRULE4(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.held);
            this.CONSUME(k.by);
            this.SUBRULE(this.names, { ARGS: [this.declaration?.heldBy] });
          },
        },
        {
          ALT: () => {
            this.open(k.behind);
            this.SUBRULE2(this.names, { ARGS: [this.declaration?.behind] });
          },
        },
        {
          ALT: () => {
            this.open(k.carried);
            this.CONSUME2(k.by);
            set('carriedBy', this.SUBRULE2(this.name));
          },
        },
        {
          ALT: () => {
            set('index', this.word(this.open1(k.index)));
          },
        },
        {
          ALT: () => {
            this.open(k.hazard);
            this.SUBRULE3(this.names, { ARGS: [this.declaration?.hazards] });
          },
        },
        {
          ALT: () => {
            this.open(k.bore);
            set('bore', this.SUBRULE5(this.quantity));
            this.OPTION2(() => {
              const token = this.CONSUME(FitPair);
              set('fit', this.word(token));
            });
          },
        },
        {
          ALT: () => {
            this.open(k.interference);
            set('interference', this.SUBRULE6(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.limit);
            set('limit', this.SUBRULE7(this.quantity));
          },
        },
        {
          ALT: () => {
            set('filled', this.word(this.open1(k.sealed)));
          },
        },
        {
          ALT: () => {
            set('filled', this.word(this.open1(k.greased)));
          },
        },
        {
          ALT: () => {
            this.open(k.number);
            set('number', this.SUBRULE2(this.text));
          },
        },
        {
          ALT: () => {
            this.open(k.range);
            set('range', this.SUBRULE8(this.quantity));
          },
        },
        {
          ALT: () => {
            this.ACTION(() => this.clause('quantity', this.LA(1)));
            const amount = this.SUBRULE9(this.quantity);
            set('amount', amount);
          },
        },
        {
          ALT: () => {
            this.open(k.spec);
            set('spec', this.SUBRULE3(this.text));
          },
        },
        {
          ALT: () => {
            this.open(k.cure);
            set('cure', this.SUBRULE1(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.circle);
            let count: NumberLiteral | undefined;
            this.OPTION3(() => {
              count = this.SUBRULE3(this.number);
            });
            this.ACTION(() => {
              d().pattern ??= { form: 'circle' };
              if (count !== undefined) d().pattern!.count = count;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.angles);
            const angles: Quantity[] = [];
            this.SUBRULE(this.quantities, { ARGS: [angles] });
            this.ACTION(() => {
              d().pattern ??= { form: 'circle' };
              d().pattern!.angles = angles;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.diameter);
            const diameter = this.SUBRULE(this.diameterOf);
            this.ACTION(() => {
              if (d().kind === 'part') d().outside ??= diameter;
              else {
                d().pattern ??= { form: 'circle' };
                d().pattern!.diameter = diameter;
              }
            });
          },
        },
        {
          ALT: () => {
            this.open(k.points);
            this.SUBRULE(this.pointList);
          },
        },
      ]);
    });
  });

  private open1(type: TokenType): IToken {
    return this.open(type);
  }
  private word(token: IToken): Name {
    return this.ACTION(() => this.nameOf(token)) as Name;
  }

  private diameterOf = this.RULE('diameterOf', (): Quantity => this.SUBRULE(this.quantity));

  private threadName = this.RULE('threadName', (): Name => {
    const token = this.OR(
      [MetricThread, InchThread, DashedNumber, NameToken].map((type) => ({ ALT: () => this.CONSUME(type) })),
    );
    return this.ACTION(() => this.nameOf(token));
  });

  private quantities = this.RULE('quantities', (into: Quantity[] = []): void => {
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        into.push(this.SUBRULE(this.quantity));
      },
    });
  });

  private pointList = this.RULE('pointList', (): void => {
    const points: { x: NumberLiteral; y: NumberLiteral }[] = [];
    this.AT_LEAST_ONE(() => {
      this.CONSUME(Open);
      this.OR([
        {
          ALT: () => {
            const token = this.CONSUME(CommaNumber);
            this.ACTION(() => {
              const [x, y] = this.numbersIn(token);
              points.push({ x: x!, y: y! });
            });
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
    this.ACTION(() => {
      this.declaration.pattern = { form: 'points', points };
    });
    this.OPTION(() => {
      const token = this.CONSUME(Unit);
      this.ACTION(() => {
        this.declaration.pattern!.unit = this.unitName(token);
      });
    });
  });

  // --- steps and statements -----------------------------------------------------------------------------------------

  public stepLine = this.RULE('stepLine', (): void => {
    this.CONSUME(k.step);
    const name = this.SUBRULE(this.name);
    this.ACTION(() => {
      this.step.name = name;
    });
    this.SUBRULE(this.stepClauses);
  });

  public stepClauses = this.RULE('stepClauses', (): void => {
    this.MANY(() => {
      this.OR([
        {
          ALT: () => {
            const title = this.SUBRULE(this.text);
            this.ACTION(() => {
              this.clause('text', this.LA(0));
              this.step.title ??= title;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.takes);
            const takes = this.SUBRULE(this.quantity);
            this.ACTION(() => {
              this.step.takes ??= takes;
            });
          },
        },
        {
          ALT: () => {
            this.open(k.after);
            this.SUBRULE(this.names, { ARGS: [this.step?.after] });
          },
        },
      ]);
    });
  });

  public partStatement = this.RULE('partStatement', (): void => {
    this.CONSUME(PartVerb);
    this.subject();
    this.SUBRULE(this.clauses);
  });

  public fitStatement = this.RULE('fitStatement', (): void => {
    this.CONSUME(k.fit);
    this.OPTION(() => {
      const token = this.CONSUME(k.new);
      this.ACTION(() => {
        this.statement.fresh = this.span(token);
      });
    });
    this.subject();
    this.SUBRULE(this.clauses);
  });

  public namedStatement = this.RULE('namedStatement', (): void => {
    this.CONSUME(NamedVerb);
    this.subject();
    this.SUBRULE(this.clauses);
  });

  public bareStatement = this.RULE('bareStatement', (): void => {
    this.CONSUME(BareVerb);
    this.SUBRULE(this.clauses);
  });

  public swapStatement = this.RULE('swapStatement', (): void => {
    this.CONSUME(k.swap);
    this.subject();
    this.CONSUME(k.for);
    this.target();
    this.SUBRULE(this.clauses);
  });

  public transferStatement = this.RULE('transferStatement', (): void => {
    this.CONSUME(k.transfer);
    this.subject();
    this.OPTION(() => {
      const token = this.CONSUME(Times);
      this.ACTION(() => {
        this.statement.count = this.countOf(token);
      });
    });
    this.CONSUME(k.from);
    const source = this.SUBRULE3(this.name);
    this.ACTION(() => {
      this.statement.source = source;
    });
    this.CONSUME(k.to);
    this.target();
    this.SUBRULE(this.clauses);
  });

  public tryStatement = this.RULE('tryStatement', (): void => {
    this.CONSUME(k.try);
    this.subject();
    this.CONSUME(k.on);
    this.target();
    this.SUBRULE(this.clauses);
  });

  public applyStatement = this.RULE('applyStatement', (): void => {
    this.CONSUME(k.apply);
    this.subject();
    this.CONSUME(k.to);
    const targets: Name[] = [];
    this.ACTION(() => {
      this.statement.targets = targets;
    });
    this.SUBRULE(this.names, { ARGS: [targets] });
    this.SUBRULE(this.clauses);
  });

  public shimStatement = this.RULE('shimStatement', (): void => {
    this.CONSUME(k.shim);
    this.subject();
    this.CONSUME(k.gap);
    const gap = this.SUBRULE3(this.name);
    this.ACTION(() => {
      this.statement.gap = gap;
    });
    const token = this.OR([{ ALT: () => this.CONSUME(k.endplay) }, { ALT: () => this.CONSUME(k.preload) }]);
    const quantity = this.SUBRULE(this.quantity);
    this.ACTION(() => {
      this.statement.aim = { kind: token.image as 'endplay' | 'preload', quantity };
    });
    this.CONSUME(k.from);
    const stock: ShimPiece[] = [];
    this.ACTION(() => {
      this.statement.stock = stock;
    });
    this.AT_LEAST_ONE_SEP({
      SEP: Comma,
      DEF: () => {
        const thickness = this.SUBRULE2(this.quantity);
        let count: Count | undefined;
        this.OPTION(() => {
          const times = this.CONSUME(Times);
          this.ACTION(() => {
            count = this.countOf(times);
          });
        });
        stock.push({ thickness, count });
      },
    });
    this.SUBRULE(this.clauses);
  });

  public blockOpening = this.RULE('blockOpening', (): void => {
    this.OR([
      {
        ALT: () => {
          this.CONSUME(k.either);
          this.OPTION(() => {
            const text = this.SUBRULE(this.text);
            this.ACTION(() => {
              this.statement.text = text;
            });
          });
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.if);
          const text = this.SUBRULE2(this.text);
          this.ACTION(() => {
            this.statement.text = text;
          });
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.for);
          const codes: Name[] = [];
          this.ACTION(() => {
            this.statement.codes = codes;
          });
          this.SUBRULE(this.codes, { ARGS: [codes] });
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
            const text = this.SUBRULE(this.text);
            this.ACTION(() => {
              this.statement.text = text;
            });
          });
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.else);
        },
      },
      {
        ALT: () => {
          this.CONSUME(k.end);
        },
      },
    ]);
  });

  private subject(): void {
    const name = this.SUBRULE1(this.name);
    this.ACTION(() => {
      this.statement.name = name;
    });
  }
  private target(): void {
    const name = this.SUBRULE2(this.name);
    this.ACTION(() => {
      this.statement.targets = [name];
    });
  }

  public clauses = this.RULE('clauses', (): void => {
    const s = (): Statement => this.statement;
    const set = <K extends keyof Statement>(field: K, value: Statement[K]): void => {
      this.ACTION(() => {
        if (s()[field] === undefined) s()[field] = value;
      });
    };
    this.MANY(() => {
      this.OR([
        {
          ALT: () => {
            const token = this.CONSUME(Times);
            this.ACTION(() => {
              this.clause('xN', token);
              s().count ??= this.countOf(token);
            });
          },
        },
        {
          ALT: () => {
            const text = this.SUBRULE(this.text);
            this.ACTION(() => {
              this.clause('text', this.LA(0));
              s().text ??= text;
            });
          },
        },
        {
          ALT: () => {
            this.ACTION(() => this.clause('quantity', this.LA(1)));
            const amount = this.SUBRULE(this.quantity);
            set('amount', amount);
          },
        },
        {
          ALT: () => {
            this.open(k.to);
            set('to', this.SUBRULE2(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.then);
            set('angle', this.SUBRULE3(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.in);
            this.CONSUME(k.stages);
            const stages: Quantity[] = [];
            set('stages', stages);
            this.SUBRULE(this.quantities, { ARGS: [stages] });
          },
        },
        {
          ALT: () => {
            const token = this.open(k.order);
            this.SUBRULE(this.orderOf, { ARGS: [token] });
          },
        },
        {
          ALT: () => {
            this.open(k.at);
            this.CONSUME(k.holes);
            const holes: NumberLiteral[] = [];
            set('holes', holes);
            this.SUBRULE(this.holeNumbers, { ARGS: [holes] });
          },
        },
        {
          ALT: () => {
            const token = this.open(k.by);
            this.CONSUME(k.hand);
            set('byHand', this.word(token));
          },
        },
        {
          ALT: () => {
            const token = this.open(k.spoiled);
            set('spoiled', this.word(token));
          },
        },
        {
          ALT: () => {
            this.open(k.with);
            const together: CountedName[] = [];
            set('together', together);
            this.SUBRULE(this.countedNames, { ARGS: [together] });
          },
        },
        {
          ALT: () => {
            this.open(k.limit);
            set('limit', this.SUBRULE4(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.max);
            set('max', this.SUBRULE5(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.min);
            set('min', this.SUBRULE6(this.quantity));
          },
        },
        {
          ALT: () => {
            this.open(k.using);
            const using: Name[] = [];
            this.ACTION(() => {
              s().using ??= using;
            });
            this.SUBRULE(this.names, { ARGS: [using] });
          },
        },
        {
          ALT: () => {
            const token = this.open(k.extension);
            this.SUBRULE(this.extensionOf, { ARGS: [token] });
          },
        },
        {
          ALT: () => {
            this.open(k.keep);
            this.CONSUME2(k.in);
            set('keep', this.SUBRULE2(this.text));
          },
        },
        {
          ALT: () => {
            this.open(k.see);
            set('see', this.SUBRULE3(this.text));
          },
        },
      ]);
    });
  });

  /** `1, 5`, `1 5`; of `1,5` both count although the blank is missing. */
  private holeNumbers = this.RULE('holeNumbers', (into: NumberLiteral[] = []): void => {
    this.AT_LEAST_ONE(() => {
      const token = this.CONSUME(AnyNumber);
      this.ACTION(() => {
        into.push(...this.numbersIn(token));
      });
      this.OPTION(() => {
        this.CONSUME(Comma);
      });
    });
  });

  private orderOf = this.RULE('orderOf', (opening?: IToken): void => {
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
          this.SUBRULE(this.holeNumbers, { ARGS: [holes] });
        },
      },
    ]);
    this.ACTION(() => {
      this.statement.order ??= {
        chunk: this.chunk,
        start: opening!.startOffset - this.base,
        end: this.lastEnd(),
        form,
        holes,
      };
    });
  });

  private extensionOf = this.RULE('extensionOf', (opening?: IToken): void => {
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
    this.ACTION(() => {
      const extension: Extension = {
        chunk: this.chunk,
        start: opening!.startOffset - this.base,
        end: this.lastEnd(),
        length,
        on,
        at,
      };
      this.statement.extension ??= extension;
    });
  });
}
