import { judgeClamp } from '../mechanics/index.ts';
import { figure, sayForce, written } from '../model/quantity.ts';
import { type Check, type Raw, related, type Settings } from './check.ts';
import {
  clampAssumes,
  clampOf,
  declaredTorquesOf,
  fastenerOf,
  judging,
  statedTorquesOf,
  type TorquePlace,
  torqueEnds,
} from './fastening.ts';
import { named } from './wording.ts';

export const underClamp: Check = {
  code: 'under-clamp',
  severity: 'information',
  section: 'Tightening',
  fires: 'the clamp load at the high end of the friction band is under a third of the proof load.',
  why: 'A joint with too little clamp slips and works its bolts loose; sometimes the soft part under the head wants it so.',
  assumes: clampAssumes,
  bad: `part bolt "Bolt" thread M8 class 8.8 torque 6 N·m
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
  run: ({ model, settings }) => looseJoints(statedTorquesOf(model), settings),
  runLocally: ({ model, settings }) => looseJoints(declaredTorquesOf(model), settings),
};

const looseJoints = judging(function* (places: readonly TorquePlace[], settings: Settings): Generator<Raw> {
  for (const { torque, angle, part, final } of places) {
    // A lower stage, or a torque that an angle follows, is not the clamp that the joint keeps.
    if (!final || angle !== undefined) continue;
    const fastener = fastenerOf(part, settings);
    const ends = torqueEnds(torque);
    const band = ends === undefined ? undefined : clampOf(fastener, ends.low);
    if (band === undefined || judgeClamp(band)?.under !== true) continue;
    const share = band.low;
    yield {
      span: torque,
      message: `${written(torque)} may clamp as little as ${sayForce(share.clamp, torque)} at friction ${fastener.friction.high}, ${figure((share.proofShare ?? 0) * 100, 2)} % of the proof load: check that the joint wants so little.`,
      related:
        torque.chunk === part.chunk ? [] : related(part.name, `${named(part.name?.text ?? '')} is declared here`),
      data: { subject: part.name?.text ?? '' },
    };
  }
});
