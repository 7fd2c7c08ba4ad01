import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv } from 'ajv';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { parse } from '../../grammar/parser.ts';
import { allChecks } from '../../server/src/checks/all.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { judge } from '../../server/src/checks/run.ts';
import { bind } from '../../server/src/model/model.ts';
import { findProject, projectPlaces } from '../../server/src/project/lookup.ts';
import { projectKeys, readProject } from '../../server/src/project/settings.ts';

const root = join(import.meta.dirname, '../..');
const schema = JSON.parse(readFileSync(join(root, 'server/schemas/fettle.schema.json'), 'utf8'));
const valid = new Ajv({ strict: true }).compile(schema);
const settingsOf = (project: unknown) => {
  const { settings, problems } = readProject(JSON.stringify(project));
  expect(problems).toEqual([]);
  return settings;
};
const found = (text: string, project: unknown): string[] =>
  judge(bind(parse('file:///p.fettle', text)), settingsOf(project)).findings.map(
    ({ code, severity }) => `${severity} ${code}`,
  );

describe('a project file', () => {
  test('of nothing leaves the defaults', () => {
    expect(readProject('{}')).toEqual({ settings: defaultSettings, stated: new Set(), problems: [] });
    expect(readProject('{ "$schema": "x" }').settings).toEqual(defaultSettings);
  });

  test('sets everything that the settings hold', () => {
    const project = {
      measures: 'imperial',
      off: ['long-text'],
      severities: { 'lost-mark': 'error' },
      friction: { oiled: [0.09, 0.1, 0.12] },
      heating: { open: '230 °F', sealed: '343.15 K' },
      ambient: '-5 degC',
      longText: 30,
    };
    expect(settingsOf(project)).toEqual({
      measures: 'imperial',
      off: ['long-text'],
      severities: { 'lost-mark': 'error' },
      friction: { ...defaultSettings.friction, oiled: { low: 0.09, mid: 0.1, high: 0.12 } },
      heatLimit: 110,
      filledHeatLimit: 70,
      ambient: -5,
      longText: 30,
    });
    expect(Object.keys(project).sort()).toEqual(projectKeys.filter((key) => key !== '$schema').sort());
    expect(valid(project)).toBe(true);
  });

  // 248 °F is 120 °C: (248 − 32) · 5/9, exact.
  test('in °F sets what °C would', () => {
    expect(settingsOf({ heating: { open: '248 °F' } }).heatLimit).toBe(120);
  });
});

