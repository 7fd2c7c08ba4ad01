import {
  type CompletionItem,
  CompletionItemKind,
  type CompletionList,
  type CompletionParams,
  CompletionTriggerKind,
} from 'vscode-languageserver';
import { URI } from 'vscode-uri';
import { isDeclaration } from '../../../grammar/heads.ts';
import { unitOf } from '../../../grammar/units.ts';
import { allChecks } from '../checks/all.ts';
import { quoted } from '../outputs/draft-layout.ts';
import type { Snapshot } from '../snapshot.ts';
import { clauseProposals } from './clause-proposals.ts';
import { feature, type Site } from './feature.ts';
import { lineProposals } from './line-proposals.ts';
import { keepingPlaces, nameProposals, undeclared } from './name-proposals.ts';
import { type Place, placeAt } from './place.ts';
import { about, itemOf, type Proposal } from './proposal.ts';
import { usePath } from './use-path.ts';
import { fitProposals, kindsNamedFirst, threadProposals, unitProposals, valueProposals } from './value-proposals.ts';
import { helpOf } from './words.ts';

/** What may stand at `offset`, the likeliest first. */
export async function completionsAt(snapshot: Snapshot, offset: number, site: Site): Promise<CompletionItem[]> {
  const place = placeAt(snapshot, offset);
  const proposals = await proposalsAt(snapshot, offset, place, site);
  const { text } = snapshot;
  const { from, want } = place;
  const behind = /[^\r\n#]*/.exec(text.slice(offset))![0];
  const inText = want.kind === 'path' || (want.kind === 'keeping-place' && want.quoted);
  const isFit = want.kind === 'clauses' && want.fit === true;
  const rest = (inText ? /^[^"]*/ : isFit ? /^[A-Za-z0-9/-]*/ : /^[\p{L}\p{M}0-9·°-]*/u).exec(behind)![0];
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

/** Whether a line goes on with the declaration above it; one that is not indented mostly begins another. */
const goesOn = (text: string, { segment, from }: Place): boolean =>
  segment === undefined || !isDeclaration(segment) || !/[\r\n]/.test(text[from - 1] ?? '');

async function proposalsAt(snapshot: Snapshot, offset: number, place: Place, site: Site): Promise<Proposal[]> {
  const { want } = place;
  switch (want.kind) {
    case 'nothing':
      return [];
    case 'line':
      return [
        ...lineProposals(snapshot, offset, want.section, want.blocks),
        ...clauseProposals(snapshot, offset, place).map((each) =>
          goesOn(snapshot.text, place) ? each : { ...each, rank: 8 },
        ),
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
      return unitProposals(snapshot, kindsNamedFirst(want.kinds, place), want.restates);
    case 'thread':
      return threadProposals();
    case 'clauses':
      return [...clauseProposals(snapshot, offset, place), ...fitProposals(snapshot.model, place)];
    case 'path':
      return pathProposals(snapshot, offset, site);
    case 'code-of-check':
      return checkProposals(snapshot, offset);
  }
}

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
      const isFit = want.kind === 'clauses' && want.fit === true && context.triggerCharacter === '/';
      if (want.kind === 'line' || (want.kind === 'clauses' && !isFit)) return null;
    }
    return { isIncomplete: false, items: await completionsAt(snapshot, offset, site) };
  },
);
