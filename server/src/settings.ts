import { allChecks } from './checks/all.ts';
import { defaultSettings, type Severity } from './checks/check.ts';
import { longTextRange, severities } from './project/settings.ts';

/** Units of hints and hovers; what the author wrote is always shown first. */
export type ShownUnits = 'asWritten' | 'metric' | 'imperial';

/** What the user may set in the editor, under `fettle`. Everything has a default: a client that sends nothing loses nothing. */
export interface Preferences {
  readonly units: ShownUnits;
  readonly hints: { readonly otherUnit: boolean; readonly piecesOff: boolean; readonly clampShare: boolean };
  readonly codeLens: boolean;
  /** Keeps what closed files came to from one run to the next. */
  readonly index: { readonly cache: boolean };
  /** Words in one text, at most. */
  readonly longText: number;
  /** Checks that are not run, and severities of the others where they are not their own: both from `fettle.severity`. */
  readonly off: readonly string[];
  readonly severities: Readonly<Record<string, Severity>>;
}

export const defaultPreferences: Preferences = {
  units: 'asWritten',
  hints: { otherUnit: true, piecesOff: true, clampShare: true },
  codeLens: true,
  index: { cache: false },
  longText: defaultSettings.longText,
  off: [],
  severities: {},
};

/** What of them findings follow from. */
export const judgingPreferences = ({
  off,
  severities,
  longText,
}: Preferences): Pick<Preferences, 'off' | 'severities' | 'longText'> => ({ off, severities, longText });

export const shownUnits: readonly ShownUnits[] = ['asWritten', 'metric', 'imperial'];
/** What `fettle.severity` may say of a check. */
export const severityChoices: readonly string[] = [...severities, 'off'];

const codes: ReadonlySet<string> = new Set(allChecks.map(({ code }) => code));

/** Reads the section `fettle` of the client's settings. Total: what is missing or makes no sense counts as its default. */
export function readPreferences(section: unknown): Preferences {
  const { units, hints, codeLens, index, maxTextWords, severity } = fieldsOf(section);
  const { otherUnit, piecesOff, clampShare } = fieldsOf(hints);
  const flag = (value: unknown): boolean => value !== false;
  const chosen = Object.entries(fieldsOf(severity)).filter(([code]) => codes.has(code));
  const [least, most] = longTextRange;
  const words = typeof maxTextWords === 'number' && Number.isInteger(maxTextWords) ? maxTextWords : Number.NaN;
  return {
    units: shownUnits.find((each) => each === units) ?? defaultPreferences.units,
    hints: { otherUnit: flag(otherUnit), piecesOff: flag(piecesOff), clampShare: flag(clampShare) },
    codeLens: flag(codeLens),
    // Writes to disk: only where somebody says so.
    index: { cache: fieldsOf(index)['cache'] === true },
    longText: words >= least && words <= most ? words : defaultPreferences.longText,
    // What cannot be read is never silent.
    off: chosen.filter(([code, value]) => value === 'off' && code !== 'syntax').map(([code]) => code),
    severities: Object.fromEntries(
      chosen.flatMap(([code, value]) => {
        const known = severities.find((each) => each === value);
        return known === undefined ? [] : [[code, known]];
      }),
    ),
  };
}

const fieldsOf = (value: unknown): Record<string, unknown> =>
  typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
