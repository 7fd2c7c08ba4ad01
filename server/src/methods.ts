import { features } from './features/index.ts';

/** A test file by its path, and its text. */
export type TestFile = readonly [path: string, text: string];

/** The table of protocol methods with the file that answers each and the tests that ask it, as Markdown. */
export function methodTable(tests: readonly TestFile[]): string {
  const rows = features.map(({ method, file }) => {
    const asFunction = tests.filter(([, text]) => text.includes(`/src/features/${file}'`));
    const asked = tests.filter(([path, text]) => path.startsWith('tests/protocol/') && text.includes(`'${method}'`));
    const listed = (found: readonly TestFile[]) =>
      found.map(([path]) => `[${path.replace(/^tests\/|\.test\.ts$/g, '')}](${path})`).join(', ');
    return `| \`${method}\` | [${file}](server/src/features/${file}) | ${listed(asFunction)} | ${listed(asked)} |`;
  });
  return ['| method | answered by | tested as a function | over the protocol |', '| --- | --- | --- | --- |', ...rows].join(
    '\n',
  );
}
