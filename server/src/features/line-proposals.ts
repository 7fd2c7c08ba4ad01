import { CompletionItemKind } from 'vscode-languageserver';
import { isDeclaration } from '../../../grammar/heads.ts';
import snippetFile from '../../../grammar/snippets.json' with { type: 'json' };
import {
  declarationWords,
  type PhaseWord,
  phaseWords,
  type StatementWord,
  statementWords,
} from '../../../grammar/tokens.ts';
import type { Snapshot } from '../snapshot.ts';
import { about, asksForListed, type Proposal } from './proposal.ts';
import { blockHelp, declarationHelp, headHelp, statementHelp, type WordHelp } from './words.ts';

/** The statements that a phase is mostly made of, the most frequent first: at most ten. */
const usualIn: Readonly<Record<PhaseWord, readonly StatementWord[]>> = {
  teardown: ['remove', 'disconnect', 'loosen', 'drain', 'mark', 'discard', 'warning'],
  inspection: ['clean', 'inspect', 'measure', 'replace', 'discard'],
  reassembly: ['fit', 'tighten', 'apply', 'connect', 'fill', 'clean', 'wait', 'warning'],
  proving: ['check', 'fill', 'do', 'sign', 'warning'],
};

const phaseOrder: readonly string[] = phaseWords;

/** What a line may begin with, in a step, between steps or above the phases. */
export function lineProposals(
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
