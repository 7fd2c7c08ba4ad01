import type { Branch, Statement, Step } from '../../../grammar/syntax.ts';
import { spanText } from '../../../grammar/syntax.ts';
import { type Unit, unitOf } from '../../../grammar/units.ts';
import { holesOf } from '../checks/fastening.ts';
import { holesAtWork, holesNamed, isHole, patternOf, sidesOf } from '../checks/holes.ts';
import { shimmingOf } from '../checks/shimming.ts';
import { listed } from '../checks/wording.ts';
import { wrenchUse } from '../checks/wrenches.ts';
import { countHoles, type Holes, orderAmong } from '../mechanics/index.ts';
import { placeOfStep, type StepEntry } from '../model/model.ts';
import { fromSI } from '../model/quantity.ts';
import { letterOf } from './alternatives.ts';
import { readingTitle, spoken, torqueWords } from './amounts.ts';
import type { Bench } from './card-bench.ts';
import { field, tick } from './card-form.ts';
import { drawPattern } from './card-pattern.ts';
import { type ShimRow, shimTable } from './card-shims.ts';
import { angleOf, clauses, sentence } from './card-words.ts';
import { own, withFigures } from './directed-text.ts';
import { type Content, type Html, html, joined } from './html.ts';
import { isForOtherCodes } from './step-time.ts';
import { counted } from './wording.ts';

export const signalWords = {
  danger: 'DANGER',
  warning: 'WARNING',
  caution: 'CAUTION',
  notice: 'NOTICE',
} as const;
type Signal = keyof typeof signalWords;
const isSignal = (kind: string): kind is Signal => Object.hasOwn(signalWords, kind);

/** A step with its number, title, time and statements. */
export function stepCard(bench: Bench, entry: StepEntry): Html {
  const { step } = entry;
  const title = step.title?.value ?? step.name?.text;
  const facts: Content[] = [
    step.takes !== undefined && !isForOtherCodes(step, bench.code) && html`<b>${spoken(step.takes)}</b>`,
    step.after.length > 0 &&
      html`after ${joined(
        step.after.map(({ text }) => followed(bench, text)),
        ', ',
      )}`,
  ].filter((fact) => fact !== false);
  // Messages above all work belong to the head, which stands again on each page of a long step.
  const work = step.statements.findIndex(({ kind }) => !isSignal(kind));
  const messages = fitting(step.statements.slice(0, Math.max(0, work)));
  const told = step.statements.filter((statement) => bench.applies(statement));
  const bulk = told.map((statement) => bulkOf(bench, statement));
  // A statement that breaks itself begins on a sheet of its own: in the middle of one, browsers lose a row of its table.
  const isLong =
    bulk.every((each) => each < mostKept) && bulk.reduce((sum, each) => sum + each, headingHeight) > mostKept;
  return html`<div class="kept${isLong && ' long'}"><article class="step" data-line="${bench.lineOf(headOf(step))}">
<header><div class="heading"><h3><span class="number">${placeOfStep(bench.model, entry) + 1}</span> ${title === undefined ? 'Statements outside any step' : own(title)}</h3>${facts.length > 0 && html`<p class="facts">${joined(facts, ' · ')}</p>`}</div>${messages.length > 0 && html`<ul class="statements">${messages.map((message) => item(bench, message))}</ul>`}</header>
${list(
  bench,
  step.statements.slice(messages.length),
  step.statements.length > 0 ? 'Nothing to do on this unit.' : 'Nothing is written in this step.',
  messages.reduce((sum, message) => sum + heightOf(message), 0),
)}
</article></div>
`;
}

const headOf = (step: Step): Step | Statement => (step.keyword === undefined ? (step.statements[0] ?? step) : step);

function followed(bench: Bench, name: string): Content {
  const entry = bench.model.stepNames.get(name);
  return entry === undefined ? own(name) : `step ${placeOfStep(bench.model, entry) + 1}`;
}

function list(bench: Bench, statements: readonly Statement[], otherwise: string, repeated = 0): Html {
  const told = statements.filter((statement) => bench.applies(statement));
  return told.length === 0 ? html`<p class="empty">${otherwise}</p>` : stretches(bench, told, repeated);
}

