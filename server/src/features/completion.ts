import {
  type CompletionItem,
  CompletionItemKind,
  type CompletionList,
  type CompletionParams,
  CompletionTriggerKind,
} from 'vscode-languageserver';
import { URI } from 'vscode-uri';
import { isDeclaration } from '../../../grammar/heads.ts';
import snippetFile from '../../../grammar/snippets.json' with { type: 'json' };
import type { Declaration } from '../../../grammar/syntax.ts';
import {
  declarationWords,
  type PhaseWord,
  phaseWords,
  type StatementWord,
  statementWords,
} from '../../../grammar/tokens.ts';
import { type QuantityKind, type Unit, unitOf } from '../../../grammar/units.ts';
import { allChecks } from '../checks/all.ts';
import { counterpart } from '../checks/mixed-units.ts';
import { missing, on, onBench } from '../ledger/state.ts';
import { countOf, isOwn, type Model, placeOfStep, tableOf } from '../model/model.ts';
import { convert, extentOf, figure, unitsOfKind, written } from '../model/quantity.ts';
import type { NameKind } from '../model/references.ts';
import { statementsIn } from '../model/statements.ts';
import { isolated } from '../outputs/directed-text.ts';
import { quoted } from '../outputs/draft-layout.ts';
import type { Snapshot } from '../snapshot.ts';
import { openClauses, requiredOf } from './clauses.ts';
import { feature, type Site } from './feature.ts';
import { partProposals } from './part-proposals.ts';
import { type Place, placeAt } from './place.ts';
import { declared, itemOf, type Proposal } from './proposal.ts';
import { momentsAt, statesOf } from './replayed.ts';
import { usePath } from './use-path.ts';
import {
  blockHelp,
  clauseHelp,
  declarationHelp,
  headHelp,
  helpOf,
  spelled,
  statementHelp,
  type WordHelp,
} from './words.ts';

