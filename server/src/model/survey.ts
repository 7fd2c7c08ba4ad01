import {
  type Chunk,
  chunkAt,
  type Declaration,
  type Name,
  type Statement,
  type SyntaxTree,
} from '../../../grammar/syntax.ts';
import { declarationWords } from '../../../grammar/tokens.ts';
import { amended } from './amended.ts';
import {
  isDeclaration,
  type Mention,
  type Mentions,
  mentionsOf,
  takesReading,
  turns,
  visitMentions,
} from './mentions.ts';
import type { DeclarationKind, Model, Unused } from './model.ts';
import { chunksNaming } from './occurrences.ts';
import type { NameKind } from './references.ts';
import { replaced } from './replaced.ts';
import { type StatementsByKind, statementsByKind } from './statements.ts';
import { type Coming, comingBits, eachComing, isFromStock, withComing } from './stock.ts';

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
  readonly unused: Unused;
  /** Statements of the kinds that most is asked about. */
  readonly byKind: StatementsByKind;
  /** Parts that a declaration above, or their own, refers to. */
  readonly ahead: readonly Name[];
  /** In the order of the text. */
  readonly missing: readonly Missing[];
  /** Parts that only ever come from stock; absent where a `for` shows some codes other statements. */
  readonly stock: ReadonlySet<string> | undefined;
}

export const isSupply = (name: string, tables: Tables): boolean => tables.supply.has(name) && !tables.part.has(name);

type NameSets = Readonly<Record<DeclarationKind, Set<string>>>;
const noNames = (): NameSets => ({ part: new Set(), tool: new Set(), supply: new Set(), pattern: new Set() });

const isDeclarable = (kind: Mention['kind']): kind is DeclarationKind =>
  kind === 'part' || kind === 'tool' || kind === 'supply' || kind === 'pattern';

const kindOf = ({ name, kind }: Mention, tables: Tables): NameKind =>
  kind !== 'part or supply' ? kind : isSupply(name.text, tables) ? 'supply' : 'part';

const isThreaded = ({ kind, thread, torque }: Declaration): boolean =>
  kind === 'part' && (thread !== undefined || torque !== undefined);

/** What is known of one name; its bits are those of its comings, and what it is declared and used as. */
interface Mark {
  bits: number;
}
const declaredAs: Readonly<Record<DeclarationKind, number>> = {
  part: 1 << comingBits,
  tool: 2 << comingBits,
  supply: 4 << comingBits,
  pattern: 8 << comingBits,
};
const usedAs: Readonly<Record<DeclarationKind, number>> = {
  part: 16 << comingBits,
  tool: 32 << comingBits,
  supply: 64 << comingBits,
  pattern: 128 << comingBits,
};
const turned = 256 << comingBits;
const threaded = 512 << comingBits;

/** Kinds that checks of a whole procedure ask about: each would go over all of it. */
const gatheredKinds = ['tighten', 'measure', 'for', 'apply', 'fill', 'heat', 'transfer', 'shim'] as const;

/** The walk. Each name is looked up once where it stands. */
export class Survey {
  private readonly marks = new Map<string, Mark>();
  private lastName = '';
  private last: Mark = { bits: 0 };
  private readonly readings = new Map<string, Statement>();
  private readonly byKind = new Map<Statement['kind'], Statement[]>(gatheredKinds.map((kind) => [kind, []]));
  /** What was not declared when it was met. */
  private readonly open: Mention[] = [];

  /** False where `declaration`, which has a name, is not the first of its kind by that name. Its chunk is visited before. */
  declare(declaration: Declaration): boolean {
    const mark = this.markOf(declaration.name!.text);
    const bit = declaredAs[declaration.kind];
    if ((mark.bits & bit) !== 0) return false;
    mark.bits |= isThreaded(declaration) ? bit | threaded : bit;
    return true;
  }

  visit(chunk: Chunk): void {
    visitMentions(chunk, this.onMention, this.onStatement);
  }

  /** What shared files declare refers to other things, too; where those are missing is told in those files. */
  visitShared(files: readonly SyntaxTree[], takenIn: Model['takenIn']): void {
    for (const file of files.slice(1))
      for (const chunk of file.chunks)
        if (isDeclaration(chunk.item) && !takenIn.has(chunk)) visitMentions(declared(chunk), this.onShared, () => {});
  }

