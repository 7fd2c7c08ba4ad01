import type { Statement, Step } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { referencesOf } from '../model/references.ts';
import { statementsIn } from '../model/statements.ts';

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

interface Danger {
  /** What can hurt, in words. */
  readonly words: string;
  /** A safety message for each kind of it: hazard, consequence, avoidance. */
  readonly messages: readonly string[];
}

function dangerOf(model: Model, statement: Statement): Danger | undefined {
  const { kind } = statement;
  const nature = byNature[kind];
  if (nature !== undefined) return { words: nature, messages: [messageByNature[kind]!] };
  if (noWork.has(kind)) return undefined;
  for (const { name, kind: of } of referencesOf(statement)) {
    const declaration =
      of === 'part' ? model.parts.get(name.text) : of === 'supply' ? model.supplies.get(name.text) : undefined;
    if (declaration !== undefined && declaration.hazards.length > 0) {
      const hazards = declaration.hazards.map((hazard) => hazard.text);
      return {
        words: `${hazards.join(' and ')} of \`${name.text}\``,
        messages: hazards.map(
          (hazard) => messageByHazard[hazard] ?? "This work can injure you. Follow the maker's precautions.",
        ),
      };
    }
  }
  return undefined;
}

/** What can hurt in `statement`, in words; nothing where nothing does. */
export const hazardOf = (model: Model, statement: Statement): string | undefined => dangerOf(model, statement)?.words;

/** Safety messages that `statement` calls for; the author brings in the figures. */
export const messagesFor = (model: Model, statement: Statement): readonly string[] =>
  dangerOf(model, statement)?.messages ?? [];

const messageByNature: Readonly<Record<string, string>> = {
  heat: 'Hot parts burn skin. Wear heat-proof gloves.',
  cool: 'Deep cold burns skin. Wear insulated gloves.',
  press: 'Parts under force can fly off and injure. Wear eye protection and stand aside.',
  support: 'A falling part can crush. Keep hands and feet clear.',
};
const messageByHazard: Readonly<Record<string, string>> = {
  heat: 'Hot parts burn skin. Let them cool or wear heat-proof gloves.',
  pressure: 'Trapped pressure can pierce skin. Release it and prove it gone.',
  spring: 'A loaded spring can fly out and injure eyes. Wear goggles.',
  charge: 'Live parts can kill. Lock off the supply and prove them dead.',
  chemical: 'Chemicals irritate skin and eyes. Wear gloves and goggles.',
  weight: 'A falling part can crush. Keep hands and feet clear.',
};

/** A hazardous statement of a step, with the safety messages around it. */
export interface Hazardous {
  readonly statement: Statement;
  readonly hazard: string;
  readonly warnedBefore: boolean;
  /** The first safety message behind it in the step. */
  readonly warnedLater: Statement | undefined;
}

export function hazardousIn(model: Model, step: Step): Hazardous[] {
  const found: Hazardous[] = [];
  const statements = statementsIn(step);
  let warned = false;
  for (let i = 0; i < statements.length; i++) {
    const statement = statements[i]!;
    if (statement.branches !== undefined) continue;
    if (isSafetyMessage(statement)) {
      warned = true;
      continue;
    }
    const hazard = hazardOf(model, statement);
    if (hazard === undefined) continue;
    found.push({
      statement,
      hazard,
      warnedBefore: warned,
      warnedLater: statements.find((later, at) => at > i && isSafetyMessage(later)),
    });
  }
  return found;
}
