import type { Declaration, Name, Quantity, Statement } from '../../../grammar/syntax.ts';
import { lastTorque, reachesTurn } from '../checks/torques.ts';
import { parsePipeThread, parseThread } from '../mechanics/index.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { statementsIn, statementsOf } from '../model/statements.ts';
import { headOf, limitsOf, readingTitle, sizeOf, spoken, strengthOf, torqueWords } from './amounts.ts';
import type { Bench } from './card-bench.ts';
import { onOneLine, own, withFigures } from './directed-text.ts';
import { type Content, html, joined } from './html.ts';

/** A statement as an imperative sentence, without its text and clauses. */
export function sentence(bench: Bench, statement: Statement): Content {
  const { kind } = statement;
  const part = statement.name?.text;
  if (part === undefined) return nameless[kind] ?? kind;
  const name = bench.named(part);
  const times = bench.times(statement, part);
  switch (kind) {
    case 'remove':
      return [
        html`Remove ${name}${times}`,
        together(bench, statement),
        statement.spoiled !== undefined && '. Removal spoils it: it must not go back',
      ];
    case 'fit':
      return [
        html`Fit ${statement.fresh !== undefined && html`<b>new</b> `}${name}${times}`,
        size(bench, part, statement.fresh !== undefined),
        inHoles(bench.holesFor(statement), 'in'),
        together(bench, statement),
      ];
    case 'disconnect':
      return html`Disconnect ${name}${times}`;
    case 'connect':
      return html`Connect ${name}${times}`;
    case 'discard':
      return html`Discard ${name}${times}`;
    case 'replace':
      return html`Replace ${name}${times}: scrap the old, lay a new one ready`;
    case 'swap':
      return html`Take ${targets(bench, statement)} in place of ${name}. Scrap the old one`;
    case 'transfer':
      return html`Move ${name}${times}${statement.source !== undefined && html` from ${bench.named(statement.source.text)}`} to ${targets(bench, statement)}`;
    case 'omit':
      return html`Leave ${name}${times} off, on purpose`;
    case 'try':
      return html`Try ${name} on ${targets(bench, statement)}: trial fit only`;
    case 'loosen':
      return html`Loosen ${name}${times}${comingOff(bench.model).has(statement) && '. Do not remove yet'}`;
    case 'tighten':
      return tightening(bench, statement, bench.model.parts.get(part));
    case 'drain':
    case 'fill': {
      const amount = statement.amount ?? bench.model.supplies.get(part)?.amount;
      return [
        html`${kind === 'drain' ? 'Drain' : 'Fill'} ${name}`,
        amount !== undefined && html`: <b class="value">${spoken(amount)}</b>`,
      ];
    }
    case 'apply':
      return [html`Apply ${name}`, html` to ${targets(bench, statement)}`];
    case 'heat':
    case 'cool':
      return html`${kind === 'heat' ? 'Heat' : 'Cool'} ${ofStock(bench, statement)}${name}${times}${statement.to !== undefined && html` to <b class="value">${spoken(statement.to)}</b>`}`;
    case 'press':
      return html`Press ${ofStock(bench, statement)}${name}${times}${statement.max !== undefined && html`, at most <b class="value">${spoken(statement.max)}</b>`}`;
    case 'mark':
      return html`Mark ${name}${times}`;
    case 'support':
      return html`Support ${name}${times}`;
    case 'clean':
      return html`Clean ${name}${times}`;
    case 'inspect':
      return html`Inspect ${name}${times}`;
    case 'measure':
      return html`Measure <b>${own(readingTitle(part))}</b>${limitsOf(statement) !== '' && html`<b class="value">${limitsOf(statement)}</b>`}`;
    case 'shim':
      return [
        html`Choose the shims for ${name}`,
        statement.aim !== undefined &&
          html`: ${statement.aim.kind === 'endplay' ? 'end play' : 'preload'} <b class="value">${statement.aim.quantity === undefined ? '?' : spoken(statement.aim.quantity)}</b>`,
      ];
    default:
      return html`${nameless[kind] ?? kind} ${name}`;
  }
}

