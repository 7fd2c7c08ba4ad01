import { type Branch, type Name, type Statement, spanText, walk } from '../../../grammar/syntax.ts';
import type { Disagreement, Variant } from '../ledger/ledger.ts';
import { obstaclesAt } from '../ledger/obstacles-at.ts';
import { statesFound } from '../ledger/records.ts';
import { describe, type FluidState, on, type PartState, samePart } from '../ledger/state.ts';
import { addTo } from '../model/grouped.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import type { Check, Finding, Raw, Repair } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, insertBefore, replaceSpan } from './edits.ts';
import { ByPlace, lastPlaceOf, placesOn } from './entries.ts';
import { forCodes, stepOf } from './for-codes.ts';
import { warned } from './hazards.ts';
import { andMore, joinedInShort, mostTold, named, shortened } from './wording.ts';

export const branchesDiffer: Check = {
  code: 'branches-differ',
  severity: 'error',
  section: 'Coming back',
  fires: 'the branches of `either` or `if` leave a part or a fluid in different states.',
  why: 'Whoever takes the other branch stands at the next step with a different unit on the bench.',
  bad: `part race "Bearing cup"
part ring "Snap ring"
teardown
  step open
    remove ring
    remove race
reassembly
  step close
    either "With the ring"
      fit race
      fit ring
    or "Without"
      fit race
    end`,
  good: `part race "Bearing cup"
part ring "Snap ring"
teardown
  step open
    remove ring
    remove race
reassembly
  step close
    either "Heat it on"
      fit race
      fit ring
    or "Press it on"
      fit race
      fit ring
    end`,
  *run({ ledger }) {
    yield* eachVariant(ledger, inVariant);
  },
  repairs(finding, { model, ledger }) {
    const subject = String(finding.data?.['subject']);
    const disagreementIn = ({ disagreements }: Variant): Disagreement | undefined =>
      byPlace(disagreements).get(finding.span)?.get(subject);
    const variant = ledger.variants.find((each) => disagreementIn(each) !== undefined);
    if (variant === undefined) return [];
    const disagreement = disagreementIn(variant)!;
    const { block } = disagreement;
    const branches = block.branches ?? [];
    const about = (statements: readonly Statement[]): readonly Statement[] =>
      statements.filter((statement) => statement.branches === undefined && statement.name?.text === subject);
    if (isScrapAgainstGood(disagreement)) {
      const discards = branches.flatMap(({ statements }, b) =>
        isScrapped(disagreement, b) ? about(statements).filter(({ kind }) => kind === 'discard') : [],
      );
      const edits = discards.map(({ keyword }) => replaceSpan(model.tree, keyword, 'replace'));
      return edits.length === 0 ? [] : [{ title: `Replace ${subject} where it is discarded`, edits, safe: false }];
    }
    if (isNewAgainstOn(disagreement) && !model.fasteners.has(subject)) {
      const replacing = branches.flatMap(({ statements }) => {
        const last = about(statements).at(-1);
        return last?.kind === 'replace' ? [last] : [];
      });
      const [first, last] = [replacing[0], replacing.at(-1)].map((each) => (each ? lastPlaceOf(variant, each) : -1));
      const isFittedBelow = placesOn(variant, subject).some(
        (place) =>
          place > last! && variant.entries[place]!.actions.some(({ verb, part }) => verb === 'fit' && part === subject),
      );
      if (isFittedBelow) return first! < 0 ? [] : removedAbove(finding, model, variant, subject, first!, block);
      const lines = forCodes(model, finding, [`fit ${subject}`], block);
      const edits = replacing.map((each) => insertAfter(model.tree, each, lines));
      return edits.length === 0 ? [] : [{ title: `Fit ${subject} where it is replaced`, edits, safe: false }];
    }
    if (branches.length !== 2 || branches.some(({ statements }) => isNamedWithin(statements, subject))) return [];
    const [first, second] = branches.map(({ statements }) => about(statements));
    const shorter = first!.length < second!.length ? 0 : 1;
    const [short, long] = shorter === 0 ? [first!, second!] : [second!, first!];
    const missing = lacking(short, long);
    if (missing.length === 0 || hangsOnSwap(missing, branches[shorter]!, branches[1 - shorter]!)) return [];
    return [
      {
        title: `Complete the shorter branch: ${joinedInShort(missing.map(spanText))}`,
        edits: completed(branches[shorter]!, branches[1 - shorter]!, missing).map(([above, lines]) => {
          const { text, keyword, statements } = branches[shorter]!;
          const own = forCodes(model, finding, lines.map(spanText), block);
          if (above !== undefined) return insertBefore(model.tree, above, own);
          const last = statements.at(-1);
          if (last !== undefined) return insertAfter(model.tree, last, own);
          return insertAfter(
            model.tree,
            text ?? keyword,
            own.map((line) => `  ${line}`),
          );
        }),
        safe: false,
      },
    ];
  },
};