const faults: [string, number, string][] = [
  ['{\n  "frction": {}\n}', 2, '"frction" is not a key: did you mean "friction"?'],
  ['{"zzzzzz": 1}', 1, '"zzzzzz" is not a key: write one of $schema, measures, off'],
  ['{\n"off": [\n"long-txt"]}', 3, '"long-txt" is no check of Fettle: did you mean "long-text"?'],
  ['{"off": "long-text"}', 1, 'off takes a list of codes, as in ["long-text"], not the text "long-text"'],
  ['{"off": [null]}', 1, 'off takes codes of checks, not null'],
  ['{"off": ["syntax"]}', 1, 'syntax cannot be off'],
  ['{"severities": {"left-of": "error"}}', 1, '"left-of" is no check of Fettle: did you mean "left-off"?'],
  ['{"severities": {"left-off": "eror"}}', 1, '"eror" cannot be the severity of left-off: did you mean "error"?'],
  [
    '{"severities": {"long-text": "off"}}',
    1,
    '"off" is no severity: to leave long-text out, list it in off, as in "off": ["long-text"]',
  ],
  ['{"severities": {"syntax": "off"}}', 1, 'syntax cannot be off: what cannot be read is not checked'],
  ['{"severities": ["left-off"]}', 1, 'severities takes an object, { … }, not a list'],
  ['{"measures": "mertic"}', 1, '"mertic" cannot be measures: did you mean "metric"?'],
  ['{"measures": true}', 1, 'measures takes one of metric, imperial, not true'],
  ['{"friction": {"oild": [0.1, 0.1, 0.1]}}', 1, '"oild" is not a condition in friction: did you mean "oiled"?'],
  // One slip, one fault.
  [
    '{"friction": {"stainles": {"dry": [0.3, 0.4, 0.5]}}}',
    1,
    '"stainles" is not a condition in friction: did you mean "stainless"?',
  ],
  ['{"friction": {"stainless": [0.3, 0.4, 0.5]}}', 1, 'stainless takes an object'],
  ['{"friction": {"stainless": {"wet": 1}}}', 1, '"wet" is not a condition in stainless: write one of dry'],
  ['{"friction": {"dry": [0.2, 0.1, 0.3]}}', 1, 'dry takes three coefficients of friction, low to high'],
  ['{"friction": {"dry": [0.1, 0.2]}}', 1, 'dry takes three coefficients'],
  ['{"friction": {"dry": [12, 15, 18]}}', 1, 'dry takes three coefficients'],
  ['{"friction": {"dry": {"low": 0.1}}}', 1, 'dry takes three coefficients'],
  ['{"heating": {"opn": "110 °C"}}', 1, '"opn" is not a limit in heating: did you mean "open"?'],
  ['{"heating": {"open": 110}}', 1, 'open takes a text with number and unit, not 110: write it as in "110 °C"'],
  ['{"heating": {"open": "110 N·m"}}', 1, '"110 N·m" is no temperature'],
  ['{"heating": {"open": "110"}}', 1, '"110" is no temperature'],
  ['{"heating": {"open": "1100 °C"}}', 1, '"1100 °C" cannot be right for open: it takes 40 to 400 °C'],
  ['{"ambient": 20}', 1, 'ambient takes a text with number and unit, not 20: write it as in "20 °C"'],
  ['{"longText": "20"}', 1, 'longText takes a whole number of words from 5 to 200, not the text "20"'],
  ['{"longText": 20.5}', 1, 'not 20.5'],
  ['{"longText": 20,\n "longText": 21}', 2, '"longText" stands twice: keep one'],
  ['{"constructor": 1}', 1, '"constructor" is not a key'],
  ['{"severities": {"toString": "error"}}', 1, '"toString" is no check'],
  ['{\r\n\r\n"off": [],}', 3, 'a key in double quotes is expected here: take a comma too many out'],
  ['{"off": ["long-text",]}', 1, 'a value is expected here: take a comma too many out'],
  ['{\n// why\n"off": []}', 2, 'JSON has no comments: take this one out'],
  ['{"off" []}', 1, 'a colon is missing'],
  ['{"off": []', 1, 'the object is not closed: write }'],
  ['[]', 1, 'a project file is one object: write { … }'],
  ['', 1, 'a value is expected here'],
];

describe('what cannot be used is told with its line and remedy', () => {
  test.each(faults)('%j', (text, line, message) => {
    const { problems } = readProject(text);
    expect(problems.map((problem) => problem.line)).toEqual([line]);
    expect(problems[0]!.message).toContain(message);
    expect(problems[0]!.end).toBeGreaterThanOrEqual(problems[0]!.start);
  });

  test('all of it at once, in the order of the text, and the rest is kept', () => {
    const { problems, settings } = readProject('{\n"longText": 0,\n"off": ["no-class", "x"],\n"ambient": "18 °C"}');
    expect(problems.map(({ line }) => line)).toEqual([2, 3]);
    expect(settings).toEqual({ ...defaultSettings, off: ['no-class'], ambient: 18 });
  });

  test('no text makes the reader throw', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
        for (const { line, start, end } of readProject(text).problems) {
          expect(line).toBeGreaterThan(0);
          expect(end).toBeGreaterThanOrEqual(start);
        }
      }),
    );
  });
});

