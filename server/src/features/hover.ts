import type { Hover, HoverParams } from 'vscode-languageserver';
import { read } from '../../../grammar/heads.ts';
import {
  type Chunk,
  type Count,
  contains,
  type Declaration,
  type Head,
  type Name,
  type Quantity,
  type Span,
  type Statement,
  type Step,
  spanText,
  type Use,
  walk,
} from '../../../grammar/syntax.ts';
import { endOf } from '../../../grammar/tokens.ts';
import { checkOf } from '../checks/all.ts';
import type { Settings } from '../checks/check.ts';
import { angleUse, fastenerOf } from '../checks/fastening.ts';
import { hazardousIn, messageByHazard } from '../checks/hazards.ts';
import { lastTorque } from '../checks/torques.ts';
import { joinedInShort } from '../checks/wording.ts';
import { type Action, stateBefore, toldApart, type Variant } from '../ledger/ledger.ts';
import { describe, missing } from '../ledger/state.ts';
import { type PipeThread, parsePipeThread } from '../mechanics/pipe-threads.ts';
import { isStainless, KSI } from '../mechanics/strength.ts';
import { INCH, threadGeometry } from '../mechanics/threads.ts';
import { bearingFace } from '../mechanics/torque.ts';
import { wrenchTolerance } from '../mechanics/wrench.ts';
import { isDeclaration } from '../model/mentions.ts';
import { countOf, type Model } from '../model/model.ts';
import { extentOf, figure, fromSI, say, sayForce, unitsOfKind, written, writtenIn } from '../model/quantity.ts';
import { referencesOf } from '../model/references.ts';
import { statsOf, statsRows } from '../outputs/stats.ts';
import { counted } from '../outputs/wording.ts';
import type { ShownUnits } from '../settings.ts';
import type { Snapshot } from '../snapshot.ts';
import { chunksAt, type Naming, namingAt, spansAt, statementAt } from './at.ts';
import { factsOf, names, quantityWithOther } from './declared-facts.ts';
import { feature } from './feature.ts';
import { fitFacts } from './fit-facts.ts';
import { escaped, lineLink, markup } from './markdown.ts';
import { moveOf } from './moves.ts';
import { tallyOf } from './tally.ts';
import { helpOf, spelled } from './words.ts';

interface Said {
  readonly lines: readonly string[];
  readonly span: Span;
}

/** Help on what stands at `offset`, in Markdown. */
export function hoverAt(snapshot: Snapshot, offset: number, units: ShownUnits = 'asWritten'): Said | undefined {
  const naming = namingAt(snapshot, offset);
  if (naming !== undefined && naming.definition !== undefined) {
    const lines = aboutName(snapshot, naming, offset, units);
    if (lines.length > 0) return { lines, span: naming.name };
  }
  for (const { chunk, at } of chunksAt(snapshot, offset)) {
    const { item } = chunk;
    if (item?.kind === 'use' && item.path !== undefined && contains(item.path, at)) {
      const lines = aboutUse(snapshot, item);
      if (lines.length > 0) return { lines, span: item.path };
    }
    if (item?.kind === 'procedure' && item.name !== undefined && contains(item.name, at))
      return { lines: aboutProcedure(snapshot, item, item.name), span: item.name };
    const check = checkAt(chunk, at);
    if (check !== undefined) return check;
    if (item?.kind === 'part') {
      const span = [item.thread, item.propertyClass, item.grade, item.head].find((each) => each && contains(each, at));
      const lines = span === undefined ? [] : aboutThread(item, snapshot.settings);
      if (lines.length > 0) return { lines, span: span! };
      const fit = item.fit !== undefined && contains(item.fit, at) ? fitFacts(item.bore, item.fit.text) : [];
      if (fit.length > 0) return { lines: fit, span: item.fit! };
    }
    const said = hazardAt(snapshot, chunk, at) ?? countAt(snapshot, chunk, at, offset);
    if (said !== undefined) return said;
    const quantity = quantityAt(chunk, at);
    const lines =
      quantity === undefined ? [] : [...aboutQuantity(quantity), ...aboutAngle(snapshot, chunk, at, quantity)];
    if (lines.length > 0) return { lines, span: quantity! };
    const word = keywordAt(chunk, at);
    if (word !== undefined) return { lines: [`\`${spanText(word.span)}\` – ${word.help}`], span: word.span };
  }
  return undefined;
}

