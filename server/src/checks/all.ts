import { adapterSettingCheck } from './adapter-setting.ts';
import { alreadyOff } from './already-off.ts';
import { angleTwice } from './angle-twice.ts';
import { badOrder } from './bad-order.ts';
import { branchesDiffer } from './branches-differ.ts';
import type { Check, Context, Finding, Repair } from './check.ts';
import { closedIn } from './closed-in.ts';
import { conditionDiffers } from './condition-differs.ts';
import { countShort } from './count-short.ts';
import { declaredTwice } from './declared-twice.ts';
import { drainOpen } from './drain-open.ts';
import { fewHoles } from './few-holes.ts';
import { fillDiffers } from './fill-differs.ts';
import { gapTwice } from './gap-twice.ts';
import { gapUnread } from './gap-unread.ts';
import { hiddenText } from './hidden-text.ts';
import { idleAllow } from './idle-allow.ts';
import { keptTogether } from './kept-together.ts';
import { lateHeat } from './late-heat.ts';
import { lateShim } from './late-shim.ts';
import { lateWarning } from './late-warning.ts';
import { leftBehind } from './left-behind.ts';
import { leftLoose } from './left-loose.ts';
import { leftOff } from './left-off.ts';
import { leftOpen } from './left-open.ts';
import { longText } from './long-text.ts';
import { lookAlike } from './look-alike.ts';
import { lostMark } from './lost-mark.ts';
import { mixedUnits } from './mixed-units.ts';
import { neverUsed } from './never-used.ts';
import { nextDoor } from './next-door.ts';
import { noClass } from './no-class.ts';
import { noLimit } from './no-limit.ts';
import { noLocker } from './no-locker.ts';
import { noOrder } from './no-order.ts';
import { noShim } from './no-shim.ts';
import { noTorque } from './no-torque.ts';
import { noUnit } from './no-unit.ts';
import { notCured } from './not-cured.ts';
import { notIsolated } from './not-isolated.ts';
import { notOff } from './not-off.ts';
import { notReplaced } from './not-replaced.ts';
import { oddSize } from './odd-size.ts';
import { oddThread } from './odd-thread.ts';
import { orderOfPhases } from './order-of-phases.ts';
import { otherHand } from './other-hand.ts';
import { outOfReach } from './out-of-reach.ts';
import { overProof } from './over-proof.ts';
import { pressShort } from './press-short.ts';
import { renewRefitted } from './renew-refitted.ts';
import { restatedWrong } from './restated-wrong.ts';
import { runLoose } from './run-loose.ts';
import { stageFalls } from './stage-falls.ts';
import { stepsUnused } from './steps-unused.ts';
import { stillHeld } from './still-held.ts';
import { strayCount } from './stray-count.ts';
import { syntax } from './syntax.ts';
import { tooCool } from './too-cool.ts';
import { tooHot } from './too-hot.ts';
import { toolRange } from './tool-range.ts';
import { torqueDiffers } from './torque-differs.ts';
import { underClamp } from './under-clamp.ts';
import { unitUnread } from './unit-unread.ts';
import { unknownName } from './unknown-name.ts';
import { unsupported } from './unsupported.ts';
import { unwarned } from './unwarned.ts';
import { noFile, useLoop } from './use-files.ts';
import { whichHoles } from './which-holes.ts';
import { wrongCarrier } from './wrong-carrier.ts';
import { wrongKind } from './wrong-kind.ts';

/** Every check, by section, in the order of the check reference. */
export const allChecks: readonly Check[] = [
  leftOff,
  countShort,
  notOff,
  alreadyOff,
  renewRefitted,
  notReplaced,
  leftBehind,
  wrongCarrier,
  leftLoose,
  runLoose,
  stillHeld,
  outOfReach,
  closedIn,
  leftOpen,
  fillDiffers,
  drainOpen,
  lostMark,
  keptTogether,
  branchesDiffer,
  strayCount,
  neverUsed,
  noTorque,
  noOrder,
  badOrder,
  whichHoles,
  fewHoles,
  stageFalls,
  nextDoor,
  torqueDiffers,
  angleTwice,
  overProof,
  underClamp,
  noLocker,
  conditionDiffers,
  noClass,
  oddThread,
  otherHand,
  toolRange,
  adapterSettingCheck,
  wrongKind,
  noUnit,
  mixedUnits,
  restatedWrong,
  oddSize,
  tooHot,
  tooCool,
  lateHeat,
  pressShort,
  notCured,
  noLimit,
  noShim,
  lateShim,
  gapTwice,
  unitUnread,
  unknownName,
  declaredTwice,
  orderOfPhases,
  gapUnread,
  lateWarning,
  unwarned,
  unsupported,
  notIsolated,
  longText,
  hiddenText,
  lookAlike,
  noFile,
  useLoop,
  stepsUnused,
  idleAllow,
  syntax,
];

/** Ways to mend a finding. They change the judged file only: what stands in a shared file is mended there. */
export const repairsFor = (finding: Finding, context: Context): Repair[] =>
  finding.elsewhere !== undefined
    ? []
    : (checkOf(finding.code)?.repairs?.(finding, context) ?? []).filter(({ edits }) =>
        edits.every(({ uri }) => uri === context.model.tree.uri),
      );

export const checkOf = (code: string): Check | undefined => allChecks.find((check) => check.code === code);
