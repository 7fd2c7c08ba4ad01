import type { Chunk, Declaration, Name, Statement, SyntaxTree } from '../../../grammar/syntax.ts';
import { isDeclaration, type Mention, takesReading, turns, visitMentions } from './mentions.ts';
import type { DeclarationKind, Model, Used } from './model.ts';
import type { NameKind } from './references.ts';
import { Stock } from './stock.ts';

export type Tables = Readonly<Record<DeclarationKind, ReadonlyMap<string, Declaration>>>;

/** A name that no declaration, step or code is known by when it is met; a reading may be taken further down. */
export interface Missing {
  readonly name: Name;
  readonly kind: NameKind;
}

/** What one walk over all names tells. */
export interface Surveyed {
  /** Each reading with the first `measure` that takes it. */
  readonly readings: ReadonlyMap<string, Statement>;
  readonly fasteners: ReadonlySet<string>;
  readonly used: Used;
  /** In the order of the text. */
  readonly missing: readonly Missing[];
  /** Parts that only ever come from stock; absent where a `for` shows some codes other statements. */
  readonly stock: ReadonlySet<string> | undefined;
}

export const isSupply = (name: string, tables: Tables): boolean => tables.supply.has(name) && !tables.part.has(name);

/** The walk. `tables` may grow on the way, as long as each part is told to `declare`. */
export class Survey {
  private readonly tables: Tables;
  private readonly readings = new Map<string, Statement>();
  private readonly fasteners = new Set<string>();
  private readonly used = {
    part: new Set<string>(),
    tool: new Set<string>(),
    supply: new Set<string>(),
    pattern: new Set<string>(),
  };
  /** Those of `used` that were not declared when they were first met. */
  private readonly undeclared = {
    part: new Set<string>(),
    tool: new Set<string>(),
    supply: new Set<string>(),
    pattern: new Set<string>(),
  };
  /** What is told of only at the end, when all is declared. */
  private readonly open: Mention[] = [];
  private readonly stock = new Stock();
  private singlesOut = false;

  constructor(tables: Tables) {
    this.tables = tables;
  }

  declare({ kind, name, thread, torque }: Declaration): void {
    if (kind === 'part' && (thread !== undefined || torque !== undefined)) this.fasteners.add(name!.text);
  }

  visit(chunk: Chunk): void {
    visitMentions(chunk, this.onMention, this.onStatement);
  }

  /** What shared files declare refers to other things, too; where those are missing is told in those files. */
  visitShared(files: readonly SyntaxTree[], takenIn: Model['takenIn']): void {
    for (const file of files.slice(1))
      for (const chunk of file.chunks)
        if (isDeclaration(chunk.item) && !takenIn.has(chunk)) visitMentions(chunk, this.onShared, () => {});
  }

  finish(): Surveyed {
    const { tables, readings, fasteners, used, stock, singlesOut } = this;
    const missing: Missing[] = [];
    for (const { name, kind } of this.open) {
      const { text } = name;
      const is = kind === 'part or supply' ? (isSupply(text, tables) ? 'supply' : 'part') : kind;
      if (is === 'part' || is === 'tool' || is === 'supply' || is === 'pattern') {
        used[is].add(text);
        if (tables[is].has(text)) continue;
      }
      missing.push({ name, kind: is });
    }
    return { readings, fasteners, used, missing, stock: singlesOut ? undefined : stock.names() };
  }

  /** True where the name is declared already. */
  private use(name: string, kind: DeclarationKind): boolean {
    const used = this.used[kind];
    const undeclared = this.undeclared[kind];
    if (used.has(name)) return undeclared.size === 0 || !undeclared.has(name);
    used.add(name);
    if (this.tables[kind].has(name)) return true;
    undeclared.add(name);
    return false;
  }

  private readonly onMention = (name: Name, kind: Mention['kind']): void => {
    const isDeclarable = kind === 'part' || kind === 'tool' || kind === 'supply' || kind === 'pattern';
    if (!isDeclarable || !this.use(name.text, kind)) this.open.push({ name, kind });
  };

  private readonly onShared = ({ text }: Name, kind: Mention['kind']): void => {
    if (kind === 'part' || kind === 'tool' || kind === 'supply' || kind === 'pattern') this.used[kind].add(text);
  };

  private readonly onStatement = (statement: Statement): void => {
    const name = statement.name?.text;
    if (takesReading(statement)) {
      if (!this.readings.has(name!)) this.readings.set(name!, statement);
    } else if (turns(statement)) this.fasteners.add(name!);
    else if (statement.kind === 'for') this.singlesOut = true;
    this.stock.take(statement);
  };
}

/** Of `chunks` and of the declarations in shared files, where all is declared. */
export function surveyOf(
  chunks: readonly Chunk[],
  files: readonly SyntaxTree[],
  tables: Tables,
  takenIn: Model['takenIn'],
): Surveyed {
  const survey = new Survey(tables);
  for (const part of tables.part.values()) survey.declare(part);
  for (const chunk of chunks) survey.visit(chunk);
  survey.visitShared(files, takenIn);
  return survey.finish();
}
