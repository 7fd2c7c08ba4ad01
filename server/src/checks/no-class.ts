import { PROPERTY_CLASSES, SAE_GRADES } from '../mechanics/index.ts';
import { type Check, named, type Raw } from './check.ts';
import { fastenerOf, torqueEnds, torquesOf } from './fastening.ts';

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
  *run({ model, settings }): Generator<Raw> {
    const told = new Set<string>();
    for (const { torque, part } of torquesOf(model)) {
      const name = part.name?.text;
      if (name === undefined || told.has(name) || part.broken || torqueEnds(torque) === undefined) continue;
      told.add(name);
      const { thread, strength } = fastenerOf(part, settings);
      if (strength !== undefined || (part.thread !== undefined && thread === undefined)) continue;
      const stated = part.propertyClass ?? part.grade;
      const remedy =
        part.thread === undefined
          ? `add \`thread\` and \`class\` to ${named(name)}`
          : stated === undefined
            ? `add ${thread?.system === 'unified' ? '`grade`' : '`class`'} to ${named(name)}`
            : part.propertyClass !== undefined
              ? `${stated.image} is no class Fettle knows (${PROPERTY_CLASSES.join(', ')})`
              : `${stated.image} is no grade Fettle knows (${SAE_GRADES.join(', ')})`;
      yield {
        span: stated ?? torque,
        message: `the torque of ${named(name)} cannot be judged: ${remedy}.`,
        related: [],
        data: { subject: name },
      };
    }
  },
};
