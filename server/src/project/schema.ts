import { allChecks } from '../checks/all.ts';
import { defaultSettings, type FrictionBand, type ThreadCondition, threadConditions } from '../checks/check.ts';
import { ambientRange, frictionRange, heatingRange, longTextRange, severities } from './settings.ts';

/** JSON Schema (draft 7, which editors read) of the project file. */
export function projectSchema(): object {
  const codes = allChecks.map(({ code }) => code);
  const { friction, heatLimit, filledHeatLimit, ambient, longText } = defaultSettings;
  const strict = (properties: Readonly<Record<string, object>>, description: string) => ({
    type: 'object',
    description,
    properties,
    additionalProperties: false,
  });
  const temperature = (standard: number, [least, most]: readonly [number, number], description: string) => ({
    type: 'string',
    pattern: '^\\s*-?[0-9]+(\\.[0-9]+)?\\s*(°C|degC|℃|°F|degF|℉|K)\\s*$',
    default: `${standard} °C`,
    description: `${description} From ${least} to ${most} °C.`,
  });
  const [least, most] = frictionRange;
  const bands = (standard: Readonly<Record<ThreadCondition, FrictionBand>>) =>
    Object.fromEntries(
      threadConditions.map((condition) => {
        const { low, mid, high } = standard[condition];
        const items = { type: 'number', minimum: least, maximum: most };
        return [condition, { type: 'array', items, minItems: 3, maxItems: 3, default: [low, mid, high] }];
      }),
    );
  return {
    $schema: 'http://json-schema.org/draft-07/schema#',
    title: 'Fettle project file',
    ...strict(
      {
        $schema: { type: 'string' },
        measures: {
          enum: ['metric', 'imperial'],
          description: 'System of units of every procedure that does not say `measures` itself.',
        },
        off: {
          type: 'array',
          items: { enum: codes.filter((code) => code !== 'syntax') },
          uniqueItems: true,
          description: 'Checks that are not run.',
        },
        severities: strict(
          Object.fromEntries(
            allChecks.map(({ code, severity, fires }) => [
              code,
              { enum: severities, default: severity, description: `Fires when ${fires}` },
            ]),
          ),
          'How much each finding counts, by check.',
        ),
        friction: strict(
          {
            ...bands(friction),
            stainless: strict(bands(friction.stainless), 'The same for bolts of stainless steel.'),
          },
          "Coefficients of friction in thread and under the head, low, middle and high, by the thread's condition.",
        ),
        heating: strict(
          {
            open: temperature(heatLimit, heatingRange, 'Where a part declares no limit of its own.'),
            sealed: temperature(filledHeatLimit, heatingRange, 'For sealed and greased bearings.'),
          },
          'How far parts may be heated for mounting.',
        ),
        ambient: temperature(ambient, ambientRange, 'Temperature of the workshop.'),
        longText: {
          type: 'integer',
          minimum: longTextRange[0],
          maximum: longTextRange[1],
          default: longText,
          description: 'Words that one text may have.',
        },
      },
      'Settings for every procedure in this folder and below. The nearest project file alone counts.',
    ),
  };
}
