import { type CompletionItem, type CompletionItemKind, InsertTextFormat } from 'vscode-languageserver';
import type { Declaration } from '../../../grammar/syntax.ts';
import { type Model, tableOf } from '../model/model.ts';
import { isolated } from '../outputs/directed-text.ts';
import type { Range } from '../outputs/report.ts';
import { factsOf } from './declared-facts.ts';
import type { Client } from './feature.ts';
import { markup } from './markdown.ts';
import { snippetOf } from './words.ts';

/** A proposal before it is fitted to the client. */
export interface Proposal {
  readonly label: string;
  readonly kind: CompletionItemKind;
  /** Short, beside the label. */
  readonly detail?: string;
  /** Markdown lines. */
  readonly about?: readonly string[];
  /** What is written, with places to fill in as in `words.ts`; the label where absent. */
  readonly body?: string;
  /** What is written, in the signs of the protocol; only for clients that take those. */
  readonly snippet?: string;
  readonly filter?: string;
  /** What is to be filled in first is one of several names or words that are known. */
  readonly asks?: boolean;
  /** Lower comes first. */
  readonly rank?: number;
  /** Within a rank; what has none comes later, by its label. */
  readonly order?: number;
}

/** Opens the list once more, where the client lets completions run it: its name in the editor, as the protocol has none. */
const suggest = 'editor.action.triggerSuggest';

export function itemOf(proposal: Proposal, range: Range, client: Client): CompletionItem {
  const { label, kind, detail, about, body, filter, rank = 5, order } = proposal;
  const filled = client.snippets && body !== undefined && /<[^<>]*>/.test(body) ? snippetOf(body) : undefined;
  const goesOn = filled !== undefined && proposal.asks === true && client.commands.has(suggest);
  // The list goes by the word before the cursor: a word that waits there to be replaced would hide all names.
  const snippet = proposal.snippet ?? (goesOn ? filled.replace(/\$\{1[:|][^{}]*\}/, '$1') : filled);
  const newText = snippet ?? (body === undefined ? label : plainOf(body, label));
  return {
    label,
    kind,
    ...(detail === undefined ? {} : { detail }),
    ...(detail === undefined || !client.labelDetails ? {} : { labelDetails: { description: detail } }),
    ...(about === undefined || about.length === 0 ? {} : { documentation: markup(about, client) }),
    ...(filter === undefined ? {} : { filterText: filter }),
    sortText: `${rank}${order === undefined ? '' : String(order).padStart(5, '0')}${label}`,
    insertTextFormat: snippet === undefined ? InsertTextFormat.PlainText : InsertTextFormat.Snippet,
    textEdit: { range, newText },
    ...(goesOn ? { command: { title: 'Suggest', command: suggest } } : {}),
  };
}

/** Up to the first place that has to be filled in. */
const plainOf = (body: string, label: string): string => {
  const at = body.search(/"?</);
  return at < 0 ? body : body.slice(0, at) || label;
};

export const declared = (name: string, declaration: Declaration, kind: CompletionItemKind, rank = 5): Proposal => ({
  label: name,
  kind,
  detail: declaration.title && isolated(declaration.title.value),
  about: factsOf(declaration).map((fact) => `- ${fact}`),
  rank,
});

export const about = (help: string | undefined): string[] => (help === undefined ? [] : [help]);

/** Where the names are that stand for what a body asks for. */
const listOf = { ...tableOf, fastener: 'parts', old: 'parts', step: 'stepNames', reading: 'readings' } as const;

/** Whether what `body` asks for first is one of a list: a name of which some are known, a usual size, one of a few words. */
export function asksForListed(model: Model, body: string | undefined, label: string): boolean {
  // These give a name to something new.
  if (label === 'measure' || label === 'applies to') return false;
  if (label === 'thread') return true;
  const asked = /<([^<>]*)>/.exec(body ?? '')?.[1] ?? '';
  if (asked === 'code') return model.codes.length > 0;
  // The editor shows no other list in the place of a choice, also for what is typed on behind it.
  if (asked === 'file.fettle' || asked.includes('|')) return true;
  return Object.hasOwn(listOf, asked) && model[listOf[asked as keyof typeof listOf]].size > 0;
}
