import { NearestSearch } from '../../../grammar/nearest.ts';
import type { Name, Statement } from '../../../grammar/syntax.ts';
import type { Model, UnknownName } from './model.ts';
import { Beside, noted } from './noted.ts';
import { statementsIn } from './statements.ts';
import { lacksFile } from './unknown.ts';

/** Finds the names near to those that `model` does not know; what it has found once, it finds again without effort. */
export const nearNamesIn = noted((_: Model): NearestSearch => new NearestSearch());

/** Stands in the text where another name does. */
export interface MeantName extends Name {
  readonly misspelt: true;
}

export const isMisspelt = (name: Name | undefined): boolean => name !== undefined && 'misspelt' in name;

const none: ReadonlyMap<Name, MeantName> = new Map();

/** The names of parts and supplies in statements that are plainly misspelt, each with what was meant there. */
export const namesMeantIn = noted((model: Model): ReadonlyMap<Name, MeantName> => {
  const { unknown } = model;
  // What a missing file declares is not misspelt.
  if (unknown.length === 0 || lacksFile(model)) return none;
  const search = nearNamesIn(model);
  const meant = new Map<Name, MeantName>();
  for (const { name, kind, otherKind, candidates } of unknown) {
    if ((kind !== 'part' && kind !== 'supply') || otherKind !== undefined || !standsInStep(name)) continue;
    const near = search.misspelt(name.text, candidates);
    if (near !== undefined) meant.set(name, standing(name, near));
  }
  if (meant.size === 0) return none;
  const ways = waysOf(model, meant);
  for (const [name, { text }] of meant) if (isOneOfItsOwn(ways, name.text, text)) meant.delete(name);
  return meant;
});

const standsInStep = ({ chunk: { item, strayStep } }: UnknownName['name']): boolean =>
  item?.kind === 'step' || strayStep !== undefined;

const standingFor = new Beside<Name, MeantName>();

/** The same object each time: where it comes to the same, replays are told to be alike by it. */
function standing(name: Name, text: string): MeantName {
  let known = standingFor.get(name);
  if (known?.text !== text) {
    known = { ...name, text, misspelt: true };
    standingFor.set(name, known);
  }
  return known;
}

const off = 1;
const back = 2;

/** Which of the names that are spelt so, and of those that were meant, statements take off and put back. */
function waysOf({ steps }: Model, meant: ReadonlyMap<Name, MeantName>): ReadonlyMap<string, number> {
  const ways = new Map<string, number>();
  for (const [name, { text }] of meant) ways.set(name.text, 0).set(text, 0);
  for (const { step } of steps)
    for (const { kind, name } of statementsIn(step)) {
      const known = name === undefined ? undefined : ways.get(name.text);
      if (known !== undefined) ways.set(name!.text, known | wayOf(kind));
    }
  return ways;
}

const wayOf = (kind: Statement['kind']): number =>
  kind === 'remove' || kind === 'disconnect' ? off : kind === 'fit' || kind === 'connect' ? back : 0;

/** What comes off and goes back while the other does, too, as `hub-seal` beside `hub-seat`, was not declared. */
const isOneOfItsOwn = (ways: ReadonlyMap<string, number>, name: string, other: string): boolean =>
  ways.get(name) === (off | back) && ways.get(other) !== 0;
