import type { Declaration, Span, Statement } from '../../../grammar/syntax.ts';
import { parsePipeThread, parseThread } from '../mechanics/index.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { named } from './wording.ts';

type Hand = 'left-hand' | 'right-hand';

export const otherHand: Check = {
  code: 'other-hand',
  severity: 'warning',
  section: 'Tightening',
  local: true,
  fires:
    'a text says that the thread which is turned there is left-hand, or which way loosens or tightens it, or turns it where that is done, and the declared thread runs the other way; or it names one hand and turns the other way.',
  why: 'The card tells which way to turn by the declaration: who believes the wrong one tightens what should come loose, until it shears.',
  bad: `part nut "Fan nut" thread M16 class 8.8 torque 150 N·m
teardown
  step off
    remove nut "Left-hand thread: clockwise loosens it."
reassembly
  step on
    fit nut
    tighten nut`,
  good: `part nut "Fan nut" thread M16-LH class 8.8 torque 150 N·m
teardown
  step off
    remove nut "Left-hand thread: clockwise loosens it."
reassembly
  step on
    fit nut
    tighten nut`,
  *run({ model }): Generator<Raw> {
    for (const { step } of model.steps) {
      for (const statement of statementsIn(step)) {
        const { kind, name, text } = statement;
        if (text === undefined || !(turns.has(kind) || kind === 'do' || isSafety(statement))) continue;
        const { said, apart } = handsSaid(text.value, kind);
        const part = model.parts.get(name?.text ?? '');
        const thread = part?.thread;
        // Of a line that cannot be read the hand may be what is told of.
        if (part?.broken === true) continue;
        if (apart !== undefined) yield contradiction(text, apart, thread);
        if (said === undefined || name === undefined || thread === undefined) continue;
        const parsed = parseThread(thread.text) ?? parsePipeThread(thread.text);
        if (parsed === undefined || parsed.leftHand === (said === 'left-hand')) continue;
        const instead = otherThread(thread.text);
        yield {
          span: text,
          message: `this says that the thread of ${named(name.text)} is ${said}, but ${named(thread.text)} is declared: declare ${named(instead)}, or correct the text.`,
          related: related(thread, 'the thread is declared here'),
          data: { subject: name.text },
        };
      }
    }
  },
  repairs({ data }, { model }) {
    const thread = model.parts.get(String(data?.['subject']))?.thread;
    if (thread === undefined) return [];
    const instead = otherThread(thread.text);
    return [{ title: `Declare ${named(instead)}`, edits: [replaceSpan(model.tree, thread, instead)], safe: false }];
  },
};

const turns: ReadonlySet<string> = new Set(['remove', 'loosen', 'disconnect', 'fit', 'tighten', 'connect', 'try']);

const otherThread = (thread: NonNullable<Declaration['thread']>['text']): string =>
  thread.endsWith('-LH') ? thread.slice(0, -'-LH'.length) : `${thread}-LH`;

/** What a text says of the hand of a thread. */
interface Said {
  /** By its name or by the way to turn; nothing where it says both. */
  readonly said?: Hand;
  /** The one hand that it names, where it turns the other way. */
  readonly apart?: Hand;
}
const nothing: Said = {};

function handsSaid(text: string, kind: Statement['kind']): Said {
  // Nearly no text does.
  if (!/hand|clockwise/i.test(text)) return nothing;
  const byName = new Set<Hand>();
  for (const [, hand] of text.matchAll(hands)) byName.add(hand!.toLowerCase() === 'left' ? 'left-hand' : 'right-hand');
  const byWay = new Set<Hand>();
  for (const pattern of viewpoint.test(text) || (byName.size === 0 && warns.test(text)) ? [] : [wayFirst, doingFirst]) {
    for (const { groups } of text.matchAll(pattern)) {
      const isClockwise = groups!['against'] === undefined;
      const isTightening = /^tight/i.test(groups!['doing']!);
      byWay.add(isClockwise === isTightening ? 'right-hand' : 'left-hand');
    }
  }
  if (byWay.size === 0) {
    const hand = handTurned(text, kind);
    if (hand !== undefined) byWay.add(hand);
  }
  const [said, other] = new Set([...byName, ...byWay]);
  if (said === undefined || other === undefined) return said === undefined ? nothing : { said };
  return byName.size === 1 && byWay.size === 1 && !ofAnother.test(text) ? { apart: [...byName][0]! } : nothing;
}

const loosening: ReadonlySet<string> = new Set(['remove', 'loosen', 'disconnect']);
const tightening: ReadonlySet<string> = new Set(['fit', 'tighten', 'connect']);

/** What a text says of the thread by no more than the way that its line turns it, as `Turn it clockwise.` does. */
function handTurned(text: string, kind: Statement['kind']): Hand | undefined {
  const [turn, other] = text.matchAll(anyWay);
  const isTightening = tightening.has(kind);
  if (turn === undefined || other !== undefined || viewpoint.test(text) || !(isTightening || loosening.has(kind)))
    return undefined;
  if (!text.split(/[.:;,!]/).some((clause) => wayAlone.test(clause))) return undefined;
  const isClockwise = turn.groups!['against'] === undefined;
  return isClockwise === isTightening ? 'right-hand' : 'left-hand';
}

const hands = /(?<!\b(?:no|not|isn['’]t|unlike) (?:an? |the )?)\b(left|right)[- ]?hand(?:ed)?[- ]thread/gi;
const warns = /\b(?:cannot|never|not)\b|n['’]t\b/i;

/** From the other side each turn looks the other way round, and which side the nut is on is not known. */
const viewpoint = /\b(?:seen|viewed|looking) from\b/i;

/** The thread that is named may be another than the one that is turned, or the text warns of the wrong way. */
const ofAnother =
  /\b(?:both|breaks?|but|cannot|damages?|except|instead|more|never|no|nor|not|other|shears?|strips?|unlike|whereas|while|would|wrong)\b|n['’]t\b/i;

function contradiction(span: Span, hand: Hand, thread: Declaration['thread']): Raw {
  const [other, loosens] = hand === 'left-hand' ? ['right-hand', 'clockwise'] : ['left-hand', 'anticlockwise'];
  const declared = thread === undefined ? '' : `${named(thread.text)} is declared, so `;
  return {
    span,
    message: `this calls the thread ${hand} and turns it the ${other} way: a ${hand} thread loosens ${loosens}; ${declared}correct the text.`,
    related: related(thread, 'the thread is declared here'),
  };
}

const way = '\\b(?<against>anti-?|counter-?)?clockwise';
const doing = '(?<doing>loosen|slacken|tighten|undo|unscrew)(?:e?s|ed|ing)?';
const anyWay = new RegExp(`${way}\\b`, 'gi');
const wayAlone = new RegExp(
  `^\\s*(?:(?:run|screw|spin|thread|turn|wind)(?: it| them)?(?: home| in| off| on| out)? )?${way}(?: by hand)?\\s*$`,
  'i',
);
/** `Clockwise loosens it`, `turn it anticlockwise to tighten` */
const wayFirst = new RegExp(`${way}(?: to)? ${doing}\\b`, 'gi');
/** `Loosens clockwise`, `tighten it anticlockwise` */
const doingFirst = new RegExp(`\\b${doing}(?: it| them)? ${way}\\b`, 'gi');
