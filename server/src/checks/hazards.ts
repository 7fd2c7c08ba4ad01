import type { Declaration, Statement, Step } from '../../../grammar/syntax.ts';
import { namesWhere } from '../model/amended.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { Beside, noted } from '../model/noted.ts';
import { eachReference } from '../model/references.ts';
import { isSafety, safetyLevels, statementsIn } from '../model/statements.ts';
import type { Edit } from './check.ts';
import { insertBefore } from './edits.ts';
import { blocksAround, stepOf } from './for-codes.ts';

const byNature: Readonly<Record<string, string>> = {
  heat: 'hot parts',
  cool: 'deep cold',
  press: 'force',
  support: 'a heavy part',
};
/** Statements that say what stays as it is: no hand is on the part. */
const noWork: ReadonlySet<string> = new Set(['omit', ...safetyLevels]);
/** Statements that neither lift a part nor let go what it holds back. */
const leavesBe: ReadonlySet<string> = new Set(['apply', 'clean', 'inspect', 'mark', 'replace']);
const hurtsOnTheMove: ReadonlySet<string> = new Set(['weight', 'spring']);

/** Declared hazards that the nature of a statement says already. */
const saidByNature: Readonly<Record<string, string>> = { heat: 'heat', support: 'weight' };

interface Danger {
  /** What can hurt, in words, each once. */
  readonly words: ReadonlySet<string>;
  /** A safety message for each kind of it: hazard, consequence, avoidance. */
  readonly messages: ReadonlySet<string>;
}

function dangerOf(model: Model, statement: Statement): Danger | undefined {
  const { kind } = statement;
  if (noWork.has(kind)) return undefined;
  const part = hazardsIn(model.parts);
  const supply = hazardsIn(model.supplies);
  const tool = hazardsIn(model.tools);
  const nature = byNature[kind];
  if (nature === undefined && part.size + supply.size + tool.size === 0) return undefined;
  const words = new Set<string>();
  const messages = new Set<string>();
  if (nature !== undefined) {
    words.add(nature);
    messages.add(messageByNature[kind]!);
  }
  const hurtsHere = (hazard: string): boolean =>
    hazard !== saidByNature[kind] && !(leavesBe.has(kind) && hurtsOnTheMove.has(hazard));
  if (part.size + supply.size + tool.size > 0)
    eachReference(statement, ({ text }, of) => {
      const declared = (of === 'part' ? part : of === 'supply' ? supply : of === 'tool' ? tool : undefined)?.get(text);
      const hazards = of === 'part' ? declared?.filter(hurtsHere) : declared;
      if (hazards === undefined || hazards.length === 0) return;
      words.add(`${hazards.join(' and ')} of \`${text}\``);
      for (const hazard of hazards) messages.add(messageOf(hazard));
    });
  return words.size === 0 ? undefined : { words, messages };
}

type Hazards = ReadonlyMap<string, readonly string[]>;
/** Words behind `hazard`, by name; most declarations have none. */
const hazardsIn = noted((table: Model['parts']): Hazards => {
  const hazardsOf = (name: string): readonly string[] => table.get(name)!.hazards.map(({ text }) => text);
  return new Map(namesWhere(table, isHazardous).map((name) => [name, hazardsOf(name)]));
});
const isHazardous = ({ hazards }: Declaration): boolean => hazards.length > 0;

/** Safety messages that `statement` calls for; the author brings in the figures. */
export const messagesFor = (model: Model, statement: Statement): readonly string[] => [
  ...(dangerOf(model, statement)?.messages ?? []),
];

const messageByNature: Readonly<Record<string, string>> = {
  heat: 'Hot parts burn skin. Wear heat-proof gloves.',
  cool: 'Deep cold burns skin. Wear insulated gloves.',
  press: 'Parts under force can fly off and injure. Wear eye protection and stand aside.',
  support: 'A falling part can crush. Keep hands and feet clear.',
};
/** A safety message for each hazard that can be declared: hazard, consequence, avoidance. */
export const messageByHazard: Readonly<Record<string, string>> = {
  heat: 'Hot parts burn skin. Let them cool or wear heat-proof gloves.',
  pressure: 'Trapped pressure can pierce skin. Release it and prove it gone.',
  spring: 'A loaded spring can fly out and injure eyes. Wear goggles.',
  charge: 'Live parts can kill. Lock off the supply and prove them dead.',
  chemical: 'Chemicals irritate skin and eyes. Wear gloves and goggles.',
  weight: 'A falling part can crush. Keep hands and feet clear.',
};

