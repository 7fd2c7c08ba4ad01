import type { Check, Severity } from '../checks/check.ts';
import { addTo } from '../model/grouped.ts';
import type { Range, ReportedFinding, ReportedRepair, Writer } from './report.ts';

export interface SarifOptions {
  readonly version: string;
  readonly checks: readonly Check[];
  /** Gives a file's URI: absolute, or relative to the root of the sources. */
  readonly uriOf: (file: string) => string;
}

const levels: Record<Severity, 'error' | 'warning' | 'note'> = {
  error: 'error',
  warning: 'warning',
  information: 'note',
  hint: 'note',
};

/**
 * Static Analysis Results Interchange Format 2.1.0 (OASIS), one run: rules from the checks' own metadata, results with
 * related places and fixes, files that could not be used as notifications of the tool.
 */
export function sarifWriter({ version, checks, uriOf }: SarifOptions): Writer {
  const indexOf = new Map(checks.map(({ code }, index) => [code, index]));
  const placeOf = (file: string, range?: Range) => ({
    physicalLocation: {
      artifactLocation: locationOf(uriOf(file)),
      ...(range === undefined ? {} : { region: regionOf(range) }),
    },
  });
  const resultOf = (file: string, finding: ReportedFinding) => ({
    ruleId: finding.code,
    ruleIndex: indexOf.get(finding.code) ?? -1,
    level: levels[finding.severity],
    message: messageOf(finding.message),
    locations: [placeOf(file, finding.range)],
    ...(finding.related.length === 0
      ? {}
      : {
          relatedLocations: finding.related.map((place, id) => ({
            id,
            ...placeOf(place.file, place.range),
            message: messageOf(place.message),
          })),
        }),
    ...(finding.repairs.length === 0 ? {} : { fixes: finding.repairs.map((repair) => fixOf(repair, uriOf)) }),
    properties: { severity: finding.severity },
  });

  const opening = {
    $schema: 'https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json',
    version: '2.1.0',
    runs: [
      {
        tool: { driver: { name: 'Fettle', version, rules: checks.map(ruleOf) } },
        columnKind: 'utf16CodeUnits',
        results: [],
      },
    ],
  };
  const refused: object[] = [];
  let separator = '';
  return {
    opening: JSON.stringify(opening).slice(0, -']}]}'.length),
    file({ file, findings }) {
      let out = '';
      for (const finding of findings) {
        out += `${separator}\n${JSON.stringify(resultOf(file, finding))}`;
        separator = ',';
      }
      return out;
    },
    unusable(file, reason) {
      refused.push({ level: 'error', message: messageOf(`${file}: ${reason}`), locations: [placeOf(file)] });
      return '';
    },
    closing() {
      const invocation = { executionSuccessful: refused.length === 0, toolExecutionNotifications: refused };
      return `\n],"invocations":[${JSON.stringify(invocation)}]}]}\n`;
    },
  };
}

/** Braces are placeholders in SARIF messages (3.11.5) unless doubled. */
const messageOf = (text: string): { text: string } => ({ text: text.replace(/[{}]/g, '$&$&') });

const locationOf = (uri: string): object =>
  /^[a-z][a-z\d+.-]*:/i.test(uri) ? { uri } : { uri, uriBaseId: '%SRCROOT%' };

const regionOf = ({ start, end }: Range): object => ({
  startLine: start.line + 1,
  startColumn: start.character + 1,
  endLine: end.line + 1,
  endColumn: end.character + 1,
});

function ruleOf({ code, severity, section, fires, why, bad, good }: Check): object {
  return {
    id: code,
    shortDescription: messageOf(capital(fires)),
    fullDescription: messageOf(why),
    help: {
      ...messageOf(`${capital(fires)}\n${why}\n\nFound in\n${bad}\n\nNot found in\n${good}\n`),
      markdown: messageOf(
        `${capital(fires)}\n\n${why}\n\nFound in\n\n\`\`\`fettle\n${bad}\n\`\`\`\n\nNot found in\n\n\`\`\`fettle\n${good}\n\`\`\`\n`,
      ).text,
    },
    defaultConfiguration: { level: levels[severity] },
    properties: { section, severity },
  };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

function fixOf({ title, edits }: ReportedRepair, uriOf: SarifOptions['uriOf']): object {
  const files = new Map<string, object[]>();
  for (const { file, range, text } of edits) {
    addTo(files, file, {
      deletedRegion: regionOf(range),
      ...(text === '' ? {} : { insertedContent: { text } }),
    });
  }
  return {
    description: messageOf(title),
    artifactChanges: [...files].map(([file, replacements]) => ({
      artifactLocation: locationOf(uriOf(file)),
      replacements,
    })),
  };
}
