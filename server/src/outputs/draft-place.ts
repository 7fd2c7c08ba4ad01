import type { Variant } from '../ledger/ledger.ts';
import { addTo } from '../model/grouped.ts';
import type { Model, StepEntry } from '../model/model.ts';
import type { Layout, NewStep, Slot } from './draft-layout.ts';
import type { Insertion } from './draft-text.ts';

/** Something to be written into the reassembly. */
export interface Work {
  readonly lines: readonly string[];
  readonly part: string;
  readonly kind: 'transfer' | 'fit' | 'apply' | 'tighten' | 'fill';
  readonly variants: readonly Variant[];
  /** Absent where it holds for every code. */
  readonly codes: readonly string[] | undefined;
  /** Mirrored place: the greater goes first. */
  readonly key: number;
  /** The step of the teardown (or inspection) that it answers. */
  readonly source: StepEntry | undefined;
  /** Places that it must lie between. */
  readonly low: number;
  readonly high: number;
  readonly fits: (slot: Slot) => boolean;
  /** Places to be tried first. */
  readonly preferred: readonly number[];
}

/** What the author has put back already. */
export interface Landmark {
  readonly place: number;
  readonly key: number;
  readonly source: StepEntry | undefined;
}

/** In mirrored order, what must go back first first; a loop is cut where the mirrored order would begin. */
export function inOrder(works: readonly Work[], followers: (work: Work) => readonly Work[]): Work[] {
  const waits = new Map(works.map((work) => [work, 0]));
  const after = new Map(works.map((work) => [work, followers(work).filter((each) => waits.has(each))]));
  for (const each of after.values()) for (const follower of each) waits.set(follower, waits.get(follower)! + 1);
  const byKey = [...works].sort((a, b) => b.key - a.key);
  const rank = new Map(byKey.map((work, i) => [work, i]));
  const ready = new Heap((work: Work) => rank.get(work)!);
  for (const work of byKey) if (waits.get(work) === 0) ready.add(work);
  const order: Work[] = [];
  const done = new Set<Work>();
  let first = 0;
  while (order.length < works.length) {
    let next = ready.take();
    if (next === undefined) {
      while (done.has(byKey[first]!)) first++;
      next = byKey[first]!;
    }
    if (done.has(next)) continue;
    done.add(next);
    order.push(next);
    for (const follower of after.get(next)!) {
      const left = waits.get(follower)! - 1;
      waits.set(follower, left);
      if (left === 0) ready.add(follower);
    }
  }
  return order;
}

/** Takes the least first. */
class Heap<T> {
  private readonly items: T[] = [];
  private readonly weight: (item: T) => number;
  constructor(weight: (item: T) => number) {
    this.weight = weight;
  }

  add(item: T): void {
    const { items } = this;
    let at = items.push(item) - 1;
    for (let up = (at - 1) >> 1; at > 0 && this.weight(items[up]!) > this.weight(item); up = (at - 1) >> 1) {
      items[at] = items[up]!;
      at = up;
    }
    items[at] = item;
  }

  take(): T | undefined {
    const { items } = this;
    const top = items[0];
    const last = items.pop();
    if (last === undefined || items.length === 0) return top;
    let at = 0;
    for (let child = 1; child < items.length; child = 2 * at + 1) {
      if (child + 1 < items.length && this.weight(items[child + 1]!) < this.weight(items[child]!)) child++;
      if (this.weight(items[child]!) >= this.weight(last)) break;
      items[at] = items[child]!;
      at = child;
    }
    items[at] = last;
    return top;
  }
}

export interface Placing {
  readonly slots: ReadonlyMap<Work, Slot>;
  /** What found no place that satisfies every demand on it. */
  readonly forced: readonly Work[];
}

/**
 * Gives each of `order` a slot between the places that it must lie between: in a step that answers the same step of the
 * teardown, if there is one, and where the mirrored order is broken least.
 */
