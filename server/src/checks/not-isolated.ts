import type { Statement, Step } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isSafety, statementsIn } from '../model/statements.ts';
import { type Check, placeOf, type Raw, related } from './check.ts';
import { insertBefore } from './edits.ts';
import { entryNaming } from './entries.ts';
import { stepOf } from './for-codes.ts';
import { hazardousOf, isUntoldText, messageByHazard } from './hazards.ts';
import { named } from './wording.ts';

export const notIsolated: Check = {
  code: 'not-isolated',
  severity: 'information',
  section: 'Getting ready, safety, wording',
  local: true,
  fires:
    'a part with `hazard charge` comes off or goes on, or one with `hazard pressure` comes off or is loosened, below safety messages that speak of other dangers only, and nothing above in the step says that it is dead, locked off or without pressure.',
  why: 'What is live or under pressure looks like what is not: the warning of hot oil does not make anybody open the switch first.',
  assumes: () => [
    'That it is dead is said by words such as live, dead, lock, switch, supply, fuse, battery, volt, terminal; that it has no pressure by words such as pressure, vent, bleed, release, gauge, spray, slowly; another danger by words such as hot, burn, weigh, crush, spring, cut, skin. Of a message with none of these nothing is concluded. To isolate and prove each source of energy: 29 CFR 1910.147(d) (from memory).',
  ],
  bad: `part cable "Motor cable" hazard charge
part motor "Motor" held by cable
teardown
  step open
    warning "Hot oil burns. Wear gloves."
    disconnect cable
    remove motor
reassembly
  step close
    danger "Live terminals kill. Keep the supply locked off."
    fit motor
    connect cable`,
  good: `part cable "Motor cable" hazard charge
part motor "Motor" held by cable
teardown
  step open
    danger "Live terminals kill. Lock off the supply and prove them dead."
    disconnect cable
    remove motor
reassembly
  step close
    danger "Live terminals kill. Keep the supply locked off."
    fit motor
    connect cable`,
  *run({ model }): Generator<Raw> {
    let step: Step | undefined;
    let told = new Set<Energy>();
    for (const { statement } of hazardousOf(model)) {
      for (const energy of energies) {
        if (!isUnsaid(model, statement, energy)) continue;
        if (stepOf(statement) !== step) {
          step = stepOf(statement);
          told = new Set();
        }
        // A step that does not say it lacks it for all that it does.
        if (told.has(energy)) continue;
        told.add(energy);
        const part = statement.name!.text;
        yield {
          span: placeOf(statement),
          message: `nothing in this step says that ${named(part)}, which can be ${energy.can} when it ${energy.moves[statement.kind]!}: write that it is ${energy.remedy}, in a warning above this line.`,
          related: related(model.parts.get(part)?.name, `${named(part)} is declared here`),
          data: { subject: part, hazard: energy.hazard },
        };
      }
    }
  },
  repairs(finding, { model, ledger }) {
    const statement = entryNaming(ledger, finding.span)?.statement;
    const message = messageByHazard[String(finding.data?.['hazard'])];
    return statement === undefined || message === undefined
      ? []
      : [
          {
            title: 'Write a warning above it',
            edits: [insertBefore(model.tree, statement, [`warning "${message}"`])],
            safe: false,
          },
        ];
  },
};

/** A kind of energy that a part is isolated from before it is opened. */
interface Energy {
  readonly hazard: 'charge' | 'pressure';
  readonly can: string;
  readonly remedy: string;
  /** What lets it out, by kind of statement. */
  readonly moves: Readonly<Record<string, string>>;
  /** Words that speak of it. */
  readonly words: RegExp;
}

const charge: Energy = {
  hazard: 'charge',
  can: 'live, is dead',
  remedy: 'locked off and proved dead',
  moves: { remove: 'comes off', disconnect: 'comes off', fit: 'goes on', connect: 'goes on' },
  words:
    /\b(?:accumulator|amp|arc\b|batter|breaker|capacitor|charg|circuit|current|dead|de-?energi|discharg|earth|electr|energi|fuse|ground|igniti|insulat|inverter|isolat|key\b|live\b|lock(?:ed|ing)?\b|lock-?out|mains|motor starts?|multimeter|off at\b|plug|power|shock|short|shut (?:down|off)|spark|suppl(?:y|ies)|switch|tag(?:ged)?\b|terminal|tester|turn(?:ed)? off|unplug|volt)/i,
};
const pressure: Energy = {
  hazard: 'pressure',
  can: 'under pressure, has none',
  remedy: 'released and proved gone',
  moves: { remove: 'comes off', disconnect: 'comes off', loosen: 'is loosened' },
  words:
    /\b(?:accumulator|air\b|bar\b|bleed|blow|burst|crack|deflat|depress|drain|dump|empt|escap|gas\b|gases|gauge|inject|isolat|jet|leak|let (?:[a-z]+ ){0,3}(?:down|off|out)\b|lock(?:ed|ing)?\b|lock-?out|pierc|press|pump off|purg|relea|residual|relie|shut|slow|spil|spit|spra|spurt|squirt|steam|unload|valve|vent|zero)/i,
};
const energies: readonly Energy[] = [charge, pressure];

/** What can hurt otherwise. A message of which it is not known what it speaks of may well speak of the energy. */
const speaksOfOther =
  /\d\s*(?:kg|lbs?)\b|\b(?:acid|burn|caustic|chemical|crush|cuts?\b|edges?\b|eyes?\b|fall|fl(?:y|ies)\b|fumes?\b|gloves|goggles|heav|hoist|hot\b|irritat|lift|press\b|scald|sharp|skin|sling|solvent|spring|vapou?r|weigh)/i;

/** Where in a step an energy and other dangers are first spoken of; behind everything where they are not. */
interface Said {
  /** A message that speaks of other dangers only. */
  readonly ofOther: number;
  /** What speaks of the energy, or may. */
  readonly ofIt: number;
}

const saidOf = (energy: Energy) =>
  noted((step: Step): Said => {
    const all = statementsIn(step);
    const startOf = (is: (each: Statement) => boolean): number => all.find(is)?.start ?? Number.POSITIVE_INFINITY;
    const isOfOther = ({ text }: Statement): boolean =>
      text !== undefined &&
      (speaksOfOther.test(text.value) || energies.some((each) => each !== energy && each.words.test(text.value)));
    const isOfIt = ({ kind, name, text }: Statement): boolean =>
      energy.words.test(text?.value ?? '') || (kind === 'measure' && energy.words.test(name?.text ?? ''));
    return {
      ofOther: startOf((each) => isSafety(each) && isOfOther(each) && !isOfIt(each)),
      ofIt: startOf((each) => isOfIt(each) || isUntoldText(each) || (isSafety(each) && !isOfOther(each))),
    };
  });
const said: ReadonlyMap<Energy, (step: Step) => Said> = new Map(energies.map((energy) => [energy, saidOf(energy)]));

/**
 * Whether `statement` lets `energy` out, all messages above it speak of other dangers, and nothing down to it speaks of this
 * one. Where no message stands above it, `unwarned` or `late-warning` tells of that.
 */
function isUnsaid(model: Model, statement: Statement, energy: Energy): boolean {
  if (energy.moves[statement.kind] === undefined) return false;
  const hazards = model.parts.get(statement.name?.text ?? '')?.hazards;
  if (hazards?.some(({ text }) => text === energy.hazard) !== true) return false;
  const { ofOther, ofIt } = said.get(energy)!(stepOf(statement)!);
  return ofOther < statement.start && ofIt > statement.start;
}
