/** The requests beyond the protocol that views and commands of an editor make, asked of the real server. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { CardFile, ComparedText, DraftAnswer, KitFile, Page, PartsTrail } from '../../server/src/requests.ts';
import { applied } from '../features/scene.ts';
import { brief, Client } from './client.ts';

const uri = 'file:///bench/pump.fettle';
const textDocument = { uri };
const text = `procedure pump "Overhaul the pump"
  applies to P-1, P-2
part bolt x4 "Bolt" thread M8 class 8.8 torque 25 N·m
part cover "Cover" held by bolt
part seal "Seal" renew behind cover
teardown
  step open "Open it" takes 10 min
    identify "Read the code"
    remove bolt keep in "tray A"
    remove cover
    remove seal
    discard seal
reassembly
`;
const lineOf = (words: string): number => text.split('\n').findIndex((line) => line.includes(words));

describe('requests beyond the protocol', () => {
  const client = new Client();
  beforeAll(async () => {
    await client.initialize();
    await client.open(uri, text, 4);
  });
  afterAll(async () => {
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });

  it('fettle/trail tells where the pieces are at a line, and what brought them there', async () => {
    const line = lineOf('remove cover');
    const trail = await client.request<PartsTrail>('fettle/trail', { textDocument, position: { line, character: 4 } });
    expect(trail.line).toBe(line);
    expect(trail.views).toHaveLength(1);
    const [{ onTray, groups, codes }] = trail.views as [PartsTrail['views'][number]];
    expect(codes).toEqual(['P-1', 'P-2']);
    expect(onTray).toBe(5);
    const tray = groups.find(({ group }) => group === 'tray')!;
    expect(tray.parts.map(({ part, pieces }) => [part, pieces])).toEqual([
      ['cover', 1],
      ['bolt', 4],
    ]);
    const start = lineOf('remove bolt');
    expect(tray.parts[1]!.lots).toMatchObject([
      { pieces: 4, place: 'tray A', range: { start: { line: start, character: 4 }, end: { line: start } } },
    ]);
  });

  it('fettle/card gives the card with the lines of the source, for one code and sheet on demand', async () => {
    const card = await client.request<Page>('fettle/card', { textDocument });
    expect(card).toMatchObject({ title: 'Overhaul the pump', codes: ['P-1', 'P-2'] });
    expect(card.body).toContain(`data-line="${lineOf('remove cover')}"`);
    expect(card.body).toContain('Remove <b><bdi>Cover</bdi></b>');
    expect(card.body).not.toContain('Only for units with this code');
    const one = await client.request<Page>('fettle/card', { textDocument, code: 'P-2', paper: 'letter' });
    expect(one.body).toContain('Only for units with this code');
    expect(one.style).toContain('size: letter');
  });

  it('fettle/cardFile gives a page of its own that warns of the errors', async () => {
    const { html, errors } = await client.request<CardFile>('fettle/cardFile', { textDocument });
    const found = await client.findings(uri, 4);
    expect(errors).toBe(found.filter(({ severity }) => severity === 1).length);
    expect(errors).toBeGreaterThan(0);
    expect(html).toMatch(/^<!doctype html>/);
    expect(html).toContain('Do not use this card');
    expect(html).toContain('pump.fettle');
  });

  it('fettle/kitFile gives the kit as a table for spreadsheets, for one code on demand', async () => {
    const { csv, things, errors, code } = await client.request<KitFile>('fettle/kitFile', { textDocument });
    expect(csv).toMatch(/^\uFEFFkind,name,title,/);
    // A row a thing, between the header and the last line's end.
    expect(csv.split('\r\n')).toHaveLength(things + 2);
    expect(csv).toContain('container,,tray A,');
    expect(errors).toBeGreaterThan(0);
    expect(code).toBeUndefined();
    const one = await client.request<KitFile>('fettle/kitFile', { textDocument, code: 'P-2' });
    expect(one.code).toBe('P-2');
  });

  it('fettle/diagram draws what holds what, and says it in words', async () => {
    const { title, body } = await client.request<Page>('fettle/diagram', { textDocument });
    expect(title).toBe('Overhaul the pump');
    expect(body).toMatch(/<svg [\s\S]*data-line="3"[\s\S]*<\/svg>/);
    expect(body).toContain('<li data-line="2"><bdi>Bolt</bdi> × 4 (1): holds “<bdi>Cover</bdi>”.</li>');
  });

  it('fettle/plan draws the bars, and says them in words', async () => {
    const { body } = await client.request<Page>('fettle/plan', { textDocument });
    expect(body).toMatch(/<svg [\s\S]*Open it[\s\S]*<\/svg>/);
    expect(body).toMatch(/<table[\s\S]*10 min[\s\S]*Open it[\s\S]*<\/table>/);
    expect(body).toContain('bar chart of 1 activity over 10 min');
  });

  it('fettle/draft gives edits that leave nothing of what came off to be found', async () => {
    const { version, edits, notes } = await client.request<DraftAnswer>('fettle/draft', { textDocument });
    expect(version).toBe(4);
    expect(notes.length).toBeGreaterThan(0);
    const drafted = applied(text, edits);
    for (const line of ['fit new seal', 'fit cover', 'fit bolt', 'tighten bolt']) expect(drafted).toContain(line);
    await client.open('file:///bench/drafted.fettle', drafted);
    const left = brief(await client.findings('file:///bench/drafted.fettle', 1));
    expect(left.filter((each) => /left-|not-replaced|count-short/.test(each))).toEqual([]);
  });

  it('fettle/compare tells what an earlier text said otherwise, and what is for review', async () => {
    const old = text.replace('torque 25 N·m', 'torque 20 N·m');
    const told = await client.request<ComparedText>('fettle/compare', { textDocument, old });
    expect(told.review).toBe(true);
    expect(told.text).toMatch(/20 N·m[\s\S]*25 N·m/);
    const same = await client.request<ComparedText>('fettle/compare', { textDocument, old: `# earlier\n${text}` });
    expect(same.review).toBe(false);
    expect(same.text).not.toContain('N·m');
  });

  it('about a file that is not there are answered with nothing', async () => {
    const nowhere = { textDocument: { uri: 'file:///bench/no.fettle' }, position: { line: 0, character: 0 }, old: '' };
    for (const method of ['trail', 'card', 'cardFile', 'kitFile', 'diagram', 'plan', 'draft', 'compare'])
      expect(await client.request(`fettle/${method}`, nowhere), method).toBeNull();
  });
});
