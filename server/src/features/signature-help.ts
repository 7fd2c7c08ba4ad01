import type { SignatureHelp, SignatureHelpParams, SignatureInformation } from 'vscode-languageserver';
import { textStatements } from '../../../grammar/tokens.ts';
import type { Snapshot } from '../snapshot.ts';
import { followersOf, openClauses } from './clauses.ts';
import { type Client, feature } from './feature.ts';
import { markup } from './markdown.ts';
import { placeAt } from './place.ts';
import { helpOf } from './words.ts';

/** What stands behind the word of a statement or declaration before its clauses, each with the clause it belongs to. */
const openings: Readonly<Record<string, readonly (readonly [string, string])[]>> = {
  fit: [['[new] part', 'fit']],
  swap: [
    ['old part', 'swap'],
    ['for new part', 'for'],
  ],
  transfer: [
    ['part', 'transfer'],
    ['from carrier', 'from'],
    ['to carrier', 'to'],
  ],
  try: [
    ['part', 'try'],
    ['on part', 'on'],
  ],
  apply: [
    ['supply', 'apply'],
    ['to part', 'to'],
  ],
  drain: [
    ['supply', 'drain'],
    ['[quantity]', 'quantity'],
  ],
  fill: [
    ['supply', 'fill'],
    ['quantity', 'quantity'],
  ],
  wait: [['time', 'wait']],
  measure: [['reading', 'measure']],
  shim: [
    ['part', 'shim'],
    ['gap reading', 'gap'],
    ['endplay or preload range', 'endplay'],
    ['from shims', 'from'],
  ],
  heat: [
    ['part', 'heat'],
    ['to temperature', 'to'],
  ],
  cool: [
    ['part', 'cool'],
    ['to temperature', 'to'],
  ],
  supply: [
    ['name', 'supply'],
    ['[quantity]', 'quantity'],
  ],
  ...Object.fromEntries(textStatements.map((word) => [word, [['"text"', 'text']]])),
};

/** Of a part these are written otherwise. */
const shapesInPart: Readonly<Record<string, string>> = { limit: 'limit temperature', at: 'at numbers' };

/** How each clause is written in a signature. */
const shapes: ReadonlyMap<string, string> = new Map([
  ['xN', 'xN'],
  ['text', '"text"'],
  ['using', 'using tools'],
  ['keep', 'keep in "place"'],
  ['see', 'see "figure"'],
  ['extension', 'extension length on length'],
  ['with', 'with parts'],
  ['to', 'to torque'],
  ['then', 'then angle'],
  ['in', 'in stages torques'],
  ['order', 'order star or spiral or numbers'],
  ['at', 'at holes numbers'],
  ['by', 'by hand'],
  ['max', 'max value'],
  ['min', 'min value'],
  ['limit', 'limit range'],
  ['held', 'held by parts'],
  ['behind', 'behind parts'],
  ['carried', 'carried by part'],
  ['thread', 'thread size'],
  ['class', 'class number'],
  ['grade', 'grade number'],
  ['torque', 'torque value'],
  ['length', 'length value'],
  ['prevailing', 'prevailing torque'],
  ['head', 'head kind'],
  ['holes', 'holes pattern'],
  ['lead', 'lead time'],
  ['hazard', 'hazard kind'],
  ['bore', 'bore diameter'],
  ['interference', 'interference range'],
  ['number', 'number "marking"'],
  ['range', 'range low..high'],
  ['spec', 'spec "text"'],
  ['cure', 'cure time'],
  ['circle', 'circle count'],
  ['angles', 'angles list'],
  ['diameter', 'diameter value'],
  ['points', 'points list'],
  ['applies', 'applies to codes'],
  ['code', 'code plate "place"'],
  ['measures', 'measures metric or imperial'],
  ['takes', 'takes time'],
  ['after', 'after steps'],
]);
const shapeOf = (segment: string, clause: string): string =>
  (segment === 'part' ? shapesInPart[clause] : undefined) ?? shapes.get(clause) ?? clause;

/** What may follow in the statement or declaration that `offset` stands in; the clause of the place is the active one. */
export function signatureAt(snapshot: Snapshot, offset: number, client: Client): SignatureHelp | undefined {
  const { segment, clause, used, want } = placeAt(snapshot, offset);
  if (segment === undefined || want.kind === 'line') return undefined;
  const followers = followersOf(segment);
  if (followers.length === 0) return undefined;
  const opening = openings[segment] ?? [
    [
      segment === 'procedure' ||
      segment === 'step' ||
      followers.includes('held') ||
      segment === 'tool' ||
      segment === 'pattern'
        ? 'name'
        : 'part',
      segment,
    ] as const,
  ];
  const opened = new Set(opening.map(([, of]) => of));
  const spoken = clause === 'stages' ? 'in' : clause === 'hand' ? 'by' : clause;
  const open = new Set(openClauses(segment, used));
  const all: [string, string][] = [
    ...opening.map(([words, of]): [string, string] => [words, of]),
    ...followers
      .filter((each) => !opened.has(each) && (open.has(each) || each === spoken))
      .map((each): [string, string] => [`[${shapeOf(segment, each)}]`, each]),
  ];
  // A bracket is optional; behind a whole clause, the first one that has not been said is meant.
  const meant =
    want.kind === 'clauses'
      ? all.findIndex(([, of], i) => i >= opening.length && !used.has(of))
      : all.findIndex(([, of]) => of === spoken);
  const { parts, isCutBefore, isCutBehind } = around(all, opening.length, meant);
  const at = parts.indexOf(all[meant]!);
  let label = segment;
  const parameters = parts.map(([words, of], i) => {
    if (isCutBefore && i === opening.length) label += ' …';
    const start = label.length + 1;
    label += ` ${words}`;
    const help = helpOf(of, segment);
    return {
      label: client.labelOffsets ? ([start, start + words.length] as [number, number]) : words,
      ...(help === undefined || of === segment ? {} : { documentation: markup([help], client) }),
    };
  });
  if (isCutBehind) label += ' …';
  const help = helpOf(segment, segment);
  const signature: SignatureInformation = {
    label,
    parameters,
    ...(help === undefined ? {} : { documentation: markup([help], client) }),
  };
  return { signatures: [signature], activeSignature: 0, activeParameter: Math.max(0, at) };
}

/** Of the clauses as many as have room in so many characters, two lines or three: the whole list of a part would lie over the text. */
const mostShown = 110;

/** What always stands there, then the clauses from the one that is meant on. */
function around(
  all: readonly [string, string][],
  opening: number,
  meant: number,
): { parts: readonly [string, string][]; isCutBefore: boolean; isCutBehind: boolean } {
  const length = (parts: readonly [string, string][]): number =>
    parts.reduce((sum, [words]) => sum + words.length + 1, 0);
  if (length(all) <= mostShown) return { parts: all, isCutBefore: false, isCutBehind: false };
  const from = Math.max(opening, meant);
  const head = all.slice(0, opening);
  let end = from;
  while (end < all.length && (end === from || length([...head, ...all.slice(from, end + 1)]) <= mostShown)) end++;
  return { parts: [...head, ...all.slice(from, end)], isCutBefore: from > opening, isCutBehind: end < all.length };
}

export const signatureHelp = feature<SignatureHelpParams, SignatureHelp>(
  'textDocument/signatureHelp',
  { signatureHelpProvider: { triggerCharacters: [' '], retriggerCharacters: [','] } },
  (snapshot, { position }, { client }) => signatureAt(snapshot, snapshot.offsetAt(position), client) ?? null,
);
