import { checkOf } from '../checks/all.ts';

/**
 * Address of the help page of a check, for the `codeDescription` of a finding; nothing for a code that is no check's.
 * @param home URI of the project's or the packed extension's folder, which holds `server/checks`.
 */
export const helpHref = (code: string, home: string): string | undefined =>
  checkOf(code) === undefined ? undefined : `${home.replace(/\/*$/, '')}/server/checks/${code}.md`;
