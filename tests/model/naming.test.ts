import fc from 'fast-check';
import { expect, it } from 'vitest';
import { encodedTokens } from '../../server/src/features/semantic-tokens.ts';
import type { Snapshot } from '../../server/src/snapshot.ts';
import { cursor, scene } from '../features/scene.ts';
import { edit, placed, procedureText } from '../fuzz/generate.ts';

/** Multiplies the number of random inputs. */
const effort = Number(process.env.RUNS ?? 1);

const colours = async (text: string): Promise<number[]> => encodedTokens((await scene(text)).snapshot);

const pump = `part cover "Cover"
part shaft "Shaft" behind cover
tool wrench "Wrench"
teardown
  step open "Open it"
    remove cover using wrench
  step strip "Strip it" after open
    remove shaft
    omit cove "It stays off"
`;

it('kept over letters of a declared name are those found anew, also where only some were asked for meanwhile', async () => {
  const { workspace, uri, snapshot } = await scene(pump + cursor);
  const told = (now: Snapshot, ...chunks: [from?: number, to?: number]): number[] => {
    // What an edit left as it was is kept from a file that was judged.
    now.judged;
    return encodedTokens(now, ...chunks);
  };
  expect(told(snapshot)).toEqual(await colours(pump));
  let version = 1;
  let text = pump;
  const type = async (at: number, erased: number, put: string) => {
    const { document } = (await workspace.snapshot(uri))!.file;
    const range = { start: document.positionAt(at), end: document.positionAt(at + erased) };
    workspace.didChange(uri, ++version, [{ range, text: put }]);
    text = text.slice(0, at) + put + text.slice(at + erased);
    return (await workspace.snapshot(uri))!;
  };
  // `cover` is called `cove`, which `omit` names; then `covers`, while the last chunk alone is looked at; then `cover` again.
  const end = 'part cover'.length;
  expect(told(await type(end - 1, 1, ''))).toEqual(await colours(text));
  const covers = await type(end - 1, 0, 'rs');
  const last = covers.tree.chunks.length - 1;
  told(covers, last, last);
  expect(told(covers)).toEqual(await colours(text));
  const cover = await type(end, 1, '');
  told(cover, last, last);
  expect(told(cover)).toEqual(await colours(text));
  expect(text).toBe(pump);
  // The name of a step that another waits for, over many more letters than are remembered.
  for (let letter = 0; letter < 300; letter++) {
    const step = await type(text.indexOf('step open') + 'step open'.length, 0, 'n');
    if (letter % 60 !== 0 && letter !== 299) step.judged;
    else expect(told(step)).toEqual(await colours(text));
  }
  // What waited for it does so again.
  const open = text.indexOf('step open') + 'step open'.length;
  expect(told(await type(open, 300, ''))).toEqual(await colours(text));
  // The last step names both: of two changes the later one counts.
  expect(told(await type(end - 1, 1, ''))).toEqual(await colours(text));
  expect(told(await type(open - 1, 0, 'n'))).toEqual(await colours(text));
  expect(told(await type(end - 1, 0, 'r'))).toEqual(await colours(text));
});

it('kept of a code that goes from the head is let go', async () => {
  const text = `procedure pump "Pump"
  applies to P-1, P-2
part cover "Cover"
teardown
  step open
    remove cover
  step look
    for P-2
      inspect cover
    end
`;
  const { workspace, uri, snapshot } = await scene(text + cursor);
  snapshot.judged;
  expect(encodedTokens(snapshot)).toEqual(await colours(text));
  const at = text.indexOf(', P-2');
  const { document } = snapshot.file;
  const range = { start: document.positionAt(at), end: document.positionAt(at + 5) };
  workspace.didChange(uri, 2, [{ range, text: '' }]);
  const now = (await workspace.snapshot(uri))!;
  expect(encodedTokens(now)).toEqual(await colours(text.replace(', P-2', '')));
});

it('kept over any edits are those found anew', async () => {
  await fc.assert(
    fc.asyncProperty(procedureText(), fc.array(edit, { minLength: 1, maxLength: 6 }), async (start, edits) => {
      const { workspace, uri, snapshot } = await scene(start);
      snapshot.judged;
      encodedTokens(snapshot);
      let text = start;
      for (const [i, each] of edits.entries()) {
        const { start: from, end, text: put } = placed(text, each);
        const { document } = (await workspace.snapshot(uri))!.file;
        const range = { start: document.positionAt(from), end: document.positionAt(end) };
        workspace.didChange(uri, i + 2, [{ range, text: put }]);
        text = text.slice(0, from) + put + text.slice(end);
        const now = (await workspace.snapshot(uri))!;
        now.judged;
        expect(encodedTokens(now)).toEqual(await colours(text));
      }
    }),
    { numRuns: 60 * effort },
  );
});
