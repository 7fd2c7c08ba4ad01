import { features } from './features/index.ts';

/** A test file by its path, and its text. */
export type TestFile = readonly [path: string, text: string];

interface Row {
  readonly method: string;
  readonly file: string;
  readonly asFunction: TestFile | undefined;
  readonly asked: TestFile | undefined;
}

function rowsOf(tests: readonly TestFile[]): Row[] {
  return features.map(({ method, file }) => {
    const own = tests.filter(
      ([path, text]) => path.startsWith('tests/features/') && text.includes(`/src/features/${file}'`),
    );
    const asFunction = own.find(([path]) => path === `tests/features/${file.replace('.ts', '.test.ts')}`) ?? own[0];
    const asked = tests.findLast(([path, text]) => path.startsWith('tests/protocol/') && text.includes(`'${method}'`));
    return { method, file, asFunction, asked };
  });
}

/** Methods that no test asks, with what is missing. */
export const untested = (tests: readonly TestFile[]): string[] =>
  rowsOf(tests).flatMap(({ method, file, asFunction, asked }) => [
    ...(asFunction === undefined ? [`${method}: no test in tests/features imports ${file}`] : []),
    ...(asked === undefined ? [`${method}: no test in tests/protocol asks it`] : []),
  ]);

/** The table of protocol methods with the file that answers each and a test that asks it, as Markdown. */
export function methodTable(tests: readonly TestFile[]): string {
  const link = (found: TestFile | undefined) =>
    found === undefined ? '' : `[${found[0].replace(/^tests\/|\.test\.ts$/g, '')}](${found[0]})`;
  const rows = rowsOf(tests).map(
    ({ method, file, asFunction, asked }) =>
      `| \`${method}\` | [${file}](server/src/features/${file}) | ${link(asFunction)} | ${link(asked)} |`,
  );
  return [
    '| method | answered by | tested as a function | over the protocol |',
    '| --- | --- | --- | --- |',
    ...rows,
  ].join('\n');
}
