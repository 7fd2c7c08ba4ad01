import type { DeclarationWord, StatementWord } from '../../../grammar/tokens.ts';

/**
 * What a word of the language does, in one line; `body` is what it begins, `<…>` to be filled in, `<a|b>` to be chosen
 * from, `<>` where the cursor ends.
 */
export interface WordHelp {
  readonly help: string;
  readonly body?: string;
}

export const statementHelp: Readonly<Record<StatementWord, WordHelp>> = {
  remove: { help: 'Takes a part off; all that are on where no count stands.', body: 'remove <part>' },
  disconnect: { help: 'Takes a cable, hose or pipe off its connection.', body: 'disconnect <part>' },
  discard: { help: 'Sends a part that is off to scrap; something new must take its place.', body: 'discard <part>' },
  replace: { help: 'Scraps the old part and lays a new one in its place on the bench.', body: 'replace <part>' },
  fit: { help: 'Puts a part back on; `fit new` takes it from stock.', body: 'fit <part>' },
  connect: { help: 'Puts a cable, hose or pipe back on its connection.', body: 'connect <part>' },
  swap: { help: 'Another part takes the place of one that is off.', body: 'swap <old> for <new>' },
  transfer: {
    help: 'Moves what one carrier carries to another; on stays on, off stays off.',
    body: 'transfer <part> from <old-carrier> to <new-carrier>',
  },
  omit: { help: 'Leaves a part off on purpose; the text says why.', body: 'omit <part> "<Why it stays off>"' },
  try: { help: 'A trial fit; changes nothing.', body: 'try <part> on <part>' },
  loosen: { help: 'Slackens a fastener that stays on.', body: 'loosen <fastener>' },
  tighten: {
    help: 'Tightens a fastener to its declared torque, or to the one given here.',
    body: 'tighten <fastener>',
  },
  drain: { help: 'Lets a fluid out.', body: 'drain <supply> <1> L' },
  fill: { help: 'Puts a fluid in; a load for whatever is still curing.', body: 'fill <supply> <1> L' },
  apply: {
    help: 'Puts a sealant, grease or locker on a part; its cure runs from here.',
    body: 'apply <supply> to <part>',
  },
  wait: { help: 'Lets time pass, for a cure or for cooling.', body: 'wait <60> min' },
  heat: { help: 'Warms a part so that it slides on; needs a safety message.', body: 'heat <part> to <80> °C' },
  cool: { help: 'Chills a part so that it slides in; needs a safety message.', body: 'cool <part> to <-20> °C' },
  press: { help: 'Mounts a part by force; needs a safety message.', body: 'press <part> max <10> kN' },
  mark: { help: 'Marks how a part sits, so that it goes back as it came off.', body: 'mark <part> "<How>"' },
  support: { help: 'Holds a part up; needs a safety message.', body: 'support <part>' },
  clean: { help: 'Makes a face or part clean.', body: 'clean <part>' },
  inspect: { help: 'Looks a part over for a verdict.', body: 'inspect <part> "<What to look for>"' },
  measure: {
    help: 'Takes a reading and holds it to its limits.',
    body: 'measure <reading> limit <0.1>..<0.3> mm',
  },
  shim: {
    help: 'Chooses a shim stack from a measured gap.',
    body: 'shim <part> gap <reading> endplay <0.05>..<0.1> mm from <0.1> mm, <0.2> mm',
  },
  sign: { help: 'A hold point that somebody signs.', body: 'sign "<Who signs for what>"' },
  identify: {
    help: 'The code on the unit is read and compared.',
    body: 'identify "<Read the code and compare it>"',
  },
  check: { help: 'A function test; in `proving` it loads the unit.', body: 'check "<What must hold>"' },
  do: { help: 'Any other single action.', body: 'do "<One action>"' },
  danger: {
    help: 'Death or grave injury will follow if this is ignored.',
    body: 'danger "<What hurts and how to avoid it>"',
  },
  warning: {
    help: 'Death or grave injury can follow if this is ignored.',
    body: 'warning "<What hurts and how to avoid it>"',
  },
  caution: {
    help: 'Slight injury can follow if this is ignored.',
    body: 'caution "<What hurts and how to avoid it>"',
  },
  notice: {
    help: 'Damage to things can follow if this is ignored.',
    body: 'notice "<What breaks and how to avoid it>"',
  },
};

