/** What was most likely meant by sizes that stand together, as catalogues have them, and by holes that stand on no circle. */
import type { IToken } from 'chevrotain';
import type { ChunkTokens } from './chunk-tokens.ts';
import type { Advice, Stopped } from './mend.ts';
import type { Declaration } from './syntax.ts';
import { isNumber, isUnit, keyword as k, NumberToken, Times } from './tokens.ts';

/** So many sizes, or holes, are gone through. */
const most = 20;

/** `25 x 52 x 15 mm`, `25×52×15`, `60 x 80 mm`: the numbers of sizes that begin at `first`, and the last of their tokens. */
export function sizesFrom(here: ChunkTokens, first: number): { numbers: string[]; last: number } | undefined {
  const numbers = [here.tokens[first]!.image];
  let last = first;
  while (numbers.length < most) {
    const by = here.onLine(last + 1);
    const isJoined = by?.tokenType === Times;
    if (!isJoined && !isBy(by)) break;
    if (!isJoined && !isNumber(here.onLine(last + 2))) break;
    numbers.push(isJoined ? by.image.slice(1) : here.tokens[last + 2]!.image);
    last += isJoined ? 1 : 2;
  }
  const isLength = isUnit(here.onLine(last + 1)) && here.unitAt(last + 1)?.kind === 'length';
  if (numbers.length < (isLength ? 2 : 3)) return undefined;
  return { numbers, last: isLength ? last + 1 : last };
}

const isBy = (token: IToken | undefined): boolean => token !== undefined && /^[x×]$/i.test(token.image);

/** Where holes stand that are on no circle: what leads to sizes or numbers in the declaration of a pattern. */
const shapes = /^(?:rectang(?:le|ular)|square|grid|rows?|line|linear)$/i;
export const isShape = (token: IToken | undefined): boolean => shapes.test(token?.image ?? '');

/** `pattern lid rectangle 60 x 80 mm`, `pattern lid square 60 mm`, `pattern rail row 4 pitch 20 mm` */
export function shapeMeant(here: Stopped, at: number): Advice | undefined {
  if (here.node!.kind !== 'pattern' || !isShape(here.tokens[at]) || here.seen.has('circle')) return undefined;
  const isSquare = /^sq/i.test(here.tokens[at]!.image);
  const first = here.onLine(at + 1)?.tokenType === NumberToken ? at + 1 : undefined;
  const sizes = first === undefined ? undefined : sizesFrom(here, first);
  const end = first === undefined ? at : (sizes?.last ?? here.endOfQuantity(first)!);
  const [across, along] = sizes?.numbers ?? (isSquare && end === at + 2 ? repeated(here.tokens[at + 1]!.image) : []);
  const words = 'holes on no circle are named by their points';
  const isRectangle = isSquare || /^rect/i.test(here.tokens[at]!.image);
  if (!isRectangle || along === undefined || here.unitAt(end)?.kind !== 'length' || (sizes?.numbers.length ?? 2) > 2)
    return [`${words}, as in \`points (0, 0) (60, 0) (0, 80) (60, 80) mm\``];
  const points = `points (0, 0) (${across}, 0) (0, ${along}) (${across}, ${along}) ${here.unitAt(end)!.symbol}`;
  return [`${words}, write \`${points}\``, points, end];
}

const repeated = (image: string): string[] => [image, image];

/** `circle 6 angles 0° to 300°`, `angles 0-300°`: which holes these are, the number of holes says, or each has its angle. */
export function angleRangeMeant(here: Stopped, at: number): Advice | undefined {
  if (here.node!.kind !== 'pattern' || !here.seen.has('angles')) return undefined;
  let lead = at;
  while (lead > at - 4 && here.onLine(lead) !== undefined && here.tokens[lead]!.tokenType !== k.angles) lead--;
  if (here.tokens[lead]?.tokenType !== k.angles) return undefined;
  let last = at;
  while (isNumber(here.onLine(last + 1)) || isUnit(here.onLine(last + 1))) last++;
  const said = here.written(lead, last);
  const [, from, to] = /^angles ([0-9.]+) ?°? ?(?:to|-|–) ?([0-9.]+) ?(?:°|deg)?$/.exec(said) ?? [];
  const { pattern } = here.node as unknown as Declaration;
  if (from === undefined || pattern?.form !== 'circle') return undefined;
  const count = pattern.count?.value ?? 0;
  delete pattern.angles;
  const step = (Number(to) - Number(from)) / (count - 1);
  if (count < 2 || count > most || !(step > 0)) return ['each hole has its angle, as in `angles 0°, 60°, 120°`'];
  if (Number(from) === 0 && Math.abs(step * count - 360) < 1e-6)
    return [`\`circle ${count}\` alone spaces them so, take \`${said}\` out`, '', last, lead];
  const angles = Array.from({ length: count }, (_, i) => `${Number((Number(from) + i * step).toFixed(3))}°`).join(', ');
  return [`each hole has its angle, write \`angles ${angles}\``, `angles ${angles}`, last, lead];
}
