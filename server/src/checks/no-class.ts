import { pipeThreadMeant } from '../../../grammar/meant.ts';
import type { Declaration } from '../../../grammar/syntax.ts';
import { pipeThreads, stainlessSteels } from '../../../grammar/tokens.ts';
import { isStainless, PROPERTY_CLASSES, parsePipeThread, SAE_GRADES, STAINLESS_CLASSES } from '../mechanics/index.ts';
import type { Check, Raw, Settings } from './check.ts';
import { isClip } from './clips.ts';
import { declaredTorquesOf, fastenerOf, statedTorquesOf, type TorquePlace, torqueEnds } from './fastening.ts';
import { named } from './wording.ts';

export const noClass: Check = {
  code: 'no-class',
  severity: 'information',
  section: 'Tightening',
  fires:
    'a torque cannot be judged because the part states no thread, or no property class or grade; of a pipe thread and of a hose clip or band clamp, which have none, nothing is asked.',
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
const pipe = new RegExp(`\\b(?:${pipeThreads}) ?(?:(?:[1-6][ -])?\\d/\\d+|[1-6])(?![\\w/-]|\\.\\d)`);
const pipeSize = /((?:\b[1-6][ -])?\b\d+(?:\/\d+)?)"? ?(NPTF?|BSP[PT]?)\b/;
const stainless = new RegExp(`\\b(?:${stainlessSteels})-\\d{2,3}\\b`);

/** Screws without a head, which press with their point (ISO 898-5). */
const setScrew = /\b(?:set|grub)[- ]?screws?\b/i;

/** What the title names that a clause would say. */
function namedIn({ thread, title, propertyClass, grade }: Declaration): string | undefined {
  const text = title?.value ?? '';
  if (thread === undefined) {
    const [, size, series] = pipeSize.exec(text) ?? [];
    const meant = size === undefined ? pipe.exec(text)?.[0] : pipeThreadMeant(size, series!);
    const designation = parsePipeThread(meant ?? '')?.designation;
    if (designation !== undefined) return `thread ${designation}`;
  }
  const steel = (propertyClass ?? grade) === undefined ? stainless.exec(text)?.[0] : undefined;
  return steel && `class ${steel}`;
}

function remedyFor(part: Declaration, settings: Settings): string | undefined {
  const { thread, strength } = fastenerOf(part, settings);
  if (strength !== undefined) return undefined;
  const stated = part.propertyClass ?? part.grade;
  // Its class says how hard it is, not what it holds.
  const called = `${part.name!.text} ${part.title?.value ?? ''}`;
  if (stated === undefined && setScrew.test(called)) return undefined;
  if (isClip(part)) return undefined;
  const name = named(part.name!.text);
  if (part.thread !== undefined && thread === undefined) {
    const isPipe = stated !== undefined && parsePipeThread(part.thread.text) !== undefined;
    return isPipe ? `no class of bolts covers the pipe thread ${named(part.thread.text)}: take it out` : undefined;
  }
  const inTitle = namedIn(part);
  if (inTitle !== undefined) return `add ${named(inTitle)}, which its title names, to ${name}`;
  if (thread === undefined) return `add \`thread\`${stated === undefined ? ' and `class`' : ''} to ${name}`;
  if (stated === undefined) return `add ${thread.system === 'unified' ? '`grade`' : '`class`'} to ${name}`;
  const { image } = stated;
  if (part.propertyClass === undefined) return `${image} is no grade Fettle knows (${SAE_GRADES.join(', ')})`;
  if (nutClasses.has(image))
    return `${image} is a class of nuts: write that of the bolt or stud that it goes on, such as ${nutClasses.get(image)}`;
  const known = isStainless(image) ? [...STAINLESS_CLASSES, '…'] : PROPERTY_CLASSES;
  return `${image} is no class Fettle knows (${known.join(', ')})`;
}

function* unjudged(places: readonly TorquePlace[], settings: Settings): Generator<Raw> {
  for (const { torque, part } of places) {
    if (part.broken) continue;
    const name = part.name!.text;
    const remedy = remedyFor(part, settings);
    if (remedy === undefined) continue;
    yield {
      span: part.propertyClass ?? part.grade ?? torque,
      message: `the torque of ${named(name)} cannot be judged: ${remedy}.`,
      related: [],
      data: { subject: name },
    };
  }
}