export const declarationHelp: Readonly<Record<DeclarationWord, WordHelp>> = {
  part: { help: 'Declares a part of the unit.', body: 'part <name> "<What it is>"' },
  tool: { help: 'Declares a tool.', body: 'tool <name> "<What it is>"' },
  supply: { help: 'Declares a fluid, sealant or grease.', body: 'supply <name> "<What it is>" <1> L' },
  pattern: {
    help: 'Declares where the holes of a joint lie.',
    body: 'pattern <name> circle <6> diameter <100> mm',
  },
};

export const blockHelp: Readonly<Record<string, WordHelp>> = {
  either: {
    help: 'Ways to do the same; each is replayed, and all must leave the same state.',
    body: 'either "<One way>"\n  <>\nor "<Another way>"\nend',
  },
  if: {
    help: 'Statements that hold in one case only; `else` holds in the other.',
    body: 'if "<the case>"\n  <>\nend',
  },
  for: { help: 'Statements that hold for some codes only.', body: 'for <code>\n  <>\nend' },
  or: { help: 'Begins the next way of `either`.', body: 'or "<Another way>"' },
  else: { help: 'Begins what holds where the case of `if` does not.' },
  end: { help: 'Closes `either`, `if` or `for`.' },
};

export const headHelp: Readonly<Record<string, WordHelp>> = {
  procedure: {
    help: 'Names the procedure; a file without it holds shared declarations.',
    body: 'procedure <name> "<What is done to which unit>"',
  },
  use: {
    help: 'Takes the declarations of another file, and within a phase also its steps for that phase; the path counts from this file.',
    body: 'use "<file.fettle>"',
  },
  teardown: { help: 'The unit comes apart.' },
  inspection: { help: 'Parts are cleaned, judged and renewed on the bench.' },
  reassembly: { help: 'The unit goes together.' },
  proving: { help: 'The unit is run and handed over; a `check` here loads it.' },
  step: { help: 'A piece of work with a name.', body: 'step <name> "<What is done>" takes <15> min' },
};

