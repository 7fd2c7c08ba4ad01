import type { DeclarationWord, StatementWord } from '../../../grammar/tokens.ts';

/** What a word of the language does, in one line; `body` is its snippet where it begins something. */
export interface WordHelp {
  readonly help: string;
  readonly body?: string;
}

export const statementHelp: Readonly<Record<StatementWord, WordHelp>> = {
  remove: { help: 'Takes a part off; all that are on where no count stands.', body: 'remove ${1:part}' },
  disconnect: { help: 'Takes a cable, hose or pipe off its connection.', body: 'disconnect ${1:part}' },
  discard: { help: 'Sends a part that is off to scrap; something new must take its place.', body: 'discard ${1:part}' },
  replace: { help: 'Scraps the old part and lays a new one in its place on the bench.', body: 'replace ${1:part}' },
  fit: { help: 'Puts a part back on; `fit new` takes it from stock.', body: 'fit ${1:part}' },
  connect: { help: 'Puts a cable, hose or pipe back on its connection.', body: 'connect ${1:part}' },
  swap: { help: 'Another part takes the place of one that is off.', body: 'swap ${1:old} for ${2:new}' },
  transfer: {
    help: 'Moves what one carrier carries to another; on stays on, off stays off.',
    body: 'transfer ${1:part} from ${2:old-carrier} to ${3:new-carrier}',
  },
  omit: { help: 'Leaves a part off on purpose; the text says why.', body: 'omit ${1:part} "${2:Why it stays off}"' },
  try: { help: 'A trial fit; changes nothing.', body: 'try ${1:part} on ${2:part}' },
  loosen: { help: 'Slackens a fastener that stays on.', body: 'loosen ${1:fastener}' },
  tighten: {
    help: 'Tightens a fastener to its declared torque, or to the one given here.',
    body: 'tighten ${1:fastener}',
  },
  drain: { help: 'Lets a fluid out.', body: 'drain ${1:supply} ${2:1} L' },
  fill: { help: 'Puts a fluid in; a load for whatever is still curing.', body: 'fill ${1:supply} ${2:1} L' },
  apply: {
    help: 'Puts a sealant, grease or locker on a part; its cure runs from here.',
    body: 'apply ${1:supply} to ${2:part}',
  },
  wait: { help: 'Lets time pass, for a cure or for cooling.', body: 'wait ${1:60} min' },
  heat: { help: 'Warms a part so that it slides on; needs a safety message.', body: 'heat ${1:part} to ${2:80} °C' },
  cool: { help: 'Chills a part so that it slides in; needs a safety message.', body: 'cool ${1:part} to ${2:-20} °C' },
  press: { help: 'Mounts a part by force; needs a safety message.', body: 'press ${1:part} max ${2:10} kN' },
  mark: { help: 'Marks how a part sits, so that it goes back as it came off.', body: 'mark ${1:part} "${2:How}"' },
  support: { help: 'Holds a part up; needs a safety message.', body: 'support ${1:part}' },
  clean: { help: 'Makes a face or part clean.', body: 'clean ${1:part}' },
  inspect: { help: 'Looks a part over for a verdict.', body: 'inspect ${1:part} "${2:What to look for}"' },
  measure: {
    help: 'Takes a reading and holds it to its limits.',
    body: 'measure ${1:reading} limit ${2:0.1}..${3:0.3} mm',
  },
  shim: {
    help: 'Chooses a shim stack from a measured gap.',
    body: 'shim ${1:part} gap ${2:reading} endplay ${3:0.05}..${4:0.1} mm from ${5:0.1} mm, ${6:0.2} mm',
  },
  sign: { help: 'A hold point that somebody signs.', body: 'sign "${1:Who signs for what}"' },
  identify: {
    help: 'The code on the unit is read and compared.',
    body: 'identify "${1:Read the code and compare it}"',
  },
  check: { help: 'A function test; in `proving` it loads the unit.', body: 'check "${1:What must hold}"' },
  do: { help: 'Any other single action.', body: 'do "${1:One action}"' },
  danger: {
    help: 'Death or grave injury will follow if this is ignored.',
    body: 'danger "${1:What hurts and how to avoid it}"',
  },
  warning: {
    help: 'Death or grave injury can follow if this is ignored.',
    body: 'warning "${1:What hurts and how to avoid it}"',
  },
  caution: {
    help: 'Slight injury can follow if this is ignored.',
    body: 'caution "${1:What hurts and how to avoid it}"',
  },
  notice: {
    help: 'Damage to things can follow if this is ignored.',
    body: 'notice "${1:What breaks and how to avoid it}"',
  },
};

