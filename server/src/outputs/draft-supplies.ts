import { type Declaration, type Statement, type Text, walk } from '../../../grammar/syntax.ts';
import { locks } from '../checks/no-locker.ts';
import type { Model } from '../model/model.ts';
import { siValueOf } from '../model/quantity.ts';

export interface Coat {
  readonly supply: string;
  readonly part: string;
}

const seals = /\b(?:seal(?:ant|er|ing)|jointing)\b/i;

/**
 * What cures where. A supply with a `cure` goes on
 * - a fastener declared `threadlock`, if it is the one thread locker;
 * - a part that a text names along with it: the text of a statement of teardown or inspection about the part, or its own
 *   title or spec;
 * - if it is a sealant declared in this very file, and nothing says where: the one part that two fasteners or more hold and
 *   that has no `renew` part, such as a gasket, behind it; a note says that this is a guess.
 * Where several would do, none is chosen, and a note says so.
 */
export function coatsOf(model: Model, comesBack: (part: string) => boolean): { coats: Coat[]; notes: string[] } {
  const coats: Coat[] = [];
  const notes: string[] = [];
  const curing = [...model.supplies].filter(([, supply]) => (siValueOf(supply.cure, 'time') ?? 0) > 0);
  const add = (supply: string, part: string): void => {
    if (!coats.some((coat) => coat.supply === supply && coat.part === part)) coats.push({ supply, part });
  };
  const own = (supply: Declaration): boolean => model.ownDeclarations.includes(supply);

  const lockers = curing.filter(([name, { title }]) => locks.test(name) || locks.test(title?.value ?? ''));
  const ownLockers = lockers.filter(([, supply]) => own(supply));
  const locker = lockers.length === 1 ? lockers[0] : ownLockers.length === 1 ? ownLockers[0] : undefined;
  for (const [name, part] of model.parts) {
    if (part.condition?.text !== 'threadlock' || !comesBack(name)) continue;
    if (locker !== undefined) add(locker[0], name);
    else
      notes.push(
        `\`${name}\` takes a thread locker, and ${lockers.length === 0 ? 'none with a `cure` is declared' : 'several are declared'}: write \`apply … to ${name}\` above its \`fit\`.`,
      );
  }

  const names = new Map(curing.map(([supply, { title }]) => [supply, namesOf(supply, title)]));
  for (const { part, text } of curing.length === 0 ? [] : textsOf(model)) {
    const named = [...names].filter(([, phrases]) => says(text, phrases));
    if (named.length === 1 && comesBack(part)) add(named[0]![0], part);
  }
  for (const [supply, { title, spec }] of curing) {
    const text = wordsOf(`${title?.value ?? ''} ${spec?.value ?? ''}`);
    for (const [part, declaration] of model.parts)
      if (comesBack(part) && says(text, [part, declaration.title?.value ?? ''])) add(supply, part);
  }

  for (const [supply, declaration] of curing) {
    if (!own(declaration) || coats.some((coat) => coat.supply === supply) || isApplied(model, supply)) continue;
    const joints =
      seals.test(supply) || seals.test(declaration.title?.value ?? '')
        ? [...model.parts.keys()].filter(
            (part) => comesBack(part) && fastenersOn(model, part) > 1 && !hasGasket(model, part),
          )
        : [];
    if (joints.length === 1) {
      add(supply, joints[0]!);
      notes.push(
        `Nothing says where \`${supply}\` goes: \`${joints[0]}\` is the one bolted joint without a gasket, look whether it is the place.`,
      );
    } else
      notes.push(
        `Nothing says where \`${supply}\` goes: write \`apply ${supply} to …\` above the \`fit\` of its part, and the \`wait\` for its cure before the unit is filled.`,
      );
  }
  return { coats, notes };
}

/** A flange is drawn together by several; one nut holds a gear or a drum. */
const fastenersOn = (model: Model, part: string): number =>
  (model.parts.get(part)?.heldBy ?? []).reduce(
    (sum, { text }) => sum + (model.fasteners.has(text) ? (model.parts.get(text)?.count?.value ?? 1) : 0),
    0,
  );

const hasGasket = (model: Model, part: string): boolean =>
  [...model.parts.values()].some(
    ({ renew, behind }) => renew !== undefined && behind.some((name) => name.text === part),
  );

const statementsOf = function* (model: Model): Generator<{ statement: Statement; before: boolean }> {
  for (const { step, phase } of model.steps)
    for (const statement of walk(step.statements))
      yield { statement, before: phase === 'teardown' || phase === 'inspection' };
};

const isApplied = (model: Model, supply: string): boolean =>
  [...statementsOf(model)].some(({ statement }) => statement.kind === 'apply' && statement.name?.text === supply);

/** What the texts of teardown and inspection say about a part. */
function textsOf(model: Model): { part: string; text: string }[] {
  return [...statementsOf(model)].flatMap(({ statement, before }) => {
    const part = statement.name?.text;
    return before && part !== undefined && statement.text !== undefined && model.parts.has(part)
      ? [{ part, text: wordsOf(statement.text.value) }]
      : [];
  });
}

/** A supply goes by its name, its title, or the last word of either. */
function namesOf(supply: string, title: Text | undefined): string[] {
  const phrases = [supply, title?.value ?? ''];
  return [...phrases, ...phrases.map((each) => wordsOf(each).trim().split(' ').at(-1) ?? '')];
}

/** In small letters, with one blank between words and at either end; hyphens are blanks. */
const wordsOf = (text: string): string => ` ${(text.toLowerCase().match(/[\p{L}\p{N}]+/gu) ?? []).join(' ')} `;

/** True where one of `phrases` stands in `text` as whole words; what is shorter than four letters says nothing. */
const says = (text: string, phrases: readonly string[]): boolean =>
  phrases.map(wordsOf).some((phrase) => phrase.length >= 6 && text.includes(phrase));