/** On paper, mm: what is repeated at the top of one sheet, and of that in one head (a browser repeats none over a quarter of the sheet). */
const repeatable = 110;
const headHeight = 45;

/** As printed, mm; a little too much rather than too little. */
function heightOf({ text }: Statement): number {
  const signs = [...(text?.value ?? '')].reduce((sum, sign) => sum + (sign < '\u2e80' ? 1 : 2), 0);
  return 6.2 + 5.3 * Math.ceil((signs + 9) / 74);
}

/** As many of the messages as one head has room for. */
function fitting(messages: readonly Statement[]): readonly Statement[] {
  let height = 0;
  const end = messages.findIndex((message) => {
    height += heightOf(message);
    return height > headHeight;
  });
  return end === -1 ? messages : messages.slice(0, Math.max(1, end));
}

/** A step is kept on one sheet up to so many mm: a longer one would leave most of the sheet before it empty. */
const mostKept = 100;
const headingHeight = 14;

/** What a statement takes on paper, in mm, roughly. */
function bulkOf(bench: Bench, statement: Statement): number {
  const branches = statement.branches?.map(({ statements }) =>
    statements.reduce((sum, each) => sum + (bench.applies(each) ? bulkOf(bench, each) : 0), 12),
  );
  if (branches !== undefined) return branches.reduce((sum, branch) => sum + branch, 8);
  if (isSignal(statement.kind)) return heightOf(statement);
  // Beside the author's words there are the part with its size, where it is kept and what is used.
  const signs =
    30 + (statement.text?.value.length ?? 0) + 25 * ((statement.keep ? 1 : 0) + (statement.using?.length ?? 0));
  const line = 1.8 + 5.3 * Math.ceil(signs / 88);
  switch (statement.kind) {
    case 'measure':
    case 'wait':
    case 'identify':
      return line + 9;
    case 'sign':
      return line + 12;
    case 'shim':
      return line + 24 + 6.8 * (shimRows(bench, statement)?.length ?? 0);
    case 'loosen':
    case 'tighten': {
      const part = bench.model.parts.get(statement.name?.text ?? '');
      const isInOrder =
        statement.byHand === undefined && (statement.kind === 'tighten' || statement.order !== undefined);
      const isDrawn = isInOrder && part !== undefined && holesOf(patternOf(bench.model, part)) !== undefined;
      return line + (isDrawn ? 46 : statement.order === undefined ? 0 : 22) + 7 * (statement.stages?.length ?? 0);
    }
    default:
      return line;
  }
}

interface Stretch {
  readonly messages: readonly Statement[];
  readonly work: Statement[];
  /** There is no room to repeat the messages before. */
  readonly afresh: boolean;
}

/**
 * A message holds for all that follows it in the step: on paper, what is below it has it as its head, which stands again at the top of
 * each further sheet. Notices hurt nobody, and are told once. `repeated`, mm, is what is in force already.
 */
function stretches(bench: Bench, statements: readonly Statement[], repeated: number): Html {
  const [first, ...further] = stretchesIn(statements, repeated);
  const listed = ({ messages, work, afresh }: Stretch, below: Content): Html => {
    const items = html`${work.length > 0 && html`<ol class="statements">${work.map((statement) => item(bench, statement))}</ol>`}${below}`;
    if (messages.length === 0) return items;
    const more =
      afresh &&
      html`<li class="safety more"><p>The messages above in this step hold as well: turn back and read them.</p></li>
`;
    return html`<div class="under"><ul class="statements">${more}${messages.map((message) => item(bench, message))}</ul>${items}</div>`;
  };
  let below = html``;
  let inner: Content = '';
  for (const stretch of further.toReversed()) {
    inner = listed(stretch, inner);
    if (!stretch.afresh) continue;
    below = html`${inner}${below}`;
    inner = '';
  }
  return html`${listed(first!, inner)}${below}`;
}