/** What loosens a part that is then removed, with no tightening in between. */
const comingOff = noted((model: Model): ReadonlySet<Statement> => {
  const loosened = new Map<string, Statement[]>();
  const found = new Set<Statement>();
  for (const statement of model.steps.flatMap(({ step }) => statementsIn(step))) {
    const { kind, name } = statement;
    if (name === undefined) continue;
    if (kind === 'loosen') addTo(loosened, name.text, statement);
    else if (kind === 'tighten') loosened.delete(name.text);
    else if (kind === 'remove') for (const each of loosened.get(name.text) ?? []) found.add(each);
  }
  return found;
});

/** What heats, cools or presses a part that is then fitted new: the old one is not meant. */
const readiesNew = noted((model: Model): ReadonlySet<Statement> => {
  const ready = new Map<string, Statement[]>();
  const found = new Set<Statement>();
  for (const statement of model.steps.flatMap(({ step }) => statementsIn(step))) {
    const { kind, name, fresh } = statement;
    if (name === undefined) continue;
    if (kind === 'heat' || kind === 'cool' || kind === 'press') addTo(ready, name.text, statement);
    else if (moves.has(kind)) {
      if (fresh !== undefined) for (const each of ready.get(name.text) ?? []) found.add(each);
      ready.delete(name.text);
    }
  }
  return found;
});
const moves: ReadonlySet<string> = new Set(['remove', 'discard', 'replace', 'fit', 'swap']);

const ofStock = (bench: Bench, statement: Statement): Content =>
  readiesNew(bench.model).has(statement) && html`<b>new</b> `;

const nameless: Readonly<Record<string, string>> = {
  wait: 'Wait',
  sign: 'Sign',
  identify: 'Identify the unit',
  check: 'Check',
  do: '',
};

function tightening(bench: Bench, statement: Statement, part: Declaration | undefined): Content {
  const name = statement.name!.text;
  const times = bench.times(statement, name);
  const where = inHoles(
    (statement.holes ?? []).map(({ value }) => value),
    'at',
  );
  if (statement.byHand !== undefined)
    return html`Tighten ${bench.named(name)}${times}${where} <b>by hand</b>. Torque follows`;
  const torque = lastTorque(statement) ?? part?.torque;
  const angle = angleOf(bench, statement, part);
  const words = torqueWords(
    [...(statement.stages ?? []), ...(torque === undefined ? [] : [torque])],
    part?.torque,
    bench.model.measures,
  );
  return [
    html`Tighten ${bench.named(name)}${times}${where}`,
    torque === undefined
      ? '. No torque is stated: ask for the maker’s figure'
      : html` to <b class="value">${words.stated(torque)}</b>`,
    angle !== undefined && html`, then turn <b class="value">${spoken(angle)}</b> further`,
  ];
}

/** ` at holes 1, 3`, or nothing where none is named. */
const inHoles = (holes: readonly number[], preposition: 'at' | 'in'): Content =>
  holes.length > 0 && ` ${preposition} ${holes.length === 1 ? 'hole' : 'holes'} ${holes.join(', ')}`;

/** The angle to turn on: stated, or declared for the torque that the statement ends with and left to no later pass. */
export function angleOf(bench: Bench, statement: Statement, part: Declaration | undefined): Quantity | undefined {
  if (statement.angle !== undefined || !reachesTurn(statement, part)) return statement.angle;
  for (let pass = bench.nextPass(statement); pass !== undefined; pass = bench.nextPass(pass))
    if (reachesTurn(pass, part)) return undefined;
  return part?.angle;
}

const targets = (bench: Bench, { targets = [] }: Statement): Content =>
  targets.length === 0
    ? '…'
    : joined(
        targets.map(({ text }) => bench.named(text)),
        ', ',
      );

function together(bench: Bench, statement: Statement): Content {
  const riders = statement.together ?? [];
  if (riders.length === 0) return '';
  const said = riders.map(
    ({ name, count }): Content => html`${bench.named(name.text)}${bench.times(statement, name.text, count?.value)}`,
  );
  return html` as one assembly with ${joined(said, ', ')}`;
}

/** Of a new one its strength, too: a weaker bolt fits the same hole. */
function size(bench: Bench, name: string, fresh: boolean): Content {
  const part = bench.model.parts.get(name);
  const said = [sizeOf(part), ...(fresh ? [strengthOf(part), headOf(part)] : [])].filter((each) => each !== undefined);
  return said.length > 0 && html` (${joined(said.map(onOneLine), ', ')})`;
}

