import { allChecks } from '../checks/all.ts';
import type { Severity } from '../checks/check.ts';

/** What the user may set in the editor, under `fettle`. Everything has a default: a client that sends nothing loses nothing. */
export interface Preferences {
  /** `fettle.hints.units`, `fettle.hints.pieces`, `fettle.hints.clamp` */
  readonly hints: { readonly units: boolean; readonly pieces: boolean; readonly clamp: boolean };
  /** `fettle.lenses` */
  readonly lenses: boolean;
  /** `fettle.checks.off` */
  readonly off: readonly string[];
  /** `fettle.checks.severities` */
  readonly severities: Readonly<Record<string, Severity>>;
}

export const defaultPreferences: Preferences = {
  hints: { units: true, pieces: true, clamp: true },
  lenses: true,
  off: [],
  severities: {},
};

const severities: ReadonlySet<unknown> = new Set<Severity>(['error', 'warning', 'information', 'hint']);
const codes: ReadonlySet<unknown> = new Set(allChecks.map(({ code }) => code));

/** Reads the section `fettle` of the client's settings. Total: what is missing or of the wrong shape counts as its default. */
export function readPreferences(section: unknown): Preferences {
  const root = fieldsOf(section);
  const hints = fieldsOf(root['hints']);
  const checks = fieldsOf(root['checks']);
  const flag = (value: unknown): boolean => value !== false;
  return {
    hints: { units: flag(hints['units']), pieces: flag(hints['pieces']), clamp: flag(hints['clamp']) },
    lenses: flag(root['lenses']),
    // What cannot be read is never silent.
    off: Array.isArray(checks['off']) ? checks['off'].filter((code) => codes.has(code) && code !== 'syntax') : [],
    severities: Object.fromEntries(
      Object.entries(fieldsOf(checks['severities'])).filter(
        (entry): entry is [string, Severity] => codes.has(entry[0]) && severities.has(entry[1]),
      ),
    ),
  };
}

const fieldsOf = (value: unknown): Record<string, unknown> =>
  typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
