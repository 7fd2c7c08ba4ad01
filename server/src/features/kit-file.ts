import { isDay } from '../outputs/days.ts';
import { kit } from '../outputs/kit.ts';
import { kitCsvFile } from '../outputs/kit-csv.ts';
import { type KitFile, type KitParams, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

/** What to have before the work begins, as `fettle kit -o FILE --format csv` writes it. */
export function kitFile({ model, judged }: Snapshot, params: KitParams): KitFile {
  const code = params.code !== undefined && model.codes.includes(params.code) ? params.code : undefined;
  const start = params.start !== undefined && isDay(params.start) ? params.start : undefined;
  const list = kit(model, judged.ledger, { code, start });
  const { parts, tools, supplies, extras, threads, unnamed, containers } = list;
  return {
    csv: kitCsvFile(list),
    things: [parts, tools, supplies, extras, threads, unnamed, containers].flat().length,
    errors: judged.findings.filter(({ severity }) => severity === 'error').length,
    ...(code === undefined ? {} : { code }),
    ...(start === undefined ? {} : { start }),
    leads: [...parts, ...tools, ...supplies].some(({ lead }) => lead !== undefined),
  };
}

export const kitForFile = feature<KitParams, KitFile>(requests.kitFile, {}, kitFile);
