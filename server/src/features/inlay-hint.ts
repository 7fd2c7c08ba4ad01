import { type InlayHint, InlayHintKind, type InlayHintParams } from 'vscode-languageserver';
import { type Chunk, chunkAt, offsetsOf, type Quantity, type ShimPiece } from '../../../grammar/syntax.ts';
import type { QuantityKind } from '../../../grammar/units.ts';
import { clampOf, fastenerOf, torqueEnds, torquesOf } from '../checks/fastening.ts';
import { counterpart } from '../checks/mixed-units.ts';
import { quantitiesIn } from '../model/quantities.ts';
import { convert, sayForce, writtenIn } from '../model/quantity.ts';
import { statementsIn, stepsOfChunk } from '../model/statements.ts';
import type { ShownUnits } from '../settings.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';
import { owedAfterSteps, tallyOf } from './tally.ts';

/** Kinds that differ between the systems. */
const converted: ReadonlySet<QuantityKind> = new Set([
  'torque',
  'length',
  'temperature',
  'volume',
  'force',
  'pressure',
  'mass',
]);

const hintKinds = ['otherUnit', 'piecesOff', 'clampShare'] as const;
export type HintKind = (typeof hintKinds)[number];

/** Hints whose place lies from `start` to `end`. */
export function hintsIn(
  snapshot: Snapshot,
  start: number,
  end: number,
  kinds: ReadonlySet<HintKind> = new Set(hintKinds),
  units: ShownUnits = 'asWritten',
  /** A lens over the step tells what it takes off: what would say no more is left out. */
  lenses = false,
): InlayHint[] {
  const { document } = snapshot.file;
  const { tree, model } = snapshot;
  const shown = new Set(tree.chunks.slice(chunkAt(tree, start), chunkAt(tree, end) + 1));
  const hints: InlayHint[] = [];
  const put = (offset: number, label: string, tooltip: string): void => {
    if (offset >= start && offset <= end)
      hints.push({
        position: document.positionAt(offset),
        label,
        tooltip,
        paddingLeft: true,
        kind: InlayHintKind.Type,
      });
  };
  const endOf = (quantity: Quantity): number => offsetsOf(tree, quantity).end;
  if (kinds.has('otherUnit')) {
    const tooltip = `The same in ${units === 'asWritten' ? 'the other' : `the ${units}`} system of units`;
    for (const chunk of shown) {
      const inLists = new Set<Quantity>();
      for (const stock of stocksOf(chunk)) {
        const list = otherUnits(stock, units);
        if (list === undefined) continue;
        for (const { thickness } of stock) inLists.add(thickness);
        const last = stock.at(-1)!;
        put(offsetsOf(tree, last.count ?? last.thickness).end, `= ${list}`, tooltip);
      }
      for (const { quantity } of quantitiesIn(chunk)) {
        const other = inLists.has(quantity) ? undefined : otherUnit(quantity, units);
        if (other !== undefined) put(endOf(quantity), `= ${other}`, tooltip);
      }
    }
  }
  if (kinds.has('clampShare')) {
    for (const { torque, angle, part, final } of torquesOf(model)) {
      // How hard an earlier pass clamps settles nothing.
      if (!final || !shown.has(torque.chunk)) continue;
      const share = clampShare(snapshot, part, torque, angle);
      if (share !== undefined) put(endOf(torque), share.label, share.tooltip);
    }
  }
  if (kinds.has('piecesOff')) {
    const owed = owedAfterSteps(snapshot.ledger);
    for (const entry of model.steps) {
      const { step } = entry;
      if (!shown.has(step.chunk)) continue;
      const pieces = owed.get(step);
      const line = step.keyword === undefined ? undefined : (step.takes ?? step.title ?? step.name);
      if (pieces === undefined || line === undefined) continue;
      const { off, back } = tallyOf(snapshot.ledger, entry);
      if (lenses && back === 0 && off === pieces) continue;
      const after = [step.takes, step.title, ...step.after].reduce(
        (most, each) => Math.max(most, each?.end ?? 0),
        line.end,
      );
      put(
        offsetsOf(tree, { chunk: step.chunk, start: after, end: after }).end,
        pieces === 0 ? 'all on' : `${pieces} off in all`,
        'Pieces that are off, and owed to the unit, after this step',
      );
    }
  }
  return hints.sort((a, b) => a.position.line - b.position.line || a.position.character - b.position.character);
}

/** The quantity in the system that the reader wants, or in the one that the author did not use. */
function otherUnit(quantity: Quantity, units: ShownUnits): string | undefined {
  const unit = quantity.inUnit;
  if (unit === undefined || quantity.restated !== undefined || !converted.has(unit.kind)) return undefined;
  if (unit.system === 'neutral' || unit.system === units) return undefined;
  const other = counterpart(unit, unit.system === 'metric' ? 'imperial' : 'metric');
  // There is no smaller unit than a quart, and nobody measures a hundredth of one.
  if (unit.kind === 'volume' && convert(quantity.numbers.at(-1)?.value ?? 0, unit, other) < 0.1) return undefined;
  return other === unit ? undefined : writtenIn(quantity, other);
}

const stocksOf = (chunk: Chunk): (readonly ShimPiece[])[] =>
  stepsOfChunk(chunk).flatMap((step) =>
    [...statementsIn(step)].flatMap(({ stock }) => (stock === undefined ? [] : [stock])),
  );

/** Several shims in one, as `0.002, 0.004 in`; undefined where one of them has no other unit or another one. */
function otherUnits(stock: readonly ShimPiece[], units: ShownUnits): string | undefined {
  const others = stock.map(({ thickness }) => otherUnit(thickness, units));
  const unit = others.at(-1)?.replace(/^.* /, ' ');
  if (stock.length < 2 || unit === undefined || !others.every((other) => other?.endsWith(unit))) return undefined;
  return `${others.map((other) => other!.slice(0, -unit.length)).join(', ')}${unit}`;
}

function clampShare(
  snapshot: Snapshot,
  part: Parameters<typeof fastenerOf>[0],
  torque: Quantity,
  angle: Quantity | undefined,
): { label: string; tooltip: string } | undefined {
  const fastener = fastenerOf(part, snapshot.settings);
  const ends = torqueEnds(torque);
  const band = ends === undefined ? undefined : clampOf(fastener, (ends.low + ends.high) / 2);
  if (band?.mid.proofShare === undefined) return undefined;
  const percent = (share: number | undefined): string => `${Math.round((share ?? 0) * 100)} %`;
  return {
    label: `≈ ${percent(band.mid.proofShare)} of proof load${angle === undefined ? '' : ' before the angle'}`,
    tooltip:
      `Clamp load ${sayForce(band.low.clamp, torque)} to ${sayForce(band.high.clamp, torque)} (${percent(band.low.proofShare)} to ${percent(band.high.proofShare)} of proof load) ` +
      `at friction ${fastener.friction.high} to ${fastener.friction.low}. The maker's torque prevails.`,
  };
}

export const inlayHint = feature<InlayHintParams, InlayHint[]>(
  'textDocument/inlayHint',
  { inlayHintProvider: true },
  (snapshot, { range }, { preferences: { hints, units, codeLens } }) =>
    hintsIn(
      snapshot,
      snapshot.offsetAt(range.start),
      snapshot.offsetAt(range.end),
      new Set(hintKinds.filter((kind) => hints[kind])),
      units,
      codeLens,
    ),
);
