/** A stretch of time in seconds. */
export interface Span {
  readonly start: number;
  readonly finish: number;
}

/** Time along a chart, at one scale, or at a second, smaller one where nobody works for long. */
export interface TimeAxis {
  /** Where time is drawn shorter, in order; empty where it is nowhere. */
  readonly shortened: readonly Span[];
  /** How many times shorter; 1 where it is nowhere. */
  readonly times: number;
  /** Pixels a second where it is not. */
  readonly scale: number;
  /** Pixels from the left end to a moment, in seconds from the start. */
  place(seconds: number): number;
}

/** Of the axis, what is left to the stretches that are drawn shorter. */
const shareOfShortened = 1 / 4;
/** A second scale that differs less than this from the first would trouble the reader for little. */
const leastTimes = 3;

/**
 * The axis of `whole` seconds on `width` pixels. Where `work` has less than half of the time, as with days of delivery between hours of
 * work, its bars would be slivers: then stretches without work are drawn shorter, the longest first, until it has half of the rest.
 */
export function timeAxis(whole: number, work: readonly Span[], width: number): TimeAxis {
  const idle = spansWithout(work, whole);
  const worked = whole - lengthOf(idle);
  const shortest = idle
    .map(({ start, finish }) => finish - start)
    .sort((a, b) => b - a)
    // What is left once all that are longer are drawn shorter.
    .find((length) => 2 * worked >= whole - lengthOf(idle.filter((span) => span.finish - span.start >= length)));
  const isCrowded = worked > 0 && 2 * worked < whole;
  const chosen = isCrowded ? idle.filter(({ start, finish }) => finish - start >= (shortest ?? 0)) : [];
  const cut = lengthOf(chosen);
  const times = rounded(cut / (whole - cut) / (shareOfShortened / (1 - shareOfShortened)));
  if (times < leastTimes)
    return { shortened: [], times: 1, scale: width / whole, place: (seconds) => (width * seconds) / whole };
  const scale = width / (whole - cut + cut / times);
  return {
    shortened: chosen,
    times,
    scale,
    place(seconds) {
      const before = chosen.map(({ start, finish }) => ({ start, finish: Math.min(finish, Math.max(start, seconds)) }));
      return scale * (seconds - lengthOf(before) * (1 - 1 / times));
    },
  };
}

const lengthOf = (spans: readonly Span[]): number => spans.reduce((sum, { start, finish }) => sum + finish - start, 0);

/** A whole number that is easily said: two digits, then noughts. */
const rounded = (times: number): number => Math.round(Number(times.toPrecision(2)));

/** What `spans` leave of the time from 0 to `whole`. */
function spansWithout(spans: readonly Span[], whole: number): Span[] {
  const left: Span[] = [];
  let since = 0;
  for (const { start, finish } of [...spans].sort((a, b) => a.start - b.start)) {
    if (finish <= start) continue;
    if (start > since) left.push({ start: since, finish: start });
    since = Math.max(since, finish);
  }
  if (whole > since) left.push({ start: since, finish: whole });
  return left;
}

const day = 86_400;
/** Round steps from five minutes to thirty days, in seconds. */
const steps = [300, 600, 900, 1800, 3600, 7200, 14_400, 28_800, 43_200, day, 2 * day, 5 * day, 10 * day, 30 * day];
/** Pixels from one moment to the next: more where hours stand behind the days. */
const leastApart = (step: number): number => (step % day === 0 ? 32 : 66);
/** Pixels on either side of the words of a moment. */
const margin = 5;

/**
 * Moments to write above the axis, in order: where work goes on behind a stretch that is drawn shorter, and round ones between. Each only
 * where it has room: `widthOf` gives the width of its words in pixels. They are round by the clock, which shows `clock` seconds after
 * midnight at the start.
 */
export function ticksOf(axis: TimeAxis, whole: number, widthOf: (seconds: number) => number, clock = 0): number[] {
  const { shortened, scale, times } = axis;
  const taken: { readonly seconds: number; readonly left: number; readonly right: number }[] = [];
  const take = (seconds: number): void => {
    const half = widthOf(seconds) / 2 + margin;
    const [left, right] = [axis.place(seconds) - half, axis.place(seconds) + half];
    if (taken.every((other) => right <= other.left || left >= other.right)) taken.push({ seconds, left, right });
  };
  take(0);
  for (const { finish } of shortened) if (finish < whole) take(finish);
  const takeRound = ({ start, finish }: Span, pace: number): void => {
    const longest = 30 * day;
    const first = (step: number): number => Math.ceil((start + clock) / step) * step - clock;
    // Of two in turn, one at most is a midnight, which is told in fewer words.
    const room = (step: number): number =>
      Math.max(leastApart(step), widthOf(first(step)) + 2 * margin, widthOf(first(step) + step) + 2 * margin);
    const step =
      steps.find((each) => each * pace >= room(each)) ?? longest * Math.ceil(room(longest) / (longest * pace));
    for (let at = first(step); at <= finish; at += step) take(at);
  };
  for (const span of spansWithout(shortened, whole)) takeRound(span, scale);
  for (const span of shortened) takeRound(span, scale / times);
  return taken.map(({ seconds }) => seconds).sort((a, b) => a - b);
}
