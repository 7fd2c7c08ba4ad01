import { isPhase } from '../../../grammar/heads.ts';
import type { Chunk, Step, SyntaxTree } from '../../../grammar/syntax.ts';
import type { PhaseWord } from '../../../grammar/tokens.ts';
import { addTo } from '../model/grouped.ts';
import { stepsOfChunk } from '../model/statements.ts';
import { type Check, type Raw, related } from './check.ts';
import { listed, named } from './wording.ts';

export const stepsUnused: Check = {
  code: 'steps-unused',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires:
    'no phase takes in the steps of a shared file, or a `use` in a phase finds no step for it; an information where only some phases take theirs in.',
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
    const told = new Set<string>();
    for (const [use, file] of model.targets) {
      if (use.chunk.uri !== model.tree.uri || model.useTroubles.some((trouble) => trouble.use === use)) continue;
      const path = use.path!;
      const sequence = model.sequences.get(use);
      if (sequence !== undefined) {
        // A second line for the same steps is told of by `declared-twice`.
        if (model.duplicates.some((duplicate) => duplicate.use === use)) continue;
        if (sequence.steps.length > 0) {
          if (told.has(file.uri)) continue;
          told.add(file.uri);
          for (const [phase, chunks] of stepsByPhase(file)) {
            if (model.steps.some(({ step, phase: at }) => at === phase && step.chunk.uri === file.uri)) continue;
            yield {
              span: path,
              severity: 'information',
              message: `${named(path.value)} also holds steps for ${named(phase)}, which nothing takes in: write the line into that phase, too, if they belong to this job.`,
              related: related(stepsOfChunk(chunks[0]!)[0]!.name, 'the first of them'),
              data: { subject: phase },
            };
          }
          continue;
        }
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

/** The steps of a shared file for `phase`. */
export const stepsFor = (file: SyntaxTree, phase: PhaseWord): readonly Step[] =>
  (stepsByPhase(file).get(phase) ?? []).flatMap(stepsOfChunk);

/** The chunks with steps of a file, by the phase that they stand under. */
function stepsByPhase({ chunks }: SyntaxTree): ReadonlyMap<string, readonly Chunk[]> {
  const found = new Map<string, Chunk[]>();
  let phase: string | undefined;
  for (const chunk of chunks) {
    const kind = chunk.item?.kind ?? '';
    if (isPhase(kind)) phase = kind;
    if (phase === undefined || stepsOfChunk(chunk).length === 0) continue;
    addTo(found, phase, chunk);
  }
  return found;
}

/** ``steps for `teardown` and `reassembly` `` */
function phasesOf(file: SyntaxTree): string {
  const phases = [...stepsByPhase(file).keys()];
  return phases.length === 0 ? 'no steps for any phase' : `steps for ${listed(phases.map(named))}`;
}
