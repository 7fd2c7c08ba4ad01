import type { Declaration, Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isSafety, statementsOf } from '../model/statements.ts';
import { stepOf } from './for-codes.ts';

/** A `heat` or `cool` right behind the `fit` of the same part. */
export interface HeatBehindFit {
  readonly statement: Statement;
  readonly fit: Statement;
  /** That it was to open the fit; else it lets the part go cold again, cures something, frees the part, or is for another one. */
  readonly isLate: boolean;
}

export const heatBehindFits = noted((model: Model): readonly HeatBehindFit[] => {
  const steps = new Set([...statementsOf(model, 'heat'), ...statementsOf(model, 'cool')].map(stepOf));
  return [...steps].flatMap((step) => (step === undefined ? [] : [...inRow(step.statements, model)]));
});

const isOfHeat = ({ kind }: Statement): boolean => kind === 'heat' || kind === 'cool';

/** What may stand between a `fit` and what belongs to it. */
const isPassedOver = (statement: Statement): boolean =>
  isSafety(statement) || statement.kind === 'do' || statement.kind === 'wait';

function* inRow(row: readonly Statement[], model: Model): Generator<HeatBehindFit> {
  const warmed = new Set<string>();
  const late = new Map<string, HeatBehindFit>();
  let last: Statement | undefined;
  for (const statement of row) {
    for (const { statements } of statement.branches ?? []) yield* inRow(statements, model);
    const name = statement.name?.text;
    if (isPassedOver(statement)) continue;
    if (name !== undefined && isOfHeat(statement)) {
      const part = model.parts.get(name);
      if (part !== undefined && last?.kind === 'fit' && last.name?.text === name) {
        const found = { statement, fit: last, isLate: true };
        if (warmed.has(name) || !isMountedWarm(part) || isForOther(statement)) yield { ...found, isLate: false };
        else late.set(name, found);
      }
      warmed.add(name);
    } else if (name !== undefined) {
      // What is put into it, or onto it, is what the heat is for.
      for (const each of [name, model.parts.get(name)?.carriedBy?.text ?? '']) {
        const found = late.get(each);
        if (found !== undefined) yield { ...found, isLate: false };
        late.delete(each);
      }
    }
    last = statement;
  }
  yield* late.values();
}

/** Common practice, no source: these sit tight on a shaft or in a housing. */
const sitsTight =
  /\b(?:bearings?|bush(?:es|ings?)?|cones?|cups?|gears?|half-couplings?|impellers?|liners?|pinions?|pulleys?|races?|sleeves?|sprockets?|tyres?)\b/i;
const isMountedWarm = ({ name, title, bore, interference, broken }: Declaration): boolean =>
  !broken &&
  ((bore ?? interference) !== undefined || sitsTight.test(`${name?.text.replaceAll('-', ' ')} ${title?.value ?? ''}`));

/** Whether a text says that it is not to open the fit. */
const isForOther = ({ text }: Statement): boolean =>
  text !== undefined &&
  /\b(?:anneal|bake|cure|dry|harden|loose|melt|moist|paint|set|shrink|soften|solder|temper|warm through)/i.test(
    text.value,
  );
