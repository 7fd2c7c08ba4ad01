import type { Text } from '../../../grammar/syntax.ts';
import { statementWords } from '../../../grammar/tokens.ts';
import type { Model } from '../model/model.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import type { Check, Raw } from './check.ts';

/** Words that begin an instruction: the statements of the language, and what one does at a bench. Common usage, no source. */
const verbs = new Set<string>([
  ...statementWords,
  'add',
  'adjust',
  'align',
  'attach',
  'blow',
  'bring',
  'bolt',
  'clamp',
  'close',
  'compare',
  'cut',
  'dry',
  'empty',
  'feel',
  'flush',
  'grease',
  'hold',
  'install',
  'insert',
  'keep',
  'lay',
  'lift',
  'lock',
  'look',
  'lower',
  'lubricate',
  'move',
  'oil',
  'open',
  'place',
  'position',
  'pull',
  'push',
  'put',
  'raise',
  'read',
  'record',
  'release',
  'reset',
  'rinse',
  'rotate',
  'run',
  'seat',
  'set',
  'slacken',
  'slide',
  'spin',
  'start',
  'stop',
  'store',
  'strike',
  'tap',
  'test',
  'torque',
  'turn',
  'undo',
  'unlock',
  'unscrew',
  'verify',
  'wash',
  'wipe',
  'write',
]);

export const longText: Check = {
  code: 'long-text',
  severity: 'hint',
  section: 'Getting ready, safety, wording',
  local: true,
  fires: 'a text runs over 20 words, or a `do` asks for two actions.',
  why: 'With both hands in the unit one reads a line, not a paragraph. (ASD-STE100 rule 5.1: up to 20 words, one instruction each.)',
  bad: `teardown
  step look
    do "Turn the shaft by hand and feel for rough spots."`,
  good: `teardown
  step look
    do "Turn the shaft by hand."
    do "Feel for rough spots."`,
  *run({ model, settings }): Generator<Raw> {
    for (const text of longTexts(model, settings.longText)) {
      const words = wordsIn(text.value);
      yield {
        span: text,
        message: `this text has ${words} words: keep it to ${settings.longText}, or split it.`,
        related: [],
        data: { subject: 'long' },
      };
    }
    for (const { text } of statementsOf(model, 'do')) {
      if (text === undefined || !asksTwice(text.value)) continue;
      yield {
        span: text,
        message: 'this `do` asks for two actions: write one `do` for each.',
        related: [],
        data: { subject: 'two' },
      };
    }
  },
};

/** Texts of more than `most` words. */
function longTexts(model: Model, most: number): readonly Text[] {
  const long: Text[] = [];
  const look = (text: Text | undefined): void => {
    // A word and the blank behind it are two signs at least.
    if (text !== undefined && text.end - text.start > 2 * most && wordsIn(text.value) > most) long.push(text);
  };
  const { head, tree } = model;
  // It stands in one of the stretches of a long file.
  if (head !== undefined && tree.chunks.includes(head.chunk)) {
    look(head.title);
    look(head.codePlate);
  }
  for (const { title, spec } of model.ownDeclarations) {
    look(title);
    look(spec);
  }
  for (const { step } of model.steps) {
    look(step.title);
    for (const { branches, text, keep, see } of statementsIn(step)) {
      if (branches === undefined) look(text);
      else for (const branch of branches) look(branch.text);
      look(keep);
      look(see);
    }
  }
  return long;
}

export const wordsIn = (text: string): number => text.split(/\s+/).filter((word) => word !== '').length;

/** Those that name a thing as well: they ask for something where they say to what. */
const alsoThings: ReadonlySet<string> = new Set(
  'bolt clamp drain grease lock mark oil press seat shim stop support test torque'.split(' '),
);
const toWhat = /^(?:an?|the|it|its|them|this|these|both|all|each|every|with|to|by|\d+)$/i;

function asksTwice(text: string): boolean {
  const pieces = text
    .split(/(?<=[.;!])\s+(?:then\s+)?|;\s*(?:then\s+)?|,?\s+(?:and\s+)?then\s+|,?\s+and\s+/i)
    .filter((piece) => piece.trim() !== '');
  return pieces.filter((piece, i) => i === 0 || isAsked(piece.trim())).length > 1;
}

function isAsked(piece: string): boolean {
  const verb = /^[\p{L}-]+/u.exec(piece)?.[0].toLowerCase() ?? '';
  if (!verbs.has(verb)) return false;
  return !alsoThings.has(verb) || toWhat.test(/^\S+\s+(\S+)/.exec(piece)?.[1] ?? '');
}