describe('the schema shipped for editors', () => {
  /** Mostly one of `good`, now and then one of `bad`. */
  const mostly = <T>(good: readonly T[], bad: readonly T[]) =>
    fc.oneof({ weight: 12, arbitrary: fc.constantFrom(...good) }, { weight: 1, arbitrary: fc.constantFrom(...bad) });
  const code = mostly(['left-off', 'no-class', 'unwarned', 'long-text'], ['syntax', 'left-of']);
  const number = mostly([0.05, 0.1, 0.14, 0.3, 1], [0, 2]);
  const temperature = mostly<unknown>(['110 °C', ' 230 degF ', '350 K'], ['20', '20 mm', 20, '°C', null]);
  const some = <T>(value: fc.Arbitrary<T>) =>
    fc.oneof(
      { weight: 12, arbitrary: value },
      { weight: 1, arbitrary: fc.constantFrom<unknown>(null, 3, 'x', [], {}) },
    );
  const member = <T>(key: fc.Arbitrary<string>, value: fc.Arbitrary<T>) => fc.dictionary(key, value, { maxKeys: 3 });
  const band = fc.oneof(
    { weight: 9, arbitrary: fc.tuple(number, number, number).map((values) => values.sort((a, b) => a - b)) },
    { weight: 1, arbitrary: fc.array(number, { maxLength: 5 }) },
  );
  const project = fc.record(
    {
      $schema: fc.constant('x'),
      measures: some(fc.constantFrom('metric', 'imperial')),
      off: some(fc.uniqueArray(code)),
      severities: some(member(code, mostly(['error', 'hint'], ['fatal']))),
      friction: some(member(mostly(['dry', 'oiled'], ['wet']), band)),
      heating: some(member(mostly(['open', 'sealed'], ['shut']), temperature)),
      longText: some(mostly([5, 20, 200], [0, 4, 201, 20.5])),
    },
    { requiredKeys: [] },
  );

  test('accepts what the reader accepts, but for the order within a friction band', () => {
    let accepted = 0;
    fc.assert(
      fc.property(project, fc.boolean(), (plain, other) => {
        const value = other && 'off' in plain ? { ...plain, other } : plain;
        const { problems } = readProject(JSON.stringify(value));
        const bands = Object.values((value as { friction?: object }).friction ?? {});
        fc.pre(bands.every((band) => !Array.isArray(band) || String([...band].sort((a, b) => a - b)) === String(band)));
        if (problems.length === 0) accepted++;
        expect(valid(value), JSON.stringify(valid.errors)).toBe(problems.length === 0);
      }),
      { numRuns: 1000 },
    );
    expect(accepted).toBeGreaterThan(100);
  });

  test('states the defaults, and every check', () => {
    const { properties } = schema;
    expect(Object.keys(properties).sort()).toEqual([...projectKeys].sort());
    expect(Object.keys(properties.severities.properties)).toEqual(allChecks.map((check) => check.code));
    const stated = {
      friction: Object.fromEntries(
        Object.entries<{ default: number[] }>(properties.friction.properties).map(([key, each]) => [key, each.default]),
      ),
      heating: {
        open: properties.heating.properties.open.default,
        sealed: properties.heating.properties.sealed.default,
      },
      ambient: properties.ambient.default,
      longText: properties.longText.default,
    };
    expect(settingsOf(stated)).toEqual(defaultSettings);
  });
});

