import { placeOfStep, type StepEntry } from '../model/model.ts';
import { statementsOf } from '../model/statements.ts';
import { type Check, type Context, named, type Raw, related, type Statement } from './check.ts';

export const outOfSequence: Check = {
  code: 'out-of-sequence',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires:
    'a step is to follow, by its `after`, one that stands below it, or a `shim` reckons with a reading taken below it.',
  why: 'The work goes by the text: nobody can wait for what is still to come, or reckon with a figure not yet read.',
  bad: `part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
  step set
    shim pack gap play endplay 0.1..0.2 mm from 0.1 mm
    fit pack
    measure play limit 0.2..0.5 mm`,
  good: `part pack "Shim pack"
teardown
  step off
    remove pack
reassembly
  step set
    measure play limit 0.2..0.5 mm
    shim pack gap play endplay 0.1..0.2 mm from 0.1 mm
    fit pack`,
  *run({ model }): Generator<Raw> {
    for (const entry of model.steps.filter(waits)) {
      for (const name of entry.step.after) {
        const target = model.stepNames.get(name.text);
        if (target === undefined || placeOfStep(model, target) < placeOfStep(model, entry)) continue;
        yield {
          span: name,
          message:
            target === entry
              ? 'this step is to follow itself: correct the name behind `after`.'
              : `this step is to follow ${named(name.text)}, which stands below it: move it there, or correct \`after\`.`,
          related: target === entry ? [] : related(target.step.name, `${named(name.text)} stands here`),
        };
      }
    }
    yield* unreadGaps(model);
  },
};

const waits = ({ step }: StepEntry): boolean => step.after.length > 0;

/** Stacks chosen from a reading that is taken further down only. */
function* unreadGaps(model: Context['model']): Generator<Raw> {
  const shims = statementsOf(model, 'shim');
  if (shims.length === 0) return;
  const taken = new Map<string, Statement>();
  for (const measure of statementsOf(model, 'measure')) {
    const reading = measure.name?.text;
    if (reading !== undefined && !taken.has(reading)) taken.set(reading, measure);
  }
  let order: ReadonlyMap<unknown, number> | undefined;
  for (const shim of shims) {
    const { gap } = shim;
    const measure = taken.get(gap?.text ?? '');
    if (gap === undefined || measure === undefined) continue;
    if (measure.chunk !== shim.chunk) order ??= new Map(model.steps.map(({ step }, place) => [step.chunk, place]));
    const isLater =
      measure.chunk === shim.chunk ? measure.start > shim.start : order!.get(measure.chunk)! > order!.get(shim.chunk)!;
    if (!isLater) continue;
    yield {
      span: gap,
      message: `${named(gap.text)} is measured only below: take the reading before the shims are chosen from it.`,
      related: related(measure.name, 'measured here'),
    };
  }
}
