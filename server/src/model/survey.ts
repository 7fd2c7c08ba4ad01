import {
  type Chunk,
  chunkAt,
  type Declaration,
  type Name,
  type Statement,
  type SyntaxTree,
} from '../../../grammar/syntax.ts';
import { declarationWords } from '../../../grammar/tokens.ts';
import {
  isDeclaration,
  type Mention,
  type Mentions,
  mentionsOf,
  takesReading,
  turns,
  visitMentions,
} from './mentions.ts';
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

type NameSets = Readonly<Record<DeclarationKind, Set<string>>>;
const noNames = (): NameSets => ({ part: new Set(), tool: new Set(), supply: new Set(), pattern: new Set() });

const isDeclarable = (kind: Mention['kind']): kind is DeclarationKind =>
  kind === 'part' || kind === 'tool' || kind === 'supply' || kind === 'pattern';

const kindOf = ({ name, kind }: Mention, tables: Tables): NameKind =>
  kind !== 'part or supply' ? kind : isSupply(name.text, tables) ? 'supply' : 'part';

const isThreaded = ({ kind, thread, torque }: Declaration): boolean =>
  kind === 'part' && (thread !== undefined || torque !== undefined);

/** The walk. `tables` may grow on the way, as long as each declaration is told to `declare`. */
export class Survey {
  private readonly tables: Tables;
  private readonly readings = new Map<string, Statement>();
  private readonly fasteners = new Set<string>();
  private readonly used = noNames();
  /** What was not declared when it was met. */
  private readonly open: Mention[] = [];
  private readonly openTurned: string[] = [];
  private readonly stock = new Stock();
  private singlesOut = false;

  constructor(tables: Tables) {
    this.tables = tables;
  }

  declare(declaration: Declaration): void {
    if (isThreaded(declaration)) this.fasteners.add(declaration.name!.text);
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
    const { tables, readings, fasteners, used, stock, singlesOut } = this;
    const missing: Missing[] = [];
    for (const mention of this.open) {
      const { name } = mention;
      const kind = kindOf(mention, tables);
      if (isDeclarable(kind) && tables[kind].has(name.text)) used[kind].add(name.text);
      else missing.push({ name, kind });
    }
    for (const name of this.openTurned) if (tables.part.has(name)) fasteners.add(name);
    return { readings, fasteners, used, missing, stock: singlesOut ? undefined : stock.names() };
  }

  /** False where no such thing is declared yet. */
  private use(name: string, kind: DeclarationKind): boolean {
    const used = this.used[kind];
    if (used.has(name)) return true;
    const known = this.tables[kind].has(name);
    if (known) used.add(name);
    return known;
  }

  private readonly onMention = (name: Name, kind: Mention['kind']): void => {
    if (!isDeclarable(kind) || !this.use(name.text, kind)) this.open.push({ name, kind });
  };

  private readonly onShared = ({ text }: Name, kind: Mention['kind']): void => {
    if (isDeclarable(kind)) this.use(text, kind);
  };

  private readonly onStatement = (statement: Statement): void => {
    const name = statement.name?.text;
    if (takesReading(statement)) {
      if (!this.readings.has(name!)) this.readings.set(name!, statement);
    } else if (turns(statement)) {
      if (this.tables.part.has(name!)) this.fasteners.add(name!);
      else this.openTurned.push(name!);
    } else if (statement.kind === 'for') this.singlesOut = true;
    this.stock.take(statement);
  };
}

/** What is missing in `chunks`, where all is declared. */
export function missingIn(chunks: readonly Chunk[], tables: Tables): readonly Missing[] {
  const survey = new Survey(tables);
  for (const chunk of chunks) survey.visit(chunk);
  return survey.finish().missing;
}

/** Chunks that an edit has put in the place of as many others. */
export interface Edited {
  readonly before: readonly Chunk[];
  readonly now: readonly Chunk[];
}

/**
 * What an `earlier` survey found, as it is after an edit that left all that is declared and taken in under its names: what
 * has stayed as it was is the same object. Nothing where other readings are taken than before.
 */
export function resurvey(
  earlier: Model,
  edited: Edited,
  tables: Tables,
  files: readonly SyntaxTree[],
): Pick<Surveyed, 'readings' | 'fasteners' | 'used'> | undefined {
  const readings = remeasured(earlier.readings, edited);
  if (readings === undefined) return undefined;
  const holdsElsewhere = (name: string, holds: (mentions: Mentions) => boolean): boolean => {
    for (const chunk of chunksWith(name, files, earlier.takenIn)) if (holds(mentionsOf(chunk))) return true;
    return false;
  };
  const were = namesIn(edited.before, tables);
  const are = namesIn(edited.now, tables);
  let used: Used = earlier.used;
  for (const kind of declarationWords) {
    const isUsed = (name: string): boolean =>
      tables[kind].has(name) &&
      (are[kind].has(name) ||
        holdsElsewhere(name, ({ all }) =>
          all.some((mention) => mention.name.text === name && kindOf(mention, tables) === kind),
        ));
    const now = readjusted(used[kind], differing(were[kind], are[kind]), isUsed);
    if (now !== used[kind]) used = { ...used, [kind]: now };
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
  return { readings, used, fasteners: readjusted(earlier.fasteners, doubtful, isFastener) };
}

/** What is in one of the two only. */
const differing = (a: ReadonlySet<string>, b: ReadonlySet<string>): string[] => [
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
  let changed: Map<string, Statement> | undefined;
  for (const [i, statement] of were.entries()) {
    const name = statement.name!.text;
    if (readings.get(name) !== statement || statement === are[i]) continue;
    changed ??= new Map(readings);
    changed.set(name, are[i]!);
  }
  return changed ?? readings;
}

/** The chunk of a declaration without statements that have strayed into it: of a shared file, those are not taken in. */
const declared = (chunk: Chunk): Chunk => (chunk.strayStep === undefined ? chunk : { ...chunk, strayStep: undefined });

/** Chunks of the first of `files` that hold `word`, and of the others those whose names count for it. */
function* chunksWith(word: string, files: readonly SyntaxTree[], takenIn: Model['takenIn']): Generator<Chunk> {
  for (const file of files) {
    for (let at = file.text.indexOf(word); at >= 0; ) {
      const c = chunkAt(file, at);
      const chunk = file.chunks[c]!;
      if (file === files[0] || takenIn.has(chunk)) yield chunk;
      else if (isDeclaration(chunk.item)) yield declared(chunk);
      const behind = file.starts[c + 1];
      at = behind === undefined ? -1 : file.text.indexOf(word, behind);
    }
  }
}