export const declarationHelp: Readonly<Record<DeclarationWord, WordHelp>> = {
  part: { help: 'Declares a part of the unit.', body: 'part ${1:name} "${2:What it is}"' },
  tool: { help: 'Declares a tool.', body: 'tool ${1:name} "${2:What it is}"' },
  supply: { help: 'Declares a fluid, sealant or grease.', body: 'supply ${1:name} "${2:What it is}" ${3:1} L' },
  pattern: {
    help: 'Declares where the holes of a joint lie.',
    body: 'pattern ${1:name} circle ${2:6} diameter ${3:100} mm',
  },
};

export const blockHelp: Readonly<Record<string, WordHelp>> = {
  either: {
    help: 'Ways to do the same; each is replayed, and all must leave the same state.',
    body: 'either "${1:One way}"\n  $0\nor "${2:Another way}"\nend',
  },
  if: {
    help: 'Statements that hold in one case only; `else` holds in the other.',
    body: 'if "${1:the case}"\n  $0\nend',
  },
  for: { help: 'Statements that hold for some codes only.', body: 'for ${1:code}\n  $0\nend' },
  or: { help: 'Begins the next way of `either`.', body: 'or "${1:Another way}"' },
  else: { help: 'Begins what holds where the case of `if` does not.' },
  end: { help: 'Closes `either`, `if` or `for`.' },
};

export const headHelp: Readonly<Record<string, WordHelp>> = {
  procedure: {
    help: 'Names the procedure; a file without it holds shared declarations.',
    body: 'procedure ${1:name} "${2:What is done to which unit}"',
  },
  use: {
    help: 'Takes the declarations of another file; the path counts from this file.',
    body: 'use "${1:file.fettle}"',
  },
  teardown: { help: 'The unit comes apart.' },
  inspection: { help: 'Parts are cleaned, judged and renewed on the bench.' },
  reassembly: { help: 'The unit goes together.' },
  proving: { help: 'The unit is run and handed over; a `check` here loads it.' },
  step: { help: 'A piece of work with a name.', body: 'step ${1:name} "${2:What is done}" takes ${3:15} min' },
};

