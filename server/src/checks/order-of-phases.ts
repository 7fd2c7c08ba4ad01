import { phaseFor } from '../../../grammar/meant.ts';
import { nearest } from '../../../grammar/nearest.ts';
import { phaseWords } from '../../../grammar/tokens.ts';
import { type Check, type Raw, related } from './check.ts';
import { named } from './wording.ts';

export const orderOfPhases: Check = {
  code: 'order-of-phases',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  fires: 'phases (teardown, inspection, reassembly, proving) stand out of order or twice, or a step stands in none.',
  why: 'The replay goes by the text: a reassembly above its teardown puts back what is on.',
  bad: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover
inspection
  step look
    inspect cover`,
  good: `part cover "Cover"
teardown
  step open
    remove cover
inspection
  step look
    inspect cover
reassembly
  step close
    fit cover`,
  *run({ model }): Generator<Raw> {
    // The first of them is enough: one phase line mends them all.
    const outside = model.steps.find(({ step, phase }) => phase === undefined && step.keyword !== undefined);
    // A phase line that could not be read is told of there.
    const isUnread = outside !== undefined && isPhaseAmong([...model.lost]);
    if (outside?.step.keyword !== undefined && !isUnread) {
      yield {
        span: outside.step.keyword,
        message: `this step stands in no phase: write one of ${phaseWords.map(named).join(', ')} on a line above it.`,
        related: [],
      };
    }
    let last = -1;
    const seen = new Map<string, (typeof model.phases)[number]>();
    for (const phase of model.phases) {
      const rank = phaseWords.indexOf(phase.kind);
      const first = seen.get(phase.kind);
      if (first !== undefined) {
        yield {
          span: phase.keyword,
          message: `the phase ${named(phase.kind)} stands twice: join the two.`,
          related: related(first.keyword, 'the first one'),
        };
        continue;
      }
      seen.set(phase.kind, phase);
      if (rank < last) {
        yield {
          span: phase.keyword,
          message: `${named(phase.kind)} comes before ${named(phaseWords[last]!)}: put the phases in the order ${phaseWords.join(', ')}.`,
          related: related(seen.get(phaseWords[last]!)?.keyword, `${named(phaseWords[last]!)} stands here`),
        };
      } else last = rank;
    }
  },
};

/** In one word, or in two as in `tear down`. */
const isPhaseAmong = (words: readonly string[]): boolean =>
  words.some(standsForPhase) || words.some((word, i) => isPhase(`${word}${words[i + 1] ?? ''}`.toLowerCase()));

const isPhase = (word: string): boolean => phaseWords.some((phase) => phase === word);

const standsForPhase = (word: string): boolean => (phaseFor(word) ?? nearest(word, phaseWords)) !== undefined;
