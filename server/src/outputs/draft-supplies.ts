import { type Declaration, type Statement, type Text, walk } from '../../../grammar/syntax.ts';
import { locks } from '../checks/no-locker.ts';
import { listed } from '../checks/wording.ts';
import { addTo } from '../model/grouped.ts';
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
 *   title or spec; a note says so of a text, which may as well be about what is to come off;
 * - if it is a sealant declared in this very file, and nothing says where: the one part that two fasteners or more hold and
 *   that has no `renew` part, such as a gasket, behind it; a note says that this is a guess.
 * Where several would do, none is chosen, and a note says so.
 */
export function coatsOf(model: Model, comesBack: (part: string) => boolean): { coats: Coat[]; notes: string[] } {
  const coats: Coat[] = [];
  const notes: string[] = [];
  const curing = [...model.supplies].filter(([, supply]) => (siValueOf(supply.cure, 'time') ?? 0) > 0);
  const coated = new Set<string>();
  const said = new Set<string>();
  const add = (supply: string, part: string): void => {
    const coat = `${supply} ${part}`;
    if (said.has(coat)) return;
    said.add(coat);
    coated.add(supply);
    coats.push({ supply, part });
  };
  const own = ({ chunk }: Declaration): boolean => chunk.uri === model.tree.uri;

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

  if (curing.length === 0) return { coats, notes };
  const byTexts = new Map<string, string[]>();
  const suppliesIn = namer(curing.map(([supply, { title }]) => [supply, namesOf(supply, title)]));
  const partsIn = namer([...model.parts].map(([part, { title }]) => [part, [part, title?.value ?? '']]));
  for (const [supply, { title, spec }] of curing)
    for (const part of partsIn(wordsOf(`${title?.value ?? ''} ${spec?.value ?? ''}`)))
      if (comesBack(part)) add(supply, part);
  for (const { part, text } of textsOf(model)) {
    const [supply, ...others] = suppliesIn(text);
    if (supply === undefined || others.length > 0 || !comesBack(part) || said.has(`${supply} ${part}`)) continue;
    add(supply, part);
    addTo(byTexts, supply, part);
  }
  for (const [supply, parts] of byTexts)
    notes.push(
      `\`${supply}\` goes on ${listed(parts.map((part) => `\`${part}\``))}, as a text about ${parts.length === 1 ? 'it' : 'them'} names it: look whether it does.`,
    );

  const applied = appliedIn(model);
  let joints: readonly string[] | undefined;
  for (const [supply, declaration] of curing) {
    if (!own(declaration) || coated.has(supply) || applied.has(supply)) continue;
    const isSealant = seals.test(supply) || seals.test(declaration.title?.value ?? '');
    if (isSealant) joints ??= jointsOf(model).filter(comesBack);
    const [joint] = isSealant ? joints! : [];
    if (joint !== undefined && joints!.length === 1) {
      add(supply, joint);
      notes.push(
        `Nothing says where \`${supply}\` goes: \`${joint}\` is the one bolted joint without a gasket, look whether it is the place.`,
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

/** Parts that two fasteners or more hold, and that have no `renew` part behind them. */
function jointsOf(model: Model): string[] {
  const gasketed = new Set<string>();
  for (const { renew, behind } of model.parts.values())
    if (renew !== undefined) for (const { text } of behind) gasketed.add(text);
  return [...model.parts.keys()].filter((part) => !gasketed.has(part) && fastenersOn(model, part) > 1);
}

const statementsOf = function* (model: Model): Generator<{ statement: Statement; before: boolean }> {
  for (const { step, phase } of model.steps)
    for (const statement of walk(step.statements))
      yield { statement, before: phase === 'teardown' || phase === 'inspection' };
};

function appliedIn(model: Model): ReadonlySet<string> {
  const applied = new Set<string>();
  for (const { statement } of statementsOf(model))
    if (statement.kind === 'apply' && statement.name !== undefined) applied.add(statement.name.text);
  return applied;
}

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

/**
 * Tells which of the things that go by `phrases` a text names, in their order: a phrase stands there as whole words, and
 * what is shorter than four letters says nothing. The texts are as `wordsOf` gives them.
 */
function namer(things: readonly (readonly [thing: string, phrases: readonly string[]])[]): (text: string) => string[] {
  const byPhrase = new Map<string, Set<number>>();
  const lengths = new Set<number>();
  for (const [place, [, phrases]] of things.entries()) {
    for (const phrase of phrases.map((each) => wordsOf(each).trim())) {
      if (phrase.length < 4) continue;
      lengths.add(phrase.split(' ').length);
      const known = byPhrase.get(phrase);
      if (known === undefined) byPhrase.set(phrase, new Set([place]));
      else known.add(place);
    }
  }
  return (text) => {
    const words = text.trim().split(' ');
    const named = new Set<number>();
    for (const length of lengths)
      for (let from = 0; from + length <= words.length; from++)
        for (const place of byPhrase.get(words.slice(from, from + length).join(' ')) ?? []) named.add(place);
    return [...named].sort((a, b) => a - b).map((place) => things[place]![0]);
  };
}
