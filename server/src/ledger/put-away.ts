import { addTo } from '../model/grouped.ts';
import { noted } from '../model/noted.ts';
import type { Variant } from './records.ts';

/**
 * By part, the places in `entries` of what says where it goes and does not take it off: cleaned, judged or marked, it is put away
 * anew.
 */
export const putAwayAnew = noted((entries: Variant['entries']): ReadonlyMap<string, readonly number[]> => {
  const places = new Map<string, number[]>();
  for (const [index, { role, statement, actions }] of entries.entries()) {
    const part = statement.name?.text;
    if (role !== 'statement' || statement.keep === undefined || part === undefined) continue;
    if (actions.some((action) => action.part === part && action.verb !== 'mark')) continue;
    addTo(places, part, index);
  }
  return places;
});
