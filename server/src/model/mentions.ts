import { isPhase } from '../../../grammar/heads.ts';
import type { Chunk, Declaration, Name, PhaseLine, Statement, Step } from '../../../grammar/syntax.ts';
import { noted } from './noted.ts';
import { eachReference, eachReferenceOfDeclaration, type NameKind } from './references.ts';
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
/** Kept for chunks that somebody has asked for: most are gone through once, by `visitMentions`. */
export const mentionsOf: (chunk: Chunk) => Mentions = noted(find);

/** Mentions are gathered here: a list that grew has room for many more. */
const scratch: Mention[] = [];

function find(chunk: Chunk): Mentions {
  // Something may have broken off in between.
  scratch.length = 0;
  let readings: Statement[] | undefined;
  let turned: string[] | undefined;
  let unread: string[] | undefined;
  visitMentions(
    chunk,
    (name, kind) => {
      scratch.push({ name, kind });
    },
    (statement) => {
      const { name, words = statement.lost } = statement;
      if (words !== undefined) {
        unread ??= [];
        for (const { text } of words) unread.push(text);
      }
      if (takesReading(statement)) {
        readings ??= [];
        readings.push(statement);
      } else if (turns(statement)) {
        turned ??= [];
        turned.push(name!.text);
      }
    },
  );
  if (scratch.length === 0 && readings === undefined && turned === undefined && unread === undefined) return noMentions;
  const all = scratch.slice();
  return { all, readings: readings ?? none, turned: turned ?? none, unread: unread ?? none };
}

/** True for a `measure` that names its reading. */
export const takesReading = ({ kind, name }: Statement): boolean => kind === 'measure' && name !== undefined;
/** True where a part is loosened or tightened. */
export const turns = ({ kind, name }: Statement): boolean =>
  (kind === 'loosen' || kind === 'tighten') && name !== undefined;

/** Goes through the names and the statements of a chunk, in the order of the text; a statement comes before its names. */
export function visitMentions(
  { item, strayStep }: Chunk,
  onMention: (name: Name, kind: Mention['kind']) => void,
  onStatement: (statement: Statement) => void,
): void {
  if (item !== undefined && isDeclaration(item)) eachReferenceOfDeclaration(item, onMention);
  else if (item?.kind === 'step') visitStep(item, onMention, onStatement);
  if (strayStep !== undefined) visitStep(strayStep, onMention, onStatement);
}

function visitStep(
  step: Step,
  onMention: (name: Name, kind: Mention['kind']) => void,
  onStatement: (statement: Statement) => void,
): void {
  for (const name of step.after) onMention(name, 'step');
  for (const statement of statementsIn(step)) {
    const { kind, name } = statement;
    onStatement(statement);
    if (kind !== 'omit') eachReference(statement, onMention);
    else eachReference(statement, (each, of) => onMention(each, each === name ? 'part or supply' : of));
  }
}

export const isDeclaration = (item: Chunk['item']): item is Declaration =>
  item !== undefined &&
  (item.kind === 'part' || item.kind === 'tool' || item.kind === 'supply' || item.kind === 'pattern');

export const isPhaseLine = (item: Chunk['item']): item is PhaseLine => item !== undefined && isPhase(item.kind);
