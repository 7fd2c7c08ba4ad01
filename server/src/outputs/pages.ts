/** Pages written from the checks' own metadata, so that they cannot disagree with it. */
import { allChecks } from '../checks/all.ts';
import type { Check } from '../checks/check.ts';

const cell = (text: string): string => text.replace(/\|/g, '\\|');

/** The README's table of checks. */
export function checkTable(checks: readonly Check[] = allChecks): string {
  const sections = [...new Set(checks.map((check) => check.section))];
  return sections
    .map((section) => {
      const rows = checks
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
