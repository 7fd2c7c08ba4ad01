/**
 * Mutants that live because they change nothing that is told: read one by one, each with its reason. A line stands here as
 * the report shows it, without its number; one that the source no longer holds is of no use and does no harm.
 */
const equivalents: readonly (readonly [file: string, change: string, reason: string])[] = [
  ['ledger/cures.ts', 'private now = ⟦0 → 1⟧;', 'only differences of the clock are compared'],
  [
    'ledger/cures.ts',
    'if (takes !== 0⟦ &&  →  || ⟧this.cures !== undefined) this.ended.set(step, takes);',
    'no time, or a step that no running cure began in, is subtracted from nothing',
  ],
  [
    'ledger/cures.ts',
    'if (old.step === entry.step) ⟦return true; → return undefined;⟧',
    'saves time: what is told is found again',
  ],
  [
    'ledger/cures.ts',
    '(later.takes === 0⟦ ||  →  && ⟧!(isSingling(old.step) || isSingling(entry.step)))',
    'saves time: what is told is found again',
  ],
  ['ledger/rerun.ts', 'if (readOtherwise.size⟦ >  →  >= ⟧0)', 'saves time: nothing is among none'],
  [
    'ledger/rerun.ts',
    'if (span.to⟦ >  →  >= ⟧span.until) records.splice(span.until, span.to - span.until);',
    'takes none out',
  ],
  [
    'ledger/rerun.ts',
    'if (!differences.isDue(i)) ⟦continue; → ;⟧',
    'saves time: a step that nothing bears on is taken over as it is',
  ],
  [
    'ledger/rerun.ts',
    'const staying = [...values.keys()].filter((name) => final.has(name)⟦ &&  →  || ⟧initial.has(name));',
    'a name that came is one of the exchange, one that went ends as it did',
  ],
  [
    'ledger/rerun.ts',
    'records: came⟦ >  →  >= ⟧0 ? records.toSpliced(to, 0, ...new Array<StepRecord>(came).fill(noRecord)) : records,',
    'with no step put in the copy is alike',
  ],
  [
    'ledger/obstacles.ts',
    'if (loose === 0⟦ ||  →  && ⟧carried.length === 0) return withBlocker(holders, blocker);',
    'saves time: what is not loose, or sits on nothing, holds either way',
  ],
  [
    'model/quantity.ts',
    'if (apart > 1 + Math.abs(printed.value)⟦ *  →  / ⟧0.01 + slack) return false;',
    'saves time: what is that far off agrees with no step of rounding',
  ],
  [
    'model/quantity.ts',
    'if (apart⟦ >  →  >= ⟧1 + Math.abs(printed.value) * 0.01 + slack) return false;',
    'saves time: what is that far off agrees with no step of rounding',
  ],
  [
    'ledger/state.ts',
    "if (typeof one !== 'object' || typeof other !== 'object' || one === null || other === null) ⟦return false; → return undefined;⟧",
    'whoever asks takes nothing for no',
  ],
  [
    'ledger/state.ts',
    'if (a⟦ ===  →  !== ⟧undefined || b === undefined) return false;',
    'saves time: a step whose states are not told alike is replayed again, to the same end',
  ],
  [
    'ledger/state.ts',
    'if (a === undefined || b === undefined) ⟦return a === b; → return undefined;⟧',
    'saves time: a step whose fluids are not told alike is replayed again, to the same end',
  ],
  [
    'ledger/effects.ts',
    '} else if (more.length⟦ >  →  >= ⟧0) after.tightHoles = [...before.tightHoles, ...more];',
    'where no more holes are tight the list is the one before',
  ],
  ['checks/fastening.ts', 'const mostKnown = ⟦1000 → 2000⟧;', 'the size of a cache'],
  ['checks/fastening.ts', 'if (values.size⟦ >=  →  > ⟧mostKnown) values.clear();', 'the size of a cache'],
  [
    'checks/tool-range.ts',
    "return { torque, reading, outside: outside >= 0, weak: final && outside < ⟦0 → 1⟧ && verdicts[0] === 'low' };",
    'where the first end lies outside it is not low as well',
  ],
  [
    'checks/tool-range.ts',
    "return { torque, reading, outside: outside >= 0, weak: final && outside⟦ <  →  <= ⟧0 && verdicts[0] === 'low' };",
    'where the first end lies outside it is not low as well',
  ],
  [
    'checks/mirrored.ts',
    'const from = countFirst(refittings, ({ index }) => index⟦ <=  →  < ⟧off);',
    'no entry both takes off and puts back',
  ],
  ['checks/hidden-text.ts', 'if (runs.length === 0) ⟦continue; → ;⟧', 'an empty run is passed over where it is told'],
  [
    'checks/look-alike.ts',
    'if (!suspect.test(name.text) && !candidates.some((each) => suspect.test(each))) ⟦continue; → ;⟧',
    'saves time: letters that are not suspect stand for themselves, so that no other name comes out alike',
  ],
  [
    'checks/look-alike.ts',
    "if (typeof written !== 'string' || !/^[\\p{Script=Latin}\\p{M}0-9-]+$/u.test(written)) ⟦return []; → return undefined;⟧",
    'whoever asks for repairs takes nothing for none',
  ],
  [
    'checks/look-alike.ts',
    'if (places.some(({ chunk }) => chunk.uri !== model.tree.uri)) ⟦return []; → return undefined;⟧',
    'whoever asks for repairs takes nothing for none',
  ],
  ['mechanics/orders.ts', 'if (best === -1) ⟦return false; → return undefined;⟧', 'whoever asks takes nothing for no'],
  [
    'mechanics/shims.ts',
    'const limit = Math.min(whole, Math.max(⟦0 → 1⟧, Math.floor(most / step)) + shims[0]!.size);',
    'one total more is looked at, farther off than the rest',
  ],
  [
    'mechanics/shims.ts',
    'const limit = Math.min(whole, Math.max(⟦0 → 1⟧, Math.floor((to + most) / step)) + sizes[0]!.size);',
    'one total more is looked at, which serves no reading',
  ],
  [
    'mechanics/schedule.ts',
    'for (const { id, duration, hands = ⟦1 → 2⟧ } of activities) {',
    'whether it is a number of hands is all that is asked there',
  ],
  [
    'mechanics/orders.ts',
    'for (let fold = outer.length; fold⟦ >  →  >= ⟧1; fold--) {',
    'a whole turn always fits, and one way is the answer either way',
  ],
];

/** Why a mutant, as the report shows it, changes nothing that is told; undefined where it may. */
export const reasonFor = (shown: string): string | undefined =>
  equivalents.find(([file, change]) => shown.startsWith(`server/src/${file}:`) && shown.endsWith(`: ${change}`))?.[2];