  finish(): Surveyed {
    const missing: Missing[] = [];
    const ahead: Name[] = [];
    for (const { name, kind } of this.open) {
      const mark = this.markOf(name.text);
      const is: NameKind =
        kind !== 'part or supply' ? kind : (mark.bits & supplyOrPart) === declaredAs.supply ? 'supply' : 'part';
      if (!isDeclarable(is)) missing.push({ name, kind: is });
      else {
        mark.bits |= usedAs[is];
        if ((mark.bits & declaredAs[is]) === 0) missing.push({ name, kind: is });
        else if (is === 'part' && isDeclaration(name.chunk.item)) ahead.push(name);
      }
    }
    const fasteners = new Set<string>();
    const unused = noNames();
    const stock = new Set<string>();
    this.marks.forEach(({ bits }, name) => {
      if ((bits & declaredAs.part) !== 0 && (bits & (threaded | turned)) !== 0) fasteners.add(name);
      if (isFromStock(bits)) stock.add(name);
      for (const kind of declarationWords)
        if ((bits & declaredAs[kind]) !== 0 && (bits & usedAs[kind]) === 0) unused[kind].add(name);
    });
    return {
      readings: this.readings,
      fasteners,
      unused,
      byKind: this.byKind,
      ahead,
      missing,
      stock: this.byKind.get('for')!.length > 0 ? undefined : stock,
    };
  }

  private markOf(name: string): Mark {
    // A statement and its name ask one behind the other.
    if (name === this.lastName) return this.last;
    let mark = this.marks.get(name);
    if (mark === undefined) {
      mark = { bits: 0 };
      this.marks.set(name, mark);
    }
    this.lastName = name;
    this.last = mark;
    return mark;
  }

  private readonly onMention = (name: Name, kind: Mention['kind']): void => {
    if (isDeclarable(kind)) {
      const mark = this.markOf(name.text);
      mark.bits |= usedAs[kind];
      if ((mark.bits & declaredAs[kind]) !== 0) return;
    }
    this.open.push({ name, kind });
  };

  private readonly onShared = ({ text }: Name, kind: Mention['kind']): void => {
    if (isDeclarable(kind)) this.markOf(text).bits |= usedAs[kind];
  };

  private readonly onStatement = (statement: Statement): void => {
    const { kind } = statement;
    const name = statement.name?.text;
    this.byKind.get(kind)?.push(statement);
    if (takesReading(statement)) {
      if (!this.readings.has(name!)) this.readings.set(name!, statement);
    } else if (turns(statement)) this.markOf(name!).bits |= turned;
    eachComing(statement, this.onComing);
  };

  private readonly onComing = (how: Coming, name: string): void => {
    const mark = this.markOf(name);
    mark.bits = withComing(mark.bits, how);
  };
}
const supplyOrPart = declaredAs.supply | declaredAs.part;

/** What is missing in `chunks`, where all is declared. */
export function missingIn(chunks: readonly Chunk[], tables: Tables): readonly Missing[] {
  const missing: Missing[] = [];
  for (const chunk of chunks) {
    for (const mention of mentionsOf(chunk).all) {
      const kind = kindOf(mention, tables);
      if (!isDeclarable(kind) || !tables[kind].has(mention.name.text)) missing.push({ name: mention.name, kind });
    }
  }
  return missing;
}

/** Chunks that an edit has put in the place of others. */
export interface Edited {
  readonly before: readonly Chunk[];
  readonly now: readonly Chunk[];
}

/**
 * What an `earlier` survey found, as it is after an edit that declared none but the names in `redeclared` otherwise: what
 * has stayed as it was is the same object. Nothing where other readings are taken than before.
 */
export function resurvey(
  earlier: Model,
  edited: Edited,
  tables: Tables,
  files: readonly SyntaxTree[],
  redeclared: ReadonlySet<string>,
): Pick<Surveyed, 'readings' | 'fasteners' | 'unused'> | undefined {
  const readings = remeasured(earlier.readings, edited);
  if (readings === undefined) return undefined;
  const holdsElsewhere = (name: string, holds: (mentions: Mentions) => boolean): boolean => {
    for (const chunk of chunksWith(name, files, earlier.takenIn)) if (holds(mentionsOf(chunk))) return true;
    return false;
  };
  const were = namesIn(edited.before, tables);
  const are = namesIn(edited.now, tables);
  let unused: Unused = earlier.unused;
  for (const kind of declarationWords) {
    const isUnused = (name: string): boolean =>
      tables[kind].has(name) &&
      !are[kind].has(name) &&
      !holdsElsewhere(name, ({ all }) =>
        all.some((mention) => mention.name.text === name && kindOf(mention, tables) === kind),
      );
    const now = readjusted(unused[kind], [...differing(were[kind], are[kind]), ...redeclared], isUnused);
    if (now !== unused[kind]) unused = { ...unused, [kind]: now };
  }
  const isFastener = (name: string): boolean => {
    const part = tables.part.get(name);
    return part !== undefined && (isThreaded(part) || holdsElsewhere(name, ({ turned }) => turned.includes(name)));
  };
  const threaded = (chunks: readonly Chunk[]): string[] =>
    chunks.flatMap(({ item }) =>
      isDeclaration(item) && item.name !== undefined && isThreaded(item) ? [item.name.text] : [],
    );
  const turned = (chunks: readonly Chunk[]): string[] => chunks.flatMap((chunk) => mentionsOf(chunk).turned);
  const doubtful = [threaded, turned].flatMap((of) => differing(new Set(of(edited.before)), new Set(of(edited.now))));
  return { readings, unused, fasteners: readjusted(earlier.fasteners, [...doubtful, ...redeclared], isFastener) };
}

