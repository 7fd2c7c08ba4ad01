import {
  type Declaration,
  type Name,
  type Quantity,
  type Statement,
  spanText,
  type Text,
} from '../../../grammar/syntax.ts';
import { blockWords, conditionWords, headWords, phaseWords, statementWords } from '../../../grammar/tokens.ts';
import { holesOfPart } from '../checks/holes.ts';
import type { Ledger } from '../ledger/ledger.ts';
import { countOf, type Model } from '../model/model.ts';
import { written } from '../model/quantity.ts';
import { declarationsOf, oneLine, piecesActedOn } from './facts.ts';
import { ucumCodes, ucumOf } from './ucum.ts';
import { caution } from './wording.ts';

type Json = { readonly [key: string]: unknown };

/** Without the fields that say nothing. */
const plain = (fields: Json): Json =>
  Object.fromEntries(
    Object.entries(fields).filter(
      ([, value]) => value !== undefined && value !== false && !(Array.isArray(value) && value.length === 0),
    ),
  );

function quantity(from: Quantity | undefined): Json | undefined {
  const [first, second] = from?.numbers ?? [];
  if (from === undefined || first === undefined) return undefined;
  const unit = from.inUnit;
  return plain({
    ...(second === undefined
      ? { value: first.value }
      : from.form === 'range'
        ? { low: Math.min(first.value, second.value), high: Math.max(first.value, second.value) }
        : { value: first.value, tolerance: Math.abs(second.value) }),
    unit: unit === undefined ? undefined : ucumOf(unit),
    text: written(from),
    restated: quantity(from.restated),
  });
}

const quantities = (from: readonly Quantity[] | undefined): (Json | undefined)[] | undefined => from?.map(quantity);
const names = (from: readonly Name[] | undefined): string[] | undefined => from?.map(({ text }) => text);
const text = (from: Text | undefined): string | undefined => from?.value;

function partOf(part: Declaration): Json {
  return plain({
    name: part.name?.text,
    title: text(part.title),
    count: countOf(part),
    thread: part.thread?.text,
    class: part.propertyClass?.image,
    grade: part.grade?.image,
    condition: part.condition?.text,
    length: quantity(part.length),
    torque: quantity(part.torque),
    angle: quantity(part.angle),
    prevailing: quantity(part.prevailing),
    head: part.head?.text,
    holes: part.holes?.text,
    holesAt: holesOfPart(part),
    renew: part.renew !== undefined,
    lead: quantity(part.lead),
    heldBy: names(part.heldBy),
    behind: names(part.behind),
    carriedBy: part.carriedBy?.text,
    index: part.index !== undefined,
    hazards: names(part.hazards),
    bore: quantity(part.bore),
    fit: part.fit?.text,
    outsideDiameter: quantity(part.outside),
    interference: quantity(part.interference),
    limit: quantity(part.limit),
    filling: part.filled?.text,
    number: text(part.number),
  });
}

const toolOf = (tool: Declaration): Json =>
  plain({
    name: tool.name?.text,
    title: text(tool.title),
    count: tool.count?.value,
    range: quantity(tool.range),
    hazards: names(tool.hazards),
    lead: quantity(tool.lead),
    number: text(tool.number),
  });

const supplyOf = (supply: Declaration): Json =>
  plain({
    name: supply.name?.text,
    title: text(supply.title),
    count: supply.count?.value,
    quantity: quantity(supply.amount),
    spec: text(supply.spec),
    cure: quantity(supply.cure),
    hazards: names(supply.hazards),
    lead: quantity(supply.lead),
    number: text(supply.number),
  });

function patternOf({ name, title, pattern }: Declaration): Json {
  const unit = pattern?.unit?.unit;
  return plain({
    name: name?.text,
    title: text(title),
    form: pattern?.form,
    count: pattern?.angles?.length ?? pattern?.points?.length ?? pattern?.count?.value,
    angles: quantities(pattern?.angles),
    points: pattern?.points?.map(({ x, y }) => ({ x: x.value, y: y.value })),
    unit: unit === undefined ? undefined : ucumOf(unit),
    diameter: quantity(pattern?.diameter),
  });
}