/** What is told of a procedure as a whole; its findings stand in the list of problems. */
const toldOfWhole: ReadonlySet<string> = new Set(['parts', 'fasteners', 'steps', 'safety messages', 'time']);

function aboutProcedure({ model, judged }: Snapshot, { title }: Head, name: Name): string[] {
  return [
    `**${name.text}**${title === undefined ? '' : ` – ${escaped(title.value)}`}`,
    ...(model.codes.length === 0 ? [] : [`- for ${model.codes.map(escaped).join(', ')}`]),
    ...statsRows(statsOf(model, judged))
      .filter(([label]) => toldOfWhole.has(label))
      .map(([label, words]) => `- ${label}: ${words}`),
  ];
}

/** What a `use` in a phase takes in, step by step. */
function aboutUse(snapshot: Snapshot, use: Use): string[] {
  const sequence = snapshot.model.sequences.get(use);
  if (sequence === undefined || sequence.steps.length === 0) return [];
  const { phase, steps } = sequence;
  return [
    `**${counted(steps.length, 'step')}** for \`${phase}\` from \`${escaped(use.path!.value)}\`, and its declarations`,
    ...steps.map(({ step }) => {
      const name = step.name === undefined ? 'statements in no step' : `\`${step.name.text}\``;
      const title = step.title === undefined ? '' : ` ${escaped(step.title.value)}`;
      return `- ${lineLink(snapshot, step.keyword ?? step)}: ${name}${title}`;
    }),
  ];
}