/** What stands below the sentence: tools, place, figure, and what the declarations say about the work. */
export function clauses(bench: Bench, statement: Statement): Content[] {
  const { kind, using = [], keep, see, extension } = statement;
  const part = bench.model.parts.get(statement.name?.text ?? '');
  const supply = bench.model.supplies.get(statement.name?.text ?? '');
  const tools = using.map(({ text }: Name): Content => html`<b>${own(bench.title(text))}</b>`);
  return [
    tools.length > 0 && html`Use ${joined(tools, ', ')}`,
    extension?.length !== undefined &&
      withFigures(
        `Adapter ${spoken(extension.length)}${extension.on === undefined ? '' : ` on a wrench of ${spoken(extension.on)}`}${extension.at === undefined ? '' : ` at ${spoken(extension.at)}`}`,
      ),
    kind === 'tighten' && part !== undefined && statement.byHand === undefined && threadOf(part),
    part !== undefined && handOf(statement, part),
    kind === 'fit' && part?.number !== undefined && html`Marking <b>${own(part.number.value)}</b>`,
    kind === 'fit' && statement.name !== undefined && toPutOn(bench.model, statement.name.text),
    kind === 'fit' && statement.fresh === undefined && part?.index !== undefined && 'As it came off: heed the mark',
    kind === 'heat' && part?.limit !== undefined && withFigures(`Never over ${spoken(part.limit)}`),
    (kind === 'apply' || kind === 'fill') && supply?.spec !== undefined && own(supply.spec.value),
    kind === 'apply' &&
      supply?.cure !== undefined &&
      withFigures(`Cures ${spoken(supply.cure)}: no filling or load before`),
    keep !== undefined && html`Keep in <b>${own(keep.value)}</b>`,
    see !== undefined && html`See ${own(see.value)}`,
  ].filter((clause) => clause !== false);
}

const onThread: Readonly<Record<string, string>> = {
  paste: 'anti-seize paste on the thread',
  threadlock: 'thread lock on the thread',
};

const putOn: Readonly<Record<string, string>> = {
  oiled: 'Oil on the thread',
  dry: 'Thread dry, without oil',
  paste: 'Anti-seize paste on the thread',
  threadlock: 'Thread lock on the thread',
};

/** What belongs on the thread before it is turned in; nothing where a line of its own says what goes on. */
function toPutOn(model: Model, name: string): Content {
  const condition = model.parts.get(name)?.condition?.text;
  return condition !== undefined && !appliedTo(model).has(name) && (putOn[condition] ?? false);
}

/** Parts that something is applied to. */
const appliedTo = noted(
  (model: Model): ReadonlySet<string> =>
    new Set(statementsOf(model, 'apply').flatMap(({ targets = [] }) => targets.map(({ text }) => text))),
);

function threadOf(part: Declaration): Content {
  const condition = part.condition?.text;
  const strength = strengthOf(part);
  const said: Content[] = [
    ...(part.thread === undefined ? [] : [part.thread.text]),
    ...(strength === undefined ? [] : [onOneLine(strength)]),
    ...(condition === undefined ? [] : [onThread[condition] ?? `${condition} thread`]),
    ...(part.prevailing === undefined ? [] : [`locking: turns with ${spoken(part.prevailing)} before it clamps`]),
  ];
  return said.length > 0 && joined(said, ', ');
}

/** Verbs that turn a thread. */
const turning: Readonly<Record<string, 'loose' | 'tight'>> = {
  loosen: 'loose',
  remove: 'loose',
  disconnect: 'loose',
  fit: 'tight',
  connect: 'tight',
  tighten: 'tight',
};

/** Who takes a left-hand thread for any other tightens what should come loose, until it shears. */
function handOf({ kind }: Statement, { thread }: Declaration): Content {
  const turned = turning[kind];
  if (
    turned === undefined ||
    thread === undefined ||
    !(parseThread(thread.text) ?? parsePipeThread(thread.text))?.leftHand
  )
    return false;
  return html`<b>Left-hand thread:</b> turn ${turned === 'loose' ? 'clockwise to loosen' : 'anticlockwise to tighten'}`;
}
