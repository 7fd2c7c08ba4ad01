import { spanText } from '../../../grammar/syntax.ts';
import { type Changes, code } from './compare-changes.ts';
import type { Guards } from './compare-guards.ts';
import { type Item, movesIn, type Pair } from './compare-match.ts';
import { oneLine } from './facts.ts';

/** What differs in the statements of steps that were matched. */
export class StatementComparison {
  private readonly changes: Changes;

  constructor(changes: Changes) {
    this.changes = changes;
  }

  movedItems(pairs: readonly Pair[], guards: Guards): void {
    const inOrder = [...pairs].sort((a, b) => a.now.index - b.now.index);
    for (const { moved, anchor, side } of movesIn(inOrder.map(({ old }) => old.index))) {
      const { old, now } = inOrder[moved]!;
      const other = inOrder[anchor]!.now;
      const passed = now.key === 'safety' || guards.before(old) !== guards.before(now);
      this.changes.add({
        kind: now.key === 'safety' ? 'safety' : 'sequence',
        subject: now.object ?? now.statement.kind,
        step: now.step.label,
        after: `${side} ${short(other)}`,
        text: `step ${now.step.label}: ${short(now)} now comes ${side} ${short(other)}${passed && now.key !== 'safety' && other.key !== 'safety' ? ', past a safety message' : ''}`,
        review: passed,
        place: this.changes.placeOf('new', now.statement),
      });
    }
  }

  movedAcross({ old, now }: Pair, guards: Guards): void {
    const guarded = now.key !== 'safety' && guards.before(old) !== guards.before(now);
    this.changes.add({
      kind: now.key === 'safety' ? 'safety' : 'sequence',
      subject: now.object ?? now.statement.kind,
      step: now.step.label,
      before: old.step.label,
      after: now.step.label,
      text: `${short(now)} moved from step ${old.step.label} to step ${now.step.label}${guarded ? ', where other safety messages stand before it' : ''}`,
      review: now.key === 'safety' || guarded,
      place: this.changes.placeOf('new', now.statement),
    });
  }

  /** What changed in a statement that is there in both versions. */
  item({ old, now }: Pair): void {
    const { statement, step, object } = now;
    const place = this.changes.placeOf('new', statement);
    const about = { subject: object ?? statement.kind, step: step.label, place };
    if (now.key === 'safety') {
      const [before, after] = [short(old), short(now)];
      const text = old.facts.get('text')?.said !== now.facts.get('text')?.said;
      if (text || old.statement.kind !== statement.kind)
        this.changes.add({
          ...about,
          kind: 'safety',
          before,
          after,
          text: text
            ? `step ${step.label}: ${before} is now ${after}`
            : `step ${step.label}: a ${old.statement.kind} is now a ${statement.kind}: ${now.facts.get('text')?.said}`,
          review: true,
        });
    } else {
      const words = `step ${step.label}, ${statement.kind}${object === undefined ? '' : ` ${code(object)}`}`;
      this.changes.facts(old.facts, now.facts, { ...about, about: words });
    }
    if (old.branches !== now.branches)
      this.changes.add({
        ...about,
        kind: now.key === 'safety' ? 'safety' : 'statement',
        before: old.branches,
        after: now.branches,
        text: `step ${step.label}: ${short(now)} now stands ${now.branches === '' ? 'outside any branch' : `in \`${now.branches}\``}`,
        review: toReview(now),
      });
  }

  single(item: Item, what: 'new' | 'gone', label: string): void {
    const { statement, object } = item;
    const words = short(item);
    this.changes.add({
      kind: item.key === 'safety' ? 'safety' : statement.kind === 'tighten' ? 'torque' : 'statement',
      subject: object ?? statement.kind,
      step: label,
      ...(what === 'new' ? { after: words } : { before: words }),
      text: `step ${label}: ${words} ${what === 'new' ? 'is new' : 'is gone'}`,
      review: toReview(item),
      place: this.changes.placeOf(what === 'new' ? 'new' : 'old', statement),
    });
  }
}

/** A safety message, or a tightening with its torque. */
export const toReview = ({ key, statement }: Item): boolean => key === 'safety' || statement.kind === 'tighten';

/** The statement as written, on one line, of a length to be read. */
function short({ statement, object }: Item): string {
  const inner = statement.branches?.[0]?.statements[0];
  const text = oneLine(
    statement.branches === undefined
      ? spanText(statement)
      : statement.chunk.text.slice(statement.start, inner?.start ?? statement.end),
  );
  const words = text === '' ? `${statement.kind} ${object ?? ''}` : text;
  return code(words.length > 90 ? `${words.slice(0, 89)}…` : words);
}
