import type { IToken } from 'chevrotain';
import {
  hazards,
  headWord,
  isBlock,
  isDeclaration,
  isNameless,
  isPhase,
  isStatement,
  read,
  standsInPhase,
} from '../../../grammar/heads.ts';
import { chunkAt } from '../../../grammar/syntax.ts';
import {
  Close,
  Comma,
  FitPair,
  headWords,
  isContextual,
  isNumber,
  Name,
  Open,
  OpenText,
  Text,
  Times,
  Unit,
} from '../../../grammar/tokens.ts';
import { type Unit as KnownUnit, type QuantityKind, unitOf, units } from '../../../grammar/units.ts';
import { addTo } from '../model/grouped.ts';
import type { NameKind } from '../model/references.ts';
import type { Snapshot } from '../snapshot.ts';

/** What belongs at a place in the text. */
export type Want =
  | { readonly kind: 'nothing' }
  /** The start of a line: a declaration, phase, step or statement. */
  | { readonly kind: 'line'; readonly section: 'top' | 'phase' | 'step'; readonly blocks: readonly string[] }
  | { readonly kind: 'names'; readonly of: NameKind }
  /** A name that the author invents. */
  | { readonly kind: 'new-name' }
  | { readonly kind: 'words'; readonly words: readonly string[] }
  /** A value, of one of these kinds, number and unit. */
  | { readonly kind: 'value'; readonly kinds: readonly QuantityKind[] }
  /** The unit behind a number; of any kind where none is given. */
  | { readonly kind: 'unit'; readonly kinds: readonly QuantityKind[]; readonly restates: boolean }
  | { readonly kind: 'thread' }
  /** Whatever may follow; right behind a bore its fit, too. */
  | { readonly kind: 'clauses'; readonly fit?: true }
  | { readonly kind: 'path'; readonly typed: string }
  /** Where a part is put, as a text; the cursor may stand behind the quote that opens it. */
  | { readonly kind: 'keeping-place'; readonly quoted: boolean }
  | { readonly kind: 'code-of-check'; readonly typed: string };

export interface Place {
  readonly want: Want;
  /** The word that began the statement, declaration, step or head; absent at the start of a line. */
  readonly segment: string | undefined;
  /** The clause that the place is in, the segment's own word where it is in none. */
  readonly clause: string;
  /** Clauses that stand already. */
  readonly used: ReadonlySet<string>;
  /** Names in the statement so far, by the clause that they stand in. */
  readonly names: ReadonlyMap<string, readonly string[]>;
  readonly fresh: boolean;
  /** Offset where the word that is being typed begins. */
  readonly from: number;
}

const nothing: Want = { kind: 'nothing' };
const clauses: Want = { kind: 'clauses' };
const fitOrClauses: Want = { kind: 'clauses', fit: true };
const namesOf = (of: NameKind): Want => ({ kind: 'names', of });
const words = (...list: string[]): Want => ({ kind: 'words', words: list });
const value = (...kinds: QuantityKind[]): Want => ({ kind: 'value', kinds });

/** What belongs at `offset`, from the text before it alone: what follows may be half written. */
export function placeAt(snapshot: Snapshot, offset: number): Place {
  const { text, tree } = snapshot;
  const lineStart = Math.max(text.lastIndexOf('\n', offset - 1), text.lastIndexOf('\r', offset - 1)) + 1;
  const line = text.slice(lineStart, offset);
  const typed = typedIn(line);
  const from = offset - typed.length;

  let index = chunkAt(tree, from);
  // Lines above a chunk's first word go on with what stands before them.
  while (index > 0 && (tree.chunks[index]!.item?.start ?? 0) + tree.starts[index]! >= from) index--;
  const source = read(text.slice(tree.starts[index]!, from));
  const { tokens, comments, heads, unwritten } = source;
  const base = tree.starts[index]!;

  const comment = comments.at(-1);
  if (comment !== undefined && base + comment.startOffset >= lineStart)
    return inComment(
      text.slice(base + comment.startOffset, offset),
      offset,
      text.slice(lineStart, base + comment.startOffset).trim() === '',
    );
  const last = tokens.at(-1);
  if (last?.tokenType === OpenText && base + last.startOffset >= lineStart) {
    const begun = text.slice(base + last.startOffset + 1, offset);
    const before = tokens.at(-2)?.image;
    if (before === 'use') return at({ kind: 'path', typed: begun }, 'use', offset - begun.length);
    if (before === 'in' && tokens.at(-3)?.image === 'keep')
      return at({ kind: 'keeping-place', quoted: true }, 'keep', offset - begun.length);
    return at(nothing, undefined, offset);
  }

  const head = heads.at(-1);
  const segment = head === undefined ? undefined : headWord(source, head);
  const blank = line.slice(0, line.length - typed.length).trim() === '';
  const reading =
    segment === undefined ? undefined : readOn(segment, tokens.slice(unwritten.has(head!) ? head : head! + 1));
  if (reading === undefined || (blank && !reading.open)) {
    const inPhase = segment === 'use' && standsInPhase(tree, index);
    const section = inPhase ? 'phase' : sectionOf(segment);
    const place = at({ kind: 'line', section, blocks: openBlocks(tokens, heads) }, undefined, from);
    // The head and declarations are often written over several lines.
    return segment !== undefined && (segment === 'procedure' || isDeclaration(segment))
      ? { ...place, segment, ...(reading === undefined ? {} : { used: reading.used, names: reading.names }) }
      : place;
  }
  return {
    want: reading.want,
    segment,
    clause: reading.clause,
    used: reading.used,
    names: reading.names,
    fresh: reading.fresh,
    from,
  };
}

