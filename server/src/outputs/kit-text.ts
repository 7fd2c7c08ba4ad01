import { counted, listed } from './amounts.ts';
import { columns } from './columns.ts';
import type { Kit, KitPart, KitPlace, KitTool } from './kit.ts';
import { visible } from './text.ts';

const steps = (places: readonly KitPlace[]): string =>
  places.length === 0 ? '' : `step${places.length === 1 ? '' : 's'} ${places.map(({ step }) => step).join(', ')}`;

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

export const partFacts = (part: KitPart, start: string | undefined): string[] => [
  ...(part.marking === undefined ? [] : [`marked ${part.marking}`]),
  ...(part.size === undefined ? [] : [part.size]),
  ...(part.count > 0 && part.perhaps > 0
    ? [`the greater count if ${part.when.map((text) => `“${text}”`).join(' or ')}`]
    : []),
  ...notesOf(part, start),
];

/** The kit list for people, with no control characters in it. */
export function kitText(kit: Kit): string {
  const { start } = kit;
  const section = (title: string, rows: readonly (readonly string[])[]): string[] =>
    rows.length === 0 ? [] : [title, ...columns(rows.map((row) => row.map(visible))), ''];
  const part = (line: KitPart): string[] => [
    `${piecesOf(line)} ×`,
    line.title,
    partFacts(line, start).join('; '),
    steps(line.places),
  ];
  const tool = (line: KitTool): string[] => [
    line.title,
    [...(line.range === undefined ? [] : [line.range]), ...notesOf(line, start)].join('; '),
    steps(line.places),
  ];
  const once = kit.tools.filter((line) => line.once);
  return [
    visible(`Kit for: ${kit.title}`),
    ...(kit.codes.length === 0
      ? []
      : [visible(`Codes: ${kit.codes.join(', ')}${kit.codePlate === undefined ? '' : ` (${kit.codePlate})`}`)]),
    ...(start === undefined
      ? []
      : [`Start: ${start}${kit.orderBy === undefined ? '' : `; order from ${kit.orderBy} on`}`]),
    '',
    ...section('Used once, easily forgotten', [
      ...once.map(tool),
      ...kit.extras.map((extra) => [extra.what, [extra.why, ...notesOf(extra, start)].join('; '), steps(extra.places)]),
    ]),
    ...section('New parts', kit.parts.filter(({ onlyIf }) => !onlyIf).map(part)),
    ...section('New parts that may be needed', kit.parts.filter(({ onlyIf }) => onlyIf).map(part)),
    ...section('Tools', kit.tools.filter((line) => !line.once).map(tool)),
    ...section(
      'Supplies',
      kit.supplies.map((line) => [
        line.amount?.text ?? 'no quantity given',
        line.title,
        [
          ...(line.spec === undefined ? [] : [line.spec]),
          ...(line.cure === undefined ? [] : [`cures ${line.cure}`]),
          ...(line.hazards.length === 0 ? [] : [`hazard: ${line.hazards.join(', ')}`]),
          ...(line.appliedTo.length === 0 ? [] : [`on ${line.appliedTo.join(', ')}`]),
          ...notesOf(line, start),
        ].join('; '),
        steps(line.places),
      ]),
    ),
    ...section(
      'Threads turned: sockets, keys and bits to fit their heads',
      kit.threads.map(({ thread, fasteners }) => [thread, fasteners.join(', ')]),
    ),
    ...section(
      'The procedure names no tool for',
      kit.unnamed.map(({ need, places }) => [need, steps(places)]),
    ),
    ...(kit.containers.length === 0
      ? []
      : [visible(`${counted(kit.containers.length, 'place')} to keep parts in: ${kit.containers.join(', ')}`), '']),
    ...(kit.parts.length + kit.tools.length + kit.supplies.length === 0 ? ['Nothing to have ready.', ''] : []),
    ...(start === undefined ? [] : ['Order dates count calendar days, with everything there on the day of the start.']),
  ].join('\n');
}