/** Clauses, by the word they begin with. */
export const clauseHelp: Readonly<Record<string, WordHelp>> = {
  new: { help: 'The part comes from stock.' },
  applies: { help: 'The codes stamped on the units that this procedure is for.', body: 'applies to ${1:code}' },
  code: { help: 'Where the code stands on the unit.', body: 'code plate "${1:Where}"' },
  measures: { help: 'The system of units of this procedure.', body: 'measures ${1|metric,imperial|}' },
  thread: { help: 'ISO metric (`M8x1.25`, `M8` for coarse) or unified (`1/4-20`) thread.', body: 'thread ${1:M8}' },
  class: { help: 'ISO 898-1 property class.', body: 'class ${1:8.8}' },
  grade: { help: 'SAE J429 grade.', body: 'grade ${1:5}' },
  dry: { help: 'Thread and head face are dry.' },
  oiled: { help: 'Thread and head face are oiled.' },
  threadlock: { help: 'The thread is wetted with thread locker.' },
  length: { help: 'Length of the fastener.', body: 'length ${1:25} mm' },
  torque: { help: 'Torque that the fastener is tightened to.', body: 'torque ${1:25} N·m' },
  then: { help: 'Angle to turn on after the torque.', body: 'then ${1:90}°' },
  holes: { help: 'The pattern that the pieces sit in.', body: 'holes ${1:pattern}' },
  renew: { help: 'Single-use: it is never refitted.' },
  lead: { help: 'Time from order to delivery.', body: 'lead ${1:2} d' },
  held: { help: 'What must come off or be loose before this part comes away.', body: 'held by ${1:part}' },
  behind: { help: 'Reached only once those parts are off.', body: 'behind ${1:part}' },
  carried: { help: 'It sits on that part and comes away with it.', body: 'carried by ${1:part}' },
  index: { help: 'It must go back as it came off; mark it first.' },
  hazard: {
    help: 'What can hurt when it is handled.',
    body: 'hazard ${1|heat,pressure,spring,charge,chemical,weight|}',
  },
  bore: { help: 'Diameter of the bore, with a fit such as `H7/k6` or with `interference`.', body: 'bore ${1:62} mm' },
  interference: { help: 'How much larger the shaft is than the bore.', body: 'interference ${1:10}..${2:45} µm' },
  limit: {
    help: 'The range that a reading must lie in; of a part, the temperature it may be heated to.',
    body: 'limit ${1:0.1}..${2:0.3} mm',
  },
  sealed: { help: 'A sealed bearing: it must stay cooler when heated.' },
  greased: { help: 'A bearing filled with grease: it must stay cooler when heated.' },
  number: { help: 'A marking to match at a supplier.', body: 'number "${1:marking}"' },
  range: { help: 'What a torque wrench reaches.', body: 'range ${1:5}..${2:100} N·m' },
  spec: { help: 'What to ask for.', body: 'spec "${1:specification}"' },
  cure: { help: 'Time until it may be loaded.', body: 'cure ${1:60} min' },
  circle: { help: 'Holes on a circle, hole 1 at 12 o’clock, clockwise.', body: 'circle ${1:6} diameter ${2:100} mm' },
  angles: { help: 'The angle of each hole, where they are not spaced alike.', body: 'angles ${1:0°, 90°, 180°, 270°}' },
  diameter: { help: 'Diameter of the circle of holes.', body: 'diameter ${1:100} mm' },
  points: { help: 'Holes at points, x and y.', body: 'points ${1:(0, 0) (60, 0)} mm' },
  to: { help: 'The value to reach.', body: 'to ${1:25} N·m' },
  in: { help: 'Torques of the passes, rising to the last.', body: 'in stages ${1:12} N·m, ${2:25} N·m' },
  order: { help: 'The order of the holes within one pass.', body: 'order ${1|star,spiral|}' },
  star: { help: 'From side to side across the joint.' },
  spiral: { help: 'From the middle outwards.' },
  at: { help: 'The holes meant, by number.', body: 'at holes ${1:1, 2}' },
  by: { help: 'Snug only; still to be torqued.', body: 'by hand' },
  spoiled: { help: 'Removal damages it: it cannot go back.' },
  with: { help: 'These parts stay on it: one assembly.', body: 'with ${1:part}' },
  for: { help: 'What it takes the place of.', body: 'for ${1:part}' },
  from: { help: 'The carrier it leaves; of `shim`, the shims at hand.', body: 'from ${1:part}' },
  on: { help: 'What it is tried on; of an adapter, the length of the wrench.', body: 'on ${1:part}' },
  max: { help: 'At most.', body: 'max ${1:10} kN' },
  min: { help: 'At least.', body: 'min ${1:4} mm' },
  gap: { help: 'The reading that the stack has to fill.', body: 'gap ${1:reading}' },
  endplay: { help: 'The play to leave: it is taken from the gap.', body: 'endplay ${1:0.05}..${2:0.1} mm' },
  preload: { help: 'The preload to reach: it is added to the gap.', body: 'preload ${1:0.02}..${2:0.05} mm' },
  keep: { help: 'Where the piece is kept meanwhile.', body: 'keep in "${1:tray}"' },
  see: { help: 'A figure or page to look at.', body: 'see "${1:Fig. 1}"' },
  using: { help: 'Tools for this statement.', body: 'using ${1:tool}' },
  extension: {
    help: 'An adapter on the torque wrench; the setting is computed.',
    body: 'extension ${1:60} mm on ${2:400} mm',
  },
  takes: { help: 'Hands-on time of the step, without waits.', body: 'takes ${1:15} min' },
  after: { help: 'Steps that must be done first; for the plan.', body: 'after ${1:step}' },
};

/** One line of help on any word of the language, as it stands in a statement, declaration, step or head `of`. */
export function helpOf(word: string, of: string | undefined): string | undefined {
  if (word === of || clauseHelp[word] === undefined || (of === undefined && statementOrHead(word) !== undefined))
    return statementOrHead(word) ?? clauseHelp[word]?.help;
  return particular[`${of} ${word}`] ?? clauseHelp[word]?.help ?? statementOrHead(word);
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
  'part limit': 'The temperature that the part may be heated to.',
  'measure limit': 'The range that the reading must lie in.',
  'transfer to': 'The carrier that it goes to.',
  'transfer from': 'The carrier that it leaves.',
  'shim from': 'The shims at hand.',
  'apply to': 'What it is put on.',
  'procedure to': 'The codes follow.',
  'try on': 'What it is tried on.',
  'tighten to': 'The torque to reach.',
  'heat to': 'The temperature to reach.',
  'cool to': 'The temperature to reach.',
  'swap for': 'What comes in its place.',
  'press max': 'The force to stay under.',
};
