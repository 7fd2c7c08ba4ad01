import { features } from './features/index.ts';

/** A test file by its path, and its text. */
export type TestFile = readonly [path: string, text: string];

/** The table of protocol methods with the file that answers each and a test that asks it, as Markdown. */
export function methodTable(tests: readonly TestFile[]): string {
  const rows = features.map(({ method, file }) => {
    const own = tests.filter(([, text]) => text.includes(`/src/features/${file}'`));
    const asFunction = own.find(([path]) => path === `tests/features/${file.replace('.ts', '.test.ts')}`) ?? own[0];
    const asked = tests.findLast(([path, text]) => path.startsWith('tests/protocol/') && text.includes(`'${method}'`));
    const link = (found: TestFile | undefined) =>
      found === undefined ? '' : `[${found[0].replace(/^tests\/|\.test\.ts$/g, '')}](${found[0]})`;
    return `| \`${method}\` | [${file}](server/src/features/${file}) | ${link(asFunction)} | ${link(asked)} |`;
  });
  return [
    '| method | answered by | tested as a function | over the protocol |',
    '| --- | --- | --- | --- |',
    ...rows,
  ].join('\n');
}
