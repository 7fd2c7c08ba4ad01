import { type Blocker, stateBefore, type Variant } from '../ledger/ledger.ts';
import { obstaclesAt } from '../ledger/obstacles-at.ts';
import { on } from '../ledger/state.ts';
import { countOf, type Model } from '../model/model.ts';
import { actionsThat } from './actions.ts';
import { type Check, type Finding, type Raw, type Repair, related, type Statement } from './check.ts';
import { eachVariant } from './each-variant.ts';
import { insertAfter, insertBefore, linesToMove, removeLine } from './edits.ts';
import { placeNaming, placesOn } from './entries.ts';
import { blocksAround, codesOf, forCodes, isMovable, isOnlyFor, leavesNoLine, stepOf } from './for-codes.ts';
import { warned } from './hazards.ts';
import { tightenAsDeclared } from './tighten-line.ts';
import { joinedInShort, listedInShort, mostTold, named, noneThere, shortened } from './wording.ts';

export const stillHeld: Check = {
  code: 'still-held',
  severity: 'error',
  section: 'Coming back',
  local: true,
  fires: 'a part is removed while something that holds it is still on.',
  why: 'This is the bolt that hides inside: prying on it breaks the housing.',
  bad: `part bolt x2 "Bolt"
part cover "Cover" held by bolt
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `part bolt x2 "Bolt"
part cover "Cover" held by bolt
teardown
  step open
    remove bolt
    remove cover
reassembly
  step close
    fit cover
    fit bolt`,
  *run({ ledger, model }) {
    yield* eachVariant(ledger, (variant) => inVariant(variant, model));
  },
  repairs(finding, { model, ledger }) {
    const direct = finding.data?.['holders'] as Holder[];
    const part = String(finding.data?.['subject']);
    const codes = codesOf(model, finding);
    for (const variant of ledger.variants) {
      const { code, entries } = variant;
      if (code !== undefined && !codes.includes(code)) continue;
      const at = placeNaming({ entries }, finding.span);
      if (at === undefined) continue;
      const refit = (name: string, verb = 'fit'): Statement | undefined => {
        const fits = (place: number): boolean =>
          place >= at && entries[place]!.actions.some((each) => each.verb === verb && each.part === name);
        const place = placesOn({ entries }, name).find(fits);
        return place === undefined ? undefined : entries[place]!.statement;
      };
      const back = refit(part);
      if (back === undefined && stateBefore(variant, part, at)?.lastBack !== undefined)
        return withoutIt(finding, model, entries[at]!.statement);
      // Its holders have been off and are back: its line slipped down from where they came off.
      if (back === undefined && direct.some((each) => stateBefore(variant, each.part, at)?.lastBack !== undefined))
        return behindItsHolders(finding, model, variant, direct, part, at);
      const turnDirect = turnerOff(model, part);
      const further = inTheirWay(model, variant, direct, part, at);
      if (further === undefined) return [];
      const held = inTurn(model, [...direct, ...further], part);
      // In a loop none can come off first.
      if (held === undefined) return [];
      const turningOff: TurningOff = (each) => (direct.includes(each) ? turnDirect(each) : 'remove');
      // What comes off here, or is loosened, for the first time goes back, or is tightened, behind what it holds.
      const alsoBack = held.toReversed().flatMap((each) => {
        const { part: holder } = each;
        const declaration = model.parts.get(holder);
        const whole = countOf(declaration);
        const tighten = model.fasteners.has(holder) ? [tightenAsDeclared(model, holder, whole)] : [];
        if (turningOff(each) === 'loosen') return refit(holder, 'tighten') === undefined ? [tighten] : [];
        // What is swapped out does not go back.
        if (refit(holder) !== undefined || variant.swaps.has(holder)) return [];
        return [warned(model, holder, [`fit ${holder}`, ...tighten], back && stepOf(back), back?.end)];
      });
      const { statement } = entries[at]!;
      // What comes off below, with what loosens it, is moved up; a block of its own says when it does.
      const below = held.map((holder) => turnsBelow(entries, at, holder, turningOff(holder)));
      // What would come off here alone, and has no place to go back to.
      const isLeftOff = (holder: Holder, i: number): boolean =>
        below[i]!.freed < holder.on &&
        !variant.swaps.has(holder.part) &&
        refit(holder.part, turningOff(holder) === 'loosen' ? 'tighten' : 'fit') === undefined;
      if (back === undefined && held.some(isLeftOff)) return [];
      const moved = below.flatMap(({ statements }) => statements);
      if (
        moved.some(
          (each) =>
            each.chunk.uri !== model.tree.uri || !inSameBranch(each, statement) || !isOnlyFor(model, finding, each),
        )
      )
        return [];
      // Another code that takes it off below would take it off twice.
      const isAlike = (other: Variant): boolean => {
        const place = placeNaming(other, finding.span);
        const turns = (holder: Holder): readonly Statement[] =>
          turnsBelow(other.entries, place!, holder, turningOff(holder)).statements;
        return (
          place === undefined ||
          held.flatMap(turns).every((each) => moved.includes(each)) ||
          (other.code !== undefined && !codes.includes(other.code))
        );
      };
      if (!ledger.variants.every(isAlike)) return [];
      const off = below.map(({ statements, freed }, i) => {
        const holder = held[i]!;
        const rest = freed < holder.on ? [`${turningOff(holder)} ${holder.part}`] : [];
        const lines = [...statements.flatMap((each) => linesToMove(model.tree, each)), ...rest];
        return warned(model, holder.part, lines, stepOf(statement), statement.start);
      });
      const before = insertBefore(model.tree, statement, forCodes(model, finding, eachWarningOnce(off), statement));
      if (leavesNoLine(moved)) return [];
      const edits = [before, ...moved.map((each) => removeLine(model.tree, each))];
      if (back !== undefined && alsoBack.length > 0)
        edits.push(insertAfter(model.tree, back, forCodes(model, finding, eachWarningOnce(alsoBack), back)));
      const doing = waysOff(held, turningOff).map(({ verb, parts }) => `${verb} ${joinedInShort(parts)}`);
      return [{ title: `${capitalized(doing.join(' and '))} first`, edits, safe: false }];
    }
    return [];
  },
};

/** Moves the line at `at` behind what took the last of `direct` off, where nothing else is in its way there. */
function behindItsHolders(
  finding: Finding,
  model: Model,
  variant: Variant,
  direct: readonly Holder[],
  part: string,
  at: number,
): Repair[] {
  const { entries } = variant;
  const { statement } = entries[at]!;
  const places = direct.map((holder) =>
    placesOn(variant, holder.part).findLast(
      (place) =>
        place < at && entries[place]!.actions.some(({ verb, part: off }) => verb === 'remove' && off === holder.part),
    ),
  );
  const last = Math.max(...places.map((place) => place ?? Number.NaN));
  const above = entries[last]?.statement;
  if (above === undefined || ![above, statement].every((each) => isMovable(model, each))) return [];
  if (statement.together !== undefined || !isOnlyFor(model, finding, statement)) return [];
  if (leavesNoLine([statement])) return [];
  const { holdersOf, coversOf } = obstaclesAt(model, variant, last + 1);
  if (holdersOf(part).length > 0 || coversOf(part).length > 0) return [];
  const lines = warned(model, part, linesToMove(model.tree, statement), stepOf(above), above.end);
  return [
    {
      title: `Move it behind \`${above.kind} ${above.name?.text}\``,
      edits: [insertAfter(model.tree, above, lines), removeLine(model.tree, statement)],
      safe: false,
    },
  ];
}

