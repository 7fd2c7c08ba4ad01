import type { StatementWord } from './tokens.ts';

/** What the trade also says for what a statement does. Common usage, no source. */
export const alsoSaid: Readonly<Partial<Record<StatementWord, readonly string[]>>> = {
  caution: ['attention', 'beware'],
  check: ['ensure', 'verify'],
  clean: ['degrease', 'rinse', 'wash', 'wipe'],
  cool: ['chill', 'freeze'],
  discard: ['bin', 'scrap', 'throw'],
  drain: ['empty'],
  fill: ['refill', 'top'],
  fit: ['assemble', 'attach', 'install', 'insert', 'mount', 're-fit', 're-install', 'refit', 'reinstall'],
  heat: ['warm'],
  inspect: ['examine'],
  loosen: ['slacken', 'undo', 'unscrew'],
  notice: ['important', 'note'],
  remove: ['detach', 'dismount', 'extract', 'lift', 'pull', 'take', 'uninstall', 'unbolt', 'withdraw'],
  replace: ['exchange', 'renew'],
  tighten: ['fasten', 're-tighten', 're-torque', 'retighten', 'retorque', 'torque'],
  warning: ['warn'],
};
const meant = wordsFor(alsoSaid);

/** The statement that does what `word` says elsewhere, if any. */
export const statementFor = (word: string): string | undefined => meant.get(word.toLowerCase());

/** What the trade says for putting a supply on a part. Common usage, no source. */
export const applies: ReadonlySet<string> = new Set(['coat', 'grease', 'lube', 'lubricate', 'oil', 'seal', 'smear']);

/** Around the size of a pipe thread: ASME B1.20.1, ISO 228 and ISO 7, and what both of these are called in common use; from memory. */
const pipeSeries = /^(NPTF?|BSP[PT]?)\b/i;
const pipeThread = /^(NPTF?|BSP[PT]?|G|R[PC]?) ?([0-9].*)$/i;
const pipeSize = /^((?:[0-9]{1,2}[- ])?[0-9]{1,2}\/[0-9]{1,2}|[0-9]{1,2})(-[0-9]{1,2}(?:\.[0-9])?)?$/;

/**
 * How the standards write what is called `1/2 BSP` or `3/4" npt` elsewhere; nothing where `series` is none of a pipe thread, or stands
 * at no size of one.
 */
export function pipeThreadMeant(size: string, series: string): string | undefined {
  const [, said] = pipeSeries.exec(series) ?? [];
  const [, bare, pitch = ''] = pipeSize.exec(size) ?? [];
  if (said === undefined || bare === undefined) return undefined;
  const kind = said.toUpperCase();
  const written = bare.replace(' ', '-');
  return kind.startsWith('NPT') ? `${written}${pitch} ${kind}` : `${kind === 'BSPT' ? 'R' : 'G'}${written}`;
}

/** The same where all of it is in hand, and the series stands first: `BSP 1/2`, `RC1/8`, `G1/2-14`. */
export function pipeThreadWritten(text: string): string | undefined {
  const [, series = '', size = ''] = pipeThread.exec(text) ?? [];
  if (pipeSeries.test(series)) return pipeThreadMeant(size, series);
  const [, bare] = pipeSize.exec(size) ?? [];
  return bare && `${series.charAt(0).toUpperCase()}${series.slice(1).toLowerCase()}${bare.replace(' ', '-')}`;
}

export const pipeThreadMend = (thread: string): string => `a pipe thread is written as in its standard, \`${thread}\``;

const phases = new Map([
  ['disassembly', 'teardown'],
  ['disassemble', 'teardown'],
  ['dismantle', 'teardown'],
  ['dismantling', 'teardown'],
  ['strip', 'teardown'],
  ['assembly', 'reassembly'],
  ['re-assembly', 'reassembly'],
  ['reassemble', 'reassembly'],
  ['refitting', 'reassembly'],
  ['test', 'proving'],
  ['testing', 'proving'],
]);

/** The phase that `word` stands for elsewhere, if any. Common usage, no source. */
export const phaseFor = (word: string): string | undefined => phases.get(word.toLowerCase());

const hazardNames: Readonly<Record<string, readonly string[]>> = {
  charge: ['electric', 'electrical', 'electricity', 'live', 'shock', 'voltage'],
  chemical: ['acid', 'caustic', 'corrosive', 'fumes', 'poison', 'toxic'],
  heat: ['burn', 'burns', 'hot', 'scald', 'steam'],
  pressure: ['hydraulic', 'pressurised', 'pressurized', 'vacuum'],
  spring: ['tension', 'tensioned'],
  weight: ['fall', 'falls', 'heavy', 'load'],
};
const hazardsMeant = wordsFor(hazardNames);

/** The hazard that `word` stands for elsewhere, if any. Common usage, no source. */
export const hazardFor = (word: string): string | undefined => hazardsMeant.get(word.toLowerCase());

const headNames: Readonly<Record<string, readonly string[]>> = {
  flange: ['collar', 'flanged'],
  hexagon: ['hex', 'hexagonal'],
  socket: ['cap', 'cylinder', 'cylindrical', 'cheese'],
};
const headsMeant = wordsFor(headNames);

/** The head of a bolt that `word` stands for elsewhere, if any. Common usage, no source. */
export const headFor = (word: string): string | undefined => headsMeant.get(word.toLowerCase());

const declarationNames: Readonly<Record<string, readonly string[]>> = {
  part: ['component', 'fastener', 'item'],
  supply: ['consumable', 'fluid', 'lubricant', 'material'],
  use: ['import', 'include'],
};
const declared = wordsFor(declarationNames);

/** The word that begins a declaration or a `use` line and that `word` stands for elsewhere, if any. Common usage, no source. */
export const declarationFor = (word: string): string | undefined => declared.get(word.toLowerCase());

const conditionNames: Readonly<Record<string, readonly string[]>> = {
  dry: ['degreased', 'unlubricated'],
  oiled: ['lubed', 'lubricated'],
  paste: ['anti-seize', 'antiseize', 'copper-grease', 'copper-paste', 'moly', 'pasted'],
  threadlock: ['locked', 'thread-lock', 'threadlocked', 'threadlocker'],
};
const conditionsMeant = wordsFor(conditionNames);

/** The condition of a thread that `word` stands for elsewhere, if any. Common usage, no source. */
export const conditionFor = (word: string): string | undefined => conditionsMeant.get(word.toLowerCase());

/** What the trade also says for a part that others hold, before `by` or `with`. Common usage, no source. */
export const heldBy: ReadonlySet<string> = new Set([
  'attached',
  'bolted',
  'clamped',
  'fastened',
  'fixed',
  'retained',
  'screwed',
  'secured',
]);

/** What one writes before a name in English, and no name needs. */
export const fillers: ReadonlySet<string> = new Set([
  'a',
  'all',
  'an',
  'away',
  'both',
  'each',
  'every',
  'of',
  'off',
  'out',
  'the',
  'up',
  'with',
]);

/** The word of the language for each of those that are said for it elsewhere. */
function wordsFor(said: Readonly<Record<string, readonly string[]>>): ReadonlyMap<string, string> {
  return new Map(Object.entries(said).flatMap(([word, others]) => others.map((other) => [other, word] as const)));
}
