import { columns, hanging } from './columns.ts';
import type { Kit, KitPart, KitPlace, KitTool } from './kit.ts';
import { hazardOf, markingOf, notesOf, partFacts, piecesOf, severalOf } from './kit-notes.ts';
import { counted, visible } from './wording.ts';

const steps = (places: readonly KitPlace[]): string =>
  places.length === 0 ? '' : `step${places.length === 1 ? '' : 's'} ${places.map(({ step }) => step).join(', ')}`;

/** The kit list for people, in lines of `width` columns, with no control characters in it. */
export function kitText(kit: Kit, width = Number.POSITIVE_INFINITY): string {
  const { start } = kit;
  const section = (title: string, rows: readonly (readonly string[])[]): string[] =>
    rows.length === 0
      ? []
      : [
          title,
          ...columns(
            rows.map((row) => row.map(visible)),
            width,
          ),
          '',
        ];
  const part = (line: KitPart): string[] => [
    `${piecesOf(line)} ×`,
    line.title,
    partFacts(line, start).join('; '),
    steps(line.places),
  ];
  const tool = (line: KitTool): string[] => [
    severalOf(line) + line.title,
    [
      ...(line.range === undefined ? [] : [line.range]),
      ...markingOf(line),
      ...hazardOf(line),
      ...notesOf(line, start),
    ].join('; '),
    steps(line.places),
  ];
  const once = kit.tools.filter((line) => line.once);
  return [
    hanging('Kit for: ', visible(kit.title), width),
    ...(kit.codes.length === 0
      ? []
      : [
          hanging(
            'Codes: ',
            visible(`${kit.codes.join(', ')}${kit.codePlate === undefined ? '' : ` (${kit.codePlate})`}`),
            width,
          ),
        ]),
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
        severalOf(line) + line.title,
        [
          ...markingOf(line),
          ...(line.spec === undefined ? [] : [line.spec]),
          ...(line.cure === undefined ? [] : [`cures ${line.cure}`]),
          ...hazardOf(line),
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
      : [
          hanging(
            `${counted(kit.containers.length, 'place')} to keep parts in: `,
            visible(kit.containers.join(', ')),
            width,
          ),
          '',
        ]),
    ...([kit.parts, kit.tools, kit.supplies, kit.extras, kit.threads, kit.unnamed].every((list) => list.length === 0)
      ? ['Nothing to have ready.', '']
      : []),
    ...(start === undefined ? [] : ['Order dates count calendar days, with everything there on the day of the start.']),
  ].join('\n');
}