function statementOf(statement: Statement, acted: ReadonlyMap<Statement, number>): Json {
  const { kind, order, extension } = statement;
  if (kind === 'unknown') return { kind, text: oneLine(spanText(statement)) };
  return plain({
    kind,
    name: statement.name?.text,
    new: statement.fresh !== undefined,
    count: statement.count?.value,
    pieces: acted.get(statement),
    amount: quantity(statement.amount),
    to: quantity(statement.to),
    angle: quantity(statement.angle),
    stages: quantities(statement.stages),
    order: order === undefined || order.form !== 'list' ? order?.form : order.holes.map(({ value }) => value),
    holes: statement.holes?.map(({ value }) => value),
    byHand: statement.byHand !== undefined,
    spoiled: statement.spoiled !== undefined,
    with: statement.together?.map(({ name, count }) => plain({ name: name.text, count: count?.value })),
    from: statement.source?.text,
    targets: names(statement.targets),
    limit: quantity(statement.limit),
    max: quantity(statement.max),
    min: quantity(statement.min),
    gap: statement.gap?.text,
    ...(statement.aim === undefined ? {} : { [statement.aim.kind]: quantity(statement.aim.quantity) }),
    shims: statement.stock?.map(({ thickness, count }) => ({
      thickness: quantity(thickness),
      count: count?.value ?? 1,
    })),
    text: text(statement.text),
    using: names(statement.using),
    keep: text(statement.keep),
    see: text(statement.see),
    extension:
      extension === undefined
        ? undefined
        : plain({ length: quantity(extension.length), on: quantity(extension.on), at: quantity(extension.at) }),
    codes: names(statement.codes),
    branches: statement.branches?.map((branch) => ({
      ...plain({ text: text(branch.text) }),
      statements: branch.statements.map((each) => statementOf(each, acted)),
    })),
  });
}

/** The model of a procedure as plain data, for other programs; its form is {@link procedureSchema}. */
export function exported(model: Model, ledger: Ledger): Json {
  const acted = piecesActedOn(ledger);
  const declared = (kind: Declaration['kind'], of: (each: Declaration) => Json): Json[] =>
    [...declarationsOf(model, kind).values()].map(of);
  return {
    format: 'fettle-procedure',
    version: 1,
    ...plain({
      name: model.head?.name?.text,
      title: text(model.head?.title),
      codePlate: text(model.head?.codePlate),
      measures: model.measures,
    }),
    codes: model.codes,
    parts: declared('part', partOf),
    tools: declared('tool', toolOf),
    supplies: declared('supply', supplyOf),
    patterns: declared('pattern', patternOf),
    steps: model.steps
      .filter(({ step }) => step.keyword !== undefined || step.statements.length > 0)
      .map(({ step, phase }) => ({
        ...plain({
          name: step.name?.text,
          title: text(step.title),
          phase,
          takes: quantity(step.takes),
          after: names(step.after),
        }),
        statements: step.statements.map((each) => statementOf(each, acted)),
      })),
    caution,
  };
}

