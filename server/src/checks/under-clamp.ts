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
  fires:
    'the clamp load at the high end of the friction band is under a third of the proof load; a warning where the prevailing torque of a locking thread takes all of the torque.',
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
  for (const place of places) {
    const told = lostInThread(place) ?? tooLittle(place, settings);
    if (told === undefined) continue;
    const { torque, part } = place;
    const name = part.name?.text ?? '';
    yield {
      span: torque,
      ...told,
      related: torque.chunk === part.chunk ? [] : related(part.name, `${named(name)} is declared here`),
      data: { subject: name },
    };
  }
});

type Told = Pick<Raw, 'message' | 'severity'>;

/** A locking thread takes all of the torque, so that not even an angle behind it begins with the parts in touch. */
function lostInThread({ torque, part, final }: TorquePlace): Told | undefined {
  const [ends, lost] = [torqueEnds(torque), torqueEnds(part.prevailing)];
  if (!final || ends === undefined || lost === undefined || ends.low > lost.high) return undefined;
  return {
    severity: 'warning',
    message: `${written(torque)} may turn the locking thread, which takes ${written(part.prevailing!)}, and clamp nothing: give the torque with what the thread takes on top.`,
  };
}

function tooLittle({ torque, angle, part, final }: TorquePlace, settings: Settings): Told | undefined {
  // A lower stage, or a torque that an angle follows, is not the clamp that the joint keeps.
  if (!final || angle !== undefined) return undefined;
  const fastener = fastenerOf(part, settings);
  const ends = torqueEnds(torque);
  const band = ends === undefined ? undefined : clampOf(fastener, ends.low);
  if (band === undefined || judgeClamp(band)?.under !== true) return undefined;
  const { clamp, proofShare = 0 } = band.low;
  return {
    message: `${written(torque)} may clamp as little as ${sayForce(clamp, torque)} at friction ${fastener.friction.high}, ${figure(proofShare * 100, 2)} % of the proof load: check that the joint wants so little.`,
  };
}
