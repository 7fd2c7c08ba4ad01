import type { Chunk, Declaration, Quantity, Span, Statement, Step, UnitName } from '../../../grammar/syntax.ts';
import type { QuantityKind } from '../../../grammar/units.ts';
import { isDeclaration } from './mentions.ts';
import type { Model } from './model.ts';
import { Beside } from './noted.ts';
import { statementsIn, stepsOfChunk } from './statements.ts';

/** A quantity in the text, with what its place calls for. */
export interface QuantityPlace {
  readonly quantity: Quantity;
  /** Kinds that may stand here; empty where any may. */
  readonly kinds: readonly QuantityKind[];
  /** `the torque of bolt`, for messages. */
  readonly where: string;
}

const ofModel = new Beside<Model, readonly QuantityPlace[]>();

/** Every quantity of this file, in the order of the text. */
export function quantitiesOf(model: Model): readonly QuantityPlace[] {
  let places = ofModel.get(model);
  if (places === undefined) {
    const found: QuantityPlace[] = [];
    for (const declaration of model.ownDeclarations) ofDeclaration(declaration, found);
    for (const { step } of model.steps) ofStep(step, found);
    places = found;
    ofModel.set(model, places);
  }
  return places;
}

/** Those of one chunk, in the order of the text. */
export function quantitiesIn(chunk: Chunk): readonly QuantityPlace[] {
  const found: QuantityPlace[] = [];
  if (isDeclaration(chunk.item)) ofDeclaration(chunk.item, found);
  for (const step of stepsOfChunk(chunk)) ofStep(step, found);
  return found;
}

function ofStep(step: Step, found: QuantityPlace[]): void {
  if (step.takes !== undefined) found.push({ quantity: step.takes, kinds: time, where: 'the time behind `takes`' });
  for (const statement of statementsIn(step)) ofStatement(statement, found);
}

const time: readonly QuantityKind[] = ['time'];
const length: readonly QuantityKind[] = ['length'];
const torque: readonly QuantityKind[] = ['torque'];
const angle: readonly QuantityKind[] = ['angle'];
const temperature: readonly QuantityKind[] = ['temperature'];
const force: readonly QuantityKind[] = ['force'];
const contents: readonly QuantityKind[] = ['volume', 'mass'];
/** What the quantity of a supply may be; no other place has this list. */
export const supplied: readonly QuantityKind[] = ['volume', 'mass', 'length'];
const any: readonly QuantityKind[] = [];

function place(
  found: QuantityPlace[],
  quantity: Quantity | undefined,
  kinds: readonly QuantityKind[],
  where: string,
): void {
  if (quantity !== undefined) found.push({ quantity, kinds, where });
}

function ofDeclaration(declaration: Declaration, found: QuantityPlace[]): void {
  place(found, declaration.length, length, '`length`');
  place(found, declaration.torque, torque, '`torque`');
  place(found, declaration.angle, angle, 'the angle behind `then`');
  place(found, declaration.prevailing, torque, '`prevailing`');
  place(found, declaration.lead, time, '`lead`');
  place(found, declaration.bore, length, '`bore`');
  place(found, declaration.outside, length, '`diameter`');
  place(found, declaration.interference, length, '`interference`');
  place(found, declaration.limit, temperature, '`limit`');
  place(found, declaration.range, any, '`range`');
  // On others it is told of as none of theirs.
  if (declaration.kind === 'supply') place(found, declaration.amount, supplied, 'the quantity of a supply');
  place(found, declaration.cure, time, '`cure`');
  const { pattern } = declaration;
  if (pattern === undefined) return;
  if (pattern.angles !== undefined) for (const each of pattern.angles) place(found, each, angle, '`angles`');
  place(found, pattern.diameter, length, '`diameter`');
}

function ofStatement(statement: Statement, found: QuantityPlace[]): void {
  const { kind } = statement;
  if (kind === 'wait') place(found, statement.amount, time, '`wait`');
  if (kind === 'drain' || kind === 'fill')
    place(found, statement.amount, contents, kind === 'drain' ? '`drain`' : '`fill`');
  if (statement.to !== undefined) {
    if (kind === 'tighten') place(found, statement.to, torque, '`to` of `tighten`');
    else if (kind === 'heat') place(found, statement.to, temperature, '`to` of `heat`');
    else if (kind === 'cool') place(found, statement.to, temperature, '`to` of `cool`');
    else place(found, statement.to, any, `\`to\` of \`${kind}\``);
  }
  place(found, statement.angle, angle, 'the angle behind `then`');
  const { stages, stock, extension } = statement;
  if (stages !== undefined) for (const stage of stages) place(found, stage, torque, '`in stages`');
  if (kind === 'press') place(found, statement.max, force, '`max` of `press`');
  if (kind === 'measure') {
    place(found, statement.limit, any, '`limit`');
    place(found, statement.max, any, '`max`');
    place(found, statement.min, any, '`min`');
  }
  if (statement.aim !== undefined) place(found, statement.aim.quantity, length, `\`${statement.aim.kind}\``);
  if (stock !== undefined) for (const piece of stock) place(found, piece.thickness, length, 'a shim');
  if (extension === undefined) return;
  place(found, extension.length, length, '`extension`');
  place(found, extension.on, length, 'the length of the wrench');
  place(found, extension.at, angle, 'the angle of the adapter');
}

/** The unit shared by the points of a pattern, or the place where it is missing. */
export function pointUnits(model: Model): readonly { readonly unit: UnitName | undefined; readonly span: Span }[] {
  const found: { unit: UnitName | undefined; span: Span }[] = [];
  for (const { pattern } of model.ownDeclarations) {
    if (pattern?.form !== 'points') continue;
    const last = pattern.points?.at(-1);
    const span = pattern.unit ?? (last === undefined ? undefined : { ...last.y, start: last.x.start, end: last.y.end });
    if (span !== undefined) found.push({ unit: pattern.unit, span });
  }
  return found;
}

const examples: Readonly<Record<QuantityKind, string>> = {
  torque: '25 N·m',
  length: '40 mm',
  angle: '90°',
  temperature: '80 °C',
  time: '15 min',
  volume: '1.8 L',
  force: '5 kN',
  pressure: '2 bar',
  mass: '2 kg',
};
export const exampleOf = (kinds: readonly QuantityKind[]): string => examples[kinds[0] ?? 'length'];