/** Clauses, by the word they begin with. */
export const clauseHelp: ReadonlyMap<string, WordHelp> = new Map<string, WordHelp>([
  ['new', { help: 'The part comes from stock.', body: 'new <part>' }],
  ['fettle-allow', { help: 'Silences one check on the next statement or declaration; the reason follows.' }],
  ['applies', { help: 'The codes stamped on the units that this procedure is for.', body: 'applies to <code>' }],
  ['code', { help: 'Where the code stands on the unit.', body: 'code plate "<Where>"' }],
  ['measures', { help: 'The system of units of this procedure.', body: 'measures <metric|imperial>' }],
  [
    'thread',
    {
      help: 'ISO metric (`M8x1.25`, `M8` for coarse), unified (`1/4-20`) or pipe thread (`G1/2`, `1/2-14 NPT`); `-LH` behind it where it is left-hand.',
      body: 'thread <M8>',
    },
  ],
  [
    'class',
    {
      help: 'Property class of ISO 898-1 (`8.8`), or of stainless steel, ISO 3506-1 (`A2-70`).',
      body: 'class <8.8|10.9|12.9|4.6|5.8|A2-70|A4-70|A4-80>',
    },
  ],
  ['grade', { help: 'SAE J429 grade.', body: 'grade <5|8|2>' }],
  ['dry', { help: 'Thread and head face are dry.' }],
  ['oiled', { help: 'Thread and head face are oiled.' }],
  [
    'paste',
    { help: 'Thread and head face are coated with anti-seize paste: less friction, so the same torque clamps harder.' },
  ],
  ['threadlock', { help: 'The thread is wetted with thread locker.' }],
  ['length', { help: 'Length of the fastener.', body: 'length <25> mm' }],
  ['torque', { help: 'Torque that the fastener is tightened to.', body: 'torque <25> N·m' }],
  ['then', { help: 'Angle to turn on after the torque.', body: 'then <90>°' }],
  [
    'prevailing',
    {
      help: 'Torque that turns a locking nut or screw on the thread before it clamps, at most or as a range: so much less of the torque clamps.',
      body: 'prevailing <1..6> N·m',
    },
  ],
  [
    'head',
    { help: 'What the bolt or nut bears on; a hexagon where nothing is said.', body: 'head <socket|flange|hexagon>' },
  ],
  ['holes', { help: 'The pattern that the pieces sit in.', body: 'holes <pattern>' }],
  ['renew', { help: 'Single-use: it is never refitted.' }],
  ['lead', { help: 'Time from order to delivery.', body: 'lead <2> d' }],
  ['held', { help: 'What must come off or be loose before this part comes away.', body: 'held by <part>' }],
  ['behind', { help: 'Reached only once those parts are off.', body: 'behind <part>' }],
  ['carried', { help: 'It sits on that part and comes away with it.', body: 'carried by <part>' }],
  ['index', { help: 'It must go back as it came off; mark it first.' }],
  [
    'hazard',
    {
      help: 'What can hurt when it is handled.',
      body: 'hazard <heat|pressure|spring|charge|chemical|weight>',
    },
  ],
  [
    'bore',
    {
      help: 'Diameter of the bore, with a fit such as `H7/k6`, the shaft of a rolling bearing such as `k6`, or with `interference`.',
      body: 'bore <62> mm',
    },
  ],
  ['interference', { help: 'How much larger the shaft is than the bore.', body: 'interference <10>..<45> µm' }],
  [
    'limit',
    {
      help: 'The range that a reading must lie in; of a part, the temperature it may be heated to.',
      body: 'limit <0.1>..<0.3> mm',
    },
  ],
  ['sealed', { help: 'A sealed bearing: it must stay cooler when heated.' }],
  ['greased', { help: 'A bearing filled with grease: it must stay cooler when heated.' }],
  ['number', { help: 'A marking to match at a supplier.', body: 'number "<marking>"' }],
  ['range', { help: 'What a torque wrench, heater, press or gauge reaches.', body: 'range <5>..<100> N·m' }],
  ['spec', { help: 'What to ask for.', body: 'spec "<specification>"' }],
  ['cure', { help: 'Time until it may be loaded.', body: 'cure <60> min' }],
  ['circle', { help: 'Holes on a circle, hole 1 at 12 o’clock, clockwise.', body: 'circle <6> diameter <100> mm' }],
  [
    'angles',
    { help: 'The angle of each hole, where they are not spaced alike.', body: 'angles <0°, 90°, 180°, 270°>' },
  ],
  ['diameter', { help: 'Diameter of the circle of holes.', body: 'diameter <100> mm' }],
  ['points', { help: 'Holes at points, x and y.', body: 'points <(0, 0) (60, 0)> mm' }],
  ['to', { help: 'The value to reach.', body: 'to <25> N·m' }],
  ['in', { help: 'Torques of the passes, rising to the last.', body: 'in stages <12> N·m, <25> N·m' }],
  ['stages', { help: 'Torques of the passes, rising to the last.' }],
  ['plate', { help: 'Where the code stands on the unit.' }],
  ['hand', { help: 'Snug only; still to be torqued.' }],
  ['metric', { help: 'Metric units; others are restated.' }],
  ['imperial', { help: 'Inch and pound units; others are restated.' }],
  ['order', { help: 'The order of the holes within one pass.', body: 'order <star|spiral>' }],
  ['star', { help: 'From side to side across the joint.' }],
  ['spiral', { help: 'From the middle outwards.' }],
  ['at', { help: 'The holes meant, by number.', body: 'at holes <1, 2>' }],
  ['by', { help: 'Snug only; still to be torqued.', body: 'by hand' }],
  ['spoiled', { help: 'Removal damages it: it cannot go back.' }],
  ['with', { help: 'These parts stay on it: one assembly.', body: 'with <part>' }],
  ['for', { help: 'What it takes the place of.', body: 'for <part>' }],
  ['from', { help: 'The carrier it leaves; of `shim`, the shims at hand.', body: 'from <part>' }],
  ['on', { help: 'What it is tried on; of an adapter, the length of the wrench.', body: 'on <part>' }],
  ['max', { help: 'At most.', body: 'max <10> kN' }],
  ['min', { help: 'At least.', body: 'min <4> mm' }],
  ['gap', { help: 'The reading that the stack has to fill.', body: 'gap <reading>' }],
  ['endplay', { help: 'The play to leave: it is taken from the gap.', body: 'endplay <0.05>..<0.1> mm' }],
  ['preload', { help: 'The preload to reach: it is added to the gap.', body: 'preload <0.02>..<0.05> mm' }],
  ['keep', { help: 'Where the piece is kept meanwhile.', body: 'keep in "<tray>"' }],
  ['see', { help: 'A figure or page to look at.', body: 'see "<Fig. 1>"' }],
  ['using', { help: 'Tools for this statement.', body: 'using <tool>' }],
  [
    'extension',
    {
      help: 'An adapter on the torque wrench; the setting is computed.',
      body: 'extension <60> mm on <400> mm',
    },
  ],
  ['takes', { help: 'Hands-on time of the step, without waits.', body: 'takes <15> min' }],
  [
    'after',
    {
      help: 'Steps that must be done first; for the plan, and for what the card names to do during a wait.',
      body: 'after <step>',
    },
  ],
]);