/** The check that a `fettle-allow` names. */
function checkAt(chunk: Chunk, at: number): Said | undefined {
  const comment = chunk.comments.find((each) => contains(each, at));
  const named = /^(#\s*fettle-allow\s+)([a-z-]+)/.exec(comment?.text ?? '');
  const check = checkOf(named?.[2] ?? '');
  if (check === undefined) return undefined;
  const start = comment!.start + named![1]!.length;
  const span = { chunk, start, end: start + check.code.length };
  return contains(span, at) ? { lines: [`\`${check.code}\` – Fires when ${check.fires}`], span } : undefined;
}

/** What the thread of a part is, and the load that its class or grade proves. */
function aboutThread(part: Declaration, settings: Settings): string[] {
  const pipe = parsePipeThread(part.thread?.text ?? '');
  if (pipe !== undefined) return aboutPipeThread(pipe);
  const { thread, strength, loads, head } = fastenerOf(part, settings);
  const geometry = thread && threadGeometry(thread);
  if (thread === undefined || geometry === undefined) return [];
  const { designation, leftHand, system, series, pitch } = thread;
  const step = `pitch ${figure(pitch, 4)} mm`;
  const metric = system === 'metric';
  const { propertyClass, grade } = part;
  const named = propertyClass === undefined ? `grade ${grade?.image}` : `class ${propertyClass.image}`;
  const load = isStainless(propertyClass?.image ?? '') ? 'load at its 0.2 % proof strength' : 'proof load';
  const proof = strength?.covered ? loads?.proof : undefined;
  const face = part.head === undefined ? undefined : bearingFace(thread, head);
  return [
    `**${designation}** ${metric ? 'ISO metric' : 'unified'} thread${series === undefined ? '' : `, ${series}`}${leftHand ? ', left-hand: turned clockwise it comes loose' : ''}`,
    `- ${metric ? step : `${figure(INCH / pitch, 4)} threads per inch (${step})`}, stress area ${figure(geometry.stressArea, 3)} mm²`,
    ...(proof === undefined
      ? []
      : [
          `- ${named}: ${load} ${metric ? `${figure(proof / 1000, 3)} kN` : `${figure((1000 * proof) / KSI / INCH ** 2, 3)} lbf`}`,
        ]),
    ...(face === undefined
      ? []
      : [
          `- ${head} head: bears on ${figure(face.outer, 3)} mm over a hole of ${figure(face.hole, 3)} mm, so that friction acts at ${figure(face.mean, 3)} mm`,
        ]),
  ];
}

function aboutPipeThread({
  standard,
  designation,
  tapered,
  leftHand,
  diameter,
  perInch,
  listed,
}: PipeThread): string[] {
  if (!listed || diameter === undefined) return [];
  const seal = tapered
    ? 'tapered: it seals in the thread'
    : standard === 'ISO 7-1'
      ? 'parallel, for a tapered R thread'
      : 'parallel: a washer or ring seals it';
  const size = `${figure(diameter, 5)} mm ${standard.startsWith('ISO') ? 'over the thread' : 'outside the pipe'}`;
  return [
    `**${designation}** pipe thread of ${standard}, ${seal}${leftHand ? '; left-hand: turned clockwise it comes loose' : ''}`,
    `- ${size}, ${figure(perInch!, 3)} threads per inch; no class of bolts covers it, the torque is the maker's`,
  ];
}

/** The word behind `hazard`: what it asks of the steps, and which of them do it. */
function hazardAt(snapshot: Snapshot, { item }: Chunk, at: number): Said | undefined {
  if (!isDeclaration(item)) return undefined;
  const span = item.hazards.find((each) => contains(each, at));
  const { name, kind } = item;
  if (span === undefined || name === undefined) return undefined;
  const message = messageByHazard[span.text];
  if (message === undefined) return undefined;
  const { model } = snapshot;
  const places = (isWarned: boolean): string =>
    model.steps
      .flatMap(({ step }) =>
        hazardousIn(model, step)
          .filter(({ warnedBefore }) => warnedBefore === isWarned)
          .filter(({ statement }) =>
            referencesOf(statement).some((each) => each.kind === kind && each.name.text === name.text),
          )
          .map(({ statement }) => `${lineLink(snapshot, statement)}${stepName(step)}`),
      )
      .join('; ');
  const bare = places(false);
  const warned = places(true);
  return {
    lines: [
      `\`${span.text}\` – what can hurt about \`${name.text}\`: a safety message stands above the work in each step that works on it.`,
      `- such as: ${escaped(message)}`,
      ...(bare === '' ? [] : [`- worked on without one: ${bare}`]),
      ...(warned === '' ? [] : [`- warned of: ${warned}`]),
    ],
    span,
  };
}

/** `x4`: of how many, and where the pieces are. */
function countAt(snapshot: Snapshot, { item, strayStep }: Chunk, at: number, offset: number): Said | undefined {
  const isHere = (each: { readonly count?: Count | undefined }): boolean =>
    each.count !== undefined && contains(each.count, at);
  if (isDeclaration(item) && isHere(item) && item.name !== undefined) {
    const states = item.kind === 'part' ? whereabouts(snapshot, item.name.text, offset) : [];
    return {
      lines: [`\`x${item.count!.value}\` – how many of \`${item.name.text}\` there are`, ...states],
      span: item.count!,
    };
  }
  for (const span of [...spansAt(item, at), ...spansAt(strayStep, at)]) {
    if (!('keyword' in span && 'broken' in span)) continue;
    const statement = span as Statement;
    const shim = statement.stock?.find(isHere);
    if (shim !== undefined) {
      const { count, thickness } = shim;
      return { lines: [`\`x${count!.value}\` – shims of ${escaped(written(thickness))} at hand`], span: count! };
    }
    const one = isHere(statement) ? statement : statement.together?.find(isHere);
    const part = one?.name && snapshot.model.parts.get(one.name.text);
    if (part === undefined) continue;
    const { text } = one!.name!;
    return {
      lines: [
        `\`x${one!.count!.value}\` – of ${countOf(part)} \`${text}\` in all`,
        ...whereabouts(snapshot, text, offset),
      ],
      span: one!.count!,
    };
  }
  return undefined;
}

/** Where the pieces of a part are right before the place of the cursor, for each code for which they are elsewhere. */
function whereabouts(snapshot: Snapshot, part: string, offset: number): string[] {
  const variants = toldApart(snapshot.ledger.variants);
  const states = variants.map((variant) => here(snapshot, variant, part, offset));
  return states.every((state) => state === states[0])
    ? states.slice(0, 1).flatMap((state) => (state === '' ? [] : [`- ${state}`]))
    : variants.map((variant) => `- ${here(snapshot, variant, part, offset, variant.code)}`);
}

function quantityAt(chunk: Chunk, at: number): Quantity | undefined {
  return [...spansAt(chunk.item, at), ...spansAt(chunk.strayStep, at)].find(
    (span): span is Quantity => 'form' in span && 'numbers' in span && contains(span, at),
  );
}

/** The quantity in the other units of its kind. */
function aboutQuantity(quantity: Quantity): string[] {
  const unit = quantity.inUnit;
  if (unit === undefined) return [];
  const others = unitsOfKind(unit.kind).flatMap((other) => {
    const text = other === unit ? undefined : writtenIn(quantity, other, 4);
    const least = unit.system === 'neutral' ? 1 : unit.system === other.system ? 0.01 : 0.0001;
    return text === undefined || !readable(text, least) ? [] : [text];
  });
  return [`**${escaped(written(quantity))}** ${unit.kind}`, ...others.map((text) => `- ${escaped(text)}`)];
}

/** What an angle behind a torque does to the bolt. */
function aboutAngle({ model, settings }: Snapshot, chunk: Chunk, at: number, angle: Quantity): string[] {
  const owner = [...spansAt(chunk.item, at), ...spansAt(chunk.strayStep, at)].find(
    (span): span is Declaration | Statement => 'angle' in span && span.angle === angle,
  );
  const part = model.parts.get(owner?.name?.text ?? '');
  const turned = part && angleUse(part, angle, settings);
  if (turned === undefined) return [];
  const { travel, clamp } = turned;
  const torque = owner?.kind === 'part' ? owner.torque : (owner as Statement).to;
  const force = (newton: number): string => sayForce(newton, torque ?? angle);
  const { loads } = fastenerOf(part!, settings);
  return [
    `- travel of the thread: ${figure(travel)} mm`,
    ...(clamp === undefined
      ? []
      : [
          `- clamp load gained: about ${force(clamp)} while nothing yields${loads === undefined ? '' : ` (the bolt yields at ${force(loads.yield)})`}, an estimate: all of steel, threaded up to the head, one diameter of the length in the thread`,
        ]),
  ];
}

/** Figures that a person would not write help nobody: 86400 s of a day, 0.014 d of 20 min, 0.0000012 m. */
const readable = (text: string, least: number): boolean =>
  [...text.matchAll(/[0-9]+(?:\.[0-9]+)?/g)].every(
    ([digits]) => Number(digits) === 0 || (Number(digits) >= least && Number(digits) < 10_000),
  );

/** Words that make one clause are told of together. */
function keywordAt(chunk: Chunk, at: number): { span: Span; help: string } | undefined {
  const { tokens, heads } = read(chunk.text);
  const index = tokens.findIndex(
    (token) => token.startOffset <= at && at <= endOf(token) && token.tokenType.name === token.image,
  );
  const token = tokens[index];
  if (token === undefined) return undefined;
  const pair = [index - 1, index].find((each) => {
    const [first, second] = [tokens[each]?.image, tokens[each + 1]?.image];
    return first !== undefined && Object.hasOwn(spelled, first) && spelled[first] === `${first} ${second}`;
  });
  const [first, last] = pair === undefined ? [token, token] : [tokens[pair]!, tokens[pair + 1]!];
  const head = heads.findLast((h) => h <= index);
  const help = helpOf(first.image, head === undefined ? undefined : tokens[head]!.image);
  return help === undefined ? undefined : { span: { chunk, start: first.startOffset, end: endOf(last) }, help };
}

// --- names ------------------------------------------------------------------------------------------------------------

function aboutName(snapshot: Snapshot, naming: Naming, offset: number, units: ShownUnits): string[] {
  const { definition, kind } = naming;
  switch (kind) {
    case 'part':
      return aboutPart(snapshot, definition as Declaration, offset, units);
    case 'tool':
    case 'supply':
    case 'pattern':
      return aboutDeclaration(snapshot, definition as Declaration, units);
    case 'step':
      return aboutStep(snapshot, definition as Step);
    case 'reading':
      return aboutReading(snapshot, definition as Statement, units);
    case 'code':
      return aboutCode(snapshot, naming.name.text);
  }
}

const heading = (declaration: Declaration): string => {
  const { name, kind, count, title } = declaration;
  const many = count === undefined ? '' : ` ×${count.value}`;
  return `**${escaped(name?.text ?? '')}**${many} ${title === undefined ? kind : `– ${escaped(title.value)}`}`;
};

const stepName = (step: Step): string => (step.name === undefined ? '' : `, step \`${step.name.text}\``);

/** What the replay did with a part, statement by statement. */
function lifeOf(snapshot: Snapshot, variant: Variant, part: string): string[] {
  const whole = countOf(snapshot.model.parts.get(part));
  const lines: string[] = [];
  for (const { role, actions, statement, step } of variant.entries) {
    if (role !== 'statement') continue;
    for (const action of actions) {
      if (action.part !== part || action.verb === 'mark') continue;
      lines.push(
        `- ${lineLink(snapshot, statement)}${stepName(step.step)}: ${moveOf(action, whole)}${orderWords(statement, action)}`,
      );
    }
  }
  return lines;
}

function orderWords(statement: Statement, action: Action): string {
  if (action.verb !== 'tighten') return '';
  const torque = lastTorque(statement);
  return torque === undefined ? '' : ` to ${escaped(written(torque))}`;
}

function aboutPart(snapshot: Snapshot, declaration: Declaration, offset: number, units: ShownUnits): string[] {
  const part = declaration.name!.text;
  const lines = [heading(declaration), ...factsOf(declaration, units).map((fact) => `- ${fact}`)];
  const variants = toldApart(snapshot.ledger.variants);
  const lives = variants.map((variant) => lifeOf(snapshot, variant, part));
  const alike = lives.every((life) => life.join('\n') === lives[0]!.join('\n'));
  variants.forEach((variant, v) => {
    if (alike && v > 0) return;
    const life = lives[v]!;
    const final = variant.final.get(part);
    const code = alike ? undefined : variant.code;
    lines.push('');
    if (life.length === 0) {
      const of = code === undefined ? '' : `for ${escaped(code)}: `;
      lines.push(`${of}${final?.stock === true ? 'in stock, never fitted' : 'no step touches it'}`);
      return;
    }
    lines.push(here(snapshot, variant, part, offset, code), ...life);
    if (final !== undefined && missing(final) + final.stranded > 0) lines.push(`- at the end: **${describe(final)}**`);
  });
  return lines;
}

/** The state of the part right before the place of the cursor; `code` is named where others have another. */
function here(snapshot: Snapshot, variant: Variant, part: string, offset: number, code?: string): string {
  const [place] = chunksAt(snapshot, offset);
  const statement = place === undefined ? undefined : statementAt(place.chunk, place.at);
  const index = variant.entries.findIndex((each) => each.statement === statement && each.role === 'statement');
  const state = index < 0 ? variant.initial.get(part) : stateBefore(variant, part, index);
  if (state === undefined) return '';
  const when =
    code === undefined
      ? index < 0
        ? 'At the start'
        : 'Here'
      : `for ${escaped(code)}, ${index < 0 ? 'at the start' : 'here'}`;
  return `${when}: ${describe(state)}`;
}

function usesOf(snapshot: Snapshot, model: Model, declaration: Declaration): string[] {
  const spans = model.references.to(declaration).filter((name) => snapshot.isOwn(name));
  if (spans.length === 0) return ['- used nowhere in this file'];
  const lines = [...new Set(spans.map((span) => lineLink(snapshot, span)))];
  const shown = lines.slice(0, 8).join(', ');
  return [`- used at ${shown}${lines.length > 8 ? ` and ${lines.length - 8} more places` : ''}`];
}

function aboutDeclaration(snapshot: Snapshot, declaration: Declaration, units: ShownUnits): string[] {
  return [
    heading(declaration),
    ...factsOf(declaration, units).map((fact) => `- ${fact}`),
    ...aboutWrench(declaration),
    ...usesOf(snapshot, snapshot.model, declaration),
  ];
}

/** How far a torque wrench may be out. */
function aboutWrench({ range }: Declaration): string[] {
  const extent = extentOf(range);
  const tolerance = extent?.kind === 'torque' ? wrenchTolerance(extent.high) : undefined;
  if (tolerance === undefined) return [];
  const unit = range!.inUnit!;
  const fifth = say(fromSI(extent!.high / 5, unit), unit);
  return [`- may read ±${figure(tolerance * 100)} % out by ISO 6789:2003, tested from ${fifth} up`];
}

function aboutStep(snapshot: Snapshot, step: Step): string[] {
  const entry = snapshot.model.steps.find((each) => each.step === step);
  const { off, back } = entry === undefined ? { off: 0, back: 0 } : tallyOf(snapshot.ledger, entry);
  return [
    `**${escaped(step.name?.text ?? '')}**${step.title === undefined ? '' : ` – ${escaped(step.title.value)}`}`,
    ...(entry?.phase === undefined ? [] : [`- ${entry.phase}, ${lineLink(snapshot, step.name ?? step)}`]),
    ...(step.takes === undefined ? [] : [`- takes ${quantityWithOther(step.takes, 'asWritten')}`]),
    ...(step.after.length === 0 ? [] : [`- after ${names(step.after)}`]),
    `- ${off} off, ${back} back`,
  ];
}

function aboutReading(snapshot: Snapshot, statement: Statement, units: ShownUnits): string[] {
  const { name, limit, min, max, text } = statement;
  const uses = snapshot.model.references.to(statement);
  return [
    `**${escaped(name?.text ?? '')}** reading${text === undefined ? '' : ` – ${escaped(text.value)}`}`,
    ...(limit === undefined ? [] : [`- limit ${quantityWithOther(limit, units)}`]),
    ...(min === undefined ? [] : [`- at least ${quantityWithOther(min, units)}`]),
    ...(max === undefined ? [] : [`- at most ${quantityWithOther(max, units)}`]),
    `- measured at ${lineLink(snapshot, name ?? statement)}`,
    ...(uses.length === 0 ? [] : [`- used at ${joinedInShort(uses.map((use) => lineLink(snapshot, use)))}`]),
  ];
}

function aboutCode(snapshot: Snapshot, code: string): string[] {
  const { head, steps } = snapshot.model;
  const blocks = steps.flatMap(({ step }) =>
    walk(step.statements).filter(
      (statement) => statement.kind === 'for' && statement.codes?.some(({ text }) => text === code),
    ),
  );
  return [
    `**${escaped(code)}** code of the unit`,
    ...(head?.codePlate === undefined ? [] : [`- ${escaped(head.codePlate.value)}`]),
    ...(blocks.length === 0
      ? []
      : [`- statements of its own at ${joinedInShort(blocks.map((block) => lineLink(snapshot, block)))}`]),
  ];
}

export const hover = feature<HoverParams, Hover>(
  'textDocument/hover',
  { hoverProvider: true },
  (snapshot, { position }, { client, preferences: { units } }) => {
    const said = hoverAt(snapshot, snapshot.offsetAt(position), units);
    return said === undefined ? null : { contents: markup(said.lines, client), range: snapshot.rangeOf(said.span) };
  },
);
