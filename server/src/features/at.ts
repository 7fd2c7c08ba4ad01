import {
  type Chunk,
  chunkAt,
  contains,
  fieldsOf,
  type Name,
  type Span,
  type Statement,
  walk,
} from '../../../grammar/syntax.ts';
import { type Definition, type Model, nameOfDefinition } from '../model/model.ts';
import {
  type NameKind,
  type Reference,
  referencesOf,
  referencesOfDeclaration,
  referencesOfStep,
} from '../model/references.ts';
import { stepsOfChunk } from '../model/statements.ts';
import type { Snapshot } from '../snapshot.ts';

/** A name in the text, and what it stands for. */
export interface Naming {
  readonly name: Name;
  readonly kind: NameKind;
  /** Absent where nothing has this name. */
  readonly definition: Definition | undefined;
  readonly defines: boolean;
}

export function definitionOf(model: Model, { name, kind }: Reference): Definition | undefined {
  switch (kind) {
    case 'part':
      return model.parts.get(name.text);
    case 'tool':
      return model.tools.get(name.text);
    case 'supply':
      return model.supplies.get(name.text);
    case 'pattern':
      return model.patterns.get(name.text);
    case 'step':
      return model.stepNames.get(name.text)?.step;
    case 'reading':
      return model.readings.get(name.text);
    case 'code':
      return model.head?.codes.find((code) => code.text === name.text);
  }
}

/** Every name of a chunk that stands for something. */
export function* namingsOf(model: Model, chunk: Chunk): Generator<Naming> {
  const refers = (reference: Reference): Naming => ({
    ...reference,
    definition: definitionOf(model, reference),
    defines: false,
  });
  const defines = (name: Name | undefined, kind: NameKind, definition: Definition): Naming[] =>
    name === undefined ? [] : [{ name, kind, definition, defines: true }];
  const { item } = chunk;
  if (item?.kind === 'procedure') for (const code of item.codes) yield* defines(code, 'code', code);
  if (item?.kind === 'part' || item?.kind === 'tool' || item?.kind === 'supply' || item?.kind === 'pattern') {
    yield* defines(item.name, item.kind, item);
    for (const reference of referencesOfDeclaration(item)) yield refers(reference);
  }
  for (const step of stepsOfChunk(chunk)) {
    yield* defines(step.name, 'step', step);
    for (const reference of referencesOfStep(step)) yield refers(reference);
    for (const statement of walk(step.statements)) {
      if (statement.kind === 'measure' && statement.name !== undefined) {
        const first = model.readings.get(statement.name.text) ?? statement;
        yield { name: statement.name, kind: 'reading', definition: first, defines: first === statement };
      }
      for (const reference of referencesOf(statement)) yield refers(reference);
    }
  }
}

/** Chunks that hold `offset`, and the offset in each; two where it lies between them. */
export function chunksAt(snapshot: Snapshot, offset: number): { chunk: Chunk; at: number }[] {
  const { chunks, starts } = snapshot.tree;
  const index = chunkAt(snapshot.tree, offset);
  const here = chunks[index];
  if (here === undefined) return [];
  const found = [{ chunk: here, at: offset - starts[index]! }];
  const before = chunks[index - 1];
  if (found[0]!.at === 0 && before !== undefined) found.push({ chunk: before, at: before.text.length });
  return found;
}

/** The name that `offset` stands in, or right behind. */
export function namingAt(snapshot: Snapshot, offset: number): Naming | undefined {
  for (const { chunk, at } of chunksAt(snapshot, offset)) {
    for (const naming of namingsOf(snapshot.model, chunk)) if (contains(naming.name, at)) return naming;
  }
  return undefined;
}

/** Names in this snapshot's files that refer to `definition`, and its own name. */
export function occurrencesOf(snapshot: Snapshot, definition: Definition, withDefinition = true): Name[] {
  const own = withDefinition ? nameOfDefinition(definition) : undefined;
  const names = new Set([...(own === undefined ? [] : [own]), ...snapshot.model.references.to(definition)]);
  return [...names].filter((name) => snapshot.files.has(name.chunk.uri));
}

/** The spans of a syntax node that hold `at`, outermost first. */
export function spansAt(node: unknown, at: number): Span[] {
  const found: Span[] = [];
  const visit = (value: unknown): void => {
    if (typeof value !== 'object' || value === null) return;
    if (Array.isArray(value)) {
      for (const each of value) visit(each);
      return;
    }
    const span = value as Partial<Span>;
    if (span.chunk !== undefined && typeof span.start === 'number') {
      if (contains(span as Span, at)) found.push(span as Span);
    }
    for (const field of fieldsOf(value)) if (field !== 'chunk') visit((value as Record<string, unknown>)[field]);
  };
  visit(node);
  return found.sort((a, b) => b.end - b.start - (a.end - a.start));
}

/** The innermost statement that holds `at`. */
export function statementAt(chunk: Chunk, at: number): Statement | undefined {
  let found: Statement | undefined;
  for (const step of stepsOfChunk(chunk))
    for (const statement of walk(step.statements)) if (contains(statement, at)) found = statement;
  return found;
}