function stretchesIn(statements: readonly Statement[], repeated: number): Stretch[] {
  const stretches: Stretch[] = [{ messages: [], work: [], afresh: false }];
  const held = new Set<string>();
  let height = repeated;
  const last = statements.findLastIndex(({ kind }) => !isSignal(kind));
  for (let i = 0; i < statements.length; ) {
    const { kind, text } = statements[i]!;
    const isNew = !held.has(`${kind} ${text?.value}`);
    // What one statement alone follows stays on its sheet anyhow.
    if (!isSignal(kind) || kind === 'notice' || !isNew || i + 1 >= last) {
      stretches.at(-1)!.work.push(statements[i++]!);
      continue;
    }
    const end = statements.findIndex((other, j) => j > i && (!isSignal(other.kind) || other.kind === 'notice'));
    const messages = fitting(statements.slice(i, end));
    i += messages.length;
    const more = messages.reduce((sum, message) => sum + heightOf(message), 0);
    const afresh = height + more > repeatable;
    if (afresh) held.clear();
    height = afresh ? more : height + more;
    for (const message of messages) held.add(`${message.kind} ${message.text?.value}`);
    stretches.push({ messages, work: [], afresh });
  }
  return stretches;
}

function item(bench: Bench, statement: Statement): Html {
  const line = bench.lineOf(statement.keyword);
  const { kind } = statement;
  if (statement.branches !== undefined) return choice(bench, statement, line);
  const said = statement.text?.value;
  if (isSignal(kind))
    return html`<li class="safety ${kind}" data-line="${line}"><p><strong>${signalWords[kind]}</strong> ${own(said ?? '')}</p></li>
`;
  if (kind === 'unknown' || statement.words !== undefined || statement.broken)
    return html`<li class="statement unread" data-line="${line}"><p><strong>This line cannot be read in full. Do not guess:</strong> <code>${own(spanText(statement))}</code></p></li>
`;
  const below = clauses(bench, statement);
  const aside = below.length > 0 && html` <span class="clauses">${joined(below, ' · ')}</span>`;
  return html`<li class="statement" data-line="${line}">${tick([words(bench, statement, said), aside])}${fields(bench, statement)}</li>
`;
}

/** The sentence, then the author's text; of statements that are nothing but text, the text. */
function words(bench: Bench, statement: Statement, said: string | undefined): Content {
  const { kind } = statement;
  const text = said !== undefined && own(said);
  switch (kind) {
    case 'do':
      return text === false ? 'Do' : text;
    case 'check':
      return text === false ? 'Check' : html`<b>Check:</b> ${text}`;
    case 'sign':
      return html`<b>Stop and sign.</b> ${text}`;
    case 'identify':
      return text === false ? 'Identify the unit' : text;
    case 'wait': {
      const time =
        statement.amount === undefined ? '' : html` at least <b class="value">${spoken(statement.amount)}</b>`;
      return [html`Wait${time}`, text !== false && html`. ${text}`];
    }
    default:
      return [sentence(bench, statement), '.', text !== false && html` ${text}`];
  }
}

/** What is to be written down or looked up at a statement. */
function fields(bench: Bench, statement: Statement): Content {
  switch (statement.kind) {
    case 'identify':
      return html`<p class="fields">${field('Code on the unit', 14)}</p>`;
    case 'inspect':
      return html`<p class="fields">${tick('good', 'verdict')} ${tick('not good', 'verdict')}</p>`;
    case 'measure': {
      const bounds = [statement.limit, statement.min, statement.max].filter((each) => each !== undefined);
      // A reading that is noted to compare with later has none.
      if (bounds.length === 0 && !statement.broken)
        return html`<p class="fields">${field('Reading and its unit', 10)}</p>`;
      const unit = bounds.find((each) => each.unit !== undefined)?.unit;
      return html`<p class="fields">${field('Reading', 8, unit?.unit?.symbol ?? unit?.text ?? '')} ${tick('within limits', 'verdict')}</p>`;
    }
    case 'wait': {
      const steps = bench.meanwhile(statement);
      const goOn =
        steps.length > 0 &&
        html`<p class="note">${`Meanwhile go on with ${steps.length === 1 ? 'step' : 'steps'} ${listed(steps)}.`}</p>`;
      return html`<p class="fields">${field('Began at', 7)} ${field('Over at', 7)}</p>${goOn}`;
    }
    case 'sign':
      return signature();
    case 'shim':
      return shims(bench, statement);
    case 'tighten':
      return torquing(bench, statement);
    case 'loosen':
      return inOrder(working(bench, statement), 'Loosen');
    default:
      return '';
  }
}

