/** Units of the language: spellings, kind and system. Conversion factors live with the model's quantities. */

export type QuantityKind =
  | 'torque'
  | 'length'
  | 'angle'
  | 'temperature'
  | 'time'
  | 'volume'
  | 'force'
  | 'pressure'
  | 'mass';

/** `neutral` units (time, angle) belong to both systems. */
export type UnitSystem = 'metric' | 'imperial' | 'neutral';

export interface Unit {
  /** The formatter's spelling, unique. */
  readonly symbol: string;
  readonly kind: QuantityKind;
  readonly system: UnitSystem;
  /** Further accepted spellings. */
  readonly also: readonly string[];
}

const unit = (symbol: string, kind: QuantityKind, system: UnitSystem, ...also: string[]): Unit => ({
  symbol,
  kind,
  system,
  also,
});

export const units: readonly Unit[] = [
  unit('N·m', 'torque', 'metric', 'N.m', 'Nm'),
  unit('lbf·ft', 'torque', 'imperial', 'lbf.ft'),
  unit('lbf·in', 'torque', 'imperial', 'lbf.in'),
  unit('kgf·m', 'torque', 'metric', 'kgf.m'),
  unit('kgf·cm', 'torque', 'metric', 'kgf.cm'),
  unit('mm', 'length', 'metric'),
  unit('µm', 'length', 'metric', 'um'),
  unit('m', 'length', 'metric'),
  unit('in', 'length', 'imperial'),
  unit('°', 'angle', 'neutral', 'deg'),
  unit('°C', 'temperature', 'metric', 'degC'),
  unit('°F', 'temperature', 'imperial', 'degF'),
  unit('K', 'temperature', 'metric'),
  unit('s', 'time', 'neutral'),
  unit('min', 'time', 'neutral'),
  unit('h', 'time', 'neutral'),
  unit('d', 'time', 'neutral'),
  unit('L', 'volume', 'metric'),
  unit('mL', 'volume', 'metric'),
  unit('qt', 'volume', 'imperial'),
  unit('pt', 'volume', 'imperial'),
  unit('N', 'force', 'metric'),
  unit('kN', 'force', 'metric'),
  unit('lbf', 'force', 'imperial'),
  unit('kgf', 'force', 'metric'),
  unit('bar', 'pressure', 'metric'),
  unit('kPa', 'pressure', 'metric'),
  unit('MPa', 'pressure', 'metric'),
  unit('psi', 'pressure', 'imperial'),
  unit('g', 'mass', 'metric'),
  unit('kg', 'mass', 'metric'),
  unit('lb', 'mass', 'imperial'),
];

const bySpelling = new Map<string, Unit>();
for (const each of units) for (const spelling of [each.symbol, ...each.also]) bySpelling.set(spelling, each);

/** Greek mu, other dots and other rings look the same on a screen; fold them to the spelling of the table. */
const lookAlikes: Readonly<Record<string, string>> = {
  μ: 'µ',
  '⋅': '·',
  '∙': '·',
  '•': '·',
  '\u0387': '·',
  º: '°',
  '˚': '°',
  '℃': '°C',
  '℉': '°F',
};

export function unitOf(spelling: string): Unit | undefined {
  return bySpelling.get(spelling) ?? bySpelling.get(spelling.replace(/[μ⋅∙•\u0387º˚℃℉]/g, (sign) => lookAlikes[sign]!));
}

