import type { Statement } from '../../../grammar/syntax.ts';
import { appliesTo } from '../ledger/start.ts';
import { siValueOf } from '../model/quantity.ts';
import { isSafety } from '../model/statements.ts';
import { conditionOf } from './alternatives.ts';
import { duration } from './durations.ts';

/** Work or a wait of one step; seconds. */
interface Stretch {
  readonly kind: 'work' | 'wait';
  readonly duration: number;
  readonly title?: string | undefined;
  readonly onlyIf?: readonly Ways[];
}

/** Several ways, in quotes, of which any is taken. */
type Ways = readonly string[];

export const waitTitle = ({ title = 'Wait', onlyIf = [] }: Stretch): string =>
  onlyIf.length === 0 ? title : `${title.replace(/\.$/, '')}, if ${allOf(onlyIf)}`;

/** `“A” and “q”`, `either “A” or “B”, and also “q”`: what goes together is not to be taken otherwise. */
function allOf(conditions: readonly Ways[]): string {
  if (conditions.length === 1 || conditions.every((ways) => ways.length === 1))
    return conditions.map(anyOf).join(' and ');
  return conditions
    .map((ways) => (ways.length === 1 ? ways[0] : `${ways.length === 2 ? 'either' : 'any of'} ${anyOf(ways)}`))
    .join(', and also ');
}

const anyOf = (ways: Ways): string =>
  ways.length < 3 ? ways.join(' or ') : `${ways.slice(0, -1).join(', ')} or ${ways.at(-1)}`;

/**
 * Work and waits of a step in the order of the text, for the code that waits longest. `takes` (s) is shared out evenly over the
 * statements that are work; where there are none, or it is zero, there is one stretch of work.
 */
export function stretchesOf(
  statements: readonly Statement[],
  takes: number,
  codes: readonly (string | undefined)[],
): { readonly stretches: readonly Stretch[]; readonly alternatives: ReadonlySet<Alternative> } {
  const told = longest(codes.map((code) => piecesOf(statements, code)));
  const work = told.reduce((sum, piece) => sum + piece.work, 0);
  const stretches: Stretch[] = [];
  let done = 0;
  let since = 0;
  /** In whole minutes where `takes` is, so that what is told adds up. */
  const until = (count: number): number => {
    const share = (takes * count) / work;
    return takes % 60 === 0 ? Math.round(share / 60) * 60 : share;
  };
  const close = (): void => {
    if (done > since) stretches.push({ kind: 'work', duration: until(done) - until(since) });
    since = done;
  };
  const alternatives = new Set<Alternative>();
  for (const { work: count, wait, title, onlyIf, alternative } of told) {
    if (takes > 0 || done === 0) done += count;
    if (wait <= 0) continue;
    close();
    stretches.push({ kind: 'wait', duration: wait, title, ...(onlyIf !== undefined && { onlyIf }) });
    if (alternative !== undefined) alternatives.add(alternative);
  }
  close();
  return { stretches: work === 0 ? [{ kind: 'work', duration: takes }, ...stretches] : stretches, alternatives };
}

/** The longest of alternatives that wait differently. */
interface Alternative {
  /** When it is taken, in words. */
  readonly condition: string;
  /** Seconds. */
  readonly wait: number;
  /** How long the others wait, in words; empty where they do not. */
  readonly otherwise: string;
}

/** What one statement comes to: a wait (s), or work, counted in statements. */
interface Piece {
  readonly work: number;
  readonly wait: number;
  readonly title?: string | undefined;
  /** The conditions of its wait, the outermost first. */
  readonly onlyIf?: readonly Ways[];
  /** The outermost one that its wait depends on. */
  readonly alternative?: Alternative;
}

/** Of alternatives, the one that waits longest. */
function piecesOf(statements: readonly Statement[], code: string | undefined): readonly Piece[] {
  return statements.flatMap((statement): readonly Piece[] => {
    if (!appliesTo(statement, code) || isSafety(statement)) return [];
    if (statement.branches !== undefined) return longestWay(statement, code);
    if (statement.kind !== 'wait') return [{ work: 1, wait: 0 }];
    return [{ work: 0, wait: siValueOf(statement.amount, 'time') ?? 0, title: statement.text?.value }];
  });
}

function longestWay(block: Statement, code: string | undefined): readonly Piece[] {
  const ways = block.branches!.map((branch) => piecesOf(branch.statements, code));
  // Without `else`, the other way is to do nothing.
  if (block.kind === 'if' && ways.length === 1) ways.push([]);
  const best = longest(ways);
  const waits = ways.map((way) => sumOf(way, 'wait'));
  const wait = Math.max(...waits);
  const shorter = waits.filter((each) => each < wait);
  if (shorter.length === 0) return best;
  const taken = waits.flatMap((each, place) => (each === wait ? [`“${conditionOf(block, place)}”`] : []));
  const alternative: Alternative = {
    condition: anyOf(taken),
    wait,
    otherwise: inWords(Math.min(...shorter), Math.max(...shorter)),
  };
  return best.map((piece) =>
    piece.wait > 0 ? { ...piece, onlyIf: [taken, ...(piece.onlyIf ?? [])], alternative } : piece,
  );
}

/** `10 min`, `10 min to 30 min`, `up to 30 min`; nothing where there is none. */
function inWords(least: number, most: number): string {
  if (most === 0) return '';
  if (least === most) return duration(most);
  return least === 0 ? `up to ${duration(most)}` : `${duration(least)} to ${duration(most)}`;
}

const sumOf = (way: readonly Piece[], of: 'wait' | 'work'): number =>
  way.reduce((total, piece) => total + piece[of], 0);

/** The way with the longest waits, then with most work. */
export function longest(ways: readonly (readonly Piece[])[]): readonly Piece[] {
  return ways.reduce<readonly Piece[]>((best, way) => {
    const more = sumOf(way, 'wait') - sumOf(best, 'wait') || sumOf(way, 'work') - sumOf(best, 'work');
    return more > 0 ? way : best;
  }, []);
}