/** What may stand at `offset`, the likeliest first. */
export async function completionsAt(snapshot: Snapshot, offset: number, site: Site): Promise<CompletionItem[]> {
  const place = placeAt(snapshot, offset);
  const proposals = await proposalsAt(snapshot, offset, place, site);
  const { text } = snapshot;
  const { from, want } = place;
  const behind = /[^\r\n#]*/.exec(text.slice(offset))![0];
  const inText = want.kind === 'path' || (want.kind === 'keeping-place' && want.quoted);
  const rest = (inText ? /^[^"]*/ : /^[\p{L}\p{M}0-9·°-]*/u).exec(behind)![0];
  const range = snapshot.rangeAt(from, offset);
  const unitEnd = want.kind === 'unit' ? endOfUnit(text, from, behind, offset) : undefined;
  const found: CompletionItem[] = [];
  for (const { body, snippet, ...plain } of proposals) {
    const end = from + plain.label.length;
    const stands = end >= offset && text.startsWith(plain.label, from) && behind.trim() !== '';
    // What is to be filled in stands there already.
    const bare = rest !== '' || stands || (want.kind === 'line' && behind.trim() !== '');
    if (snippet !== undefined && (bare || !site.client.snippets)) continue;
    const item = itemOf(bare ? plain : { ...plain, body, snippet }, range, site.client);
    const { newText } = item.textEdit!;
    if (unitEnd !== undefined) item.textEdit = { newText, range: snapshot.rangeAt(from, unitEnd) };
    else if (stands) item.textEdit = { newText, range: snapshot.rangeAt(from, end) };
    else if (rest !== '' && site.client.replacesWords)
      item.textEdit = { newText, insert: range, replace: snapshot.rangeAt(from, offset + rest.length) };
    found.push(item);
  }
  return found;
}

/** Where the unit ends that stands behind a number and a blank already, as where a place to fill in has one. */
function endOfUnit(text: string, from: number, behind: string, offset: number): number | undefined {
  const [whole, symbol] = /^ *([\p{L}°º][\p{L}°º·.⋅]*)/u.exec(behind) ?? [];
  return symbol !== undefined && unitOf(symbol) !== undefined && /\s/.test(text[from - 1] ?? '')
    ? offset + whole!.length
    : undefined;
}

async function proposalsAt(snapshot: Snapshot, offset: number, place: Place, site: Site): Promise<Proposal[]> {
  const { want } = place;
  switch (want.kind) {
    case 'nothing':
      return [];
    case 'line':
      return [
        ...lineProposals(snapshot, offset, want.section, want.blocks),
        ...clauseProposals(snapshot, offset, place),
      ];
    case 'names':
      return nameProposals(snapshot, offset, place, want.of);
    case 'new-name':
      return undeclared(snapshot.model, place.segment ?? '');
    case 'words':
      return want.words.map((word, rank) => ({
        label: word,
        kind: CompletionItemKind.Keyword,
        rank,
        about: about(helpOf(word, place.clause === 'hazard' ? 'hazard' : place.segment)),
      }));
    case 'keeping-place':
      return keepingPlaces(snapshot, offset).map((name, order) => ({
        label: want.quoted ? quoted(name).slice(1, -1) : quoted(name),
        kind: CompletionItemKind.Folder,
        order,
      }));
    case 'value':
      return valueProposals(snapshot, place);
    case 'unit':
      return unitProposals(snapshot, want.kinds, want.restates);
    case 'thread':
      return usualThreads.map((label, order) => ({
        label,
        kind: CompletionItemKind.Value,
        order,
        detail: label.startsWith('M')
          ? 'ISO metric, coarse'
          : label.startsWith('G')
            ? 'pipe, parallel'
            : 'unified, coarse',
      }));
    case 'clauses':
      return clauseProposals(snapshot, offset, place);
    case 'path':
      return pathProposals(snapshot, offset, site);
    case 'code-of-check':
      return checkProposals(snapshot, offset);
  }
}

export const about = (help: string | undefined): string[] => (help === undefined ? [] : [help]);

// --- the start of a line ----------------------------------------------------------------------------------------------

/** The statements that a phase is mostly made of, the most frequent first: at most ten. */
const usualIn: Readonly<Record<PhaseWord, readonly StatementWord[]>> = {
  teardown: ['remove', 'disconnect', 'loosen', 'drain', 'mark', 'discard', 'warning'],
  inspection: ['clean', 'inspect', 'measure', 'replace', 'discard'],
  reassembly: ['fit', 'tighten', 'apply', 'connect', 'fill', 'clean', 'wait', 'warning'],
  proving: ['check', 'fill', 'do', 'sign', 'warning'],
};

const phaseOrder: readonly string[] = phaseWords;

/** Where the names are that stand for what a body asks for. */
const listOf = { ...tableOf, fastener: 'parts', old: 'parts', step: 'stepNames', reading: 'readings' } as const;

/** Whether what `body` asks for first is one of a list: a name of which some are known, a usual size, one of a few words. */
function asksForListed(model: Model, body: string | undefined, label: string): boolean {
  // These give a name to something new.
  if (label === 'measure' || label === 'applies to') return false;
  if (label === 'thread') return true;
  const asked = /<([^<>]*)>/.exec(body ?? '')?.[1] ?? '';
  if (asked === 'code') return model.codes.length > 0;
  // The editor shows no other list in the place of a choice, also for what is typed on behind it.
  if (asked === 'file.fettle' || asked.includes('|')) return true;
  return Object.hasOwn(listOf, asked) && model[listOf[asked as keyof typeof listOf]].size > 0;
}

function lineProposals(
  snapshot: Snapshot,
  offset: number,
  section: 'top' | 'phase' | 'step',
  blocks: readonly string[],
): Proposal[] {
  const { model } = snapshot;
  const found: Proposal[] = [];
  const propose = (word: string, entry: WordHelp | undefined, kind: CompletionItemKind, rank: number): void => {
    const order = (rank === 3 ? usual : phaseOrder).indexOf(word);
    found.push({
      label: word,
      kind,
      body: entry?.body,
      about: about(entry?.help),
      rank,
      ...(order < 0 ? {} : { order }),
      asks: asksForListed(model, entry?.body, word),
    });
  };
  // Phases come once each and in their order.
  const here = model.phases.findLast((phase) => snapshot.offsetAt(snapshot.rangeOf(phase).start) < offset);
  const usual: readonly string[] = section === 'step' && here !== undefined ? usualIn[here.kind] : [];
  if (section === 'step') {
    for (const word of statementWords) propose(word, statementHelp[word], CompletionItemKind.Keyword, 3);
    for (const word of ['either', 'if', ...(model.codes.length > 0 ? ['for'] : [])])
      propose(word, blockHelp[word], CompletionItemKind.Keyword, 4);
    const inner = blocks.at(-1);
    if (inner === 'either') propose('or', blockHelp['or'], CompletionItemKind.Keyword, 2);
    if (inner === 'if') propose('else', blockHelp['else'], CompletionItemKind.Keyword, 2);
    if (inner !== undefined) propose('end', blockHelp['end'], CompletionItemKind.Keyword, 2);
  } else if (section === 'top') {
    if (model.head === undefined) propose('procedure', headHelp['procedure'], CompletionItemKind.Keyword, 2);
    propose('use', headHelp['use'], CompletionItemKind.Keyword, 4);
    for (const word of declarationWords) propose(word, declarationHelp[word], CompletionItemKind.Keyword, 3);
  }
  if (section !== 'top') {
    propose('step', headHelp['step'], CompletionItemKind.Keyword, section === 'phase' ? 1 : 5);
    if (model.phases.length > 0 && blocks.length === 0)
      propose('use', headHelp['use'], CompletionItemKind.Keyword, section === 'phase' ? 2 : 6);
  }
  const next = model.phases.find((phase) => snapshot.offsetAt(snapshot.rangeOf(phase).start) >= offset);
  const from = here === undefined ? 0 : phaseWords.indexOf(here.kind) + 1;
  const to = next === undefined ? phaseWords.length : phaseWords.indexOf(next.kind);
  for (const word of phaseWords.slice(from, Math.max(from, to)))
    propose(word, headHelp[word], CompletionItemKind.Keyword, 6);
  for (const { places, ...ready } of readyMade) {
    if (!places.includes(section)) continue;
    if (ready.label !== wholeProcedure) found.push(ready);
    else if (model.head === undefined) found.push({ ...ready, rank: 2 });
  }
  return found;
}

interface Ready extends Proposal {
  readonly places: readonly ('top' | 'phase' | 'step')[];
}
const wholeProcedure = 'procedure…';

/**
 * The snippets of several words or lines. Editors offer those of `grammar/snippets.json` everywhere, so behind `remove`, too: the
 * manifest turns that off, and they come from here, where they may stand. Of another kind than snippets, as that would turn these off.
 */
const readyMade: readonly Ready[] = Object.values(snippetFile).flatMap(({ prefix, description, body }) => {
  const word = body.find((line) => line !== '' && !line.startsWith('# M'))!.split(' ')[0]!;
  const whole = prefix === 'procedure';
  // A single word is offered as such, with the same places to fill in.
  if (!whole && !prefix.includes('-')) return [];
  return {
    label: whole ? wholeProcedure : prefix,
    kind: CompletionItemKind.Keyword,
    snippet: body.join('\n').replace(/\n\$0$/, ''),
    detail: description,
    about: ['```fettle', ...filledIn(body), '```'],
    rank: 7,
    // A `fettle-allow` stands above a declaration or a statement.
    places: word === '#' ? ['top', 'step'] : whole || isDeclaration(word) ? ['top'] : ['step'],
  };
});

/** The lines of a snippet as they stand before anything is filled in. */
function filledIn(body: readonly string[]): string[] {
  const values = new Map<string, string>();
  const text = body
    .join('\n')
    .replace(/\$\{(\d+)(?::([^{}]*)|\|([^,|]*)[^|]*\|)\}|\$(\d+)/g, (_, nth, value, choice, again) => {
      if (again !== undefined) return values.get(again) ?? '';
      values.set(nth, value ?? choice);
      return value ?? choice;
    });
  return text.trimEnd().split('\n');
}

// --- clauses ----------------------------------------------------------------------------------------------------------

function clauseProposals(snapshot: Snapshot, offset: number, place: Place): Proposal[] {
  const { segment, used } = place;
  if (segment === undefined) return [];
  const required = (requiredOf[segment] ?? []).flatMap((clause) =>
    clause.split('|').some((each) => used.has(each)) ? [] : clause.split('|'),
  );
  const first = required.slice(0, required[0] === 'endplay' ? 2 : 1);
  // Until a statement is whole, only what it lacks is offered.
  const offered = first.length > 0 ? first : openClauses(segment, used);
  const found: Proposal[] = [];
  offered.forEach((clause, i) => {
    if (clause === 'xN') {
      const count = countHere(snapshot, offset, place);
      if (count !== undefined)
        found.push({ label: `x${count}`, kind: CompletionItemKind.Value, detail: 'all there are', rank: 4 });
      return;
    }
    if (clause === 'text') {
      found.push({
        label: '"…"',
        kind: CompletionItemKind.Text,
        body: '"<text>"',
        filter: '"',
        rank: 4,
        detail: 'a text',
      });
      return;
    }
    const label = segment === 'part' && clause === 'at' ? clause : (spelled[clause] ?? clause);
    const body = bodyOf(snapshot.model, place, clause) ?? clauseHelp.get(clause)?.body ?? spelled[clause];
    found.push({
      label,
      kind: CompletionItemKind.Keyword,
      body,
      about: about(helpOf(clause, segment)),
      rank: i < 4 ? 2 : 3,
      asks: asksForListed(snapshot.model, body, label),
    });
  });
  return found;
}

/** What this file knows better than the general snippet. */
function bodyOf(model: Model, { segment, names }: Place, clause: string): string | undefined {
  const part = model.parts.get(names.get(segment ?? '')?.[0] ?? '');
  if (segment === 'tighten' && part?.torque !== undefined) {
    if (clause === 'to') return `to <${written(part.torque)}>`;
    const stages = stagesOf(part);
    if (clause === 'in' && stages !== undefined) return `in stages ${stages}`;
  }
  if (clause === 'to') {
    if (segment === 'heat' || segment === 'cool') return undefined;
    return 'to <part>';
  }
  if (clause === 'limit' && segment === 'part') return 'limit <120> °C';
  if (clause === 'at' && segment === 'part') return 'at <1, 2>';
  if (segment === 'shim' && clause === 'from') return 'from <0.1> mm, <0.2> mm';
  return undefined;
}

/** Half, then whole. */
function stagesOf({ torque, angle }: Declaration): string | undefined {
  const unit = torque?.inUnit;
  const number = torque?.numbers[0];
  if (torque?.form !== 'single' || unit === undefined || number === undefined || angle !== undefined) return undefined;
  return `<${Number((number.value / 2).toPrecision(2))}> ${unit.symbol}, <${number.image}> ${unit.symbol}`;
}

/** Pieces that the statement can act on, where there are several. */
function countHere(snapshot: Snapshot, offset: number, { segment, names, fresh }: Place): number | undefined {
  const { model } = snapshot;
  const name = names.get(segment ?? '')?.[0];
  const whole = countOf(model.parts.get(name ?? ''));
  if (name === undefined || whole < 2) return undefined;
  const [state] = statesOf(momentsAt(snapshot, offset), name);
  if (state === undefined) return whole;
  const count =
    segment === 'fit' || segment === 'connect'
      ? fresh
        ? state.stock
          ? whole
          : missing(state) + state.stranded
        : onBench(state)
      : segment === 'discard' || segment === 'replace' || segment === 'omit'
        ? missing(state)
        : on(state);
  return count > 0 ? count : undefined;
}

// --- names ------------------------------------------------------------------------------------------------------------

function nameProposals(snapshot: Snapshot, offset: number, place: Place, of: NameKind): Proposal[] {
  const { model } = snapshot;
  const taken = new Set(place.names.get(place.clause) ?? []);
  switch (of) {
    case 'part':
      return partProposals(snapshot, offset, place).filter(({ label }) => !taken.has(label));
    case 'tool':
      return toolProposals(model, place).filter(({ label }) => !taken.has(label));
    case 'supply':
      return [...model.supplies].map(([name, supply]) => ({
        ...declared(name, supply, CompletionItemKind.Constant, supplyRankOf(place.segment, supply)),
        body:
          place.segment === 'fill' && supply.amount !== undefined ? `${name} <${written(supply.amount)}>` : undefined,
      }));
    case 'pattern':
      return [...model.patterns].map(([name, pattern]) => declared(name, pattern, CompletionItemKind.Struct));
    case 'step':
      return stepProposals(snapshot, offset, place.names.get('step')?.[0]).filter(({ label }) => !taken.has(label));
    case 'reading':
      return [...model.readings].map(([name, { text, limit }]) => ({
        label: name,
        kind: CompletionItemKind.Variable,
        detail: limit === undefined ? text?.value : `limit ${written(limit)}`,
      }));
    case 'code':
      return model.codes
        .filter((code) => !taken.has(code))
        .map((code) => ({ label: code, kind: CompletionItemKind.EnumMember }));
  }
}

/** The steps above, the nearest first, then those below. */
function stepProposals(snapshot: Snapshot, offset: number, own: string | undefined): Proposal[] {
  const here = placeOfCursor(snapshot, offset);
  return [...snapshot.model.stepNames]
    .filter(([name]) => name !== own)
    .map(([name, entry]) => {
      const place = placeOfStep(snapshot.model, entry);
      return {
        label: name,
        kind: CompletionItemKind.Method,
        detail: entry.step.title && isolated(entry.step.title.value),
        about: entry.phase === undefined ? [] : [entry.phase],
        rank: place <= here ? 4 : 5,
        order: place <= here ? here - place : place,
      };
    });
}

/** Place of the last step of the file that begins above the cursor; -1 without one. */
const placeOfCursor = (snapshot: Snapshot, offset: number): number =>
  snapshot.model.steps.findLastIndex(
    (entry) => isOwn(snapshot.model, entry) && snapshot.offsetAt(snapshot.rangeOf(entry.step).start) < offset,
  );

/** What cures is applied, not filled or drained. */
const supplyRankOf = (segment: string | undefined, { cure }: Declaration): number =>
  cure === undefined ? 5 : segment === 'apply' ? 4 : 7;

/** Torque wrenches that reach the torque first, then tools without a range. */
function toolProposals(model: Model, { segment, names }: Place): Proposal[] {
  const torque = extentOf(model.parts.get(names.get(segment ?? '')?.[0] ?? '')?.torque);
  return [...model.tools].map(([name, tool]) => {
    const range = extentOf(tool.range);
    const judged = segment === 'tighten' && torque !== undefined && range?.kind === 'torque';
    const reaches = judged && range.low <= torque.low && torque.high <= range.high;
    return declared(name, tool, CompletionItemKind.Interface, reaches ? 1 : judged ? 7 : 5);
  });
}

/** Names that stand in the file and that nothing declares. */
function undeclared(model: Model, segment: string): Proposal[] {
  const names = new Set(model.unknown.filter(({ kind }) => kind === segment).map(({ name }) => name.text));
  return [...names].map((label) => ({ label, kind: CompletionItemKind.Field, detail: 'not declared yet' }));
}

// --- places that parts are kept in ---------------------------------------------------------------------------------------

/** Those that other statements name, the last one above first. */
function keepingPlaces(snapshot: Snapshot, offset: number): string[] {
  const here = placeOfCursor(snapshot, offset);
  const above: string[] = [];
  const below: string[] = [];
  for (const [place, { step }] of snapshot.model.steps.entries()) {
    for (const statement of statementsIn(step)) {
      const name = statement.keep?.value ?? '';
      if (name === '') continue;
      if (place !== here) (place < here ? above : below).push(name);
      else {
        const { start, end } = snapshot.rangeOf(statement);
        // What is being typed is no place yet.
        if (snapshot.offsetAt(end) < offset) above.push(name);
        else if (snapshot.offsetAt(start) > offset) below.push(name);
      }
    }
  }
  return [...new Set([...above.reverse(), ...below])];
}

// --- values and units ---------------------------------------------------------------------------------------------------

function valueProposals(snapshot: Snapshot, { segment, clause, names, want }: Place): Proposal[] {
  const { model } = snapshot;
  const part = model.parts.get(names.get(segment ?? '')?.[0] ?? '');
  if (segment === 'tighten' && (clause === 'to' || clause === 'stages') && part?.torque !== undefined) {
    const stages = clause === 'stages' ? stagesOf(part) : undefined;
    return [
      {
        label: stages?.replace(/[<>]/g, '') ?? written(part.torque),
        body: stages,
        kind: CompletionItemKind.Value,
        detail: 'as declared',
      },
    ];
  }
  const supply = model.supplies.get(names.get(segment ?? '')?.[0] ?? '');
  if (want.kind === 'value' && supply?.amount !== undefined)
    return [{ label: written(supply.amount), kind: CompletionItemKind.Value, detail: 'as declared' }];
  return [];
}

function unitProposals({ model, settings }: Snapshot, kinds: readonly QuantityKind[], restates: boolean): Proposal[] {
  const system = model.measures ?? settings.measures ?? 'metric';
  return kinds
    .flatMap((kind) => unitsOfKind(kind))
    .map((unit, order): Proposal => {
      const usual = unit.system === 'neutral' || (unit.system === system) !== restates;
      return {
        label: unit.symbol,
        kind: CompletionItemKind.Unit,
        detail: unit.kind,
        filter: [...unit.also, unit.symbol].join(' '),
        about: exampleIn(unit),
        rank: usual ? 2 : 4,
        // By the alphabet kelvins, metres and days would come before degrees, millimetres and minutes.
        order,
      };
    });
}

function exampleIn(unit: Unit): string[] {
  if (unit.system === 'neutral') return [];
  const other = counterpart(unit, unit.system === 'metric' ? 'imperial' : 'metric');
  return other === unit ? [] : [`1 ${unit.symbol} = ${figure(convert(1, unit, other), 4)} ${other.symbol}`];
}

const usualThreads = [
  'M3',
  'M4',
  'M5',
  'M6',
  'M8',
  'M10',
  'M12',
  'M16',
  'M20',
  'M24',
  '10-24',
  '1/4-20',
  '5/16-18',
  '3/8-16',
  '1/2-13',
  '5/8-11',
  '3/4-10',
  'G1/8',
  'G1/4',
  'G3/8',
  'G1/2',
];

// --- files and checks ---------------------------------------------------------------------------------------------------

/** Files of the workspace, as paths from this one: first those that hold steps for this phase, or declarations alone. */
async function pathProposals(snapshot: Snapshot, offset: number, { workspace, token }: Site): Promise<Proposal[]> {
  const phase = snapshot.model.phases.findLast((each) => snapshot.offsetAt(snapshot.rangeOf(each).start) < offset);
  const found: Proposal[] = [];
  for (const key of await workspace.allKeys()) {
    if (token.isCancellationRequested) return [];
    if (key === snapshot.file.key) continue;
    const target = URI.parse(key);
    if (target.scheme !== URI.parse(snapshot.file.key).scheme) continue;
    const label = usePath(snapshot.file.key, key);
    const model = (await workspace.snapshot(key))?.model;
    const holds = phase === undefined || model?.steps.some((step) => step.phase === phase.kind);
    found.push({ label, kind: CompletionItemKind.File, rank: model?.head !== undefined ? 6 : holds ? 1 : 3 });
  }
  return found;
}

/** Checks that found something below first. */
function checkProposals(snapshot: Snapshot, offset: number): Proposal[] {
  const next = snapshot.judged.findings.find(
    ({ span }) => snapshot.offsetAt(snapshot.rangeOf(span).start) > offset,
  )?.code;
  return allChecks.map(({ code, fires }) => ({
    label: code,
    kind: CompletionItemKind.EnumMember,
    body: `${code}: <reason>`,
    about: [`Fires when ${fires}`],
    rank: code === next ? 1 : 5,
  }));
}

/** Signs that open the list by themselves; a blank only where something definite belongs. */
const triggers = [' ', '"', '/', ','];

export const completion = feature<CompletionParams, CompletionList>(
  'textDocument/completion',
  { completionProvider: { triggerCharacters: triggers } },
  async (snapshot, { position, context }, site) => {
    const offset = snapshot.offsetAt(position);
    if (context?.triggerKind === CompletionTriggerKind.TriggerCharacter) {
      const { want } = placeAt(snapshot, offset);
      if (want.kind === 'line' || want.kind === 'clauses') return null;
    }
    return { isIncomplete: false, items: await completionsAt(snapshot, offset, site) };
  },
);