const messageOf = (hazard: string): string =>
  messageByHazard[hazard] ?? "This work can injure you. Follow the maker's precautions.";

/** Where the first safety message of a step begins; behind everything where there is none. */
const firstWarning = noted(
  (step: Step): { readonly start: number } => statementsIn(step).find(isSafety) ?? { start: Number.POSITIVE_INFINITY },
);

/**
 * `lines` that work on the part or supply `name`, below a warning of each of its hazards where no safety message stands in
 * `step` above the offset `before`.
 */
export function warned(
  model: Model,
  name: string,
  lines: readonly string[],
  step: Step | undefined,
  before = Number.POSITIVE_INFINITY,
): readonly string[] {
  const hazards = hazardsIn(model.parts).get(name) ?? hazardsIn(model.supplies).get(name) ?? [];
  return isTold(step, before) ? lines : [...hazards.map((hazard) => `warning "${messageOf(hazard)}"`), ...lines];
}

/** `lines`, to which `statements` are moved, likewise below a warning of each danger in these. */
export function warnedOfAll(
  model: Model,
  statements: readonly Statement[],
  lines: readonly string[],
  step: Step | undefined,
  before: number,
): readonly string[] {
  const messages = new Set(statements.flatMap((each) => messagesFor(model, each)));
  return isTold(step, before) ? lines : [...[...messages].map((message) => `warning "${message}"`), ...lines];
}

const isTold = (step: Step | undefined, before: number): boolean =>
  step !== undefined && firstWarning(step).start < before;

/** A hazardous statement of a step, with the safety messages around it. */
export interface Hazardous {
  readonly statement: Statement;
  /** What can hurt, in words, each once. */
  readonly dangers: readonly string[];
  readonly warnedBefore: boolean;
  /** The first safety message behind it in the step. */
  readonly warnedLater: Statement | undefined;
}

/** Stands for an empty list and is never added to. */
const nobodyHurt: Hazardous[] = [];

export function hazardousIn(model: Model, step: Step): readonly Hazardous[] {
  let found = nobodyHurt;
  const statements = statementsIn(step);
  let warned = false;
  let told = 0;
  for (let i = 0; i < statements.length; i++) {
    const statement = statements[i]!;
    if (statement.branches !== undefined) continue;
    if (isSafety(statement) || isUntoldText(statement)) {
      warned = true;
      continue;
    }
    const danger = dangerOf(model, statement);
    if (danger === undefined) continue;
    if (found === nobodyHurt) found = [];
    // The next safety message: one that an earlier statement looked for is not looked for again.
    told = Math.max(told, i);
    while (told < statements.length && !isSafety(statements[told]!)) told++;
    found.push({ statement, dangers: [...danger.words], warnedBefore: warned, warnedLater: statements[told] });
  }
  return found;
}

/** Hazardous work of one step that `pick` finds, step by step. */
export function hazardousSteps(model: Model, pick: (work: Hazardous) => boolean): readonly (readonly Hazardous[])[] {
  const steps = new Map<Step | undefined, Hazardous[]>();
  for (const each of hazardousOf(model)) {
    if (!pick(each)) continue;
    const step = stepOf(each.statement);
    addTo(steps, step, each);
  }
  return [...steps.values()];
}

/** The first of `statements` of one step, or what it stands in and one of the others does not. */
export function aboveAll(statements: readonly Statement[]): Statement {
  const [first, ...others] = statements as readonly [Statement, ...Statement[]];
  const ways = others.map(blocksAround);
  const alone = blocksAround(first).find(({ branch }) =>
    ways.some((way) => way.every((each) => each.branch !== branch)),
  );
  return alone?.block ?? first;
}

/** Writes a safety message for each danger of `work`, statements of one step, above all of them. */
export function warnAbove(model: Model, work: readonly Statement[]): Edit {
  const texts = new Set(work.flatMap((each) => messagesFor(model, each)));
  const lines = [...texts].map((text) => `warning "${text}"`);
  return insertBefore(model.tree, aboveAll(work), lines);
}

/** A text without the word before it that says what it is, as `warning`, which was forgotten: the line is told of. */
export const isUntoldText = ({ kind, chunk, start }: Statement): boolean =>
  kind === 'unknown' && chunk.text[start] === '"';

const ofModel = new Beside<Model, readonly Hazardous[]>();

/** The hazardous statements of all steps, in the order of the text. */
export function hazardousOf(model: Model): readonly Hazardous[] {
  let found = ofModel.get(model);
  if (found === undefined) {
    found = model.steps.flatMap(({ step }) => hazardousIn(model, step));
    ofModel.set(model, found);
  }
  return found;
}
