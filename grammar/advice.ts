/**
 * What was most likely meant where reading stopped. It is asked for once a trouble is there, and may cost more than reading does.
 */
import type { IToken } from 'chevrotain';
import {
  aboutMeant,
  anglesMeant,
  boundMeant,
  countedStagesMeant,
  digitsMeant,
  endOfAmount,
  fractionMeant,
  isAngle,
  limitMeant,
  listMeant,
  listWithAnd,
  rangeAt,
  rangeMeant,
  rangeOfTwo,
  rateMeant,
  restatementMeant,
  stagesDividedMeant,
  stagesMeant,
  stagesPartedMeant,
  timesMeant,
  toleranceBehindUnit,
  turnsMeant,
  unitsApart,
  upToMeant,
} from './amount-meant.ts';
import { clausesOf, setBy, supplied } from './clauses.ts';
import { codeLike, isDeclaration, isNameless, isStatement } from './heads.ts';
import { inWordsMeant, ledMeant } from './led-meant.ts';
import { conditionFor, fillers, heldBy } from './meant.ts';
import { type Advice, isClauseWord, quoteIt, type Stopped, takeOut, takeOutTo, touches, write } from './mend.ts';
import { isInList, isInTitle, nameInWords, slugOf, wordMeant } from './name-meant.ts';
import { nearest } from './nearest.ts';
import { isFraction, numberMeant } from './number-meant.ts';
import { orderAgain, orderCalled, orderIn, orderListed, orderMeant, orderNumbered } from './order-meant.ts';
import { partsMeant } from './parts-meant.ts';
import {
  doubled,
  hazardCalled,
  hazardMeant,
  markingMeant,
  partNumberMeant,
  propertyMeant,
  sizeMeant,
  tailMeant,
  unquotedMeant,
} from './property-meant.ts';
import { inQuotes, proseFrom, proseMeant, quoteMeant } from './prose-meant.ts';
import { angleRangeMeant, shapeMeant } from './size-meant.ts';
import { cureMeant, dosageMeant, spreadMeant } from './supply-meant.ts';
import type { Declaration, Statement } from './syntax.ts';
import { boltMeant, conditionMeant, pipeThreadAt, threadMeant, toleranceMeant } from './thread-meant.ts';
import {
  Comma,
  DashedNumber,
  endOf,
  FitPair,
  isContextual,
  isKeyword,
  isNumber,
  isReserved,
  isUnit,
  keyword as k,
  NumberToken,
  PlusMinus,
  Slash,
  Stray,
  Text,
  Times,
  To,
  Word,
} from './tokens.ts';
import { unitMeant, unitOf } from './units.ts';
import { isBeforePattern } from './wanted.ts';