/** What takes a part off again that is back, stays off and is held, is a slip: its line goes, where it does no more than that. */
export function withoutIt(finding: Finding, model: Model, statement: Statement): Repair[] {
  return isMovable(model, statement) &&
    statement.together === undefined &&
    isOnlyFor(model, finding, statement) &&
    !leavesNoLine([statement])
    ? [{ title: 'Take this line out', edits: [removeLine(model.tree, statement)], safe: false }]
    : [];
}

/** The lines of all, each warning where it stands first. */
function eachWarningOnce(all: readonly (readonly string[])[]): readonly string[] {
  const given = new Set<string>();
  return all.flat().filter((line) => {
    if (!line.startsWith('warning ')) return true;
    const isNew = !given.has(line);
    given.add(line);
    return isNew;
  });
}

type Holder = Pick<Blocker, 'part' | 'on' | 'loosened'>;
type TurningOff = (holder: Holder) => 'loosen' | 'remove';

/** What holds or covers `holders`, and that in turn, at entry `at`; nothing where that is too much. */
function inTheirWay(
  model: Model,
  variant: Variant,
  holders: readonly Holder[],
  part: string,
  at: number,
): readonly Holder[] | undefined {
  const { entries } = variant;
  const isSwapped = (old: string): boolean =>
    placesOn(variant, old).some(
      (place) =>
        place < at && entries[place]!.actions.some(({ verb, part: out }) => verb === 'swap-out' && out === old),
    );
  if ([...variant.swaps.keys()].some(isSwapped)) return [];
  const onAt = (name: string): number => {
    const state = stateBefore(variant, name, at);
    return state === undefined || variant.unsure.has(name) ? 0 : on(state);
  };
  const all = [...holders];
  const seen = new Set([part, ...holders.map((each) => each.part)]);
  for (const { part: holder } of all) {
    for (const text of inWayOf(model, holder)) {
      const carrier = model.parts.get(text)?.carriedBy?.text;
      if (seen.has(text) || onAt(text) === 0 || (carrier !== undefined && onAt(carrier) === 0)) continue;
      seen.add(text);
      all.push({ part: text, on: onAt(text), loosened: 0 });
    }
    // A chain that long is no slip of one line.
    if (all.length > holders.length + mostTold) return undefined;
  }
  return all.slice(holders.length);
}

