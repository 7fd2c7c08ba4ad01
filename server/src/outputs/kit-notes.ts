import { listed } from '../checks/wording.ts';
import type { KitPart } from './kit.ts';

interface Noted {
  readonly codes?: readonly string[];
  readonly onlyIf?: boolean;
  readonly when?: readonly string[];
  readonly lead?: { readonly text: string };
  readonly orderBy?: string;
}

/** What the bench must know of a line besides its name. */
export function notesOf(line: Noted, start: string | undefined): string[] {
  const when = (line.when ?? []).map((text) => `“${text}”`);
  return [
    ...(line.codes === undefined ? [] : [`only for ${listed(line.codes)}`]),
    ...(line.onlyIf === true
      ? [`only if ${when.length === 0 ? 'an alternative calls for it' : when.join(' or ')}`]
      : []),
    ...(line.lead === undefined
      ? []
      : line.orderBy === undefined
        ? [`order ${line.lead.text} before ${start === undefined ? 'the start' : start}`]
        : [`order by ${line.orderBy} (lead ${line.lead.text})`]),
  ];
}

/** `2`, or `2 to 4` where alternatives differ. */
export const piecesOf = ({ count, perhaps }: KitPart): string =>
  perhaps === 0 ? String(count) : count === 0 ? String(perhaps) : `${count} to ${count + perhaps}`;

export const markingOf = ({ marking }: { readonly marking?: string }): string[] =>
  marking === undefined ? [] : [`marked ${marking}`];

export const hazardOf = ({ hazards }: { readonly hazards: readonly string[] }): string[] =>
  hazards.length === 0 ? [] : [`hazard: ${hazards.join(', ')}`];

/** `3 × `, or nothing where one is declared. */
export const severalOf = ({ count }: { readonly count?: number }): string => (count === undefined ? '' : `${count} × `);

export const partFacts = (part: KitPart, start: string | undefined): string[] => [
  ...markingOf(part),
  ...(part.size === undefined ? [] : [part.size]),
  ...(part.strength === undefined ? [] : [part.strength]),
  ...(part.head === undefined ? [] : [part.head]),
  ...(part.count > 0 && part.perhaps > 0
    ? [`the greater count if ${part.when.map((text) => `“${text}”`).join(' or ')}`]
    : []),
  ...notesOf(part, start),
];