/** Which clause of the node was meant where another one stands, as `mendOf` gives it. */
export function clauseMeant(here: Stopped, word: string, at: number): Advice | undefined {
  const { kind } = here.node!;
  const turns = word === 'quantity' ? (turnsMeant(here, at) ?? dosageMeant(here, at)) : undefined;
  if (turns !== undefined) return turns;
  const thread = isDeclaration(kind) ? threadMeant(here, at, '') : undefined;
  if (thread !== undefined) {
    for (let i = at + 1; i <= (thread[2] ?? at); i++) here.trouble(i);
    return thread;
  }
  const parted =
    word === 'quantity'
      ? (anglesMeant(here, at) ?? stagesPartedMeant(here, at) ?? toleranceMeant(here, at))
      : undefined;
  if (parted !== undefined) return parted;
  const fraction = fractionMeant(here, at) ?? (word === 'quantity' ? numberMeant(here, at) : undefined);
  if (fraction !== undefined) return fraction;
  if (isDeclaration(kind)) {
    if (word === 'torque' && here.allowed.has('range')) return write('range');
    const thread = here.tokens[at - 1];
    if (
      word === 'xN' &&
      here.allowed.has('length') &&
      thread !== undefined &&
      /^M[0-9]+(?:x[0-9.]+)?$/.test(thread.image)
    ) {
      const length = `length ${here.tokens[at]!.image.slice(1)} mm`;
      return [`a length stands apart, write \`${length}\``, touches(thread, here.tokens[at]) ? ` ${length}` : length];
    }
    return word === 'quantity' ? propertyMeant(here, at) : undefined;
  }
  const limit = word === 'quantity' && kind === 'measure' && !here.seen.has('limit') ? limitMeant(here, at) : undefined;
  if (limit !== undefined) return limit;
  const unled = word === 'quantity' ? unledRange(here, at) : undefined;
  if (unled !== undefined) return unled;
  const prose = word === 'quantity' || word === 'xN' ? proseMeant(here, at) : undefined;
  if (prose !== undefined) return prose;
  const { image } = here.tokens[at]!;
  const next = here.tokens[at + 1];
  const tool = 'a tool stands behind `using`';
  if (kind === 'replace' && (word === 'by' || word === 'with')) {
    const { name } = here.node as Statement;
    const last = newOne(here, at, name?.text);
    if (last !== undefined) return [`\`replace\` brings a new one, take ${here.shownFrom(at, last)} out`, '', last];
    const swap = `\`swap ${name?.text ?? 'PART'} for …\` puts another part in its place`;
    return [word === 'by' ? swap : `${swap}, ${tool}`];
  }
  const range = rangeMeant(here, at);
  if (range !== undefined) return range;
  const bound = boundMeant(here, at);
  if (bound !== undefined) return bound;
  if (kind === 'wait' && isMost(here, at)) return leastWait;
  // `wait min 60 min`
  if (/^(?:max|min)$/.test(word) && here.allowed.has('quantity') && isNumber(next)) return takeOut;
  if (word === 'at' && /^(?:least|most)$/.test(next?.image ?? '')) return takeOutTo(here, at, at + 1);
  // `in stages 10 N·m, 20 N·m in a star pattern`
  const order = word === 'in' ? orderIn(here, at) : undefined;
  if (order !== undefined) return order;
  if (here.seen.has(word)) return word === 'quantity' ? timesMeant(here, at) : undefined;
  if (kind === 'fill' || kind === 'drain') {
    if (word !== 'with' && word !== 'to') return undefined;
    return isUnit(here.tokens[here.endOfQuantity(at + 1) ?? at]) ? takeOut : levelMeant(here);
  }
  if (word === 'with' && here.allowed.has('using') && next?.tokenType === Word) return [tool, 'using'];
  const lead = leadMeant(here, at);
  if (lead !== undefined) return lead;
  if ((word === 'in' || word === 'at') && here.allowed.has('keep') && next?.tokenType === Text)
    return ['a place stands behind `keep in`', 'keep in'];
  const place = placeMeant(here, at);
  if (place !== undefined) return place;
  if (word === 'by' && next?.tokenType === k.hand && kind !== 'fit')
    return here.seen.has('text') ? undefined : ['a text stands in double quotes', '"by hand"', at + 1];
  if (word === 'by' && here.allowed.has('text') && !here.seen.has('text')) {
    // `loosen nut by 1/4 turn`
    if (isNumber(next)) return inQuotes(here, at, endOfAmount(here, at + 1)) ?? quoteIt;
    if (next?.tokenType === Word) return quoteIt;
  }
  const other = kind === 'fit' ? 'tighten' : kind === 'remove' ? 'loosen' : undefined;
  if (other !== undefined && word !== 'quantity' && clausesOf[other].includes(word)) {
    const where = kind === 'fit' ? 'below' : 'above';
    const order = word === 'in' ? orderCalled(here.onLine(here.behindFillers(at + 1))?.image ?? '') : undefined;
    if (order !== undefined)
      return [`it belongs to \`${other}\`, write \`${other} ${partOf(here)} ${order}\` ${where}`];
    const isTorque = word === 'at' && isNumber(next);
    const lead = `${other} ${partOf(here)} ${isTorque ? 'to ' : ''}`;
    const turned = here.shownFrom(isTorque ? at + 1 : at, endOfClause(here, at), lead);
    return [`it belongs to \`${other}\`, write ${turned} ${where}`];
  }
  if (word !== 'quantity') return undefined;
  const last = here.endOfQuantity(at) ?? at;
  if (kind === 'fit' && here.unitAt(last)?.kind === 'torque')
    return [`a torque belongs to \`tighten\`, write ${here.shownFrom(at, last, `tighten ${partOf(here)} to `)} below`];
  if (kind === 'measure') {
    // `0.05 mm max`
    const limit = here.onLine(last + 1);
    if (limit?.tokenType !== k.max && limit?.tokenType !== k.min) return [`${measured} before it`];
    const isDotted = here.onLine(last + 2)?.image === '.';
    const end = isDotted ? last + 2 : last + 1;
    for (let each = last + 1; each <= end; each++) here.trouble(each);
    const text = `${limit.image} ${here.written(at, last)}`;
    return [`write \`${text}\``, text, end];
  }
  const list = kind === 'tighten' ? listMeant(here, at) : undefined;
  if (list !== undefined) return list;
  const isAngle = here.unitAt(at + 1)?.kind === 'angle';
  const clause = ['to', 'max'].find((each) => here.allowed.has(each) && !here.seen.has(each));
  if (clause === undefined || isAngle || here.seen.has('in')) return undefined;
  // `12 kN max`
  if (here.onLine(last + 1)?.tokenType === k.max) here.trouble(last + 1);
  return [`write \`${clause}\` before it`, `${clause} ${image}`];
}

/** `tighten nut with 60 N·m`, `press bearing at 5 kN`, `heat race max 80 °C`: another word leads to what the statement sets. */
function leadMeant(here: Stopped, at: number): Advice | undefined {
  if (!/^(?:at|max|to|with)$/.test(here.tokens[at]!.image) || !isNumber(here.onLine(at + 1))) return undefined;
  const { kind } = here.node!;
  if (kind === 'measure') return [measured];
  const unit = here.unitAt(here.endOfQuantity(at + 1) ?? at);
  const clause = kind === 'press' ? 'max' : 'to';
  return unit === undefined || unit.kind !== setBy[kind] || here.seen.has(clause) ? undefined : write(clause);
}

