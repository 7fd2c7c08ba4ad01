import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { referencesOf } from '../model/references.ts';

const safetyWords: ReadonlySet<string> = new Set(['danger', 'warning', 'caution', 'notice']);
export const isSafetyMessage = (statement: Statement): boolean => safetyWords.has(statement.kind);

const byNature: Readonly<Record<string, string>> = {
  heat: 'hot parts',
  cool: 'deep cold',
  press: 'force',
  support: 'a heavy part',
};
/** Statements that say what stays as it is: no hand is on the part. */
const noWork: ReadonlySet<string> = new Set(['omit', ...safetyWords]);

/** What can hurt in `statement`, in words; nothing where nothing does. */
export function hazardOf(model: Model, statement: Statement): string | undefined {
  const nature = byNature[statement.kind];
  if (nature !== undefined) return nature;
  if (noWork.has(statement.kind)) return undefined;
  for (const { name, kind } of referencesOf(statement)) {
    const declaration =
      kind === 'part' ? model.parts.get(name.text) : kind === 'supply' ? model.supplies.get(name.text) : undefined;
    if (declaration !== undefined && declaration.hazards.length > 0) {
      return `${declaration.hazards.map((hazard) => hazard.text).join(' and ')} of \`${name.text}\``;
    }
  }
  return undefined;
}

/** A hazardous statement of a step, with the safety messages around it. */
export interface Hazardous {
  readonly statement: Statement;
  readonly hazard: string;
  readonly warnedBefore: boolean;
  /** The first safety message behind it in the step. */
  readonly warnedLater: Statement | undefined;
}

export function hazardousIn(model: Model, step: Step): Hazardous[] {
  const statements = [...walk(step.statements)].filter((statement) => statement.branches === undefined);
  const found: Hazardous[] = [];
  let warned = false;
  for (const [i, statement] of statements.entries()) {
    if (isSafetyMessage(statement)) {
      warned = true;
      continue;
    }
    const hazard = hazardOf(model, statement);
    if (hazard === undefined) continue;
    found.push({ statement, hazard, warnedBefore: warned, warnedLater: statements.slice(i + 1).find(isSafetyMessage) });
  }
  return found;
}