export const signature = (): Html =>
  html`<p class="fields signature">${field('Name', 12)} ${field('Signature', 13)} ${field('Date, time', 8)}</p>`;

// --- alternatives -----------------------------------------------------------------------------------------------------

function choice(bench: Bench, statement: Statement, line: number): Html {
  const branches = statement.branches!;
  if (statement.kind === 'for') {
    const codes = joined(
      (statement.codes ?? []).map(({ text }): Content => html`<b>${own(text)}</b>`),
      ', ',
    );
    const body = branches.map((branch) => list(bench, branch.statements, 'Nothing to do.'));
    if (bench.code !== undefined)
      return html`<li class="choice plain" data-line="${line}">${body}</li>
`;
    const id = bench.newId();
    return html`<li class="choice" data-line="${line}"><div role="group" aria-labelledby="${id}"><p class="way" id="${id}">Only on ${codes}:</p>${body}</div></li>
`;
  }
  const either = statement.kind === 'either';
  const ways = branches.map((branch, i) =>
    way(
      bench,
      branch,
      either ? html`<b>Way ${letterOf(i)}.</b> ${branch.text && own(branch.text.value)}` : condition(branch, i),
    ),
  );
  const missing =
    !either && branches.length === 1 && html`<div class="way-box">${tick('Not so: leave this out.', 'way')}</div>`;
  return html`<li class="choice" data-line="${line}"><p class="choose">${either ? `Choose one of ${branches.length} ways:` : 'Decide:'}</p>${ways}${missing}</li>
`;
}

const condition = (branch: Branch, i: number): Content =>
  i > 0 && branch.text === undefined
    ? html`<b>Otherwise:</b>`
    : html`<b>If</b> ${branch.text && own(branch.text.value)}:`;

function way(bench: Bench, branch: Branch, said: Content): Html {
  const id = bench.newId();
  return html`<div class="way-box" role="group" aria-labelledby="${id}" data-line="${bench.lineOf(branch.keyword)}"><div id="${id}">${tick(said, 'way')}</div>${list(bench, branch.statements, 'Nothing to do.')}</div>
`;
}

// --- tightening -------------------------------------------------------------------------------------------------------

interface Working {
  readonly order: readonly number[];
  readonly svg?: Html;
  readonly note: string;
}

/**
 * The order of the holes, drawn where a pattern is declared; nothing for one or two fasteners, or where none is known. A star or
 * spiral to loosen in is that to tighten in, backwards: the load on a cover falls as it rose. Loosening has an order only where one is stated.
 */