describe('settings tell in the findings', () => {
  const bolt = (torque: string) => `part bolt "Bolt" thread M8 class 8.8 torque ${torque}
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt
`;
  const hot = `part race "Bearing" bore 50 mm interference 10..45 µm
teardown
  step off
    remove race
reassembly
  step on
    warning "Hot parts burn. Wear gloves."
    heat race to 110 °C
    fit race
`;
  test('off and severities, of checks that give several severities too', () => {
    expect(found(bolt('45 N·m'), {})).toEqual(['error over-proof']);
    expect(found(bolt('45 N·m'), { off: ['over-proof'] })).toEqual([]);
    expect(found(bolt('45 N·m'), { severities: { 'over-proof': 'hint' } })).toEqual(['hint over-proof']);
  });
  test('an allowance for a check that is off is not idle; idle-allow itself can be set', () => {
    const text = bolt('25 N·m').replace('    tighten', '    # fettle-allow over-proof: tried\n    tighten');
    expect(found(text, {})).toEqual(['warning idle-allow']);
    expect(found(text, { off: ['over-proof'] })).toEqual([]);
    expect(found(text, { off: ['idle-allow'] })).toEqual([]);
    expect(found(text, { severities: { 'idle-allow': 'error' } })).toEqual(['error idle-allow']);
  });
  test('friction', () => {
    expect(found(bolt('25 N·m'), {})).toEqual([]);
    expect(found(bolt('25 N·m'), { friction: { unstated: [0.05, 0.06, 0.07] } })).toEqual(['error over-proof']);
    expect(found(bolt('25 N·m'), { friction: { dry: [0.05, 0.06, 0.07] } })).toEqual([]);
    const stainless = bolt('20 N·m').replace('8.8', 'A2-70');
    const slippery = { unstated: [0.05, 0.06, 0.07] };
    expect(found(stainless, { friction: slippery })).toEqual([]);
    expect(found(stainless, { friction: { stainless: slippery } })).toEqual(['error over-proof']);
    expect(found(bolt('25 N·m'), { friction: { stainless: slippery } })).toEqual([]);
  });
  test('heating and ambient', () => {
    expect(found(hot, {})).toEqual([]);
    expect(found(hot, { heating: { open: '100 °C' } })).toEqual(['error too-hot']);
    expect(found(hot, { heating: { sealed: '100 °C' } })).toEqual([]);
    expect(found(hot.replace('µm', 'µm sealed'), {})).toEqual(['error too-hot']);
    expect(found(hot.replace('µm', 'µm sealed'), { heating: { sealed: '110 °C' } })).toEqual([]);
    // 45 µm on 50 mm need 45e-3 / (50 · 12.5e-6) = 72 K: from 20 °C to 92 °C, from 45 °C to 117 °C.
    expect(found(hot, { ambient: '45 °C' })).toEqual(['warning too-cool']);
  });
  test('measures, where the head does not say it', () => {
    expect(found(bolt('18 lbf·ft'), {})).toEqual([]);
    expect(found(bolt('18 lbf·ft'), { measures: 'imperial' })).toEqual([]);
    expect(found(bolt('18 lbf·ft'), { measures: 'metric' })).toEqual(['warning mixed-units']);
    const stated = `procedure job "Job"\n  measures imperial\n${bolt('18 lbf·ft')}`;
    expect(found(stated, { measures: 'metric' })).toEqual([]);
  });
  test('longText', () => {
    const text = 'teardown\n  step look\n    do "One two three four five six."\n';
    expect(found(text, {})).toEqual([]);
    expect(found(text, { longText: 5 })).toEqual(['hint long-text']);
  });
});

describe('the nearest project file', () => {
  test('is looked for from the folder of the file to the root', () => {
    expect([...projectPlaces('file:///a/b%20c/job.fettle')]).toEqual([
      'file:///a/b%20c/fettle.json',
      'file:///a/fettle.json',
      'file:///fettle.json',
    ]);
    expect([...projectPlaces('file:///job.fettle')]).toEqual(['file:///fettle.json']);
  });
  test('alone counts', () => {
    const files: Record<string, string> = { 'file:///a/fettle.json': 'far', 'file:///a/b/fettle.json': 'near' };
    const read = (uri: string) => files[uri];
    expect(findProject('file:///a/b/c/job.fettle', read)).toEqual({ uri: 'file:///a/b/fettle.json', text: 'near' });
    expect(findProject('file:///a/job.fettle', read)?.text).toBe('far');
    expect(findProject('file:///b/job.fettle', read)).toBeUndefined();
  });
});
