import type { Chunk, Declaration, Name, Statement } from '../../../grammar/syntax.ts';
import { noted } from './noted.ts';
import { eachReference, type NameKind, referencesOfDeclaration } from './references.ts';
import { statementsIn } from './statements.ts';

/** A name in the text. What `omit` names is a part, or a supply where only a supply is called so. */
export interface Mention {
  readonly name: Name;
  readonly kind: NameKind | 'part or supply';
}

/** The names of one chunk, in the order of the text. They never change. */
export interface Mentions {
  readonly all: readonly Mention[];
  /** `measure` statements that name their reading. */
  readonly readings: readonly Statement[];
  /** Parts that are loosened or tightened. */
  readonly turned: readonly string[];
  /** Words of statements that could not be read. */
  readonly unread: readonly string[];
}

const none: readonly never[] = [];
const noMentions: Mentions = { all: none, readings: none, turned: none, unread: none };
export const mentionsOf: (chunk: Chunk) => Mentions = noted(find);

/** Mentions are gathered here: a list that grew has room for many more. */
const desk: Mention[] = [];

function find({ item, strayStep }: Chunk): Mentions {
  if (item === undefined && strayStep === undefined) return noMentions;
  if (item !== undefined && isDeclaration(item)) {
    const { heldBy, behind, carriedBy, holes } = item;
    // Most declarations refer to nothing.
    if (strayStep === undefined && heldBy.length + behind.length === 0 && (carriedBy ?? holes) === undefined)
      return noMentions;
  }
  const add = (name: Name, kind: Mention['kind']): void => {
    desk.push({ name, kind });
  };
  let readings: Statement[] | undefined;
  let turned: string[] | undefined;
  let unread: string[] | undefined;
  if (item !== undefined && isDeclaration(item))
    for (const reference of referencesOfDeclaration(item)) desk.push(reference);
  for (const step of [item?.kind === 'step' ? item : undefined, strayStep]) {
    if (step === undefined) continue;
    for (const name of step.after) add(name, 'step');
    for (const statement of statementsIn(step)) {
      const { kind, name, words } = statement;
      if (words !== undefined) unread = [...(unread ?? none), ...words.map((word) => word.text)];
      if (kind !== 'omit') eachReference(statement, add);
      else eachReference(statement, (each, of) => add(each, each === name ? 'part or supply' : of));
      if (name === undefined) continue;
      if (kind === 'measure') {
        readings ??= [];
        readings.push(statement);
      } else if (kind === 'loosen' || kind === 'tighten') {
        turned ??= [];
        turned.push(name.text);
      }
    }
  }
  const all = desk.length === 0 ? none : desk.slice();
  desk.length = 0;
  return { all, readings: readings ?? none, turned: turned ?? none, unread: unread ?? none };
}

export const isDeclaration = (item: Chunk['item']): item is Declaration =>
  item !== undefined &&
  (item.kind === 'part' || item.kind === 'tool' || item.kind === 'supply' || item.kind === 'pattern');
