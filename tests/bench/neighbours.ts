/**
 * The same work in other languages, for their services: texts of as many lines, clean, with rules that are really checked.
 * - JSON: the procedure of `procedures.ts` over again, every declaration, step and statement an object with all its
 *   clauses, laid out as formatters do it: on one line where it fits in 80 columns, else a line a member. Its schema names
 *   each kind of statement with what it must and may hold, as ours does by its grammar and its checks of values.
 * - CSS: the style sheet of a job card, a selector a rule and a declaration a line, of the properties that sheets are
 *   mostly made of. No procedure can be said in CSS, so it is a measure of work a line only.
 * The bench prints the bytes a line of all three. More of them would be more work, so those of the others stay near or
 * below ours.
 */
import { getCSSLanguageService } from 'vscode-css-languageservice';
import { getLanguageService, type JSONSchema } from 'vscode-json-languageservice';
import { TextDocument } from 'vscode-languageserver-textdocument';

const width = 80;

/** Lines of a value, of which the first one goes on behind `opening`. */
function laidOut(value: unknown, indent: string, opening: string, closing: string): string[] {
  const flat = (inner: unknown): string =>
    Array.isArray(inner)
      ? `[${inner.map(flat).join(', ')}]`
      : typeof inner === 'object' && inner !== null
        ? `{ ${Object.entries(inner)
            .map(([key, each]) => `${JSON.stringify(key)}: ${flat(each)}`)
            .join(', ')} }`
        : JSON.stringify(inner);
  const line = `${indent}${opening}${flat(value)}${closing}`;
  if (line.length <= width || typeof value !== 'object' || value === null) return [line];
  const [open, close] = Array.isArray(value) ? '[]' : '{}';
  const members: [string, unknown][] = Array.isArray(value)
    ? value.map((each) => ['', each])
    : Object.entries(value).map(([key, each]) => [`${JSON.stringify(key)}: `, each]);
  return [
    `${indent}${opening}${open}`,
    ...members.flatMap(([key, each], i) => laidOut(each, `${indent}  `, key, i < members.length - 1 ? ',' : '')),
    `${indent}${close}${closing}`,
  ];
}

/** Units of a dozen parts, taken apart and put back. */
function jsonUnits(units: number): string[] {
  const numbers = Array.from({ length: units }, (_, i) => i + 1);
  return laidOut(
    {
      procedure: 'big-unit',
      title: 'Overhaul the big unit',
      codes: ['BU-1'],
      measures: 'metric',
      tools: [{ name: 'torque-wrench', title: 'Torque wrench', range: '5..100 N·m' }],
      parts: numbers.flatMap((u) => [
        {
          name: `cover-bolt-${u}`,
          title: `Cover bolt ${u}`,
          count: 6 + (u % 4),
          thread: 'M8x1.25',
          class: '8.8',
          length: '40 mm',
          torque: '25 N·m',
          holes: `ring-${u}`,
        },
        { name: `cover-${u}`, title: `Cover ${u}`, heldBy: [`cover-bolt-${u}`] },
        { name: `gasket-${u}`, title: `Gasket ${u}`, renew: true, lead: '2 d', behind: [`cover-${u}`] },
        { name: `shaft-${u}`, title: `Shaft ${u}`, index: true, behind: [`cover-${u}`] },
        { name: `gear-${u}`, title: `Gear ${u}`, carriedBy: `shaft-${u}`, heldBy: [`ring-clip-${u}`] },
        { name: `ring-clip-${u}`, title: `Ring clip ${u}`, renew: true, carriedBy: `shaft-${u}` },
        { name: `bearing-${u}`, title: `Bearing ${u}`, bore: '50 mm H7/k6', limit: '120 °C', behind: [`gear-${u}`] },
      ]),
      supplies: numbers.flatMap((u) => [
        { name: `sealant-${u}`, title: `Sealant ${u}`, cure: '60 min' },
        { name: `oil-${u}`, title: `Gear oil ${u}`, amount: '1.8 L', spec: 'Mineral 220' },
      ]),
      patterns: numbers.map((u) => ({ name: `ring-${u}`, circle: 6 + (u % 4), diameter: '180 mm' })),
      teardown: numbers.flatMap((u) => [
        {
          step: `open-${u}`,
          title: `Open cover ${u}`,
          takes: '30 min',
          statements: [
            { do: 'drain', supply: `oil-${u}`, amount: '1.8 L' },
            { do: 'remove', part: `cover-bolt-${u}`, count: 6 + (u % 4), keep: `tray ${u}` },
            { do: 'remove', part: `cover-${u}` },
            { do: 'remove', part: `gasket-${u}` },
            { do: 'discard', part: `gasket-${u}` },
            { do: 'mark', part: `shaft-${u}`, text: 'One punch mark on the end' },
            { do: 'remove', part: `shaft-${u}` },
          ],
        },
        {
          step: `strip-${u}`,
          title: `Strip shaft ${u}`,
          takes: '20 min',
          statements: [
            { do: 'remove', part: `ring-clip-${u}` },
            { do: 'remove', part: `gear-${u}` },
            { do: 'remove', part: `bearing-${u}` },
            { do: 'clean', part: `shaft-${u}`, text: 'Bare metal, no burrs' },
          ],
        },
      ]),
      reassembly: numbers.flatMap((u) => [
        {
          step: `build-${u}`,
          title: `Build shaft ${u}`,
          takes: '40 min',
          statements: [
            { do: 'warning', text: 'Hot parts burn skin. Wear heat-proof gloves.' },
            { do: 'heat', part: `bearing-${u}`, to: '100 °C' },
            { do: 'fit', part: `bearing-${u}` },
            { do: 'fit', part: `gear-${u}` },
            { do: 'fit', new: true, part: `ring-clip-${u}` },
            { do: 'measure', reading: `float-${u}`, limit: '0.10..0.30 mm' },
            { do: 'fit', part: `shaft-${u}`, text: 'Mark outwards' },
          ],
        },
        {
          step: `close-${u}`,
          title: `Close cover ${u}`,
          takes: '25 min',
          statements: [
            { do: 'fit', new: true, part: `gasket-${u}` },
            { do: 'apply', supply: `sealant-${u}`, to: `cover-${u}` },
            { do: 'fit', part: `cover-${u}` },
            { do: 'fit', part: `cover-bolt-${u}`, count: 6 + (u % 4) },
            {
              do: 'tighten',
              part: `cover-bolt-${u}`,
              stages: ['12 N·m', '25 N·m'],
              order: 'star',
              using: 'torque-wrench',
            },
            {
              do: 'if',
              condition: 'the cover sits proud',
              statements: [{ do: 'do', text: 'Stop and ask the foreman.' }],
              otherwise: [{ do: 'check', text: 'The shaft turns by hand.' }],
            },
            { do: 'wait', time: '60 min', text: 'The sealant cures.' },
            { do: 'fill', supply: `oil-${u}`, amount: '1.8 L' },
          ],
        },
      ]),
    },
    '',
    '',
    '',
  );
}