function working(bench: Bench, statement: Statement): Working | undefined {
  const { model } = bench;
  const part = model.parts.get(statement.name?.text ?? '');
  const isLoosening = statement.kind === 'loosen';
  if (statement.byHand !== undefined || part === undefined) return undefined;
  if (isLoosening && statement.order === undefined) return undefined;
  const holes = holesOf(patternOf(model, part));
  const stated = statement.order?.form === 'list' ? statement.order.holes.map(({ value }) => value) : undefined;
  const pieces = Math.max(...bench.piecesOf(statement, statement.name!.text).keys());
  const only = holesAtWork(model, statement);
  const computed = (holes: Holes, numbers: readonly number[] | undefined): readonly number[] | undefined => {
    const style = statement.order?.form === 'spiral' ? 'spiral' : 'star';
    const tightening = orderAmong(holes, numbers, style);
    return isLoosening ? tightening?.toReversed() : tightening;
  };
  if (holes === undefined) {
    if (statement.order === undefined) return undefined;
    const places = computed({ kind: 'circle', count: only?.length ?? pieces }, undefined);
    const order = stated ?? (only === undefined ? places : places?.map((place) => only[place - 1]!));
    return order === undefined || order.length < 2
      ? undefined
      : { order, note: 'No hole pattern is declared: number the holes clockwise from the top, and mark them.' };
  }
  const count = countHoles(holes);
  const order =
    stated?.filter((hole) => only?.includes(hole) ?? true) ??
    computed(
      holes,
      only?.filter((hole) => isHole(hole, count)),
    );
  if (order === undefined || order.length === 0 || count < 2) return undefined;
  const where =
    holes.kind === 'points'
      ? 'Seen from outside, x to the right and y upwards.'
      : holes.kind === 'circle' || holes.angles[0] === 0
        ? 'Seen from outside, hole 1 at 12 o’clock, on clockwise.'
        : 'Seen from outside, 12 o’clock at the top.';
  const title = `${isLoosening ? 'Loosening' : 'Tightening'} order of ${bench.title(statement.name!.text)}: ${counted(count, 'hole')}`;
  const { svg, numbered, turned } = drawPattern(holes, order, title, bench.newId());
  const room = numbered < count ? ` There is room for the numbers of ${numbered} of ${count} holes.` : '';
  const fewer =
    order.length > pieces
      ? ` These are ${order.length} holes for ${counted(pieces, 'piece')}: ask which to ${isLoosening ? 'loosen' : 'tighten'}.`
      : '';
  const sides = sidesOf(pieces, order.length);
  const each = sides > 1 ? ` The same on each of the ${sides} sides.` : '';
  return {
    order,
    svg,
    note: `${where} In the ring: the hole.${turned ? ' Beside it: its turn.' : room}${fewer}${each}`,
  };
}

function torquing(bench: Bench, statement: Statement): Content {
  const work = working(bench, statement);
  const use = wrenchUse(bench.model, statement);
  const torques = use === undefined ? [] : use.torques;
  const words = torqueWords(
    torques.map(({ quantity }) => quantity),
    use?.part.torque,
    bench.model.measures,
  );
  const angle = use && angleOf(bench, statement, use.part);
  const isOfSeveral = use !== undefined && Math.max(...bench.piecesOf(statement, statement.name!.text).keys()) > 1;
  // All are drawn down before the first is turned on. Common practice, no source.
  const turned = isOfSeveral ? angle : undefined;
  const passes = torques.length + (turned === undefined ? 0 : 1);
  const several = passes > 1;
  const row = (pass: number, said: Content, setting: Content): Html =>
    html`<tr><th scope="row">${pass}</th><td>${said}</td>${use!.adapted && html`<td>${setting}</td>`}<td>${tick(html`<span class="unseen">Pass ${pass} done</span>`)}</td></tr>`;
  const table =
    use !== undefined &&
    (several || use.adapted) &&
    html`<table class="passes"><caption>${several ? `${passes} passes${work !== undefined ? ` over ${holesNamed(bench.model, statement) === undefined ? 'all' : 'these'} holes in order` : isOfSeveral ? ' over all pieces' : ''}` : 'Setting of the wrench'}</caption><thead><tr><th scope="col">Pass</th><th scope="col">${turned === undefined ? 'Torque' : 'Torque or turn'} at the fastener</th>${use.adapted && html`<th scope="col">Set the wrench to</th>`}<th scope="col">Done</th></tr></thead><tbody>${torques.map(
      ({ quantity, low, high }, i) =>
        row(
          i + 1,
          html`${withFigures(words.stated(quantity))}${angle !== turned && i === torques.length - 1 && html`, then <b class="value">${spoken(angle!)}</b> further`}`,
          html`<b class="value">${withFigures(
            [...new Set([low, high])]
              .map((torque) => words.computed(use.setting(torque), quantity.inUnit ?? unitOf('N·m')!))
              .join(' to '),
          )}</b>`,
        ),
    )}${turned !== undefined && row(passes, html`turn each on by <b class="value">${spoken(turned)}</b>`, '–')}</tbody></table>`;
  if (work === undefined) return table;
  return inOrder(work, 'Tighten', table);
}