/** Spellings that people write by habit, with the one this language knows. */
const habits: ReadonlyMap<string, string> = new Map(
  Object.entries({
    nm: 'N·m',
    n·m: 'N·m',
    'n-m': 'N·m',
    'newton-metre': 'N·m',
    'newton-meter': 'N·m',
    'newton-metres': 'N·m',
    'newton-meters': 'N·m',
    'ft-lb': 'lbf·ft',
    'ft-lbs': 'lbf·ft',
    'ft-lbf': 'lbf·ft',
    'lb-ft': 'lbf·ft',
    'lbf-ft': 'lbf·ft',
    'lbs-ft': 'lbf·ft',
    'foot-pound': 'lbf·ft',
    'foot-pounds': 'lbf·ft',
    'pound-foot': 'lbf·ft',
    'pound-feet': 'lbf·ft',
    lb·ft: 'lbf·ft',
    lbft: 'lbf·ft',
    ftlb: 'lbf·ft',
    ftlbs: 'lbf·ft',
    ftlbf: 'lbf·ft',
    ft·lb: 'lbf·ft',
    ft·lbf: 'lbf·ft',
    'in-lb': 'lbf·in',
    'in-lbs': 'lbf·in',
    'lb-in': 'lbf·in',
    'lbf-in': 'lbf·in',
    'lbs-in': 'lbf·in',
    'inch-pound': 'lbf·in',
    'inch-pounds': 'lbf·in',
    lb·in: 'lbf·in',
    in·lb: 'lbf·in',
    kg·m: 'kgf·m',
    'kg-m': 'kgf·m',
    'kgf-m': 'kgf·m',
    'kg-cm': 'kgf·cm',
    'kgf-cm': 'kgf·cm',
    kg·cm: 'kgf·cm',
    kgm: 'kgf·m',
    mkg: 'kgf·m',
    mkp: 'kgf·m',
    kpm: 'kgf·m',
    l: 'L',
    litre: 'L',
    litres: 'L',
    liter: 'L',
    liters: 'L',
    ltr: 'L',
    ltrs: 'L',
    ml: 'mL',
    cc: 'mL',
    quart: 'qt',
    quarts: 'qt',
    pint: 'pt',
    pints: 'pt',
    c: '°C',
    f: '°F',
    '°c': '°C',
    '°f': '°F',
    celsius: '°C',
    centigrade: '°C',
    fahrenheit: '°F',
    kelvin: 'K',
    'deg-c': '°C',
    'deg-f': '°F',
    '°-c': '°C',
    '°-f': '°F',
    'degrees-c': '°C',
    'degrees-f': '°F',
    'degrees-celsius': '°C',
    'degrees-centigrade': '°C',
    'degrees-fahrenheit': '°F',
    newton: 'N',
    newtons: 'N',
    k: 'K',
    inch: 'in',
    inches: 'in',
    mm: 'mm',
    millimetre: 'mm',
    millimetres: 'mm',
    millimeter: 'mm',
    millimeters: 'mm',
    metre: 'm',
    metres: 'm',
    meter: 'm',
    meters: 'm',
    micron: 'µm',
    microns: 'µm',
    sec: 's',
    secs: 's',
    second: 's',
    seconds: 's',
    mins: 'min',
    minute: 'min',
    minutes: 'min',
    hr: 'h',
    hrs: 'h',
    hour: 'h',
    hours: 'h',
    day: 'd',
    days: 'd',
    degree: '°',
    degrees: '°',
    bar: 'bar',
    bars: 'bar',
    psi: 'psi',
    kpa: 'kPa',
    mpa: 'MPa',
    kn: 'kN',
    kilonewton: 'kN',
    kilonewtons: 'kN',
    kg: 'kg',
    kgs: 'kg',
    kilogram: 'kg',
    kilograms: 'kg',
    kilogramme: 'kg',
    kilogrammes: 'kg',
    lbs: 'lb',
    pound: 'lb',
    pounds: 'lb',
    gr: 'g',
    gram: 'g',
    grams: 'g',
  }),
);

/** As the tables here spell it: in small letters, with one dot for all. */
const byHabit = (spelling: string): string => spelling.toLowerCase().replace(/[⋅∙•.]/g, '·');

/** The known spelling that somebody who wrote `spelling` most likely meant. */
export function unitMeant(spelling: string): string | undefined {
  return habits.get(byHabit(spelling));
}

/** The unit that somebody most likely meant who wrote it in two words: `ft lbs`, `N m`. */
export const unitOfTwo = (first: string, second: string): string | undefined => unitMeant(`${first}-${second}`);

/** Units of other sizes that people write by habit: how many of one that this language knows they are, exactly. */
const others: ReadonlyMap<string, readonly [size: number, symbol: string]> = new Map(
  Object.entries<readonly [size: number, symbol: string]>({
    w: [7, 'd'],
    wk: [7, 'd'],
    wks: [7, 'd'],
    week: [7, 'd'],
    weeks: [7, 'd'],
    cm: [10, 'mm'],
    ft: [12, 'in'],
    feet: [12, 'in'],
    foot: [12, 'in'],
    thou: [0.001, 'in'],
    mil: [0.001, 'in'],
    mils: [0.001, 'in'],
    cnm: [0.01, 'N·m'],
    n·cm: [0.01, 'N·m'],
    ncm: [0.01, 'N·m'],
    n·mm: [0.001, 'N·m'],
    nmm: [0.001, 'N·m'],
    dan·m: [10, 'N·m'],
    danm: [10, 'N·m'],
    kn·m: [1000, 'N·m'],
    knm: [1000, 'N·m'],
    cl: [10, 'mL'],
    mbar: [0.1, 'kPa'],
    hpa: [0.1, 'kPa'],
    ksi: [1000, 'psi'],
    turn: [360, '°'],
    turns: [360, '°'],
  }),
);

/** So many of a unit that this language does not know, in one that it knows: `30 mm` for 3 `cm`. */
export function knownSize(value: number, spelling: string): string | undefined {
  const other = others.get(byHabit(spelling));
  if (other === undefined) return undefined;
  const [size, symbol] = other;
  const inKnown = value * size;
  if (!Number.isFinite(inKnown)) return undefined;
  return `${Number(inKnown.toPrecision(12))}${symbol === '°' ? '' : ' '}${symbol}`;
}