export function placeAll(
  layout: Layout,
  order: readonly Work[],
  followers: (work: Work) => readonly Work[],
  landmarks: readonly Landmark[],
): Placing {
  const high = new Map<Work, number>();
  const isUsable = (slot: Slot, work: Work): boolean => takes(slot, work) && work.fits(slot);
  for (const work of order.toReversed()) {
    const after = followers(work).map((each) => high.get(each) ?? Number.POSITIVE_INFINITY);
    const last = layout.slots.findLast((slot) => isUsable(slot, work));
    high.set(work, Math.min(work.high, (last?.place ?? layout.end) + 1, ...after));
  }
  const slotAt = new Map(layout.slots.map((slot) => [slot.place, slot]));
  const low = new Map(order.map((work) => [work, work.low]));
  const slots = new Map<Work, Slot>();
  const forced: Work[] = [];
  const homes = homesOf(layout, landmarks);
  const sorted = [...landmarks].sort((a, b) => a.place - b.place);
  for (const work of order) {
    const from = low.get(work)!;
    const to = high.get(work)!;
    const isOpen = (each: Slot): boolean => each.place > from && each.place < to && isUsable(each, work);
    // Thousands of works find what they prefer: only for others are all slots looked at.
    let slot =
      work.preferred.map((place) => slotAt.get(place)).find((each) => each !== undefined && isOpen(each)) ??
      best(layout.slots.filter(isOpen), work, homes, sorted);
    if (slot === undefined) {
      forced.push(work);
      const any = layout.slots.filter((each) => takes(each, work));
      const later = any.filter((each) => each.place > from);
      slot =
        later.find((each) => isUsable(each, work)) ??
        later.findLast((each) => each.place < to) ??
        later[0] ??
        any.at(-1)!;
    }
    slots.set(work, slot);
    if (work.source !== undefined && slot.inside !== undefined) addHome(homes, work.source, slot.inside);
    for (const follower of followers(work))
      if (low.has(follower)) low.set(follower, Math.max(low.get(follower)!, slot.place - 1));
  }
  heed(layout, order, followers, slots, high, homes);
  return { slots, forced };
}

const takes = (slot: Slot, work: Work): boolean =>
  slot.codes === undefined ||
  (work.codes !== undefined &&
    slot.codes.length === work.codes.length &&
    slot.codes.every((code) => work.codes!.includes(code)));

/** The steps of the reassembly that answer each step of the teardown. */
type Homes = Map<StepEntry, Set<StepEntry>>;

function addHome(homes: Homes, source: StepEntry, step: StepEntry): void {
  const known = homes.get(source);
  if (known === undefined) homes.set(source, new Set([step]));
  else known.add(step);
}

function homesOf(layout: Layout, landmarks: readonly Landmark[]): Homes {
  const homes: Homes = new Map();
  const stepAt = new Map(layout.units.map((unit) => [unit.place, unit.step]));
  for (const { place, source } of landmarks) {
    const step = stepAt.get(place);
    if (source !== undefined && step !== undefined) addHome(homes, source, step);
  }
  for (const entry of layout.steps) {
    const source = answeredBy(layout.model, entry);
    if (source !== undefined) addHome(homes, source, entry);
  }
  return homes;
}

/** Tells which slots lie in a step that answers the same as `work`. */
function homeOf(homes: Homes, { source }: Work): (slot: Slot) => boolean {
  const steps = source === undefined ? undefined : homes.get(source);
  return ({ inside }) => steps !== undefined && inside !== undefined && steps.has(inside);
}

/** `landmarks` in the order of their places. */
function best(open: readonly Slot[], work: Work, homes: Homes, landmarks: readonly Landmark[]): Slot | undefined {
  const calm = open.filter((slot) => !slot.splits);
  const candidates = calm.length > 0 ? calm : open;
  // What stands before the slot and came off earlier, and what stands after it and came off later, is out of order.
  let cost = landmarks.filter(({ key }) => key > work.key).length;
  let next = 0;
  let chosen: { slot: Slot; home: boolean; cost: number; rank: number } | undefined;
  const isHome = homeOf(homes, work);
  for (const slot of candidates) {
    for (; next < landmarks.length && landmarks[next]!.place < slot.place; next++)
      cost += landmarks[next]!.key > work.key ? -1 : 1;
    const home = isHome(slot);
    const rank = slot.inside === undefined ? 0 : 1;
    const better =
      chosen === undefined ||
      (home === chosen.home ? cost < chosen.cost || (cost === chosen.cost && rank < chosen.rank) : home);
    if (better) chosen = { slot, home, cost, rank };
  }
  return chosen?.slot;
}

