import assert from 'node:assert/strict';
import { checkBeside } from './beside.ts';
import { compareProblems } from './problems.ts';

/** The web build: the workbench runs the extension in its web worker host, the server in a worker below. Throws where a finding is missing. */
export async function checkWeb(vsix: string): Promise<void> {
  const loaded: string[] = [];
  await compareProblems(
    vsix,
    { 'remote.extensionKind': { 'fettle.fettle': ['web'] } },
    {
      prepare: (page) =>
        page.on('request', (request) => {
          const [bundle] = /dist\/[\w./]+js\b/.exec(decodeURIComponent(request.url())) ?? [];
          if (bundle && /fettle\.fettle/.test(request.url())) loaded.push(bundle);
        }),
      look: checkBeside,
    },
  );
  assert.deepEqual(loaded, ['dist/web/extension.cjs', 'dist/server.cjs', 'dist/page.js']);
  console.log('In the web: the same findings, the card beside');
}