const at = (want: Want, segment: string | undefined, from: number): Place => ({
  want,
  segment,
  clause: segment ?? '',
  used: new Set(),
  names: new Map(),
  fresh: false,
  from,
});

/** The end of `line` that is a word, a unit right behind a number, the number of a thread or class, or a fit. */
function typedIn(line: string): string {
  const unit = /(?:^|[\s(,.±])[-−]?[0-9]+(?:\.[0-9]+)?\s*([\p{L}°º·.⋅]*)$/u.exec(line)?.[1];
  if (unit !== undefined && unit !== '') return unit;
  const size = /(?:^|\s)(?:thread|class|grade)\s+([0-9][0-9./-]*)$/.exec(line)?.[1];
  if (size !== undefined) return size;
  const fit = /\s([A-Z]{1,2}[0-9]{1,2}\/[a-z]{0,2}[0-9]{0,2})$/.exec(line)?.[1];
  if (fit !== undefined) return fit;
  return /\p{L}[\p{L}\p{M}0-9-]*$/u.exec(line)?.[0] ?? '';
}

const allow = 'fettle-allow';

/** `alone`: nothing stands before it on its line. */
function inComment(comment: string, offset: number, alone: boolean): Place {
  const typed = /^#\s*fettle-allow\s+([a-z-]*)$/.exec(comment)?.[1];
  if (typed !== undefined) return at({ kind: 'code-of-check', typed }, undefined, offset - typed.length);
  const begun = alone ? /^#\s*([a-z-]+)$/.exec(comment)?.[1] : undefined;
  return begun !== undefined && allow.startsWith(begun)
    ? at(words(allow), undefined, offset - begun.length)
    : at(nothing, undefined, offset);
}

const sectionOf = (segment: string | undefined): 'top' | 'phase' | 'step' =>
  segment === undefined || segment === 'procedure' || segment === 'use' || isDeclaration(segment)
    ? 'top'
    : isPhase(segment)
      ? 'phase'
      : 'step';

function openBlocks(tokens: readonly IToken[], heads: readonly number[]): string[] {
  const open: string[] = [];
  for (const head of heads) {
    const word = tokens[head]!.image;
    if (isBlock(word)) open.push(word);
    else if (word === 'end') open.pop();
  }
  return open;
}

interface Reading {
  want: Want;
  clause: string;
  /** The line cannot end here. */
  open: boolean;
  used: Set<string>;
  names: Map<string, string[]>;
  fresh: boolean;
}

function readOn(segment: string, rest: readonly IToken[]): Reading {
  let clause = segment;
  let want = behindHead(segment);
  let list: Want = nothing;
  let bracket: readonly QuantityKind[] | undefined;
  let fresh = false;
  let comma = false;
  const used = new Set<string>();
  const names = new Map<string, string[]>();
  let unit: KnownUnit | undefined;
  for (const token of rest) {
    const type = token.tokenType;
    const { image } = token;
    comma = type === Comma;
    if (comma) want = list;
    else if (type === Open) {
      bracket = unit === undefined ? kindsOf(segment, clause) : [unit.kind];
      want = nothing;
    } else if (type === Close) {
      bracket = undefined;
      want = clause === 'bore' ? fitOrClauses : clauses;
    } else if (isNumber(token)) {
      const kinds = bracket ?? kindsOf(segment, clause);
      want = kinds === undefined ? clauses : { kind: 'unit', kinds, restates: bracket !== undefined };
      list = kinds === undefined ? clauses : { kind: 'value', kinds };
      if (clause === segment) used.add('quantity');
    } else if (type === Times) {
      if (list.kind !== 'names' || clause === segment) used.add('xN');
      want = clauses;
    } else if (type === Text) {
      if (clause !== 'keep' && clause !== 'see' && clause !== 'spec' && clause !== 'number' && clause !== 'plate')
        used.add('text');
      else clause = segment;
      want = clauses;
    } else if (isUnitToken(token)) {
      unit = unitOf(image) ?? unit;
      want = clause === 'bore' ? fitOrClauses : clauses;
    } else if (type === FitPair) {
      want = clauses;
    } else if (image === 'new' && segment === 'fit') {
      fresh = true;
      want = namesOf('part');
    } else if (type.name === image && (isContextual(image) || (image === 'for' && segment === 'swap'))) {
      const goesOn = image === 'by' ? clause === 'held' || clause === 'carried' : image === 'in' && clause === 'keep';
      if (!goesOn) clause = image;
      used.add(clause);
      want = behindClause(segment, image, clause);
      list = want;
    } else if (type.CATEGORIES?.includes(Name) ?? false) {
      addTo(names, clause, image);
      if (clause === segment || want.kind !== 'clauses') list = clause === segment ? behindHead(segment) : list;
      want = clauses;
    }
  }
  return { want, clause, open: comma || want.kind === 'names' || want.kind === 'words', used, names, fresh };
}

const isUnitToken = (token: IToken): boolean => token.tokenType.CATEGORIES?.includes(Unit) ?? false;

function behindHead(segment: string): Want {
  if (segment === 'fit') return namesOf('part');
  if (segment === 'drain' || segment === 'fill' || segment === 'apply') return namesOf('supply');
  if (segment === 'wait') return value('time');
  if (segment === 'for') return namesOf('code');
  if (segment === 'measure' || segment === 'step' || segment === 'procedure' || isDeclaration(segment))
    return { kind: 'new-name' };
  if (isNameless(segment) || segment === 'use' || isBlock(segment)) return nothing;
  return isStatement(segment) ? namesOf('part') : nothing;
}

function behindClause(segment: string, word: string, clause: string): Want {
  switch (word) {
    case 'held':
    case 'carried':
      return words('by');
    case 'by':
      return isDeclaration(segment) ? namesOf('part') : words('hand');
    case 'behind':
    case 'with':
      return namesOf('part');
    case 'for':
      return namesOf('part');
    case 'from':
      return segment === 'transfer' ? namesOf('part') : value('length');
    case 'to':
      return segment === 'procedure'
        ? nothing
        : segment === 'transfer' || segment === 'apply'
          ? namesOf('part')
          : value(...(kindsOf(segment, 'to') ?? []));
    case 'on':
      return segment === 'try' ? namesOf('part') : value('length');
    case 'holes':
      return isDeclaration(segment) ? namesOf('pattern') : nothing;
    case 'hazard':
      return words(...hazards);
    case 'head':
      return words(...headWords);
    case 'using':
      return namesOf('tool');
    case 'gap':
      return namesOf('reading');
    case 'after':
      return namesOf('step');
    case 'applies':
      return words('to');
    case 'code':
      return words('plate');
    case 'measures':
      return words('metric', 'imperial');
    case 'thread':
      return { kind: 'thread' };
    case 'class':
      // The usual ones first.
      return words('8.8', '10.9', '12.9', '4.6', '5.8', 'A2-70', 'A4-70', 'A4-80');
    case 'grade':
      return words('5', '8', '2');
    case 'in':
      return clause === 'keep' ? { kind: 'keeping-place', quoted: false } : words('stages');
    case 'keep':
      return words('in');
    case 'order':
      return words('star', 'spiral');
    case 'at':
      return segment === 'tighten' ? words('holes') : segment === 'part' ? nothing : value('angle');
    case 'plate':
    case 'see':
    case 'spec':
    case 'number':
      return nothing;
    case 'circle':
    case 'points':
      return nothing;
    default: {
      const kinds = kindsOf(segment, word);
      return kinds === undefined ? clauses : { kind: 'value', kinds };
    }
  }
}

const kindsByClause: Readonly<Record<string, readonly QuantityKind[]>> = {
  torque: ['torque'],
  prevailing: ['torque'],
  stages: ['torque'],
  angles: ['angle'],
  length: ['length'],
  bore: ['length'],
  diameter: ['length'],
  interference: ['length'],
  points: ['length'],
  extension: ['length'],
  on: ['length'],
  endplay: ['length'],
  preload: ['length'],
  lead: ['time'],
  takes: ['time'],
  cure: ['time'],
  wait: ['time'],
  range: ['torque', 'force', 'pressure', 'temperature', 'length'],
};

/** Kinds of quantity that stand in this clause; nothing where its numbers have no unit. */
function kindsOf(segment: string, clause: string): readonly QuantityKind[] | undefined {
  switch (clause) {
    case 'to':
      return segment === 'tighten'
        ? ['torque']
        : segment === 'heat' || segment === 'cool'
          ? ['temperature']
          : undefined;
    case 'limit':
      return segment === 'part' ? ['temperature'] : anyKind;
    case 'max':
      return segment === 'press' ? ['force'] : anyKind;
    case 'min':
      return anyKind;
    case 'then':
      return ['angle'];
    case 'from':
      return segment === 'shim' ? ['length'] : undefined;
    case 'at':
      return segment === 'tighten' || segment === 'part' ? undefined : ['angle'];
    case 'drain':
    case 'fill':
    case 'supply':
      return ['volume', 'mass'];
  }
  return Object.hasOwn(kindsByClause, clause) ? kindsByClause[clause] : undefined;
}

/** Most readings are lengths. */
const anyKind: readonly QuantityKind[] = [...new Set<QuantityKind>(['length', ...units.map(({ kind }) => kind)])];
