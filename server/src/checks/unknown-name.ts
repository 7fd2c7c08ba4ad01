import { fillers } from '../../../grammar/meant.ts';
import type { NearestSearch } from '../../../grammar/nearest.ts';
import { type Declaration, type Name, offsetsOf } from '../../../grammar/syntax.ts';
import { isContextual, isReserved } from '../../../grammar/tokens.ts';
import { namesMeantIn, nearNamesIn } from '../model/meant-names.ts';
import type { Model, UnknownName } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { lacksFile } from '../model/unknown.ts';
import type { Check, Repair } from './check.ts';
import { replaceSpan } from './edits.ts';
import { named } from './wording.ts';

const clause: Readonly<Record<string, string>> = {
  part: 'declare it with `part`',
  tool: 'declare it with `tool`',
  supply: 'declare it with `supply`',
  pattern: 'declare it with `pattern`',
  step: 'correct it to a step of this procedure',
  reading: 'take it with `measure` first',
  code: 'add it behind `applies to`',
};

/** What to do with a name that is there for something of another kind. */
function ofAnotherKind(kind: string, otherKind: string): string {
  if (kind === 'part' && otherKind === 'supply') return 'a supply takes `fill`, `drain` or `apply … to`';
  if (kind === 'part' && otherKind === 'tool') return 'a tool stands behind `using`';
  return `name a ${kind}`;
}