/** The holes one after the other, drawn where they can be, with what belongs to them below. */
const inOrder = (work: Working | undefined, verb: 'Tighten' | 'Loosen', below: Content = ''): Content =>
  work !== undefined &&
  html`<div class="torquing">${work.svg !== undefined && html`<figure>${work.svg}</figure>`}<div class="order"><p>${verb} the holes in this order:</p><p class="holes${work.order.length > 40 && ' many'}">${joined(
    work.order.map((hole): Content => html`<b>${hole}</b>`),
    ' → ',
  )}</p><p class="note">${work.note}</p>${below}</div></div>`;

// --- shims ------------------------------------------------------------------------------------------------------------

/** Rows of a table that stands on one sheet: a longer one would leave most of the sheet before it empty. */
const mostRowsKept = 8;

const unitOfShims = ({ aim }: Statement): Unit => aim?.quantity?.inUnit ?? unitOf('mm')!;

function shimRows(bench: Bench, statement: Statement): readonly ShimRow[] | undefined {
  const shimming = shimmingOf(bench.model, statement);
  return shimming && shimTable(shimming, unitOfShims(statement));
}

function shims(bench: Bench, statement: Statement): Content {
  const gap = statement.gap?.text;
  const unit = unitOfShims(statement);
  const rows = shimRows(bench, statement);
  const inUnit = (micrometres: number): number => fromSI(micrometres * 1e-6, unit);
  const decimals = decimalsFor((rows ?? []).flatMap(({ from, to, pieces = [] }) => [from, to, ...pieces]).map(inUnit));
  const said = (micrometres: number): string => inUnit(micrometres).toFixed(decimals);
  const sign = statement.aim?.kind === 'preload' ? 'plus preload' : 'less end play';
  const taken = gap === undefined ? [] : bench.stepsMeasuring(gap);
  const where = taken.length === 0 ? '' : ` of ${taken.length === 1 ? 'step' : 'steps'} ${listed(taken)}`;
  const reading = gap === undefined ? 'the reading' : `the reading ‘${readingTitle(gap)}’${where}`;
  return html`<p class="note">${`Stack = ${reading} ${sign}.`}${
    statement.stock !== undefined &&
    withFigures(
      ` Shims at hand: ${statement.stock.map(({ thickness, count }) => `${spoken(thickness)}${count === undefined ? '' : ` (${count.value} of them)`}`).join(', ')}.`,
    )
  }</p>${
    rows !== undefined &&
    html`<table class="shims${rows.length > mostRowsKept && ' long'}"><caption>Stack for each reading (${unit.symbol})</caption><thead><tr>${['Reading over', 'up to', 'Shims', 'Stack'].map((words) => html`<th scope="col">${words} (${unit.symbol})</th>`)}</tr></thead><tbody>${rows.map(
      ({ from, to, pieces, total }, i) =>
        html`<tr><td>${i === 0 ? `from ${said(from)}` : said(from)}</td><td>${said(to)}</td>${
          pieces === undefined || total === undefined
            ? html`<td colspan="2"><b>No stack reaches the target: stop and ask.</b></td>`
            : html`<td>${pieces.length === 0 ? 'none' : together(pieces, said)}</td><td><b class="value">${said(total)}</b></td>`
        }</tr>`,
    )}</tbody></table>`
  }<p class="fields">${field('Stack fitted', 8, unit.symbol)}</p>`;
}

/** Decimals that show every one of some figures in full, at most six. */
function decimalsFor(values: readonly number[]): number {
  for (let decimals = 0; decimals < 6; decimals++)
    if (values.every((value) => Math.abs(Number(value.toFixed(decimals)) - value) < 1e-7)) return decimals;
  return 6;
}

/** `0.4 + 2 × 0.05` */
function together(pieces: readonly number[], said: (micrometres: number) => string): string {
  const counts = new Map<number, number>();
  for (const piece of pieces) counts.set(piece, (counts.get(piece) ?? 0) + 1);
  return [...counts].map(([piece, count]) => (count === 1 ? said(piece) : `${count} × ${said(piece)}`)).join(' + ');
}