const linesOfUnit = jsonUnits(5).length - jsonUnits(4).length;

/** The procedure as JSON, within one unit of `lines` lines. */
export const jsonOf = (lines: number): string =>
  jsonUnits(Math.max(1, Math.round((lines - 12) / linesOfUnit))).join('\n');

const name: JSONSchema = { type: 'string', pattern: '^[a-z][a-z0-9-]*$' };
const text: JSONSchema = { type: 'string', minLength: 1, maxLength: 200 };
const count: JSONSchema = { type: 'integer', minimum: 1, maximum: 9999 };
const flag: JSONSchema = { const: true };
const number = '[0-9]+([.][0-9]+)?';
/** A number or a range with one of the units. */
const quantity = (...units: string[]): JSONSchema => ({
  type: 'string',
  pattern: `^${number}([.][.]${number})? (${units.join('|')})$`,
});
const torque = quantity('N·m', 'lbf·ft');
const length = quantity('mm', 'in');
const time = quantity('min', 'h', 'd');
const volume = quantity('L', 'ml');
const heat = quantity('°C', '°F');
const listOf = (items: JSONSchema): JSONSchema => ({ type: 'array', minItems: 1, items });
const exactly = (required: Record<string, JSONSchema>, optional: Record<string, JSONSchema> = {}): JSONSchema => ({
  type: 'object',
  required: Object.keys(required),
  additionalProperties: false,
  properties: { ...required, ...optional },
});
const act = (verbs: string[], required: Record<string, JSONSchema>, optional = {}): JSONSchema =>
  exactly({ do: { enum: verbs }, ...required }, optional);
const statements = listOf({ $ref: '#/definitions/statement' });
const steps = listOf(exactly({ step: name, statements }, { title: text, takes: time }));

