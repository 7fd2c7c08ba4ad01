import type { Declaration } from '../../../grammar/syntax.ts';
import { parsePipeThread, parseThread } from '../mechanics/index.ts';
import { statementsIn } from '../model/statements.ts';
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
    'a text says that the thread which is turned there is left-hand, or which way loosens or tightens it, and the declared thread runs the other way.',
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
      for (const { kind, name, text } of statementsIn(step)) {
        if (text === undefined || name === undefined || !turns.has(kind)) continue;
        const said = handSaid(text.value);
        const part = model.parts.get(name.text);
        const thread = part?.thread;
        // Of a line that cannot be read the hand may be what is told of.
        if (said === undefined || thread === undefined || part!.broken) continue;
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

/** Which hand a text says, by its name or by the way to turn; nothing where it says both. */
function handSaid(text: string): Hand | undefined {
  // Nearly no text does.
  if (!/hand|clockwise/i.test(text)) return undefined;
  const said = new Set<Hand>();
  for (const [, hand] of text.matchAll(/\b(left|right)[- ]?hand(?:ed)?[- ]thread/gi))
    said.add(hand!.toLowerCase() === 'left' ? 'left-hand' : 'right-hand');
  for (const pattern of [wayFirst, doingFirst]) {
    for (const { groups } of text.matchAll(pattern)) {
      const isClockwise = groups!['against'] === undefined;
      const isTightening = /^tight/i.test(groups!['doing']!);
      said.add(isClockwise === isTightening ? 'right-hand' : 'left-hand');
    }
  }
  const [hand, other] = said;
  return other === undefined ? hand : undefined;
}

const way = '\\b(?<against>anti-?|counter-?)?clockwise';
const doing = '(?<doing>loosen|tighten)(?:s|ed|ing)?';
/** `Clockwise loosens it`, `turn it anticlockwise to tighten` */
const wayFirst = new RegExp(`${way}(?: to)? ${doing}\\b`, 'gi');
/** `Loosens clockwise`, `tighten it anticlockwise` */
const doingFirst = new RegExp(`\\b${doing}(?: it| them)? ${way}\\b`, 'gi');
