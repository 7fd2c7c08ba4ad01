import type { Statement } from '../../../grammar/syntax.ts';
import { walk } from '../../../grammar/syntax.ts';
import type { Variant } from '../ledger/ledger.ts';
import { placeIn } from '../model/model.ts';
import { stepsOfChunk } from '../model/statements.ts';
import { isolated } from '../outputs/directed-text.ts';
import type { Position } from '../outputs/report.ts';
import { type Trail, type TrailItem, trail } from '../outputs/trail.ts';
import { type PartsTrail, requests, type TrailParams, type TrailPart, type TrailView } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { chunksAt } from './at.ts';
import { feature } from './feature.ts';
import { entriesOf, momentsAt } from './replayed.ts';

/** Where every piece is once the statement on the line of `position`, or else the one above it, is done. */
export function trailAt(snapshot: Snapshot, position: Position): PartsTrail {
  const offset = endOfLine(snapshot, position);
  const here = statementOn(snapshot, offset, position.line);
  const before = momentsAt(snapshot, offset);
  const moments = before.map(({ variant, index }) => {
    const done = here === undefined ? undefined : entriesOf(variant).get(here);
    return { variant, index: done === undefined ? index : done.last + 1 };
  });
  const line = Math.max(-1, ...moments.map(({ variant, index }) => lineBefore(snapshot, variant, index)));
  const views: TrailView[] = [];
  for (const { variant, index } of moments) {
    const view = viewOf(snapshot, trail(snapshot.model, variant, index));
    const alike = views.findIndex(({ codes: _, ...other }) => looksOf(other) === looksOf(view));
    const codes = variant.code === undefined ? [] : [variant.code];
    if (alike < 0) views.push({ codes, ...view });
    else views[alike] = { ...views[alike]!, codes: [...views[alike]!.codes, ...codes] };
  }
  return { ...(line < 0 ? {} : { line }), views };
}

/** What is seen of a view: for one code another statement may have done the same. */
const looksOf = (view: Omit<TrailView, 'codes'>): string =>
  JSON.stringify(view, (key, value) => (key === 'range' ? undefined : value));

const endOfLine = (snapshot: Snapshot, { line }: Position): number => {
  const { document } = snapshot.file;
  const text = document.getText({ start: { line, character: 0 }, end: { line: line + 1, character: 0 } });
  return document.offsetAt({ line, character: 0 }) + text.replace(/[\r\n]+$/, '').length;
};

/** The last statement, no block, that has a part of itself on the line which ends at `end`. */
function statementOn(snapshot: Snapshot, end: number, line: number): Statement | undefined {
  let found: Statement | undefined;
  for (const { chunk, at } of chunksAt(snapshot, end)) {
    for (const step of stepsOfChunk(chunk)) {
      for (const statement of walk(step.statements)) {
        if (statement.branches !== undefined || statement.start > at) continue;
        if (snapshot.rangeOf(statement).end.line >= line) found = statement;
      }
    }
    if (found !== undefined) return found;
  }
  return undefined;
}

function lineBefore(snapshot: Snapshot, { entries }: Variant, index: number): number {
  const entry = entries.slice(0, index).findLast(({ role }) => role === 'statement');
  return entry === undefined
    ? -1
    : snapshot.rangeOf(placeIn(snapshot.model, entry.statement) ?? entry.statement).start.line;
}

const viewOf = (snapshot: Snapshot, { groups, onTray }: Trail): Omit<TrailView, 'codes'> => ({
  onTray,
  groups: groups.map(({ group, items }) => ({ group, parts: items.map((item) => partOf(snapshot, item)) })),
});

const titled = <Titled extends { readonly title: string }>(each: Titled): Titled => ({
  ...each,
  title: isolated(each.title),
});

const partOf = (snapshot: Snapshot, { lots, riders, carriers, ...item }: TrailItem): TrailPart => ({
  ...titled(item),
  riders: riders.map(titled),
  carriers: carriers.map(titled),
  lots: lots.map(({ pieces, place, statement }) => ({
    pieces,
    ...(place === undefined ? {} : { place: isolated(place) }),
    ...(statement === undefined ? {} : { range: snapshot.rangeOf(placeIn(snapshot.model, statement) ?? statement) }),
  })),
});

export const partsTrail = feature<TrailParams, PartsTrail>(requests.trail, {}, (snapshot, { position }) =>
  trailAt(snapshot, position),
);
