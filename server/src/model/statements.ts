import { type Chunk, type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { blockWords, statementWords } from '../../../grammar/tokens.ts';
import type { Model, StepEntry } from './model.ts';
import { Beside, noted } from './noted.ts';

type Kind = Statement['kind'];

export type StatementsByKind = Map<Kind, readonly Statement[]>;
/** What has been looked for in each model; of one bound anew, it holds what the walk over it met. */
export const statementsByKind = new Beside<Model, StatementsByKind>();

/** The statements of `kind` in the procedure, in the order of the text. */
export function statementsOf(model: Model, kind: Kind): readonly Statement[] {
  let byKind = statementsByKind.get(model);
  if (byKind === undefined) {
    byKind = sortedByKind(model);
    statementsByKind.set(model, byKind);
  }
  const known = byKind.get(kind);
  if (known !== undefined) return known;
  const alike: Statement[] = [];
  for (const { step } of model.steps)
    for (const statement of statementsIn(step)) if (statement.kind === kind) alike.push(statement);
  byKind.set(kind, alike);
  return alike;
}

const kinds: readonly Kind[] = [...statementWords, ...blockWords, 'unknown'];

/** All at once: of a few steps that are looked at by themselves, check after check asks for another kind. */
function sortedByKind({ steps }: Model): StatementsByKind {
  const byKind = new Map<Kind, Statement[]>(kinds.map((kind) => [kind, []]));
  for (const { step } of steps) for (const statement of statementsIn(step)) byKind.get(statement.kind)!.push(statement);
  return byKind;
}

/** Every statement of a step, outermost first, in the order of the text. */
export function statementsIn(step: Step): readonly Statement[] {
  const { statements } = step;
  for (let i = 0; i < statements.length; i++) if (statements[i]!.branches !== undefined) return walked(step);
  return statements;
}

/** A copy has no room for more. */
const walked = noted(({ statements }: Step): readonly Statement[] => walk(statements).slice());

const placesOfSteps = noted(
  (steps: readonly StepEntry[]): ReadonlyMap<Chunk, number> =>
    new Map(steps.map(({ step }, place) => [step.chunk, place])),
);

/** Whether one statement of the procedure stands above another. */
export function isAbove({ steps }: Model, one: Statement, other: Statement): boolean {
  if (one.chunk === other.chunk) return one.start < other.start;
  const places = placesOfSteps(steps);
  return places.get(one.chunk)! < places.get(other.chunk)!;
}

/** The statements of a chunk, in or outside a step. */
export function stepsOfChunk(chunk: Chunk): Step[] {
  const steps: Step[] = [];
  if (chunk.item?.kind === 'step') steps.push(chunk.item);
  if (chunk.strayStep !== undefined) steps.push(chunk.strayStep);
  return steps;
}

export const safetyLevels = ['danger', 'warning', 'caution', 'notice'] as const;
export const isSafety = ({ kind }: Statement): boolean => (safetyLevels as readonly string[]).includes(kind);

/** True of what must not come before a cure has run, in a step of `phase`. */
export const loadsUnit = ({ kind }: Statement, phase: StepEntry['phase']): boolean =>
  kind === 'fill' || (kind === 'check' && phase === 'proving');