/** What goes back below in any case comes off above `block`, where at its entry `at` nothing is in the way. */
function removedAbove(
  finding: Finding,
  model: Model,
  variant: Variant,
  part: string,
  at: number,
  block: Statement,
): Repair[] {
  const { holdersOf, coversOf } = obstaclesAt(model, variant, at);
  if (holdersOf(part).length > 0 || coversOf(part).length > 0) return [];
  const lines = warned(model, part, [`remove ${part}`], stepOf(block), block.start);
  return [
    {
      title: `Remove ${part} above the \`${block.kind}\``,
      edits: [insertBefore(model.tree, block, forCodes(model, finding, lines, block))],
      safe: false,
    },
  ];
}

/** Whether a block among `statements` holds one about `subject`. */
const isNamedWithin = (statements: readonly Statement[], subject: string): boolean =>
  statements.some(({ branches }) =>
    branches?.some((branch) => [...walk(branch.statements)].some(({ name }) => name?.text === subject)),
  );

/** Whether some of `missing` is about what `whole` swaps, and `branch` does not: there is nothing of it there. */
function hangsOnSwap(missing: readonly Statement[], branch: Branch, whole: Branch): boolean {
  const swapped = (statements: readonly Statement[]): Set<string> =>
    new Set(statements.flatMap((each) => (each.kind === 'swap' ? namesOf(each) : [])));
  const here = swapped(branch.statements);
  const there = swapped(whole.statements);
  return missing.some(
    (each) => each.kind !== 'swap' && namesOf(each).some((name) => there.has(name) && !here.has(name)),
  );
}

const namesOf = ({ name, source, targets = [] }: Statement): string[] =>
  [name, source, ...targets].flatMap((each) => (each === undefined ? [] : [each.text]));

/** Whether two statements about one part or fluid do the same to it, whatever tool and words they name. */
const isSameMove = (a: Statement, b: Statement): boolean =>
  a.kind === b.kind &&
  a.count?.value === b.count?.value &&
  (['fresh', 'spoiled', 'byHand'] as const).every((word) => (a[word] === undefined) === (b[word] === undefined));

/** Of `long`, what `short` has not; nothing where it does otherwise than `long` somewhere. */
function lacking(short: readonly Statement[], long: readonly Statement[]): readonly Statement[] {
  const missing: Statement[] = [];
  let at = 0;
  for (const statement of long) {
    if (at < short.length && isSameMove(short[at]!, statement)) at++;
    else missing.push(statement);
  }
  return at === short.length ? missing : [];
}

/** The `missing` statements of `whole` by the statement of `branch` that they belong above: what stands behind them in `whole`, too. */
function completed(
  branch: Branch,
  whole: Branch,
  missing: readonly Statement[],
): [Statement | undefined, Statement[]][] {
  const here = new Map(branch.statements.map((statement) => [spanText(statement), statement]));
  const wanted = new Set(missing);
  const lines = new Map<Statement | undefined, Statement[]>();
  let above: Statement | undefined;
  for (const statement of whole.statements.toReversed()) {
    if (!wanted.has(statement)) above = here.get(spanText(statement)) ?? above;
    else addTo(lines, above, statement);
  }
  return [...lines].map(([place, own]) => [place, own.reverse()]);
}

/** By the keyword of the block, and the part or supply. */
const byPlace = noted((all: readonly Disagreement[]): ByPlace<Map<string, Disagreement>> => {
  const found = new ByPlace<Map<string, Disagreement>>();
  for (const each of all) {
    const { keyword } = each.block;
    const bySubject = found.get(keyword) ?? new Map<string, Disagreement>();
    if (!bySubject.has(each.subject)) bySubject.set(each.subject, each);
    found.set(keyword, bySubject);
  }
  return found;
});

function* inVariant(variant: Variant): Generator<Raw> {
  for (const disagreement of variant.disagreements) {
    const { block, subject, branches } = disagreement;
    const told = branchesTold(disagreement);
    const more = branches - told.length;
    const states = told.map((b) => stateAfter(disagreement, b));
    // Alike but for what they sit on.
    const carriers = new Set(states).size > 1 ? [] : told.map((b) => carriersAfter(disagreement, b));
    const ends = told.map((b, i) => `${branchName(block, b)}: ${states[i]}${carriers[i] ?? ''}`).join('; ');
    const remedy = remedyOf(disagreement);
    yield {
      span: block.keyword,
      message: `${named(subject)} is not the same after each branch (${ends}${more === 0 ? '' : `;${andMore(more)} branches`}): ${remedy}.`,
      related: shortened(lastNamings(block).get(subject) ?? []).told.map((span) => ({
        span,
        message: `${named(subject)} in this branch`,
      })),
      data: { subject },
    };
  }
}