/** What holds `part`, and what it or a carrier of it sits behind. */
function inWayOf({ parts }: Model, part: string): readonly string[] {
  const names = parts.get(part)?.heldBy.map(({ text }) => text) ?? [];
  const seen = new Set<string>();
  for (let at: string | undefined = part; at !== undefined && !seen.has(at); at = parts.get(at)?.carriedBy?.text) {
    seen.add(at);
    for (const { text } of parts.get(at)?.behind ?? []) names.push(text);
  }
  return names;
}

/** Whether what is in the way of `from`, on and on, comes to `part`; of a chain too long to tell, no. */
function isReachedFrom(model: Model, from: string, part: string): boolean {
  const reached = new Set([from]);
  for (const each of reached) {
    for (const text of inWayOf(model, each)) reached.add(text);
    if (reached.has(part)) return true;
    if (reached.size > mostTold) return false;
  }
  return false;
}

/** `holders` of `part`, each behind those that hold or cover it; nothing where one waits for itself or for `part`. */
function inTurn(model: Model, holders: readonly Holder[], part: string): readonly Holder[] | undefined {
  const left = new Map(holders.map((each) => [each.part, each]));
  const turned: Holder[] = [];
  const open = new Set([part]);
  const visit = (holder: Holder): boolean => {
    left.delete(holder.part);
    open.add(holder.part);
    for (const text of inWayOf(model, holder.part)) {
      if (text !== holder.part && open.has(text)) return false;
      const other = left.get(text);
      if (other !== undefined && !visit(other)) return false;
    }
    open.delete(holder.part);
    turned.push(holder);
    return true;
  };
  return holders.every((each) => !left.has(each.part) || visit(each)) ? turned : undefined;
}

