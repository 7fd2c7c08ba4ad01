import type { Declaration, Statement } from '../../../grammar/syntax.ts';
import type { Model } from '../model/model.ts';
import { noted } from '../model/noted.ts';

const namesIn = (names: Statement['using']): string[] => (names ?? []).map((name) => name.text);
const said = ({ name, title }: Declaration): string => `${name?.text ?? ''} ${title?.value ?? ''}`;

/** What lifts a part, grips a ring or holds a spring squeezed. Common practice, no source. */
const serving =
  /\b(?:crane|hoist|jacks?\b|lift|pliers\b|sling|strap|tackle|trolley|(?:spring|valve|ring|piston)[- ]?(?:compressor|clamp|hook))/i;
/** What only draws or drives out, whatever else its name says. */
const drawing = /\b(?:drift|extract|pull|punch|remov|split|withdraw)/i;

const servesBothWays = noted((tool: Declaration): { readonly is: boolean } => ({
  is: serving.test(said(tool)) && !drawing.test(said(tool)),
}));

/** The tools with which a part that `removal` took off goes back on: those that `support` names too, or that serve both ways. */
export const toolsToFit = (
  { tools }: Model,
  removal: Statement | undefined,
  support: Statement | undefined,
): readonly string[] => {
  const supporting = namesIn(support?.using);
  return namesIn(removal?.using).filter((name) => {
    const tool = tools.get(name);
    return supporting.includes(name) || (tool !== undefined && servesBothWays(tool).is);
  });
};
