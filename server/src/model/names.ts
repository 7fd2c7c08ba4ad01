import type { Head, Name, Statement } from '../../../grammar/syntax.ts';
import { isDeclaration } from './mentions.ts';
import type { Definition, Model, StepEntry } from './model.ts';
import { type Reference, referencesOf, referencesOfDeclaration, referencesOfStep } from './references.ts';
import { statementsIn } from './statements.ts';
import { isSupply, type Tables } from './survey.ts';

/** What each name stands for. */
export interface Names {
  readonly tables: Tables;
  readonly stepNames: ReadonlyMap<string, StepEntry>;
  readonly readings: ReadonlyMap<string, Statement>;
  readonly codeNames: ReadonlyMap<string, Name>;
  readonly lost: ReadonlySet<string>;
}

/** Codes of the head, each where it stands first. */
export function codeNamesOf(head: Head | undefined): ReadonlyMap<string, Name> {
  const names = new Map<string, Name>();
  for (const code of head?.codes ?? []) if (!names.has(code.text)) names.set(code.text, code);
  return names;
}

/** What a model has of its head. */
export function headFieldsOf(
  head: Head | undefined,
  codeNames: ReadonlyMap<string, Name>,
): Pick<Model, 'head' | 'codes' | 'measures'> {
  const measures = head?.measures?.text;
  return {
    head,
    codes: [...codeNames.keys()],
    measures: measures === 'metric' || measures === 'imperial' ? measures : undefined,
  };
}

type Rest = Omit<Model, 'parts' | 'tools' | 'supplies' | 'patterns' | 'stepNames' | 'readings' | 'references' | 'lost'>;

export function modelOf(names: Names, rest: Rest): Model {
  const { tables, stepNames, readings, lost } = names;
  return {
    ...rest,
    parts: tables.part,
    tools: tables.tool,
    supplies: tables.supply,
    patterns: tables.pattern,
    stepNames,
    readings,
    lost,
    references: new References(rest, names),
  };
}

/**
 * Found when first asked for. An object of its own: with an accessor in the literal of a model, or a model as prototype of
 * another, the engine keeps every model in its table of shapes until the next full garbage collection.
 */
export class References {
  private readonly rest: Rest;
  private readonly names: Names;
  private found: ReadonlyMap<Definition, readonly Name[]> | undefined;

  constructor(rest: Rest, names: Names) {
    this.rest = rest;
    this.names = names;
  }

  get all(): ReadonlyMap<Definition, readonly Name[]> {
    this.found ??= referencesIn(this.rest, this.names);
    return this.found;
  }

  to(definition: Definition): readonly Name[] {
    return this.all.get(definition) ?? [];
  }
}

/** Uses of each definition: those in declarations of this file, in its steps, and in declarations of shared files. */
function referencesIn({ files, steps, ownDeclarations }: Rest, names: Names): Map<Definition, Name[]> {
  const { tables, stepNames, readings, codeNames } = names;
  const referencesTo = new Map<Definition, Name[]>();
  const add = (definition: Definition | undefined, name: Name): void => {
    if (definition === undefined) return;
    const known = referencesTo.get(definition);
    if (known === undefined) referencesTo.set(definition, [name]);
    else known.push(name);
  };
  const record = ({ kind, name }: Reference): void => {
    const text = name.text;
    if (kind === 'step') add(stepNames.get(text)?.step, name);
    else if (kind === 'reading') add(readings.get(text), name);
    else if (kind === 'code') add(codeNames.get(text), name);
    else add(tables[kind].get(text), name);
  };
  for (const declaration of ownDeclarations) referencesOfDeclaration(declaration).forEach(record);
  for (const { step } of steps) {
    referencesOfStep(step).forEach(record);
    for (const statement of statementsIn(step)) {
      referencesOf(statement, (name) => isSupply(name, tables)).forEach(record);
      if (statement.kind === 'measure' && statement.name !== undefined) {
        const first = readings.get(statement.name.text)!;
        if (first !== statement) add(first, statement.name);
      }
    }
  }
  // Shared declarations refer to each other, too: that keeps `never-used` and the parts they hold honest.
  for (const file of files.slice(1))
    for (const { item } of file.chunks) if (isDeclaration(item)) referencesOfDeclaration(item).forEach(record);
  return referencesTo;
}