const schema: JSONSchema = {
  definitions: {
    statement: {
      oneOf: [
        act(['remove', 'discard', 'mark', 'clean'], { part: name }, { count, text, keep: text }),
        act(['fit'], { part: name }, { count, text, new: flag }),
        act(['drain', 'fill'], { supply: name }, { amount: volume }),
        act(['apply'], { supply: name, to: name }),
        act(['wait'], { time }, { text }),
        act(['heat'], { part: name, to: heat }),
        act(['measure'], { reading: name }, { limit: length }),
        act(['tighten'], { part: name }, { stages: listOf(torque), order: { enum: ['star'] }, using: name }),
        act(['identify', 'warning', 'do', 'check'], { text }),
        act(['if'], { condition: text, statements }, { otherwise: statements }),
      ],
    },
  },
  ...exactly(
    { procedure: name, title: text },
    {
      codes: listOf({ type: 'string', pattern: '^[A-Z0-9-]+$' }),
      measures: { enum: ['metric', 'imperial'] },
      tools: listOf(exactly({ name, title: text }, { range: torque })),
      parts: listOf(
        exactly(
          { name, title: text },
          {
            count,
            thread: { type: 'string', pattern: '^M[0-9]+(x[0-9.]+)?$' },
            class: { enum: ['4.6', '5.8', '8.8', '10.9', '12.9'] },
            length,
            torque,
            holes: name,
            heldBy: listOf(name),
            behind: listOf(name),
            carriedBy: name,
            renew: flag,
            index: flag,
            lead: time,
            bore: { type: 'string', pattern: `^${number} mm [A-Z][0-9]+/[a-z][0-9]+$` },
            limit: heat,
          },
        ),
      ),
      supplies: listOf(exactly({ name, title: text }, { amount: volume, cure: time, spec: text })),
      patterns: listOf(exactly({ name, circle: count, diameter: length })),
      teardown: steps,
      reassembly: steps,
    },
  ),
};

/** The same file with less asked of a statement: one shape for all kinds, so that nothing is tried in vain. */
const flatSchema: JSONSchema = {
  ...schema,
  definitions: {
    statement: exactly(
      { do: { type: 'string' } },
      {
        ...{
          part: name,
          supply: name,
          reading: name,
          using: name,
          count,
          text,
          keep: text,
          condition: text,
          new: flag,
        },
        ...{ amount: volume, time, limit: length, stages: listOf(torque), order: { enum: ['star'] } },
        ...{ to: { type: 'string' }, statements, otherwise: statements },
      },
    ),
  },
};

const rules: readonly (readonly [selector: string, ...declarations: string[]])[] = [
  ['.step-#', 'display: grid', 'grid-template-columns: 2rem 1fr auto', 'gap: 0.5rem 1rem', 'padding: 0.25rem 0.5rem'],
  ['.step-# > .title', 'margin: 0 0 0.5rem', 'font-size: 1.125rem', 'font-weight: 600', 'color: #1f2a44'],
  [
    '.step-# .part-name',
    'font-family: monospace',
    'white-space: nowrap',
    'text-overflow: ellipsis',
    'overflow: hidden',
  ],
  ['.step-# .torque', 'text-align: right', 'font-variant-numeric: tabular-nums', 'border-left: 1px solid #d0d4dc'],
  [
    '.step-# .warning',
    'background-color: #fff4e5',
    'border: 1px solid #c77700',
    'border-radius: 4px',
    'color: #5c3700',
  ],
  [
    '.step-# input:checked + label',
    'text-decoration: line-through',
    'opacity: 0.6',
    'transition: opacity 150ms ease-in',
  ],
];

/** A style sheet within one rule of `lines` lines. */
export function cssOf(lines: number): string {
  const written: string[] = [];
  for (let i = 0; written.length < lines - 3; i++) {
    const [selector, ...declarations] = rules[i % rules.length]!;
    const number = Math.floor(i / rules.length) + 1;
    written.push(`.card ${selector.replace('#', `${number}`)} {`, ...declarations.map((each) => `  ${each};`), '}');
  }
  return written.join('\n');
}

const uri = { json: 'file:///list.json', css: 'file:///sheet.css' };
const jsonWith = (given: JSONSchema): ReturnType<typeof getLanguageService> => {
  const service = getLanguageService({});
  service.configure({ schemas: [{ uri: 'file:///schema.json', fileMatch: ['*.json'], schema: given }] });
  return service;
};
export const json = jsonWith(schema);
const flatJson = jsonWith(flatSchema);
export const css = getCSSLanguageService();
export const documentOf = (language: 'json' | 'css', text: string): TextDocument =>
  TextDocument.create(uri[language], language, 1, text);

/** Number of findings of a fresh reading. */
export async function judgeJson(text: string, { flat = false } = {}): Promise<number> {
  const service = flat ? flatJson : json;
  const document = documentOf('json', text);
  return (await service.doValidation(document, service.parseJSONDocument(document))).length;
}
export function judgeCss(text: string): number {
  const document = documentOf('css', text);
  return css.doValidation(document, css.parseStylesheet(document)).length;
}
