import type { Unit } from '../../../grammar/units.ts';

/** Case-sensitive codes of the Unified Code for Units of Measure, by the symbol of this language. */
const codes: Readonly<Record<string, string>> = {
  N·m: 'N.m',
  lbf·ft: '[lbf_av].[ft_i]',
  lbf·in: '[lbf_av].[in_i]',
  kgf·m: 'kgf.m',
  kgf·cm: 'kgf.cm',
  mm: 'mm',
  µm: 'um',
  m: 'm',
  in: '[in_i]',
  '°': 'deg',
  '°C': 'Cel',
  '°F': '[degF]',
  K: 'K',
  s: 's',
  min: 'min',
  h: 'h',
  d: 'd',
  L: 'L',
  mL: 'mL',
  qt: '[qt_us]',
  pt: '[pt_br]',
  N: 'N',
  kN: 'kN',
  lbf: '[lbf_av]',
  kgf: 'kgf',
  bar: 'bar',
  kPa: 'kPa',
  MPa: 'MPa',
  psi: '[psi]',
  g: 'g',
  kg: 'kg',
  lb: '[lb_av]',
};

export const ucumOf = ({ symbol }: Unit): string => codes[symbol]!;
export const ucumCodes: readonly string[] = Object.values(codes);