function remedyOf(disagreement: Disagreement): string {
  const { block, subject, kind, start, changed, branches } = disagreement;
  const states = statesFound(start, changed, branches);
  if (kind === 'part' && states.some((state) => (state as PartState).stranded > 0))
    return '`remove` it above, or `discard` it and `fit new` in that branch';
  if (isScrapAgainstGood(disagreement))
    return `write \`replace ${subject}\` for \`discard ${subject}\`, so that a good one is at hand`;
  if (isNewAgainstOn(disagreement))
    return `\`remove\` it above the \`${block.kind}\`, or \`fit\` the new one in the branch that replaces it`;
  if (block.kind === 'if' && block.branches?.length === 1) return 'undo it before `end`, or do the same in an `else`';
  return 'complete the shorter branch';
}

/** True where the branches differ in nothing but what one scraps and another leaves to go back. */
function isScrapAgainstGood({ kind, start, changed, branches }: Disagreement): boolean {
  if (kind !== 'part') return false;
  const [first, ...others] = (statesFound(start, changed, branches) as PartState[]).map((state) => {
    const settled = state.copy();
    settled.off += settled.scrap;
    settled.turnover = { ...settled.turnover, scrap: 0 };
    return settled;
  });
  return first !== undefined && others.every((other) => samePart(first, other));
}

/** The parts that are replaced in the branches of a block: it may differ in thousands. */
const replacedIn = noted(
  ({ branches = [] }: Statement): ReadonlySet<string> =>
    new Set(
      branches.flatMap(({ statements }) =>
        [...walk(statements)].flatMap(({ kind, name }) => (kind === 'replace' && name ? [name.text] : [])),
      ),
    ),
);

/** True where one branch lays a new one on the bench for what another leaves on the unit, or on what carries it. */
function isNewAgainstOn({ block, subject, kind, start, changed, branches }: Disagreement): boolean {
  if (kind !== 'part' || !replacedIn(block).has(subject)) return false;
  const states = statesFound(start, changed, branches) as PartState[];
  const isNew = (state: PartState): boolean => state.fresh > 0;
  const isOn = (state: PartState): boolean => on(state) > 0 && state.fresh + state.off === 0;
  return states.some(isNew) && states.every((state) => isNew(state) || isOn(state));
}

const isScrapped = ({ changed, start }: Disagreement, b: number): boolean =>
  ((changed.get(b) ?? start) as PartState).scrap > 0;

/** The branches by their places; of too many, the first after which each state is found. */
function branchesTold(disagreement: Disagreement): readonly number[] {
  const { changed, branches } = disagreement;
  if (branches <= mostTold + 1) return Array.from({ length: branches }, (_, b) => b);
  let unchanged = 0;
  while (changed.has(unchanged)) unchanged++;
  const all = unchanged < branches ? [...changed.keys(), unchanged] : [...changed.keys()];
  const first = new Map<string, number>();
  for (const b of all.sort((a, b) => a - b)) {
    const state = stateAfter(disagreement, b);
    if (!first.has(state)) first.set(state, b);
  }
  return [...first.values()].slice(0, mostTold);
}

function branchName({ kind, branches }: Statement, b: number): string {
  const text = branches?.[b]?.text?.value;
  if (text !== undefined && text !== '') return `“${text}”`;
  if (kind !== 'if') return `branch ${b + 1}`;
  return b === 0 ? 'the first branch' : branches!.length > b ? '`else`' : 'otherwise';
}

function stateAfter({ kind, changed, start }: Disagreement, b: number): string {
  const state = changed.get(b) ?? start;
  if (kind === 'part') return describe(state as PartState);
  const { drained, filled } = state as FluidState;
  return drained ? 'drained' : filled ? 'filled' : 'untouched';
}

/** `, carried by `drum``, with counts where several carry the pieces. */
function carriersAfter({ kind, changed, start }: Disagreement, b: number): string {
  if (kind !== 'part') return '';
  const { carried } = (changed.get(b) ?? start) as PartState;
  const said = carried.map(({ by, count }) => `${carried.length > 1 ? `${count} by ` : ''}${named(by)}`);
  return said.length === 0 ? '' : `, carried ${carried.length > 1 ? '' : 'by '}${said.join(', ')}`;
}

/** In each branch of a block the last naming of each name that a statement begins with. */
const lastNamings = noted(({ branches }: Statement): ReadonlyMap<string, readonly Name[]> => {
  const namings = new Map<string, Name[]>();
  for (const { statements } of branches ?? []) {
    const inBranch = new Map<string, Name>();
    for (const { name } of walk(statements)) if (name !== undefined) inBranch.set(name.text, name);
    for (const [text, name] of inBranch) {
      addTo(namings, text, name);
    }
  }
  return namings;
});
