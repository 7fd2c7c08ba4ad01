import type { Variant } from '../ledger/ledger.ts';
import { missing, on } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { owedAtEnd } from './at-end.ts';
import { type Check, type Raw, related } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { lastPlaceOf, placeNaming, placesOn } from './entries.ts';
import { insertFastened, insertMirrored } from './mirrored.ts';
import { withoutIt } from './still-held.ts';
import { tightenAsDeclared } from './tighten-line.ts';
import { named } from './wording.ts';

export const leftOff: Check = {
  code: 'left-off',
  severity: 'error',
  section: 'Coming back',
  fires: 'none of a part that came off is back on by the end.',
  why: 'A part that stays on the tray is the oldest mistake at the bench, and the unit is filled and closed before anybody counts.',
  bad: `part cover "Cover"
teardown
  step open
    remove cover`,
  good: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const part = String(finding.data?.['subject']);
    const count = Number(finding.data?.['count']);
    const variant =
      ledger.variants.find((each) => (each.code ?? '') === finding.data?.['variant']) ?? ledger.variants[0]!;
    const at = placeNaming(variant, finding.span);
    const removal =
      at === undefined ? undefined : variant.entries[at]!.actions.find(({ name }) => name === finding.span);
    if (removal !== undefined && removal.holders.length > 0 && removal.before.lastBack !== undefined)
      return withoutIt(finding, model, removal.statement);
    // What holds or covers it, and stays on, would shut it out wherever it is fitted: that comes first.
    const around = removal === undefined ? [] : [...removal.holders, ...removal.covers];
    if (around.some((each) => !comesOffBehind(variant, each.part, at!)))
      return removal!.before.lastBack === undefined ? [] : withoutIt(finding, model, removal!.statement);
    const declaration = model.parts.get(part);
    const whole = countOf(declaration);
    const { off = count, fresh = 0 } = variant.final.get(part) ?? {};
    const good = off + fresh;
    const along = ridersOf(variant, part);
    const line = (words: string, pieces: number, behind = ''): string[] =>
      pieces === 0 ? [] : [`${words} ${part}${pieces === whole ? '' : ` x${pieces}`}${behind}`];
    const lines = [...line('fit', good, along), ...line('fit new', count - good, good === 0 ? along : '')];
    const edit = model.fasteners.has(part)
      ? insertFastened(model, variant, part, finding, lines, tightenAsDeclared(model, part, count))
      : insertMirrored(model, variant, part, finding, lines);
    return [
      {
        title: `Put ${part} back in the mirrored place`,
        edits: [edit],
        safe: false,
      },
    ];
  },
};

const frees: ReadonlySet<string> = new Set(['remove', 'discard', 'replace', 'swap-out', 'loosen']);
const comesOffBehind = (variant: Variant, part: string, at: number): boolean =>
  placesOn(variant, part).some(
    (place) =>
      place > at && variant.entries[place]!.actions.some((action) => action.part === part && frees.has(action.verb)),
  );

/** What went out with the part, and was not stripped from it, goes back with it. */
function ridersOf(variant: Variant, part: string): string {
  const { final } = variant;
  const removal = final.get(part)?.lastOff?.statement;
  const riders = (removal?.together ?? []).filter(({ name }) => {
    const state = final.get(name.text);
    if (state === undefined || name.text === part || on(state) === 0 || missing(state) > 0) return false;
    return (
      state.lastOff === undefined || lastPlaceOf(variant, state.lastOff.statement) < lastPlaceOf(variant, removal!)
    );
  });
  const written = riders.map(({ name, count }) => `${name.text}${count === undefined ? '' : ` x${count.value}`}`);
  return written.length === 0 ? '' : ` with ${written.join(', ')}`;
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const { part, state, shortage, mark } of owedAtEnd(variant)) {
    if (shortage !== 'left-off') continue;
    const pieces = state.off + state.fresh + state.spoiled + state.scrap;
    const how =
      mark.statement.kind === 'swap'
        ? 'is swapped in here'
        : pieces > 1
          ? `(${pieces} pieces) comes off here`
          : 'comes off here';
    const remedy = state.spoiled > 0 ? '`fit new`' : '`fit`';
    yield {
      span: mark.name,
      message: `${named(part)} ${how} and none of it is back on by the end: ${remedy} it, or \`omit\` it with the reason.`,
      related: related(model.parts.get(part)?.name, `${named(part)} is declared here`),
      data: { subject: part, count: pieces, fresh: state.spoiled > 0, variant: variant.code ?? '', on: on(state) },
    };
  }
}