/** As `mendOf`, where it follows from what was `expected`, or from what the node may hold. */
export function meantBy(here: Stopped, at: number, expected: string): Advice | undefined {
  const token = here.tokens[at]!;
  const { image, tokenType: type } = token;
  const before = here.tokens[at - 1];
  const { kind } = here.node!;
  const follows = here.onLine(at + 1);
  if (expected === '`hand`' && isNumber(token)) {
    const turns = turnsMeant(here, at);
    if (turns !== undefined) return turns;
    const unit = here.unitAt(here.endOfQuantity(at) ?? at);
    if (unit?.kind === 'torque') return [...torqueBehindTo, 'to', at - 1, at - 1];
  }
  const thread = isDeclaration(kind) ? threadMeant(here, at, expected) : undefined;
  if (thread !== undefined) return thread;
  const led = expected === '' ? ledMeant(here, at) : undefined;
  if (led !== undefined) return led;
  const inWords = expected === '' || expected === 'a number' ? inWordsMeant(here, at) : undefined;
  if (inWords !== undefined) return inWords;
  const cure = expected === '' ? cureMeant(here, at) : undefined;
  if (cure !== undefined) return cure;
  const dosage = dosageMeant(here, at);
  if (dosage !== undefined) return dosage;
  const shape = expected === '' ? shapeMeant(here, at) : undefined;
  if (shape !== undefined) return shape;
  const spread = expected === '' || expected === 'a number' ? angleRangeMeant(here, at) : undefined;
  if (spread !== undefined) return spread;
  const numbered = orderNumbered(here, at, expected);
  if (numbered !== undefined) return numbered;
  const divided = expected === '' || expected === 'a number' ? stagesDividedMeant(here, at) : undefined;
  if (divided !== undefined) return divided;
  const fraction = turnsInFraction(here, at) ?? fractionMeant(here, at) ?? numberMeant(here, at);
  if (fraction !== undefined) return fraction;
  if (image === '*' && /^M[0-9]+$/.test(before?.image ?? '') && isNumber(follows))
    return [`a thread is written \`${before!.image}x${follows!.image}\``, 'x'];
  const inBrackets = expected === '' ? unitsApart(here, at) : undefined;
  if (inBrackets !== undefined) return inBrackets;
  const digits = digitsMeant(here, at, expected);
  if (digits !== undefined) return digits;
  if (image === 'order' && kind === 'part' && expected === '') {
    const last = endOfClause(here, at);
    return [`an order stands behind \`tighten\`, take ${here.shownFrom(at, last)} out`, '', last];
  }
  if (kind === 'use') {
    // `use common/fasteners.fettle`
    let last = at;
    while (here.onLine(last + 1) !== undefined) last++;
    const path = here.written(at, last);
    if (/^[^"\s]*\.fettle$/.test(path))
      return [`a path stands in double quotes, write \`use "${path}"\``, `"${path}"`, last];
    if (/^[\p{L}\d -]+$/u.test(path)) return ['a tool stands behind `using`, on the line of what it is for'];
  }
  if (kind === 'procedure' && expected === '' && /^(?:metric|imperial)$/.test(image)) return write(`measures ${image}`);
  // `fixed by bolt`, `secured with bolt`
  const isHeld = here.allowed.has('held') && heldBy.has(image.toLowerCase());
  if (isHeld && (follows?.image === 'by' || follows?.image === 'with')) return [...write('held by'), at + 1];
  const marked = expected === '' ? partNumberMeant(here, at) : undefined;
  if (marked !== undefined) return marked;
  const again = expected === '' ? restatementMeant(here, at) : undefined;
  if (again !== undefined) return again;
  const rate = expected === '' ? rateMeant(here, at) : undefined;
  if (rate !== undefined) return rate;
  if (expected === '' && here.allowed.has('hazard') && /^(?:mass|weight|weighs)$/.test(image) && isNumber(follows)) {
    const last = here.endOfQuantity(at + 1) ?? at + 1;
    return ['name it in the title, write `hazard weight` where it can hurt', 'hazard weight', last];
  }
  if (kind === 'part' && expected === '') {
    const by = /^(held|carried)-by$/.exec(image)?.[1];
    if (by !== undefined) return write(`${by} by`);
    const size = sizeMeant(here, at);
    if (size !== undefined) return size;
  }
  if (kind === 'pattern' && expected === '' && image === 'd') return write('diameter');
  const radius = kind === 'pattern' && expected === '' ? doubled(here, at) : undefined;
  if (radius !== undefined) return radius;
  if (image === ':' && before !== undefined)
    if (
      (expected === 'a name' && isKeyword(before)) ||
      (before.tokenType === k.wait && isNumber(follows)) ||
      isClauseWord(before, here.allowed) ||
      follows?.tokenType === Text
    )
      return takeOut;
  // `warning: Hot oil`
  if (image === ':' && before?.image === kind && isNameless(kind) && follows !== undefined) {
    const [words, text, last] = proseFrom(here, at + 1) ?? [];
    if (text !== undefined) return [words!, ` ${text}`, last];
  }
  if (expected === 'a text in double quotes') {
    const quoted = quoteMeant(here, at) ?? proseMeant(here, at);
    if (quoted !== undefined) return quoted;
  }
  if (before?.tokenType === k.measures) {
    if (/^(?:inch(?:es)?|in|us|english)$/i.test(image)) return write('imperial');
    if (/^(?:mm|millimet(?:er|re)s?|si)$/i.test(image)) return write('metric');
  }
  const tail = expected === '' ? tailMeant(here, at) : undefined;
  if (tail !== undefined) return tail;
  const marking = markingMeant(here, at, expected);
  if (marking !== undefined) return marking;
  if (
    kind === 'tighten' &&
    before?.tokenType === k.to &&
    /^(?:spec(?:ification|ified)?|torque|declared|stated)$/i.test(image)
  ) {
    const last = /^(?:spec|torque|value)$/.test(here.onLine(at + 1)?.image ?? '') ? at + 1 : at;
    const behind = here.behindFillers(last + 1);
    if (isNumber(here.onLine(behind))) return takeOutTo(here, at, behind - 1);
    return [`without \`to\` the declared torque is meant, take ${here.shownFrom(at - 1, last)} out`, '', last, at - 1];
  }
  const bound = expected === '' ? boundMeant(here, at) : undefined;
  if (bound !== undefined) return bound;
  // `cool race to minus 20 °C`
  if (expected === 'a number' && image === 'minus' && isNumber(follows))
    return [`write \`-${follows!.image}\``, `-${follows!.image}`, at + 1];
  const about = aboutMeant(here, at, expected);
  if (about !== undefined) return about;
  if (expected === 'a number' && type === Word) {
    // `then a further 90°`, `lead time 2 d`
    let last = at;
    while (last < at + 3 && here.onLine(last + 1)?.tokenType === Word) last++;
    if (isNumber(here.onLine(last + 1))) return takeOutTo(here, at, last);
  }
  if (expected === 'a name' && type === NumberToken && before !== undefined && !touches(token, here.tokens[at + 1])) {
    if (isDeclaration(before.image) || before.image === 'step')
      return [`a name begins with a letter, as \`${before.image}-${image}\` does`];
    if (isStatement(before.image))
      return [`name the ${supplied.has(kind) ? 'supply' : kind === 'measure' ? 'reading' : 'part'} before it`];
  }
  if (expected === 'a name' && type === Text && before !== undefined) {
    const slug = slugOf(image);
    if (isStatement(kind) && slug !== '')
      return /^"[\p{L}\d-]+"$/u.test(image)
        ? [`a name stands without quotes, write \`${slug}\``, slug]
        : [`write one before it, such as \`${slug}\``];
    if (slug !== '' && slug.length < 40 && !isReserved(slug) && before.image === kind && !isStatement(kind))
      return [`write one before it, such as \`${slug}\``, `${slug} ${image}`];
  }
  const unquoted = unquotedMeant(here, at, expected);
  if (unquoted !== undefined) return unquoted;
  if (leads.test(expected)) {
    const lead = expected.slice(1, -1);
    // `held on by bolt`
    if (lead === 'by' && follows?.image === lead) return takeOut;
    // `held in place by bolt`
    if (lead === 'by' && places.has(image) && here.onLine(at + 2)?.image === lead) return takeOutTo(here, at, at + 1);
    if (lead === 'from' && image === 'to') return ['what carries it now stands first, as in `from A to B`'];
    if (leads.test(`\`${image}\``)) return [`write ${expected}`, lead];
  }
  if (type === Word) {
    const near = nearest(
      image,
      [...expected.matchAll(/`([a-z]+)`/g)].map(([, word]) => word!),
    );
    if (near !== undefined) return [`perhaps \`${near}\` was meant`, near];
  }
  if (kind === 'shim' && expected === '`gap`')
    return [
      'its reading and what is to be left of it stand there, as in `gap lift endplay 0.1 mm from 0.3 mm, 0.5 mm`',
    ];
  if (expected === '`plate`' && (type === Text || here.onLine(at + 1)?.tokenType === Text))
    return ['where the code stands is told behind `code plate`', type === Text ? `plate ${image}` : 'plate'];
  if (leads.test(expected)) {
    const lead = expected.slice(1, -1);
    const supply = spreadMeant(here, at);
    if (supply !== undefined) return supply;
    // `apply thread locker to bolt`
    if (
      lead === 'to' &&
      kind === 'apply' &&
      type === Word &&
      here.onLine(at + 1)?.image === 'to' &&
      before?.tokenType === Word
    )
      return [`a name is one word, such as \`${before.image}-${image}\``];
    if ((type === Word && image !== 'and') || type === Text) return [`write ${expected} before it`, `${lead} ${image}`];
  }
  if (kind === 'for' && type === Text && expected === '') return ['words for the reader stand in a `do`'];
  if (kind === 'for' && image === 'only') return takeOut;
  if ((kind === 'for' || (kind === 'procedure' && isInList(here, at))) && expected === '') {
    const parted = 'codes are parted by commas';
    if (/^(?:and|&)$/.test(image) && here.onLine(at + 1)?.tokenType === Word) return [parted, ','];
    if (type === Word && /^(?=.*\p{Lu})(?=.*\p{N})/u.test(image) && before?.tokenType === Word)
      return [parted, `, ${image}`];
  }
  if (expected === '`hand`' && isAngle(here, at)) return ['an angle stands behind `then`'];
  const order = expected === '`stages`' ? orderIn(here, at - 1) : undefined;
  if (order !== undefined) return order;
  const listed = expected === '`stages`' ? orderListed(here, at) : undefined;
  if (listed !== undefined) return listed;
  const counted = expected === '`stages`' ? countedStagesMeant(here, at) : undefined;
  if (counted !== undefined) return counted;
  if (expected === '`stages`' && type === Word && here.onLine(at + 1)?.tokenType === Word)
    return ['`in stages` names the torque of each'];
  if (expected === '`stages`' && (isNumber(token) || here.onLine(at + 1)?.tokenType === k.stages))
    return ['`in stages` names the torque of each'];
  if (isUnit(before)) {
    const spread = type === PlusMinus ? toleranceBehindUnit(here, at) : undefined;
    if (spread !== undefined) return spread;
    if (type === PlusMinus || type === To) return ['the unit stands once, behind both numbers'];
    if (isNumber(token) && isUnit(here.tokens[at + 1])) return timesMeant(here, at) ?? ['write it in one unit'];
  }
  if (before?.tokenType === k.at && isNumber(token) && here.allowed.has('to') && !here.seen.has('to'))
    return [...torqueBehindTo, 'to', at - 1, at - 1];
  if (image === 'torque' && here.allowed.has('to')) return write('to');
  const bolt = expected === '' && here.allowed.has('thread') ? boltMeant(here, at) : undefined;
  if (bolt !== undefined) return bolt;
  if (type.name === 'InchThread' || /^M[0-9]+(?:x[0-9.]+)?$/.test(image))
    return expected === '' && here.allowed.has('thread') ? write(`thread ${image}`) : undefined;
  const hazards = type === Word && expected === '' ? hazardMeant(here, at) : undefined;
  if (hazards !== undefined) return hazards;
  const hazard = type === Word && here.allowed.has('hazard') && expected === '' ? hazardCalled(image) : undefined;
  const isOfName = before !== undefined && before.startOffset - here.base === (here.node as Declaration).name?.start;
  if (hazard !== undefined && (hazard === image || !isOfName) && !isInTitle(here, at)) return write(`hazard ${hazard}`);
  if (type === Stray && here.allowed.has('max') && here.allowed.has('min')) {
    // Of two signs, only the first is in hand.
    const isPair = here.tokens[at + 1]?.tokenType === Stray;
    const bound = /^[<≤]$/.test(image) ? 'max' : /^[>≥]$/.test(image) ? 'min' : undefined;
    if (bound !== undefined)
      return isPair
        ? [`write \`${bound}\``]
        : [`write \`${bound}\``, touches(token, here.tokens[at + 1]) ? `${bound} ` : bound];
  }
  if (/^(?:and|plus|\+)$/.test(image) && here.allowed.has(isStatement(kind) ? 'then' : 'torque')) {
    if (isAngle(here, at + 1)) return ['an angle stands behind `then`', 'then'];
    if (here.onLine(at + 1)?.tokenType === k.then) return takeOut;
  }
  const joined = expected === '' ? listWithAnd(here, at) : undefined;
  if (joined !== undefined) {
    for (let i = joined[3]; i <= joined[2]; i++) here.trouble(i);
    return joined;
  }
  const stages = kind === 'tighten' ? stagesFrom(here, at) : undefined;
  if (stages !== undefined) return stages;
  if (image === 'stages' && expected === '' && here.allowed.has('in') && isNumber(follows)) return write('in stages');
  if ((type === Comma || image === 'and') && expected === '') {
    const clause = here.onLine(at + 1);
    // Behind a comma it may have been taken for a name.
    if (clause !== undefined && isContextual(clause.image) && here.allowed.has(clause.image))
      return type === Comma ? ['no comma stands between clauses, take it out', ''] : takeOut;
  }
  const star = type === Comma ? here.onLine(at + 1)?.image : undefined;
  if (/^(?:star|spiral)$/.test(star ?? '') && here.allowed.has('order') && !here.seen.has('order'))
    return [`write \`order ${star}\``, ` order ${star}`, at + 1];
  if (image === ';' && follows !== undefined && isContextual(follows.image) && isClauseWord(follows, here.allowed))
    return takeOut;
  const follower = here.onLine(at + 1);
  const isList = follower === undefined || !isKeyword(follower);
  const parts = isList && isStatement(kind) ? partsMeant(here, at) : undefined;
  if (parts !== undefined) return parts;
  if (type === Comma || image === 'and' || image === '&') {
    const { name } = here.node as Statement;
    if (type === Comma && isDeclaration(kind) && before?.startOffset === (name?.start ?? -1) + here.base)
      return ['a declaration has one name, give each one of its own'];
    if (before !== undefined && here.tokens[at - 2]?.image === 'by' && here.tokens[at - 3]?.image === 'carried')
      return ['one part carries a part, what else is in the way stands behind `held by` or `behind`'];
    if (/^(?:and|&)$/.test(image) && isInList(here, at)) return ['names in a list are parted by commas', ','];
    if (image === 'and' && isStatement(kind)) return ['write what follows as a statement of its own'];
  }
  return undefined;
}

/** What was most likely meant at `at`: words for the message, a text that mends it, the last token it stands for. */
export function mendOf(here: Stopped, at: number, expected: string): Advice {
  const token = here.tokens[at]!;
  const { image, tokenType: type } = token;
  const before = here.tokens[at - 1];
  const next = here.tokens[at + 1];
  const { kind } = here.node!;
  const follows = here.onLine(at + 1);
  const upTo = upToMeant(here, at);
  if (upTo !== undefined) return upTo;
  if (kind === 'if' && type === k.then) return takeOut;
  if (kind === 'pattern' && (image === 'holes' || (image === 'of' && isNumber(follows)))) return takeOut;
  if (isBeforePattern(here, at)) return takeOut;
  // `holes rim at holes 1, 3`, as behind `tighten`
  if (kind === 'part' && type === k.holes && before?.tokenType === k.at) return takeOut;
  if (image === 'mark' && before?.tokenType === k.index) return takeOut;
  if (/^tighten(?:ing)?$/.test(image) && follows?.tokenType === k.torque && here.allowed.has('torque')) return takeOut;
  if (/^[⌀∅Øø]$/.test(image) && expected === 'a number' && isNumber(follows)) return takeOut;
  if (kind === 'wait' && isMost(here, at)) return leastWait;
  // `wait ≥ 60 min`
  if (/^[<>≤≥]$/.test(image) && isStatement(kind) && here.allowed.has('quantity') && isNumber(follows)) return takeOut;
  const most = expected === '' ? mostMeant(here, at) : undefined;
  if (most !== undefined) return most;
  if (kind === 'if' && codeLike.test(image))
    return [`what is for one code stands behind \`for\`, write \`for ${image}\``];
  if (fillers.has(image)) {
    const leadsOn =
      follows?.tokenType === Text
        ? isNameless(kind)
        : isContextual(follows?.image ?? '') && isClauseWord(follows!, here.allowed);
    if (expected === '' ? leadsOn : expected === 'a number') return takeOut;
  }
  if (expected === '') {
    const range = rangeMeant(here, at);
    if (range !== undefined) return range;
    const again = image === 'in' ? orderIn(here, at) : orderAgain(here, at, at, at);
    if (again !== undefined) return again;
    const order = orderMeant(here, at);
    if (order !== undefined) return write(order);
    if (image === 'new' && kind === 'fit') return [`write \`fit new ${partOf(here)}\``];
    if (/^(?:new|single-use)$/.test(image) && here.allowed.has('renew')) return write('renew');
    if (/^single$/i.test(image) && follows?.image === 'use' && here.allowed.has('renew'))
      return ['write `renew`', 'renew', at + 1];
    if (
      type.name === 'OpenBracket' &&
      follows?.tokenType === Word &&
      here.allowed.has('text') &&
      !here.seen.has('text')
    )
      return quoteIt;
    if (here.allowed.has('held') && follows?.tokenType === Word) {
      if (image === 'by') return write('held by');
      if (/^(?:under|below|beneath|in|inside|on|onto)$/.test(image))
        return ['write `behind`, or `carried by` where it sits on it'];
    }
    const unit = here.unitAt(here.endOfQuantity(at + 1) ?? at);
    const near =
      type === Word
        ? nearest(
            image,
            [...here.allowed].filter((word) => word.length > 3 && word !== 'text' && word !== 'quantity'),
          )
        : undefined;
    if (near !== undefined && isNumber(follows)) return [`perhaps \`${near}\` was meant`, near];
    if (kind === 'measure' && type !== Stray && isNumber(follows)) return [measured];
    if (type === Word && unit !== undefined && here.allowed.has('quantity') && !here.seen.has('quantity')) {
      // `supply gear oil 2 L`
      const { name } = here.node as Declaration;
      const isOfName = isDeclaration(kind) && before?.startOffset === (name?.start ?? -1) + here.base;
      return isOfName && /^\p{Ll}/u.test(image) && !fillers.has(image) ? nameInWords(here, at) : takeOut;
    }
    const place = placeMeant(here, at);
    if (place !== undefined) return place;
    if (places.has(image) && follows?.tokenType === Text && here.allowed.has('keep') && !here.seen.has('keep'))
      return ['a place stands behind `keep in`', 'keep in'];
    const isTight = /^(?:(?:hand|finger)s?(?:-?tight.*)?|snug(?:ly)?)$/.test(image);
    if (isTight && (kind === 'fit' || kind === 'tighten')) {
      const last = /^tight/.test(here.onLine(at + 1)?.image ?? '') ? at + 1 : at;
      return kind === 'fit'
        ? [`write \`tighten ${partOf(here)} by hand\` below`]
        : ['write `by hand`', 'by hand', last];
    }
    if (kind === 'step' && /^(?:duration|needs|time)$/.test(image) && isNumber(follows) && !here.seen.has('takes'))
      return write('takes');
    const last = kind === 'step' ? here.endOfQuantity(at) : undefined;
    if (last !== undefined && here.unitAt(last)?.kind === 'time')
      return [`write ${here.shownFrom(at, last, 'takes ')}`, `takes ${image}`];
  }
  if (image === 'sequence' && here.allowed.has('order') && !here.seen.has('order') && isNumber(follows))
    return write('order');
  const count = countMeant(here, at);
  if (count !== undefined) return count;
  const condition = conditionFor(image);
  if (condition !== undefined && here.allowed.has(condition)) return conditionMeant(here, at, condition);
  if (/^[Øø][0-9.]*$/.test(image) && expected === '' && here.allowed.has('bore'))
    return ['of a hole write `bore`, of the outside `diameter`'];
  // `bore Ø62 mm`
  if (expected === 'a number' && /^[Øø][0-9.]+$/.test(image)) return [`write \`${image.slice(1)}\``, image.slice(1)];
  if (type === Word) {
    if (/^X[0-9]+$/.test(image)) return countWritten(image.slice(1));
    if (/^x$/i.test(image) && next?.tokenType === NumberToken) {
      const isThread = before !== undefined && here.tokens[at - 2]?.tokenType === k.thread;
      if (isThread && /^M[0-9]/.test(before.image) && /^[0-9]{2,3}$/.test(next.image)) {
        const isPitched = before.image.includes('x');
        const length = `length ${next.image} mm`;
        const whole = isPitched ? length : `${before.image} ${length}`;
        const last = here.onLine(at + 2)?.image === 'mm' ? at + 2 : at + 1;
        return [`a length stands apart, write \`${whole}\``, whole, last, isPitched ? at : at - 1];
      }
      if (before !== undefined && /^M[0-9]+$/.test(before.image) && here.seen.has('thread'))
        return [`a thread is written without blanks, \`${before.image}x${next.image}\``];
      return counted(here, next, at + 1);
    }
    const thread = here.seen.has('thread') && here.tokens[at - 2]?.tokenType === k.thread ? before : undefined;
    if (thread !== undefined && /^(?:LH|L|left(?:-?hand(?:ed)?)?)$/i.test(image)) {
      const ends = `a left-hand thread ends in \`-LH\`, as in \`${thread.image}-LH\``;
      return touches(thread, token) ? [ends, '-LH'] : [ends];
    }
    if (before?.tokenType.name === 'InchThread' || before?.tokenType === DashedNumber)
      if (/^UN(C|F|EF)$/i.test(image)) return ['a unified thread is written without its series', ''];
  }
  const isSize = isUnit(before) && /^(?:bore|diameter)$/.test(here.tokens[at - 3]?.image ?? '');
  if (type === FitPair && here.allowed.has('bore'))
    return [`a fit stands behind a size, as in \`bore 62 mm ${image}\``];
  if (type === Word && isSize && here.allowed.has('bore') && /^[A-Za-z]{1,2}[0-9]{1,2}$/.test(image))
    return [
      'a fit is written for hole and shaft, as in `H7/k6`, or for the shaft of a rolling bearing, as in `k6`; where the maker gives it in figures, `interference` says it',
    ];
  if (isUnit(before)) {
    const joined = before.image + image;
    const unit =
      type === Stray && next !== undefined
        ? unitMeant(`${before.image}·${next.image}`)
        : (unitOf(joined)?.symbol ?? unitMeant(joined));
    if (unit !== undefined) return [`the unit is written \`${unit}\``];
  }
  // Within a clause no other can begin.
  if (expected === '' && (type === Word || isContextual(image))) {
    const near = nearest(
      image,
      [...here.allowed].filter((word) => /^[a-z]+$/.test(word) && word !== 'text' && word !== 'quantity'),
    );
    if (near !== undefined && near !== image) return [`perhaps \`${near}\` was meant`, near];
  }
  if (type === Word && expected === '') {
    // Which names there are is not known here.
    if (isDeclaration(kind) && before?.tokenType === Word && isInList(here, at)) return [nameInWords(here, at)[0]];
    const isLacking = (kind === 'fill' || kind === 'wait') && !here.seen.has('quantity');
    const meant = isLacking ? levelMeant(here) : wordMeant(here, at);
    if (meant !== undefined) return meant;
  }
  if (type === NumberToken && here.allowed.has('xN') && isCount(here, at)) return countWritten(image);
  if (type.name === 'OpenBracket' && here.allowed.has('xN') && here.tokens[at + 2]?.tokenType.name === 'CloseBracket')
    if (/^x?[0-9]+$/.test(next?.image ?? '')) return [...countWritten(next!.image.replace('x', '')), at + 2];
  if (type === Slash && next?.tokenType === Slash) return ['a comment begins with `#`', '#', at + 1];
  if (type === Times && follows?.tokenType === Word) {
    const turned = `${follows.image} ${image}`;
    return [`a count stands behind the name, \`${turned}\``, turned, at + 1];
  }
  if (type === Times && before?.tokenType !== Word) return ['`x` and digits is a count, not a name'];
  if (type === DashedNumber) {
    if (before?.tokenType === k.order || before?.tokenType === k.holes) {
      const listed = image.replaceAll('-', before.tokenType === k.order ? ' ' : ', ');
      return [`write \`${listed}\``, listed];
    }
    const name = (here.node as Statement).name;
    if (isStatement(kind) && here.allowed.has('xN') && before?.startOffset === (name?.start ?? -1) + here.base) {
      const [from, to] = image.split('-').map(Number) as [number, number];
      if (to > from && !isUnit(here.onLine(at + 1)))
        return [`pieces have no numbers, a count is written \`x${to - from + 1}\``];
    }
    if (/^[0-9]+-[0-9]+$/.test(image)) {
      const lead = expected === '' && here.allowed.has('range') && !here.seen.has('range') ? 'range ' : '';
      const isUnled = expected === '' && setBy[kind] === unitOf(next?.image ?? '')?.kind && here.allowed.has('to');
      const range = `${isUnled && !here.seen.has('to') ? 'to ' : lead}${image.replace('-', '..')}`;
      return [`a range is written \`${range}\``, range];
    }
  }
  if (type === Stray) {
    const twice = /[–—~-]/.test(image) ? rangeOfTwo(here, at) : undefined;
    if (twice !== undefined) return twice;
    if (isNumber(before) && isNumber(next) && /[–—…:~-]/.test(image))
      return ['a range is written with two points, `20..100`', '..'];
    if (/[“”„«»‘’']/.test(image)) return ['texts stand in straight double quotes'];
    if (
      before?.tokenType === Word &&
      next !== undefined &&
      endOf(before) === token.startOffset &&
      endOf(token) === next.startOffset
    )
      return hyphenated(here, at);
    const isOfUnit = image === '.' && isUnit(before) && touches(before, token);
    if (isOfUnit || (/^[.;:!]$/.test(image) && (follows === undefined || image === ':'))) return takeOut;
    if (image === ';' && isStatement(follows?.image ?? '')) return ['each statement stands on a line of its own', ''];
    return [strayMend];
  }
  if (isNumber(token) && touches(token, next) && next!.tokenType !== Comma && before?.tokenType !== NumberToken)
    return ['a name begins with a letter'];
  if (type === Word && expected === '' && here.allowed.has('text') && here.seen.has('text') && !isContextual(image))
    return [`take it out, or say it in the ${isStatement(kind) ? 'text' : 'title'}`];
  return [''];
}

/** `wait max 10 min`, `wait at most 10 min`, `wait ≤ 10 min`: without the word it would tell the opposite. */
const isMost = (here: Stopped, at: number): boolean =>
  /^(?:max|[<≤])$/.test(here.tokens[at]!.image) ||
  (here.tokens[at]!.image === 'at' && here.onLine(at + 1)?.image === 'most');
const leastWait: Advice = ['`wait` tells the least time, tell of the most in a `caution`'];

/** `limit`, where `max 120 °C` says it; `max` behind what is no measured limit says nothing. */
function mostMeant(here: Stopped, at: number): Advice | undefined {
  if (!/^(?:max|min)(?:imum)?$/i.test(here.tokens[at]!.image) || here.node!.kind === 'measure') return undefined;
  const last = here.onLine(at + 1)?.image === '.' ? at + 1 : at;
  if (isUnit(here.tokens[at - 1]) && !isNumber(here.onLine(last + 1))) return takeOutTo(here, at, last);
  if (!isNumber(here.onLine(last + 1)) || !isDeclaration(here.node!.kind)) return undefined;
  const { kind } = here.unitAt(here.endOfQuantity(last + 1)!) ?? {};
  if (kind === 'temperature' && here.allowed.has('limit') && !here.seen.has('limit'))
    return /^min/i.test(here.tokens[at]!.image)
      ? ['`limit` is the most that it may be heated to, tell of the least in a `caution`']
      : [...write('limit'), last];
  if (here.allowed.has('range'))
    return [`a range has two ends, as in \`range 5..${here.written(last + 1, here.endOfQuantity(last + 1)!)}\``];
  return here.allowed.has('quantity') && !here.seen.has('quantity') ? takeOutTo(here, at, last) : undefined;
}

/** `top_cover`, as parts lists have it. */
function hyphenated(here: Stopped, at: number): Advice {
  const rule = 'a name is made of letters, digits and hyphens';
  let last = at;
  while (touches(here.tokens[last]!, here.onLine(last + 1))) last++;
  const said = here.tokens.slice(at, last + 1).map(({ image }) => image);
  const rest = said.join('').replaceAll('_', '-');
  return /^[\p{L}\p{N}-]*[\p{L}\p{N}]$/u.test(rest)
    ? [`${rule}, write \`${here.tokens[at - 1]!.image}${rest}\``, rest, last]
    : [rule];
}

/** `replace gasket with new`, `replace gasket by a new one`: the last word that says what `replace` does by itself. */
function newOne(here: Stopped, at: number, name: string | undefined): number | undefined {
  const fresh = here.behindFillers(at + 1);
  if (here.onLine(fresh)?.image !== 'new') return undefined;
  const behind = here.onLine(fresh + 1);
  if (behind === undefined || isKeyword(behind) || isClauseWord(behind, here.allowed)) return fresh;
  return behind.image === name || /^ones?$/.test(behind.image) ? fresh + 1 : undefined;
}

/** `fill oil to the mark`, `wait overnight` */
function levelMeant(here: Stopped): Advice | undefined {
  if (here.seen.has('text')) return undefined;
  const quoted = 'words for the reader stand in quotes';
  const { kind } = here.node!;
  if (here.seen.has('quantity') || (kind !== 'fill' && kind !== 'wait')) return [quoted];
  return [`\`${kind}\` needs ${kind === 'fill' ? 'a quantity such as `1.8 L`' : 'a time such as `60 min`'}, ${quoted}`];
}

/** `remove bolt × 4`, `qty 4`, `qty. 4` */
function countMeant(here: Stopped, at: number): Advice | undefined {
  if (!here.allowed.has('xN') || here.seen.has('xN')) return undefined;
  const { image, tokenType } = here.tokens[at]!;
  const next = here.tokens[at + 1];
  const isSaid = image === '×' || (tokenType === Word && /^(?:count|nos|pcs?|pieces|qty|quantity)$/i.test(image));
  if (isSaid && next?.tokenType === NumberToken) return counted(here, next, at + 1);
  if (!/^(?:qty|nos)$/i.test(image) || !/^[.:]$/.test(next?.image ?? '')) return undefined;
  const count = here.onLine(at + 2);
  return count?.tokenType === NumberToken && !isUnit(here.onLine(at + 3)) ? counted(here, count, at + 2) : undefined;
}

function counted(here: Stopped, number: IToken, last: number): Advice {
  here.countMeant(number);
  return [...countWritten(number.image), last];
}

const countWritten = (digits: string): [string, string] => [`a count is written \`x${digits}\``, `x${digits}`];

/** What the statement acts on; its place where no name could be read. */
const partOf = ({ node }: Stopped): string => (node as Statement).name?.text ?? '…';

/** `fit cover on race`, `remove ring from shaft` */
function placeMeant(here: Stopped, at: number): Advice | undefined {
  if (!isStatement(here.node!.kind) || !places.has(here.tokens[at]!.image.toLowerCase())) return undefined;
  const last = here.behindFillers(at + 1);
  if (here.onLine(last)?.tokenType !== Word) return undefined;
  const goesOn = here.onLine(last + 1)?.tokenType === Word;
  if (goesOn || !placed.has(here.node!.kind))
    return here.allowed.has('text') && !here.seen.has('text') ? quoteIt : undefined;
  return [
    `where a part sits is declared, with \`carried by\`, \`held by\` or \`behind\`, take ${here.shownFrom(at, last)} out`,
    '',
    last,
  ];
}

/** `to 10 N·m, 25 N·m`, `to 10 N·m, then 25 N·m`, `to 10 N·m then to 25 N·m`: the other torque stands behind the token at `at`. */
function stagesFrom(here: Stopped, at: number): Advice | undefined {
  if (/^[–—~-]$/.test(here.tokens[at]!.image)) return rangeOfTwo(here, at);
  let to = at - 1;
  while (to > at - 7 && here.tokens[to] !== undefined && here.tokens[to]!.tokenType !== k.to) to--;
  if (here.tokens[to]?.tokenType !== k.to) return undefined;
  let second = at + 1;
  while (/^(?:then|to)$/.test(here.onLine(second)?.image ?? '')) second++;
  const written = stagesMeant(here, to + 1, second);
  return written === undefined ? undefined : [`write \`${written}\``, written, here.endOfQuantity(second), to];
}

/** The last token of the clause that begins at `at`, on its line. */
function endOfClause(here: Stopped, at: number): number {
  let last = at;
  for (let next = here.onLine(last + 1); next !== undefined; next = here.onLine(last + 1)) {
    if (isKeyword(next) || next.tokenType === Text || (isClauseWord(next, here.allowed) && !isNumber(next))) break;
    last++;
  }
  return last;
}

/** True for a whole number without a unit, right behind the name. */
export function isCount(here: Stopped, at: number): boolean {
  const token = here.tokens[at]!;
  const before = here.tokens[at - 1];
  const next = here.tokens[at + 1]?.tokenType;
  return (
    token.tokenType === NumberToken &&
    /^[0-9]+$/.test(token.image) &&
    (before?.tokenType === Word || before?.tokenType === Text) &&
    !isUnit(here.tokens[at + 1]) &&
    pipeThreadAt(here, at) === undefined &&
    !(next === Comma && isNumber(here.tokens[at + 2])) &&
    next !== To &&
    next !== Slash &&
    rangeAt(here, at) === undefined &&
    !isFraction(here.tokens[at + 1])
  );
}

/** `loosen nut ½ turn` */
const turnsInFraction = (here: Stopped, at: number): Advice | undefined =>
  isFraction(here.tokens[at]) ? turnsMeant(here, at) : undefined;

/** `heat race 80–100 °C`: what leads to it is missing as well. */
function unledRange(here: Stopped, at: number): Advice | undefined {
  const { kind } = here.node!;
  const { range, end, last = at } = rangeAt(here, at) ?? {};
  if (range === undefined || setBy[kind] === undefined || unitOf(here.tokens[last]!.image)?.kind !== setBy[kind])
    return undefined;
  const clause = kind === 'press' ? 'max' : 'to';
  if (!here.allowed.has(clause) || here.seen.has(clause) || here.seen.has('in')) return undefined;
  for (let i = at + 1; i <= last; i++) here.trouble(i);
  return clause === 'max'
    ? [`the most is given, write \`max ${end}\``, undefined, last]
    : [`write \`to ${range}\``, `to ${range}`, last];
}

/** What may stand behind what was read of the node. */
export function whatFollows(here: Stopped): string {
  const kind = here.node!.kind;
  if (kind === 'procedure') return '`applies to`, `code plate`, `measures` or a declaration';
  if (kind === 'use') return 'a declaration';
  if (isDeclaration(kind)) return `a property of a ${kind}`;
  if (kind === 'step') return '`takes`, `after` or a statement';
  return isStatement(kind) ? `a clause of \`${kind}\` or a statement` : 'a statement';
}

export const strayMend = 'this sign belongs nowhere outside a text, take it out';
/** Words that lead to a second name: one is easily taken for another. */
const leads = /^`(?:to|on|for|from|with|in|into|onto|at|by)`$/;
const torqueBehindTo: [string] = ['a torque stands behind `to`'];
const measured = 'write `limit`, `max` or `min`';
/** What leads to where a part sits, or came from. */
const places: ReadonlySet<string> = new Set(['at', 'from', 'in', 'inside', 'into', 'on', 'onto', 'over', 'to']);
/** Statements that put a part in its place, or take it from there. */
const placed: ReadonlySet<string> = new Set(['remove', 'disconnect', 'fit', 'connect', 'press']);
