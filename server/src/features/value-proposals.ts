import { CompletionItemKind } from 'vscode-languageserver';
import type { Declaration } from '../../../grammar/syntax.ts';
import type { QuantityKind, Unit } from '../../../grammar/units.ts';
import { counterpart } from '../checks/mixed-units.ts';
import type { Model } from '../model/model.ts';
import { convert, figure, unitsOfKind, written } from '../model/quantity.ts';
import type { Snapshot } from '../snapshot.ts';
import { fitFacts, fitOnBore, sayPlay } from './fit-facts.ts';
import type { Place } from './place.ts';
import type { Proposal } from './proposal.ts';

export function valueProposals(snapshot: Snapshot, { segment, clause, names, want }: Place): Proposal[] {
  const { model } = snapshot;
  const part = model.parts.get(names.get(segment ?? '')?.[0] ?? '');
  if (segment === 'tighten' && (clause === 'to' || clause === 'stages') && part?.torque !== undefined) {
    const stages = clause === 'stages' ? stagesOf(part) : undefined;
    return [
      {
        label: stages?.replace(/[<>]/g, '') ?? written(part.torque),
        body: stages,
        kind: CompletionItemKind.Value,
        detail: 'as declared',
      },
    ];
  }
  const supply = model.supplies.get(names.get(segment ?? '')?.[0] ?? '');
  if (want.kind === 'value' && supply?.amount !== undefined)
    return [{ label: written(supply.amount), kind: CompletionItemKind.Value, detail: 'as declared' }];
  return [];
}

/** What a reading or a tool measures stands in its name, as in `relief-pressure`. */
export function kindsNamedFirst(kinds: readonly QuantityKind[], { segment, names }: Place): readonly QuantityKind[] {
  const words = new Set(names.get(segment ?? '')?.[0]?.split('-') ?? []);
  return [...kinds].sort((a, b) => Number(words.has(b)) - Number(words.has(a)));
}

/** How much there is of what is drained or filled, until an amount stands there. */
export function amountProposals(model: Model, { segment, used, names }: Place): Proposal[] {
  if ((segment !== 'drain' && segment !== 'fill') || used.has('quantity')) return [];
  const amount = model.supplies.get(names.get(segment)?.[0] ?? '')?.amount;
  return amount === undefined
    ? []
    : [{ label: written(amount), kind: CompletionItemKind.Value, detail: 'as declared', rank: 1 }];
}

export function unitProposals(
  { model, settings }: Snapshot,
  kinds: readonly QuantityKind[],
  restates: boolean,
): Proposal[] {
  const system = model.measures ?? settings.measures ?? 'metric';
  return kinds
    .flatMap((kind) => unitsOfKind(kind))
    .map((unit, order): Proposal => {
      const usual = unit.system === 'neutral' || (unit.system === system) !== restates;
      return {
        label: unit.symbol,
        kind: CompletionItemKind.Unit,
        detail: unit.kind,
        filter: [...unit.also, unit.symbol].join(' '),
        about: exampleIn(unit),
        rank: usual ? 2 : 4,
        // By the alphabet kelvins, metres and days would come before degrees, millimetres and minutes.
        order,
      };
    });
}

function exampleIn(unit: Unit): string[] {
  if (unit.system === 'neutral') return [];
  const other = counterpart(unit, unit.system === 'metric' ? 'imperial' : 'metric');
  return other === unit ? [] : [`1 ${unit.symbol} = ${figure(convert(1, unit, other), 4)} ${other.symbol}`];
}

/** Stages up to the declared torque, to be filled in: half of it, then all; none for a range, or with an angle. */
export function stagesOf({ torque, angle }: Declaration): string | undefined {
  const unit = torque?.inUnit;
  const number = torque?.numbers[0];
  if (torque?.form !== 'single' || unit === undefined || number === undefined || angle !== undefined) return undefined;
  return `<${Number((number.value / 2).toPrecision(2))}> ${unit.symbol}, <${number.image}> ${unit.symbol}`;
}

const usualThreads = [
  'M3',
  'M4',
  'M5',
  'M6',
  'M8',
  'M10',
  'M12',
  'M16',
  'M20',
  'M24',
  '10-24',
  '1/4-20',
  '5/16-18',
  '3/8-16',
  '1/2-13',
  '5/8-11',
  '3/4-10',
  'G1/8',
  'G1/4',
  'G3/8',
  'G1/2',
];

export const threadProposals = (): Proposal[] =>
  usualThreads.map((label, order) => ({
    label,
    kind: CompletionItemKind.Value,
    order,
    detail: label.startsWith('M') ? 'ISO metric, coarse' : label.startsWith('G') ? 'pipe, parallel' : 'unified, coarse',
  }));

/** Hole-basis fits that ISO 286-1 prefers, from the loosest to the tightest, from memory. */
const usualFits = ['H7/g6', 'H7/h6', 'H7/js6', 'H7/k6', 'H7/n6', 'H7/p6', 'H7/r6', 'H7/s6'];

/** Shafts that rolling bearings sit on; common practice, no source. */
const usualSeats = ['h6', 'j6', 'js6', 'k5', 'k6', 'm5', 'm6', 'n6', 'p6'];

/** The usual fits right behind the bore of a part, where the tables have its size. */
export function fitProposals(model: Model, { want, used, names }: Place): Proposal[] {
  if (want.kind !== 'clauses' || want.fit !== true || used.has('interference')) return [];
  const bore = model.parts.get(names.get('part')?.[0] ?? '')?.bore;
  return [...usualFits, ...usualSeats].flatMap((label, order): Proposal[] => {
    const fit = fitOnBore(bore, label);
    return fit === undefined
      ? []
      : [
          {
            label,
            kind: CompletionItemKind.Value,
            detail: `${label.includes('/') ? '' : 'bearing, '}${sayPlay(fit)}`,
            about: fitFacts(bore, label),
            rank: 1,
            // Behind the clauses that mostly go with a bore.
            order: 10 + order,
          },
        ];
  });
}