/** `cool pin to -20 °C using ice`: what it is cooled or heated with goes onto no part. */
const isMedium = ({ chunk, start }: Name): boolean =>
  /\b(?:cool|heat) [^"\r\n]*$/.test(chunk.text.slice(Math.max(0, start - maxLookAhead), start));

/** In a finding's data, up to where in the chunk its remedy reaches: what could not be read till there is no slip of its own. */
export const remedyEnd = 'remedied';

const isFiller = (word: string): boolean => fillers.has(word.toLowerCase());

/** Characters in which the next word is looked for. */
const maxLookAhead = 200;

interface Remedy {
  readonly said: string;
  /** What to write in place of the text up to `end`; nothing where that alone would not do. */
  readonly written?: string;
  readonly end: number;
  /** See `remedyEnd`. */
  readonly until: number;
  /** Whether the name can hardly be another one: then its repair may be made unseen. */
  readonly isEvident: boolean;
  /** Names that are as near. */
  readonly others: readonly string[];
}

/** By their small letters; the first of those that differ in capitals alone. */
const inSmallLetters = noted((candidates: readonly string[]): ReadonlyMap<string, string> => {
  const found = new Map<string, string>();
  for (const candidate of candidates) {
    const small = candidate.toLowerCase();
    if (!found.has(small)) found.set(small, candidate);
  }
  return found;
});

/** Words of which one name may consist. */
const mostWords = 12;

/** A name that stands there with a blank in place of a hyphen, in other letters or not quite; of several the longest. */
function withBlanks({ chunk, start, end }: Name, candidates: readonly string[]): Remedy | undefined {
  const behind = chunk.text[end];
  if (behind === undefined || !/[ ‑–_-]/.test(behind)) return undefined;
  const word = /[ ‑–_-][\p{L}\p{M}\d]*/uy;
  word.lastIndex = end;
  let exact: string | undefined;
  let until = end;
  for (let words = 1; words < mostWords && word.test(chunk.text); words++) {
    const to = word.lastIndex;
    if (/[\p{L}\d-]/u.test(chunk.text[to] ?? '')) continue;
    const written = chunk.text.slice(start, to).replace(/[ ‑–_]/g, '-');
    const found = inSmallLetters(candidates).get(written.toLowerCase());
    if (found !== undefined) [exact, until] = [found, to];
  }
  if (exact === undefined) return undefined;
  const said =
    behind === ' ' || behind === '-' ? 'a name has no blanks' : 'a name is made of letters, digits and hyphens';
  return {
    said: `${said}, write ${named(exact)}`,
    written: exact,
    end: until,
    until,
    isEvident: true,
    others: [],
  };
}

/** As `withBlanks`, where two words come near to a name. */
function nearlyWithBlank(
  { chunk, text, end }: Name,
  candidates: readonly string[],
  search: NearestSearch,
): Remedy | undefined {
  const next = /^[ \t]+([\p{L}\d-]+)/u.exec(chunk.text.slice(end, end + maxLookAhead));
  if (next === null) return undefined;
  const whole = `${text}-${next[1]}`;
  const near = search.nearest(whole, candidates);
  if (near === undefined || !near.includes('-')) return undefined;
  const until = end + next[0].length;
  const isEvident = search.misspelt(whole, candidates) === near;
  const others = isEvident ? [] : search.others(whole, near, candidates).filter((each) => each.includes('-'));
  return {
    said: `a name has no blanks, ${didYouMean(near, others)}`,
    written: near,
    end: until,
    until,
    isEvident,
    others,
  };
}

/** Names as near as the nearest that are told of: who has more has them numbered, and knows which. */
const mostOthers = 2;

const didYouMean = (near: string, others: readonly string[]): string =>
  `did you mean ${[near, ...others.slice(0, mostOthers)].map(named).join(' or ')}?`;

/** For each unknown name its remedy, if any. */
const remediesIn = noted((model: Model): ReadonlyMap<UnknownName, Remedy | undefined> => {
  const search = nearNamesIn(model);
  return new Map(model.unknown.map((each) => [each, remedyOf(each, search, model)]));
});

/** The names that were most likely meant by those that are unknown. */
export function namesMeant(model: Model): ReadonlySet<string> {
  const names = new Set<string>();
  // One slip made again and again has the same list.
  const known = new Set<readonly string[]>();
  for (const remedy of remediesIn(model).values()) {
    if (remedy === undefined) continue;
    if (remedy.written !== undefined) names.add(remedy.written);
    if (known.has(remedy.others)) continue;
    known.add(remedy.others);
    for (const other of remedy.others) names.add(other);
  }
  return names;
}

function remedyOf(unknown: UnknownName, search: NearestSearch, model: Model): Remedy | undefined {
  const { name, kind, candidates, otherKind } = unknown;
  const remedy = withBlanks(name, candidates) ?? filling(unknown, model);
  // Who writes the name of a tool has not misspelt that of a part.
  if (remedy !== undefined || otherKind !== undefined) return remedy;
  const { item } = name.chunk;
  // What holds or covers a part is another one.
  const own = item?.kind === 'part' ? item.name?.text : undefined;
  const near = search.nearest(name.text, candidates, own);
  if (near === undefined) return nearlyWithBlank(name, candidates, search) ?? inTwoWords(unknown, model);
  const { text, end } = name;
  const others = search.others(text, near, candidates, own);
  // In a step a name near to another may yet be one of its own.
  const isReplayed = (kind === 'part' || kind === 'supply') && item?.kind === 'step';
  const meant = isReplayed ? namesMeantIn(model).get(name)?.text : search.misspelt(text, candidates);
  return { said: didYouMean(near, others), written: near, end, until: end, isEvident: meant === near, others };
}

/** `using torque wrench`: a word that describes what the next one names, or a name of two words that nothing declares. */
function inTwoWords(
  { name: { chunk, text, end }, kind }: UnknownName,
  { parts, tools, supplies }: Model,
): Remedy | undefined {
  if (kind !== 'tool' && kind !== 'part' && kind !== 'supply') return undefined;
  const [words, next] = oneWordMore.exec(chunk.text.slice(end, end + maxLookAhead)) ?? [];
  if (words === undefined || next === undefined || isContextual(next) || isReserved(next)) return undefined;
  const until = end + words.length;
  const remedy = { end, until, isEvident: false, others: [] };
  if ({ part: parts, tool: tools, supply: supplies }[kind].has(next))
    return { ...remedy, said: `take ${named(text)} out`, written: '' };
  return kind === 'tool' && !tools.has(text)
    ? { ...remedy, said: `a name has no blanks, declare ${named(`${text}-${next}`)} with \`tool\`` }
    : undefined;
}
/** One word, behind which a clause or the next line begins. */
const oneWordMore =
  /^[ \t]+(\p{L}[\p{L}\d-]*)(?=[ \t]*(?:["#\r\n,]|(?:at|by|extension|in|keep|order|see|to|using|with|x\d+)\b|$))/u;

/** Words that stand before a name as in English. */
function filling({ name, kind, otherKind, candidates }: UnknownName, { supplies }: Model): Remedy | undefined {
  const { chunk, text, start, end } = name;
  let out = text;
  let at = end;
  // `after step open`, `fill cover with oil`
  const [, filledWith = ''] =
    (kind === 'supply' && /^[ \t]+with[ \t]+([\p{L}\d-]+)/u.exec(chunk.text.slice(end, end + maxLookAhead))) || [];
  const isFilled = filledWith !== '' && (otherKind === 'part' || supplies.has(filledWith));
  // `held by cover, and plate`
  const isAnd = text === 'and' && /,\s*$/.test(chunk.text.slice(Math.max(0, start - 9), start));
  if (!isFiller(text) && !(kind === 'step' && text === 'step') && !isFilled && !isAnd) return undefined;
  for (;;) {
    const next = /^([ \t]+)([\p{L}\d-]+)/u.exec(chunk.text.slice(at, at + maxLookAhead));
    if (next === null) return undefined;
    const [{ length }, blank, word] = next as unknown as [string, string, string];
    if (isFiller(word)) out += blank + word;
    else if (word !== 'new') {
      // `a and b` may well be two names.
      const isOther = text === 'a' || word === 'and' || isContextual(word) || isReserved(word);
      if (isOther && !candidates.includes(word)) return undefined;
      const all = out === 'all' ? ', without a count all pieces are meant' : '';
      return {
        said: `take ${named(out)} out${all}`,
        written: '',
        end: start + out.length,
        until: at + length,
        isEvident: true,
        others: [],
      };
    }
    at += length;
  }
}

function withoutRemedy({ name, kind, otherKind }: UnknownName): string {
  if (isFiller(name.text)) return `name the ${kind} in its place`;
  return otherKind === undefined ? clause[kind]! : ofAnotherKind(kind, otherKind);
}

const declared: ReadonlySet<string> = new Set(['part', 'tool', 'supply', 'pattern']);

export const unknownName: Check = {
  code: 'unknown-name',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  fires: 'a name stands for no part, tool, supply, pattern, step, reading or code.',
  why: 'A misspelt name hides the part from every other check.',
  bad: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover
    clean covr`,
  good: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover
    clean cover`,
  *run({ model }) {
    // What a missing file declares is unknown for that reason only; the missing file is told of instead.
    const fileMissing = model.unknown.length > 0 && lacksFile(model);
    for (const unknown of model.unknown) {
      const { name, kind, otherKind } = unknown;
      if (fileMissing && otherKind === undefined && declared.has(kind)) continue;
      const isWith = otherKind === 'tool' && /\bwith\s+$/.test(name.chunk.text.slice(0, name.start));
      const isApplied = kind === 'tool' && otherKind === 'supply';
      const remedy = isWith || isApplied ? undefined : remediesIn(model).get(unknown);
      const said = isWith
        ? `write \`using ${name.text}\``
        : isApplied
          ? isMedium(name)
            ? `say it in a text, as in \`"with ${name.text}"\``
            : `give it a line of its own, \`apply ${name.text} to …\``
          : (remedy?.said ?? withoutRemedy(unknown));
      const what =
        otherKind === undefined
          ? `no ${kind} is called ${named(name.text)}`
          : `${named(name.text)} is a ${otherKind}, and a ${kind} belongs here`;
      yield {
        span: name,
        message: `${what}: ${said}${said.endsWith('?') ? '' : '.'}`,
        related: [],
        data: {
          subject: name.text,
          kind,
          ...(otherKind && { otherKind }),
          ...(remedy && {
            written: remedy.written,
            others: remedy.others.slice(0, mostOthers),
            isEvident: remedy.isEvident,
            until: remedy.end,
            [remedyEnd]: remedy.until,
          }),
        },
      };
    }
  },
  repairs(finding, { model }) {
    const { span, data } = finding;
    const name = String(data?.['subject']);
    const kind = String(data?.['kind']);
    const written = data?.['written'];
    const end = Number(data?.['until']);
    if (written === '') {
      const blanks = /^[ \t]*/.exec(span.chunk.text.slice(end))![0].length;
      const edits = [replaceSpan(model.tree, { ...span, end: end + blanks }, '')];
      return [{ title: `Take ${named(span.chunk.text.slice(span.start, end))} out`, edits, safe: false }];
    }
    const isGuess = data?.['isEvident'] !== true;
    const near = typeof written === 'string' ? [written, ...((data?.['others'] ?? []) as readonly string[])] : [];
    const repairs: Repair[] = near.map((each) => ({
      title: `Change it to ${named(each)}`,
      edits: [replaceSpan(model.tree, { ...span, end }, each)],
      safe: false,
      ...(isGuess && { isGuess }),
    }));
    if (Number(data?.[remedyEnd]) > span.end || data?.['otherKind'] !== undefined) return repairs;
    if (!isFiller(name) && (kind === 'part' || kind === 'tool' || kind === 'supply')) {
      const last = lastOfKind(model).get(kind) ?? model.ownDeclarations.at(-1);
      if (last !== undefined) {
        const at = offsetsOf(model.tree, last).end;
        const title = name.replace(/-/g, ' ');
        repairs.push({
          title: `Declare the ${kind} ${named(name)}`,
          edits: [
            {
              uri: model.tree.uri,
              start: at,
              end: at,
              text: `\n${kind} ${name} "${title[0]!.toUpperCase()}${title.slice(1)}"`,
            },
          ],
          safe: false,
          isGuess: true,
        });
      }
    }
    return repairs;
  },
};

/** The last declaration of each kind in this file. */
const lastOfKind = noted(
  ({ ownDeclarations }: Model): ReadonlyMap<string, Declaration> =>
    new Map(ownDeclarations.map((each) => [each.kind, each])),
);