/** JSON Schema (draft 7) of an exported procedure. */
export function procedureSchema(): Json {
  const string = { type: 'string' };
  const yes = { const: true };
  const whole = { type: 'integer', minimum: 0 };
  const marking = { ...string, description: 'Marking to match at a supplier.' };
  const list = (items: object): Json => ({ type: 'array', items });
  const ref = (name: string): Json => ({ $ref: `#/definitions/${name}` });
  const q = ref('quantity');
  const strict = (properties: Json, required: readonly string[] = [], more: Json = {}): Json => ({
    type: 'object',
    ...more,
    properties,
    required,
    additionalProperties: false,
  });
  const number = { type: 'number' };
  const told = { unit: ref('unit'), text: string, restated: q };
  const words = (of: readonly string[]): Json => ({ enum: [...of] });
  return {
    $schema: 'http://json-schema.org/draft-07/schema#',
    title: 'Procedure exported by Fettle',
    ...strict(
      {
        format: { const: 'fettle-procedure' },
        version: { const: 1 },
        name: string,
        title: string,
        codes: { ...list(string), description: 'Codes stamped on the units that it applies to.' },
        codePlate: string,
        measures: words(['metric', 'imperial']),
        parts: list(ref('part')),
        tools: list(ref('tool')),
        supplies: list(ref('supply')),
        patterns: list(ref('pattern')),
        steps: { ...list(ref('step')), description: 'In the order of the work.' },
        caution: string,
      },
      ['format', 'version', 'codes', 'parts', 'tools', 'supplies', 'patterns', 'steps', 'caution'],
      { description: 'What is declared in files behind `use` stands here too, where the procedure refers to it.' },
    ),
    definitions: {
      unit: {
        ...words(ucumCodes),
        description:
          'Case-sensitive code of the Unified Code for Units of Measure (UCUM). Absent where none was written.',
      },
      quantity: {
        description:
          'A value, a range, or a value with its tolerance; a tolerance of a temperature is a difference. `text` is as written; `restated` is the same in another unit.',
        oneOf: [
          strict({ value: number, ...told }, ['value', 'text']),
          strict({ low: number, high: number, ...told }, ['low', 'high', 'text']),
          strict({ value: number, tolerance: { type: 'number', minimum: 0 }, ...told }, ['value', 'tolerance', 'text']),
        ],
      },
      part: strict(
        {
          name: string,
          title: string,
          count: whole,
          thread: string,
          class: {
            ...string,
            description: 'Property class of ISO 898-1, as in 8.8, or of stainless steel, ISO 3506-1, as in A2-70.',
          },
          grade: { ...string, description: 'Grade of SAE J429.' },
          condition: words(conditionWords),
          length: q,
          torque: q,
          angle: q,
          prevailing: { ...q, description: 'Torque that turns a locking nut or screw on its thread before it clamps.' },
          head: words(headWords),
          holes: { ...string, description: 'Name of a pattern.' },
          holesAt: { ...list(whole), description: 'Which of its holes, where other parts are in the rest.' },
          renew: { ...yes, description: 'Single-use: never refitted.' },
          lead: q,
          heldBy: list(string),
          behind: list(string),
          carriedBy: string,
          index: { ...yes, description: 'Goes back as it came off.' },
          hazards: list(string),
          bore: q,
          fit: {
            ...string,
            description:
              'Fit of ISO 286, as in H7/k6; the shaft alone, as in k6, for a rolling bearing of Normal class.',
          },
          outsideDiameter: q,
          interference: q,
          limit: q,
          filling: words(['sealed', 'greased']),
          number: marking,
        },
        ['count'],
      ),
      tool: strict({
        name: string,
        title: string,
        count: whole,
        range: q,
        hazards: list(string),
        lead: q,
        number: marking,
      }),
      supply: strict({
        name: string,
        title: string,
        count: { ...whole, description: 'Tubes, cans or bottles.' },
        quantity: q,
        spec: string,
        cure: q,
        hazards: list(string),
        lead: q,
        number: marking,
      }),
      pattern: strict({
        name: string,
        title: string,
        form: words(['circle', 'points']),
        count: number,
        angles: list(q),
        points: list(strict({ x: number, y: number }, ['x', 'y'])),
        unit: ref('unit'),
        diameter: q,
      }),
      step: strict(
        {
          name: string,
          title: string,
          phase: words(phaseWords),
          takes: q,
          after: list(string),
          statements: list(ref('statement')),
        },
        ['statements'],
      ),
      statement: strict(
        {
          kind: words([...statementWords, ...blockWords, 'unknown']),
          name: { ...string, description: 'The part, supply or reading that it acts on.' },
          new: yes,
          count: { ...whole, description: 'As stated.' },
          pieces: {
            ...whole,
            description: 'Pieces that it acts on in the replay, in the first code that it holds for.',
          },
          amount: q,
          to: q,
          angle: q,
          stages: list(q),
          order: { oneOf: [words(['star', 'spiral']), list(number)] },
          holes: list(number),
          byHand: yes,
          spoiled: yes,
          with: list(strict({ name: string, count: whole }, ['name'])),
          from: string,
          targets: { ...list(string), description: 'Behind `for`, `to` or `on`.' },
          limit: q,
          max: q,
          min: q,
          gap: string,
          endplay: q,
          preload: q,
          shims: list(strict({ thickness: q, count: whole }, ['thickness', 'count'])),
          text: { ...string, description: 'Of an unknown statement, the line that could not be read.' },
          using: list(string),
          keep: string,
          see: string,
          extension: strict({ length: q, on: q, at: q }),
          codes: list(string),
          branches: list(strict({ text: string, statements: list(ref('statement')) }, ['statements'])),
        },
        ['kind'],
      ),
    },
  };
}