/** Moves work behind safety messages that nothing would follow in their step. */
function heed(
  layout: Layout,
  order: readonly Work[],
  followers: (work: Work) => readonly Work[],
  slots: Map<Work, Slot>,
  high: ReadonlyMap<Work, number>,
  homes: Homes,
): void {
  const leaders = new Map<Work, Work[]>(order.map((work) => [work, []]));
  for (const work of order) for (const follower of followers(work)) leaders.get(follower)?.push(work);
  for (const slot of layout.slots) {
    if (!slot.unheeded || [...slots.values()].some((each) => each.unheeded && each.inside === slot.inside)) continue;
    const after = (work: Work): boolean =>
      followers(work).every((each) => (slots.get(each)?.place ?? slot.place) >= slot.place);
    const before = (work: Work): boolean => leaders.get(work)!.every((each) => slots.get(each)!.place <= slot.place);
    const movable = order.filter(
      (work) =>
        !slots.get(work)!.unheeded &&
        takes(slot, work) &&
        work.fits(slot) &&
        slot.place > work.low &&
        slot.place < high.get(work)! &&
        after(work) &&
        before(work),
    );
    const far = (work: Work): number =>
      (homeOf(homes, work)(slot) ? 0 : layout.end) + Math.abs(slots.get(work)!.place - slot.place);
    movable.sort((a, b) => far(a) - far(b));
    if (movable[0] !== undefined) slots.set(movable[0], slot);
  }
}

// --- steps ----------------------------------------------------------------------------------------------------------

/** `refit-lift-motor` answers `lift-motor`; so does `refit-lift-motor-2`. */
function answeredBy({ stepNames }: Model, entry: StepEntry): StepEntry | undefined {
  const answered = /^refit-(.+)$/u.exec(entry.step.name?.text ?? '')?.[1];
  return answered === undefined ? undefined : (stepNames.get(answered) ?? stepNames.get(answered.replace(/-\d+$/, '')));
}

/** The name of a drafted step, as long as it is free. */
export function freeName(wanted: string, taken: Set<string>): string {
  let name = wanted;
  for (let n = 2; taken.has(name); n++) name = `${wanted}-${n}`;
  taken.add(name);
  return name;
}

/** Writes every piece of work at its slot, in `order`: lines in the author's steps, steps of their own elsewhere. */
export function insertionsOf(
  layout: Layout,
  order: readonly Work[],
  slots: ReadonlyMap<Work, Slot>,
  stepFor: (run: readonly Work[]) => Omit<NewStep, 'lines'>,
): Insertion[] {
  const bySlot = new Map<Slot, Work[]>();
  for (const work of order) {
    const slot = slots.get(work)!;
    addTo(bySlot, slot, work);
  }
  const insertions: Insertion[] = [];
  for (const slot of layout.slots) {
    const works = bySlot.get(slot);
    if (works === undefined) continue;
    if (slot.inside !== undefined) {
      insertions.push(layout.inside(slot, linesOf(works, slot.codes)));
      continue;
    }
    const runs: Work[][] = [];
    for (const work of works) {
      const run = runs.at(-1);
      if (run !== undefined && run[0]!.source === work.source && (run[0]!.kind === 'fill') === (work.kind === 'fill'))
        run.push(work);
      else runs.push([work]);
    }
    insertions.push(
      layout.between(
        slot,
        runs.map((run) => ({ ...stepFor(run), lines: linesOf(run, undefined) })),
      ),
    );
  }
  return insertions;
}

/** What holds for some codes only stands in a `for`. */
function linesOf(works: readonly Work[], within: readonly string[] | undefined): string[] {
  const lines: string[] = [];
  let open: readonly string[] | undefined;
  const close = (): void => {
    if (open !== undefined) lines.push('end');
    open = undefined;
  };
  for (const work of works) {
    const codes = within === undefined ? work.codes : undefined;
    if (codes?.join() !== open?.join()) close();
    if (codes !== undefined && open === undefined) {
      lines.push(`for ${codes.join(', ')}`);
      open = codes;
    }
    lines.push(...work.lines.map((line) => (open === undefined ? line : `  ${line}`)));
  }
  close();
  return lines;
}