/** What frees `part` of a holder: of captive fasteners, to loosen them, unless some were removed. */
const turnerOff =
  (model: Model, part: string): TurningOff =>
  ({ part: holder, on, loosened }) => {
    const declaration = model.parts.get(holder);
    const isCaptive = declaration?.carriedBy?.text === part && (declaration.thread ?? declaration.torque) !== undefined;
    return loosened > 0 || (isCaptive && on === countOf(declaration)) ? 'loosen' : 'remove';
  };

/** What to do first, and with which of the holders. */
const waysOff = (
  holders: readonly Holder[],
  turningOff: TurningOff,
): readonly { verb: 'loosen' | 'remove'; parts: readonly string[] }[] =>
  (['loosen', 'remove'] as const)
    .map((verb) => ({ verb, parts: holders.filter((each) => turningOff(each) === verb).map(({ part }) => part) }))
    .filter(({ parts }) => parts.length > 0);

const capitalized = (text: string): string => text[0]!.toUpperCase() + text.slice(1);

/**
 * Statements that loosen or remove `holder` behind entry `at`, with what marks it for that, before it goes back, and how many pieces
 * no longer hold then. Where loosening frees, what is loose may come off below.
 */
function turnsBelow(
  entries: Variant['entries'],
  at: number,
  holder: Holder,
  freeing: 'loosen' | 'remove',
): { statements: Statement[]; freed: number } {
  const statements: Statement[] = [];
  let marks: Statement[] = [];
  let freed = 0;
  for (const place of placesOn({ entries }, holder.part)) {
    const { statement, role, actions } = entries[place]!;
    if (place <= at || role !== 'statement') continue;
    const action = actions.find(({ part, along }) => part === holder.part && !along);
    if (action === undefined) continue;
    if (action.verb === 'mark') {
      marks.push(statement);
      continue;
    }
    if (action.verb !== 'loosen' && action.verb !== freeing) break;
    statements.push(...marks, statement);
    marks = [];
    if (action.verb === freeing) freed += action.acted;
  }
  return { statements, freed };
}

function inSameBranch(a: Statement, b: Statement): boolean {
  const [one, other] = [blocksAround(a), blocksAround(b)];
  return one.length === other.length && one.every(({ branch }, i) => branch === other[i]!.branch);
}

function* inVariant(variant: Variant, model: Model): Generator<Raw> {
  for (const action of actionsThat(variant, 'remove')) {
    if (action.along || action.unsure) continue;
    const { holders } = action;
    if (holders.length === 0) continue;
    const say = (holder: Blocker): string => {
      const whole = model.parts.get(holder.part)?.count?.value ?? 1;
      const how = holder.loosened > 0 ? 'not loosened' : 'on';
      return whole > 1 ? `${named(holder.part)} (${holder.on} of ${whole} ${how})` : named(holder.part);
    };
    const many = holders.length > 1 || holders[0]!.on > 1;
    const ways = waysOff(holders, turnerOff(model, action.part));
    const remedy =
      ways.length > 1
        ? ways.map(({ verb, parts }) => `\`${verb}\` ${listedInShort(parts, named)}`).join(' and ')
        : `\`${ways[0]!.verb}\` ${many ? 'them' : 'it'}`;
    const isInLoop = holders.some(({ part }) => isReachedFrom(model, part, action.part));
    yield {
      span: action.name,
      message: `${named(action.part)} is still held by ${listedInShort(holders, say)}${isInLoop ? ', and waits for itself in a loop of `held by` and `behind`: mend that' : `: ${remedy}`} first.`,
      ...(!isInLoop && { inSomeCodes: noneThere(many) }),
      related: shortened(holders).told.flatMap((holder) => {
        const place =
          model.parts.get(action.part)?.heldBy.find((name) => name.text === holder.part) ??
          model.parts.get(holder.part)?.name;
        return related(place, `held by ${named(holder.part)}, declared here`);
      }),
      data: { subject: action.part, holders },
    };
  }
}
