import {
  type CodeAction,
  CodeActionKind,
  type CodeActionParams,
  type Diagnostic,
  type WorkspaceEdit,
} from 'vscode-languageserver';
import { offsetsOf } from '../../../grammar/syntax.ts';
import { repairsFor } from '../checks/all.ts';
import type { Finding, Repair } from '../checks/check.ts';
import { mended } from '../checks/mend.ts';
import type { Judged } from '../checks/run.ts';
import { Beside } from '../model/noted.ts';
import type { Snapshot } from '../snapshot.ts';
import { allowAction } from './allow-action.ts';
import { diagnosticOf } from './diagnostics.ts';
import { draftActionAt, draftEdit, draftKind } from './draft-command.ts';
import { difference, fileEditsOf, textEditsOf, workspaceEditOf } from './edits.ts';
import { type Client, feature, type Site, wideFeature } from './feature.ts';
import { lostFileActions } from './lost-file.ts';
import { proseActions } from './prose.ts';
import { refactorsAt } from './refactor.ts';

export const fixAllKind = `${CodeActionKind.SourceFixAll}.fettle`;

/** What a client that asks for edits later sends back. */
interface Later {
  readonly uri: string;
  readonly version: number | undefined;
  /** Absent where every safe repair is meant. */
  readonly code?: string;
  /** The draft of the reassembly is meant. */
  readonly draft?: true;
}

/** Findings that the range touches. */
const findingsIn = (snapshot: Snapshot, start: number, end: number): Finding[] =>
  snapshot.judged.findings.filter(({ span }) => {
    const place = offsetsOf(snapshot.tree, span);
    return place.start <= end && start <= place.end;
  });

/** So many findings of a selection have their repairs listed one by one: nobody reads a menu of more. */
const mostFindings = 100;

const mendable = new Beside<Judged, Map<string, ReadonlySet<Finding>>>();

/** The repair that is made where all of a kind are mended. */
const madeWithAll = (repairs: readonly Repair[]): Repair | undefined => repairs.find(({ isGuess }) => !isGuess);

/** Findings with this code that have such a repair. The editor asks again wherever the cursor goes. */
function mendableAs(snapshot: Snapshot, code: string): ReadonlySet<Finding> {
  const { judged } = snapshot;
  let byCode = mendable.get(judged);
  if (byCode === undefined) {
    byCode = new Map();
    mendable.set(judged, byCode);
  }
  let found = byCode.get(code);
  if (found === undefined) {
    const alike = judged.findings.filter((finding) => finding.code === code);
    found = new Set(alike.filter((finding) => madeWithAll(repairsFor(finding, snapshot.context)) !== undefined));
    byCode.set(code, found);
  }
  return found;
}

const wanted = (only: readonly string[] | undefined, kind: string): boolean =>
  only === undefined || only.some((each) => kind === each || kind.startsWith(`${each}.`));

