/** The way from a text to its findings, fresh and after an edit. */
import { type Change, reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { defaultSettings } from '../../server/src/checks/check.ts';
import { type Judged, judge } from '../../server/src/checks/run.ts';
import { replay } from '../../server/src/ledger/ledger.ts';
import { bind, noFiles, type Resolve } from '../../server/src/model/model.ts';

const uri = 'file:///unit.fettle';

export const fresh = (text: string, resolve: Resolve = noFiles): Judged => judge(bind(parse(uri, text), resolve));

export function after({ ledger }: Judged, change: Change, resolve: Resolve = noFiles): Judged {
  const model = bind(reparse(ledger.model.tree, change), resolve, ledger.model);
  return judge(model, defaultSettings, replay(model, ledger), ledger);
}

/** Offset behind `place` in `text`. Throws where it does not stand there. */
export function behind(text: string, place: string): number {
  const at = text.indexOf(place);
  if (at < 0) throw new Error(`\`${place}\` does not stand in the text`);
  return at + place.length;
}

/** Types a letter behind `place` and takes it away again, by turns; each call is one keystroke to findings ready, and gives them. */
export function typing(text: string, place: string, letter: string, resolve: Resolve = noFiles): () => Judged {
  let now = fresh(text, resolve);
  const at = behind(text, place);
  let typed = false;
  return () => {
    const change = typed ? { start: at, end: at + letter.length, text: '' } : { start: at, end: at, text: letter };
    now = after(now, change, resolve);
    typed = !typed;
    return now;
  };
}
