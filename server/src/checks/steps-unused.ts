import type { SyntaxTree } from '../../../grammar/syntax.ts';
import { phaseWords } from '../../../grammar/tokens.ts';
import { stepsOfChunk } from '../model/model.ts';
import { type Check, listed, named, type Raw, related } from './check.ts';

export const stepsUnused: Check = {
  code: 'steps-unused',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires: 'no phase takes in the steps of a shared file, or a `use` in a phase finds no step for it.',
  why: 'Steps that look shared are done by nobody: the job ends without them.',
  bad: `procedure lid "Lid"
use "cover.fettle"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `procedure lid "Lid"
teardown
  step open
    remove cover
reassembly
  use "cover.fettle"`,
  beside: {
    name: 'cover.fettle',
    text: `part cover "Cover"
reassembly
  step close-cover
    fit cover`,
  },
  *run({ model }): Generator<Raw> {
    const taken = new Set([...model.takenIn.keys()].map(({ uri }) => uri));
    for (const [use, file] of model.targets) {
      if (use.chunk.uri !== model.tree.uri) continue;
      const path = use.path!;
      const sequence = model.sequences.get(use);
      if (sequence !== undefined) {
        // A second line for the same steps is told of by `declared-twice`.
        if (sequence.steps.length > 0 || model.duplicates.some((duplicate) => duplicate.use === use)) continue;
        yield {
          span: path,
          message: `${named(path.value)} holds ${phasesOf(file)}${hasSteps(file) ? ` and none for ${named(sequence.phase)}` : ''}: move the line to where its steps belong, or to the head if its declarations alone are meant.`,
          related: [],
        };
      } else if (model.head !== undefined && !taken.has(file.uri)) {
        const steps = file.chunks.some(({ item }) => item?.kind === 'procedure')
          ? []
          : file.chunks.flatMap(stepsOfChunk);
        if (steps.length === 0) continue;
        yield {
          span: path,
          message: `at the head this brings the declarations of ${named(path.value)} and not its ${phasesOf(file)}: write the line into the phase, where the steps belong.`,
          related: related(steps[0]!.name ?? steps[0]!.keyword, 'the first of them'),
        };
      }
    }
  },
};

const hasSteps = (file: SyntaxTree): boolean => file.chunks.some((chunk) => stepsOfChunk(chunk).length > 0);

/** ``steps for `teardown` and `reassembly` `` */
function phasesOf(file: SyntaxTree): string {
  const phases: string[] = [];
  let phase: string | undefined;
  for (const chunk of file.chunks) {
    const kind = chunk.item?.kind ?? '';
    if ((phaseWords as readonly string[]).includes(kind)) phase = kind;
    if (phase !== undefined && stepsOfChunk(chunk).length > 0 && !phases.includes(phase)) phases.push(phase);
  }
  return phases.length === 0 ? 'no steps for any phase' : `steps for ${listed(phases)}`;
}
