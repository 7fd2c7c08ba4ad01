import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { brief, Client } from './client.ts';

const uri = 'file:///bench/pump.fettle';
const text = `part cover "Cover"
part plug "Plug"
teardown
  step open
    remove cover
    remove plug
reassembly
  step close
    fit cover
`;

describe('pushed findings', () => {
  let client: Client;
  beforeEach(async () => {
    client = new Client();
    await client.initialize();
  });
  afterEach(async () => {
    expect(await client.end()).toBe(0);
    expect(client.stderr).toBe('');
  });

  it('come for an opened document at exact ranges, with the version and related places', async () => {
    await client.open(uri, text, 7);
    const findings = await client.findings(uri, 7);
    expect(brief(findings)).toEqual(['6:11-15 left-off']);
    expect(findings[0]).toMatchObject({
      severity: 1,
      source: 'fettle',
      relatedInformation: [{ location: { uri, range: { start: { line: 1, character: 5 } } } }],
    });
  });

  it('go when an edit mends them, and come back when another breaks it again', async () => {
    await client.open(uri, text);
    await client.findings(uri, 1);
    const end = { line: 9, character: 0 };
    await client.change(uri, 2, [{ range: { start: end, end }, text: '    fit plug\n' }]);
    expect(await client.findings(uri, 2)).toEqual([]);
    await client.change(uri, 3, [
      { range: { start: { line: 9, character: 8 }, end: { line: 9, character: 12 } }, text: 'plg' },
    ]);
    expect(brief(await client.findings(uri, 3))).toEqual(['6:11-15 left-off', '10:8-11 unknown-name']);
  });

  it('are cleared when the document is closed', async () => {
    await client.open(uri, text);
    await client.findings(uri, 1);
    await client.close(uri);
    while (client.pushed.at(-1)!.diagnostics.length > 0) await client.next();
    expect(client.pushed.at(-1)).toEqual({ uri, diagnostics: [] });
  });
});