export function codeActionsAt(snapshot: Snapshot, params: CodeActionParams, client: Client): CodeAction[] {
  const { only } = params.context;
  const actions: CodeAction[] = [];
  if (wanted(only, CodeActionKind.QuickFix)) {
    const start = snapshot.offsetAt(params.range.start);
    const end = snapshot.offsetAt(params.range.end);
    const found = findingsIn(snapshot, start, end);
    const prose = proseActions(snapshot, start, end, client);
    // Whoever selects lines means them all.
    const isOfLines = params.range.start.line !== params.range.end.line;
    if (isOfLines) actions.push(...prose);
    for (const finding of found.slice(0, mostFindings)) {
      const diagnostic = diagnosticOf(snapshot, finding, client);
      let first = true;
      for (const repair of repairsFor(finding, snapshot.context)) {
        const edits = fileEditsOf(snapshot, repair.edits);
        if (edits === undefined) continue;
        actions.push({
          title: repair.title,
          kind: CodeActionKind.QuickFix,
          diagnostics: [diagnostic],
          ...(first && repair.safe ? { isPreferred: true } : {}),
          edit: workspaceEditOf(edits, client),
        });
        first = false;
      }
    }
    if (!isOfLines) actions.push(...prose);
    const alike = new Set(found.filter((each) => mendableAs(snapshot, each.code).has(each)).map(({ code }) => code));
    for (const code of alike) {
      const mendable = mendableAs(snapshot, code);
      if (mendable.size < 2) continue;
      const mends = mendable.size <= mostFindings ? [...mendable] : found.filter((each) => mendable.has(each));
      actions.push(
        whole(snapshot, client, {
          title: `Mend all ${mendable.size} \`${code}\` of this file`,
          kind: CodeActionKind.QuickFix,
          diagnostics: mends.slice(0, mostFindings).map((each) => diagnosticOf(snapshot, each, client)),
          code,
        }),
      );
    }
    // Each wants a reason of its own: whoever selects lines is offered none.
    if (!isOfLines) actions.push(...found.flatMap((finding) => allowAction(snapshot, finding, client) ?? []));
  }
  if (wanted(only, CodeActionKind.Refactor) || only?.some((kind) => kind.startsWith(CodeActionKind.Refactor)))
    actions.push(
      ...refactorsAt(
        snapshot,
        snapshot.offsetAt(params.range.start),
        snapshot.offsetAt(params.range.end),
        client,
      ).filter(({ kind }) => wanted(only, kind!)),
    );
  const drafting = wanted(only, draftKind) ? draftActionAt(snapshot, params.range) : undefined;
  if (drafting !== undefined) {
    const data: Later = { uri: snapshot.file.uri, version: snapshot.file.version, draft: true };
    const edit = client.resolvesEdits ? undefined : draftEdit(snapshot, client);
    if (edit === undefined) actions.push({ ...drafting, data });
    else if (!isEmpty(edit)) actions.push({ ...drafting, edit });
  }
  // Asked for by name, as on save, or with the source actions; not among the repairs of every light bulb.
  if (only !== undefined && wanted(only, fixAllKind)) {
    const action = whole(snapshot, client, { title: 'Make every safe repair', kind: fixAllKind });
    if (action.edit === undefined || !isEmpty(action.edit)) actions.push(action);
  }
  return actions;
}

const isEmpty = ({ changes, documentChanges }: WorkspaceEdit): boolean =>
  Object.keys(changes ?? {}).length === 0 && (documentChanges ?? []).length === 0;

/** An action over the whole file; its edit is reckoned when asked for, where the client can ask. */
function whole(
  snapshot: Snapshot,
  client: Client,
  { code, ...action }: { title: string; kind: string; diagnostics?: Diagnostic[]; code?: string },
): CodeAction {
  const data: Later = { uri: snapshot.file.uri, version: snapshot.file.version, code };
  return client.resolvesEdits ? { ...action, data } : { ...action, edit: wholeEdit(snapshot, client, code) };
}

/** Repairs of all findings of one kind, or every safe repair. */
function wholeEdit(snapshot: Snapshot, client: Client, code: string | undefined): WorkspaceEdit {
  const text = mended(snapshot, (finding, repairs) =>
    code === undefined ? repairs.find(({ safe }) => safe) : finding.code === code ? madeWithAll(repairs) : undefined,
  );
  const patches = difference(snapshot.text, text);
  if (patches.length === 0) return {};
  return workspaceEditOf([{ file: snapshot.file, edits: textEditsOf(snapshot.file, patches) }], client);
}

export const codeAction = feature<CodeActionParams, CodeAction[]>(
  'textDocument/codeAction',
  {
    codeActionProvider: {
      codeActionKinds: [
        CodeActionKind.QuickFix,
        CodeActionKind.RefactorExtract,
        CodeActionKind.RefactorMove,
        CodeActionKind.RefactorRewrite,
        fixAllKind,
      ],
      resolveProvider: true,
    },
  },
  async (snapshot, params, site) => {
    const { range, context } = params;
    const lost = wanted(context.only, CodeActionKind.QuickFix)
      ? findingsIn(snapshot, snapshot.offsetAt(range.start), snapshot.offsetAt(range.end))
      : [];
    const found = await Promise.all(lost.map((finding) => lostFileActions(snapshot, finding, site)));
    return [...found.flat(), ...codeActionsAt(snapshot, params, site.client)];
  },
);

export const codeActionResolve = wideFeature<CodeAction, CodeAction>(
  'codeAction/resolve',
  {},
  async (action, { client, workspace }: Site) => {
    const later = action.data as Later | undefined;
    if (later?.uri === undefined) return action;
    const snapshot = await workspace.snapshot(later.uri);
    // The text is another by now: an edit reckoned for it would not be the one that was offered.
    if (snapshot === undefined || snapshot.file.version !== later.version) return action;
    return { ...action, edit: later.draft ? draftEdit(snapshot, client) : wholeEdit(snapshot, client, later.code) };
  },
);
