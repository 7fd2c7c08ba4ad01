/** Pages written from the checks' own metadata, so that they cannot disagree with it. */
import { allChecks } from '../checks/all.ts';
import type { Check } from '../checks/check.ts';

const cell = (text: string): string => text.replace(/\|/g, '\\|');

/** The README's table of checks. */
export function checkTable(): string {
  const sections = [...new Set(allChecks.map((check) => check.section))];
  return sections
    .map((section) => {
      const rows = allChecks
        .filter((check) => check.section === section)
        .map(
          (check) =>
            `| [\`${check.code}\`](server/checks/${check.code}.md) | ${check.severity} | ${cell(check.fires)} | ${check.repairs === undefined ? '' : 'yes'} |`,
        );
      return [
        `**${section}**`,
        '',
        '| code | severity | fires when | repair |',
        '| --- | --- | --- | --- |',
        ...rows,
      ].join('\n');
    })
    .join('\n\n');
}

/** The help page of one check, in Markdown. */
export function checkPage(check: Check): string {
  return [
    `# ${check.code}`,
    '',
    `${check.section} · ${check.severity}${check.repairs === undefined ? '' : ' · a repair is offered'}`,
    '',
    `Fires when ${check.fires}`,
    '',
    check.why,
    '',
    ...(check.assumes === undefined
      ? []
      : ['It reckons with:', '', ...check.assumes().map((sentence) => `- ${sentence}`), '']),
    'Found in:',
    '',
    '```fettle',
    check.bad,
    '```',
    '',
    'Not found in:',
    '',
    '```fettle',
    check.good,
    '```',
    '',
    ...(check.beside === undefined
      ? []
      : [`Both with \`${check.beside.name}\`:`, '', '```fettle', check.beside.text, '```', '']),
    `\`# fettle-allow ${check.code}: reason\` above the line silences it there; the reason is required.`,
    '',
    "The maker's data, local codes and licensed practice prevail over anything that Fettle computes.",
    '',
  ].join('\n');
}

/** `text` with what stands between `<!-- name -->` and `<!-- /name -->` replaced. @throws where the marks are missing. */
export function replaceBetween(text: string, name: string, content: string): string {
  const [open, close] = [`<!-- ${name} -->`, `<!-- /${name} -->`];
  const from = text.indexOf(open);
  const to = text.indexOf(close);
  if (from < 0 || to < from) throw new Error(`the marks ${open} and ${close} are missing`);
  return `${text.slice(0, from + open.length)}\n${content}\n${text.slice(to)}`;
}

interface Manifest {
  readonly contributes: {
    readonly commands: readonly { readonly command: string; readonly title: string }[];
    readonly configuration: {
      readonly properties: Readonly<
        Record<
          string,
          { readonly default?: unknown; readonly description?: string; readonly markdownDescription?: string }
        >
      >;
    };
  };
}
type Texts = Readonly<Record<string, string>>;
const said = (texts: Texts, key = ''): string => texts[key.replaceAll('%', '')] ?? key;

/** What each command of the editor does; its title alone may not say it. A command without a line here is an error. */
const commandHelp: Texts = {
  'fettle.draftReassembly': 'writes the reassembly that answers the teardown, as one edit to undo',
  'fettle.openCard': 'shows the card beside the text; it follows the cursor and every edit',
  'fettle.saveCard': 'writes the card into a page of its own, for any browser',
  'fettle.saveKit':
    'writes new parts, tools and supplies as a CSV file, as `fettle kit` does, with order dates from the day that you name',
  'fettle.chooseCode': 'makes the open card for one of the codes',
  'fettle.openDiagram': 'draws the order in which parts come free',
  'fettle.openPlan': 'shows work, waits and lead times',
  'fettle.newProcedure': 'opens an unsaved procedure with a head and its phases to fill in',
  'fettle.openSample': 'opens a small procedure with faults put in, unsaved',
  'fettle.compareWithCommit': 'tells what the edits since the last commit change in the job, not in the text',
  'fettle.restart': 'stops the server and starts it anew; nothing is lost',
};

/** The README's table of the editor's commands. @throws where one has no help. */
export function editorCommandTable({ contributes }: Manifest, texts: Texts): string {
  const rows = contributes.commands.map(({ command, title }) => {
    const help = commandHelp[command];
    if (help === undefined) throw new Error(`${command} has no help in server/src/outputs/pages.ts: add a line there.`);
    return `| ${said(texts, title)} | ${help} |`;
  });
  return ['| command | what it does |', '| --- | --- |', ...rows].join('\n');
}

/** The README's table of settings, out of the manifest. */
export function settingTable({ contributes }: Manifest, texts: Texts): string {
  const rows = Object.entries(contributes.configuration.properties).map(([key, property]) => {
    const about = said(texts, property.markdownDescription ?? property.description);
    // A reference to another setting, as the editor's own page has it.
    return `| \`${key}\` | \`${JSON.stringify(property.default)}\` | ${cell(about.replace(/`#([\w.]+)#`/g, '`$1`'))} |`;
  });
  return ['| setting | default | what it does |', '| --- | --- | --- |', ...rows].join('\n');
}