/** Statements that have been looked for in `earlier`, as they are in `now` after an edit. */
export function carryKinds(earlier: Model, now: Model, edited: Edited): void {
  const known = statementsByKind.get(earlier);
  if (known === undefined) return;
  const were = statementsOfChunks(edited.before);
  const are = statementsOfChunks(edited.now);
  const byKind: StatementsByKind = new Map();
  for (const [kind, statements] of known) {
    const old = were.filter((each) => each.kind === kind);
    const fresh = are.filter((each) => each.kind === kind);
    if (old.length > 0) {
      const at = statements.indexOf(old[0]!);
      byKind.set(kind, replaced(statements, at, at + old.length, fresh));
    } else if (fresh.length === 0) byKind.set(kind, statements);
  }
  statementsByKind.set(now, byKind);
}

function statementsOfChunks(chunks: readonly Chunk[]): readonly Statement[] {
  const statements: Statement[] = [];
  for (const chunk of chunks)
    visitMentions(
      chunk,
      () => {},
      (statement) => {
        statements.push(statement);
      },
    );
  return statements;
}

/** What is in one of the two only. */
export const differing = (a: ReadonlySet<string>, b: ReadonlySet<string>): string[] => [
  ...[...a].filter((each) => !b.has(each)),
  ...[...b].filter((each) => !a.has(each)),
];

/** `names` with those of the `doubtful` that belong there: the same object where that changes nothing. */
function readjusted(
  names: ReadonlySet<string>,
  doubtful: readonly string[],
  belongs: (name: string) => boolean,
): ReadonlySet<string> {
  let adjusted: Set<string> | undefined;
  for (const name of doubtful) {
    const does = belongs(name);
    if (names.has(name) === does) continue;
    adjusted ??= new Set(names);
    if (does) adjusted.add(name);
    else adjusted.delete(name);
  }
  return adjusted ?? names;
}

function namesIn(chunks: readonly Chunk[], tables: Tables): NameSets {
  const names = noNames();
  for (const chunk of chunks) {
    for (const mention of mentionsOf(chunk).all) {
      const kind = kindOf(mention, tables);
      if (isDeclarable(kind)) names[kind].add(mention.name.text);
    }
  }
  return names;
}

/** Nothing where the edit named other readings, or in another order. */
function remeasured(readings: Model['readings'], { before, now }: Edited): Model['readings'] | undefined {
  const were = before.flatMap((chunk) => mentionsOf(chunk).readings);
  const are = now.flatMap((chunk) => mentionsOf(chunk).readings);
  if (were.length !== are.length || were.some(({ name }, i) => name!.text !== are[i]!.name!.text)) return undefined;
  const changed = new Map<string, Statement>();
  for (const [i, statement] of were.entries()) {
    const name = statement.name!.text;
    if (readings.get(name) === statement && statement !== are[i]) changed.set(name, are[i]!);
  }
  return changed.size === 0 ? readings : amended(readings, changed);
}

/** The chunk of a declaration without statements that have strayed into it: of a shared file, those are not taken in. */
const declared = (chunk: Chunk): Chunk => (chunk.strayStep === undefined ? chunk : { ...chunk, strayStep: undefined });

/** Chunks of the first of `files` that mention or declare `name`, and of the others those that hold it and whose names count for the first. */
function* chunksWith(name: string, files: readonly SyntaxTree[], takenIn: Model['takenIn']): Generator<Chunk> {
  const [own, ...others] = files;
  for (const place of chunksNaming(own!, name)) yield own!.chunks[place]!;
  for (const file of others) {
    for (let at = file.text.indexOf(name); at >= 0; ) {
      const c = chunkAt(file, at);
      const chunk = file.chunks[c]!;
      if (takenIn.has(chunk)) yield chunk;
      else if (isDeclaration(chunk.item)) yield declared(chunk);
      const behind = file.starts[c + 1];
      at = behind === undefined ? -1 : file.text.indexOf(name, behind);
    }
  }
}