/** Clauses of two words, by the first of them. */
export const spelled: Readonly<Record<string, string>> = {
  in: 'in stages',
  keep: 'keep in',
  by: 'by hand',
  at: 'at holes',
  held: 'held by',
  carried: 'carried by',
  applies: 'applies to',
  code: 'code plate',
};

/** One line of help on any word of the language, as it stands in a statement, declaration, step or head `of`. */
export function helpOf(word: string, of: string | undefined): string | undefined {
  const own = particular[`${of} ${word}`];
  if (own !== undefined) return own;
  if (word === of || !clauseHelp.has(word) || (of === undefined && statementOrHead(word) !== undefined))
    return statementOrHead(word) ?? clauseHelp.get(word)?.help;
  return clauseHelp.get(word)?.help ?? statementOrHead(word);
}

const statementOrHead = (word: string): string | undefined =>
  (
    (statementHelp as Record<string, WordHelp>)[word] ??
    (declarationHelp as Record<string, WordHelp>)[word] ??
    blockHelp[word] ??
    headHelp[word]
  )?.help;

/** Where the same word means another thing. */
const particular: Readonly<Record<string, string>> = {
  'part at': 'Which holes of the pattern, where other parts are in the rest.',
  'part diameter': 'The outside diameter around the bore, for the force to press it on.',
  'part limit': 'The temperature that the part may be heated to.',
  'measure limit': 'The range that the reading must lie in.',
  'transfer to': 'The carrier that it goes to.',
  'transfer from': 'The carrier that it leaves.',
  'shim from': 'The shims at hand.',
  'apply to': 'What it is put on.',
  'try on': 'What it is tried on.',
  'tighten to': 'The torque to reach.',
  'heat to': 'The temperature to reach.',
  'cool to': 'The temperature to reach.',
  'swap for': 'What comes in its place.',
  'press max': 'The force to stay under.',
  'hazard heat': 'It is hot enough to burn.',
  'hazard pressure': 'A fluid or gas in it is under pressure and can escape.',
  'hazard spring': 'It is under spring force and can fly off.',
  'hazard charge': 'It carries current or holds an electric charge.',
  'hazard chemical': 'It harms skin, eyes or lungs.',
  'hazard weight': 'It is heavy enough to crush.',
};

/** `body` for clients that take snippets. */
export function snippetOf(body: string): string {
  let count = 0;
  return body.replace(/<([^<>]*)>/g, (_, words: string) =>
    words === ''
      ? '$0'
      : words.includes('|')
        ? `$\{${++count}|${words.split('|').join(',')}|}`
        : `$\{${++count}:${words}}`,
  );
}
