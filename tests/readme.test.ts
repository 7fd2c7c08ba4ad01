import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parse } from '../grammar/parser.ts';
import { judge } from '../server/src/checks/run.ts';
import { bind } from '../server/src/model/model.ts';
import { scenes } from './editor/scenes.ts';

const root = resolve(import.meta.dirname, '..');
const examples = (file: string): string[] =>
  [...readFileSync(resolve(root, file), 'utf8').matchAll(/```fettle\n([\s\S]*?)```/g)].map((match) => match[1]!);
const codesIn = (text: string): string[] =>
  judge(bind(parse('file:///readme.fettle', text))).findings.map((finding) => finding.code);

describe('the README', () => {
  const [example] = examples('README.md');
  it('shows an example in which nothing is found', () => {
    expect(codesIn(example!)).toEqual([]);
  });
  it.each([
    ['leave the `fit` of the cap out', /\n *fit cap "Marks in line"/, '', 'left-off'],
    ['write x5', 'fit cap-bolt x6', 'fit cap-bolt x5', 'count-short'],
    ['tighten round the circle', 'order star', 'order 1 2 3 4 5 6', 'next-door'],
    ['fill the oil after 20 minutes', 'wait 60 min', 'wait 20 min', 'not-cured'],
    ['refit the old seal', 'fit new cap-seal', 'fit cap-seal', 'renew-refitted'],
  ] as const)('says what happens if you %s', (_, from, to, code) => {
    const text = example!.replace(from, to);
    expect(text).not.toBe(example);
    expect(codesIn(text)).toContain(code);
  });
  it.each(['README.md', 'client/PICTURES.md'])('shows pictures that are there: %s', (file) => {
    const shown = [...readFileSync(resolve(root, file), 'utf8').matchAll(/!\[([^\]]+)\]\(([^)]+)\)/g)];
    expect(shown.length).toBeGreaterThan(5);
    for (const [, , path] of shown) expect(existsSync(resolve(root, file, '..', path!)), path).toBe(true);
  });
  it('has, with the page of pictures, a place for every picture that is taken', () => {
    const pages =
      readFileSync(resolve(root, 'README.md'), 'utf8') + readFileSync(resolve(root, 'client/PICTURES.md'), 'utf8');
    const taken = readdirSync(resolve(root, 'client/pictures')).sort();
    expect(taken).toEqual(
      Object.keys(scenes)
        .map((name) => `${name}.webp`)
        .sort(),
    );
    for (const name of taken) expect(pages).toContain(`pictures/${name})`);
  });
  it('names two commands that stand by themselves', () => {
    const readme = readFileSync(resolve(root, 'README.md'), 'utf8');
    const { scripts } = JSON.parse(readFileSync(resolve(root, 'package.json'), 'utf8'));
    expect(readme).toContain('npm ci && npm run demo');
    expect(readme).toContain('npm it');
    expect(scripts.demo).toBeDefined();
    expect(scripts.test).toBeDefined();
  });
});
