import type { Action } from '../ledger/ledger.ts';

const words: Readonly<Record<Exclude<Action['verb'], 'mark'>, string>> = {
  remove: 'off',
  discard: 'to scrap',
  replace: 'replaced by new',
  fit: 'back on',
  'swap-out': 'swapped out',
  'swap-in': 'swapped in',
  transfer: 'moved to another carrier',
  omit: 'left off on purpose',
  loosen: 'loosened',
  tighten: 'tightened',
  'hand-tighten': 'tightened by hand',
};

/** `8 of 10 off` */
export function moveOf(action: Action, whole: number): string {
  if (action.verb === 'mark') return 'marked';
  if (action.along) return action.verb === 'remove' ? 'stays on the assembly' : 'back on with the assembly';
  const many =
    whole === 1 && action.acted === 1 ? '' : action.acted === whole ? `${whole} ` : `${action.acted} of ${whole} `;
  const fresh = action.verb === 'fit' && action.fresh ? 'new ' : '';
  return `${many}${fresh}${words[action.verb]}`;
}
