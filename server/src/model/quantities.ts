import {
  type Declaration,
  type Quantity,
  type Span,
  type Statement,
  type UnitName,
  walk,
} from '../../../grammar/syntax.ts';
import type { QuantityKind } from '../../../grammar/units.ts';
import type { Model } from './model.ts';

/** A quantity in the text, with what its place calls for. */
export interface QuantityPlace {
  readonly quantity: Quantity;
  /** Kinds that may stand here; empty where any may. */
  readonly kinds: readonly QuantityKind[];
  /** `the torque of bolt`, for messages. */
  readonly where: string;
}

/** Every quantity of this file, in the order of the text. */
export function* quantitiesOf(model: Model): Generator<QuantityPlace> {
  for (const declaration of model.ownDeclarations) yield* ofDeclaration(declaration);
  for (const { step } of model.steps) {
    if (step.takes !== undefined) yield { quantity: step.takes, kinds: ['time'], where: 'the time behind `takes`' };
    for (const statement of walk(step.statements)) yield* ofStatement(statement);
  }
}

function* ofDeclaration(declaration: Declaration): Generator<QuantityPlace> {
  const place = (quantity: Quantity | undefined, kinds: readonly QuantityKind[], where: string): QuantityPlace[] =>
    quantity === undefined ? [] : [{ quantity, kinds, where }];
  yield* place(declaration.length, ['length'], '`length`');
  yield* place(declaration.torque, ['torque'], '`torque`');
  yield* place(declaration.angle, ['angle'], 'the angle behind `then`');
  yield* place(declaration.lead, ['time'], '`lead`');
  yield* place(declaration.bore, ['length'], '`bore`');
  yield* place(declaration.outside, ['length'], '`diameter`');
  yield* place(declaration.interference, ['length'], '`interference`');
  yield* place(declaration.limit, ['temperature'], '`limit`');
  yield* place(declaration.range, [], '`range`');
  yield* place(declaration.amount, ['volume', 'mass', 'length'], 'the quantity of a supply');
  yield* place(declaration.cure, ['time'], '`cure`');
  for (const angle of declaration.pattern?.angles ?? []) yield* place(angle, ['angle'], '`angles`');
  yield* place(declaration.pattern?.diameter, ['length'], '`diameter`');
}

const kindsOfTo: Readonly<Record<string, readonly QuantityKind[]>> = {
  tighten: ['torque'],
  heat: ['temperature'],
  cool: ['temperature'],
};

function* ofStatement(statement: Statement): Generator<QuantityPlace> {
  const place = (quantity: Quantity | undefined, kinds: readonly QuantityKind[], where: string): QuantityPlace[] =>
    quantity === undefined ? [] : [{ quantity, kinds, where }];
  const { kind } = statement;
  if (kind === 'wait') yield* place(statement.amount, ['time'], '`wait`');
  if (kind === 'drain' || kind === 'fill') yield* place(statement.amount, ['volume', 'mass'], `\`${kind}\``);
  yield* place(statement.to, kindsOfTo[kind] ?? [], `\`to\` of \`${kind}\``);
  yield* place(statement.angle, ['angle'], 'the angle behind `then`');
  for (const stage of statement.stages ?? []) yield* place(stage, ['torque'], '`in stages`');
  if (kind === 'press') yield* place(statement.max, ['force'], '`max` of `press`');
  if (kind === 'measure') {
    yield* place(statement.limit, [], '`limit`');
    yield* place(statement.max, [], '`max`');
    yield* place(statement.min, [], '`min`');
  }
  yield* place(statement.aim?.quantity, ['length'], `\`${statement.aim?.kind}\``);
  for (const piece of statement.stock ?? []) yield* place(piece.thickness, ['length'], 'a shim');
  yield* place(statement.extension?.length, ['length'], '`extension`');
  yield* place(statement.extension?.on, ['length'], 'the length of the wrench');
  yield* place(statement.extension?.at, ['angle'], 'the angle of the adapter');
}

/** The unit shared by the points of a pattern, or the place where it is missing. */
export function* pointUnits(model: Model): Generator<{ unit: UnitName | undefined; span: Span }> {
  for (const { pattern } of model.ownDeclarations) {
    if (pattern?.form !== 'points') continue;
    const last = pattern.points?.at(-1);
    const span = pattern.unit ?? (last === undefined ? undefined : { ...last.y, start: last.x.start, end: last.y.end });
    if (span !== undefined) yield { unit: pattern.unit, span };
  }
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
