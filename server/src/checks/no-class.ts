import { pipeThreads, stainlessSteels } from '../../../grammar/meant.ts';
import type { Declaration } from '../../../grammar/syntax.ts';
import { PROPERTY_CLASSES, SAE_GRADES } from '../mechanics/index.ts';
import { type Check, named, type Raw, type Settings } from './check.ts';
import { declaredTorquesOf, fastenerOf, statedTorquesOf, type TorquePlace, torqueEnds } from './fastening.ts';

export const noClass: Check = {
  code: 'no-class',
  severity: 'information',
  section: 'Tightening',
  fires: 'a torque cannot be judged because the part states no thread, or no property class or grade.',
  why: 'Without thread and class nobody can tell a firm torque from one that breaks the bolt.',
  bad: `part bolt "Bolt" thread M8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  good: `part bolt "Bolt" thread M8 class 8.8 torque 25 N·m
teardown
  step open
    loosen bolt
reassembly
  step close
    tighten bolt`,
  // Parts whose declaration here states no torque, but a statement does.
  run({ model, settings }) {
    const { uri } = model.tree;
    const first = new Map<string, TorquePlace>();
    for (const place of statedTorquesOf(model)) {
      const { torque, part } = place;
      if (part.chunk.uri === uri && torqueEnds(part.torque) !== undefined) continue;
      const name = part.name?.text;
      if (name !== undefined && !first.has(name) && torqueEnds(torque) !== undefined) first.set(name, place);
    }
    return unjudged([...first.values()], settings);
  },
  runLocally: ({ model, settings }) =>
    unjudged(
      declaredTorquesOf(model).filter(
        ({ torque, part }) => model.parts.get(part.name?.text ?? '') === part && torqueEnds(torque) !== undefined,
      ),
      settings,
    ),
};

/** Classes of nuts (ISO 898-2) and the strongest class of bolts that each goes with; from memory. */
const nutClasses: ReadonlyMap<string, string> = new Map([
  ['5', '5.8'],
  ['6', '6.8'],
  ['8', '8.8'],
  ['9', '9.8'],
  ['10', '10.9'],
  ['12', '12.9'],
]);

/** `G 1/2`, `Rp 1`, `1/2 NPT`; no `R134a`, and no position as `G12`. */
const pipe = new RegExp(
  `\\b(?:${pipeThreads}) ?(?:[1-6]|(?:[1-6][ -])?\\d/\\d+)(?![\\w/-]|\\.\\d)|\\d ?(?:NPTF?|BSP[PT]?)\\b`,
);
const stainless = new RegExp(`\\b(?:${stainlessSteels})-\\d{2,3}\\b`);
/** What a title names that has no class in this program; where the declaration says it, the reader leads to the title. */
function unclassedIn({ thread, title }: Declaration): string | undefined {
  const text = title?.value ?? '';
  if (thread === undefined && pipe.test(text)) return 'a pipe thread';
  return stainless.test(text) ? 'a stainless steel' : undefined;
}

function* unjudged(places: readonly TorquePlace[], settings: Settings): Generator<Raw> {
  for (const { torque, part } of places) {
    if (part.broken) continue;
    const name = part.name!.text;
    const { thread, strength } = fastenerOf(part, settings);
    if (strength !== undefined || (part.thread !== undefined && thread === undefined)) continue;
    const stated = part.propertyClass ?? part.grade;
    const unclassed = stated === undefined ? unclassedIn(part) : undefined;
    const remedy =
      unclassed !== undefined
        ? `its title names ${unclassed}, of which no class is kept here: go by the maker's figure`
        : part.thread === undefined
          ? `add \`thread\` and \`class\` to ${named(name)}`
          : stated === undefined
            ? `add ${thread?.system === 'unified' ? '`grade`' : '`class`'} to ${named(name)}`
            : part.propertyClass !== undefined
              ? nutClasses.has(stated.image)
                ? `${stated.image} is a class of nuts: write that of the bolt or stud that it goes on, such as ${nutClasses.get(stated.image)}`
                : `${stated.image} is no class Fettle knows (${PROPERTY_CLASSES.join(', ')})`
              : `${stated.image} is no grade Fettle knows (${SAE_GRADES.join(', ')})`;
    yield {
      span: stated ?? torque,
      message: `the torque of ${named(name)} cannot be judged: ${remedy}.`,
      related: [],
      data: { subject: name },
    };
  }
}
