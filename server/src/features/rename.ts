import {
  LSPErrorCodes,
  type PrepareRenameParams,
  type PrepareRenameResult,
  type RenameParams,
  ResponseError,
  type WorkspaceEdit,
} from 'vscode-languageserver';
import { parse } from '../../../grammar/parser.ts';
import { isReserved } from '../../../grammar/tokens.ts';
import type { Definition, Model } from '../model/model.ts';
import type { NameKind } from '../model/references.ts';
import type { Snapshot, SourceFile } from '../snapshot.ts';
import { definitionOf, namingAt, occurrencesOf } from './at.ts';
import { type FileEdits, workspaceEditOf } from './edits.ts';
import { feature } from './feature.ts';
import { snapshotsNaming } from './references.ts';

const refuse = (message: string): never => {
  throw new ResponseError(LSPErrorCodes.RequestFailed, message);
};

/** Why `name` cannot be the name of such a thing; nothing where it can. */
export function nameTrouble(kind: NameKind, name: string): string | undefined {
  if (name === '') return 'A name cannot be empty.';
  if (kind === 'code')
    return codeOf(name)
      ? undefined
      : `\`${name}\` is no code: write letters, digits and hyphens, with a digit among them or a letter first.`;
  if (/^x[0-9]+$/.test(name))
    return `\`${name}\` would be read as a count: choose a name that is not \`x\` and digits.`;
  // Behind `step` and `after` any word is a name.
  if (kind !== 'step' && isReserved(name))
    return `\`${name}\` is a reserved word: choose another such as \`${name}-1\`.`;
  if (!/^\p{L}[\p{L}\p{M}0-9-]*$/u.test(name)) {
    const hyphened = name.replace(/[^\p{L}\p{M}0-9]+/gu, '-').replace(/^-|-$/g, '');
    const remedy =
      hyphened !== name && nameTrouble(kind, hyphened) === undefined
        ? `, so write \`${hyphened}\``
        : ' and begins with a letter';
    return `\`${name}\` is no name: a name is made of letters, digits and hyphens${remedy}.`;
  }
  return namedBy(kind === 'step' ? 'step' : 'part', name) ? undefined : `\`${name}\` is no name in this language.`;
}

function namedBy(word: 'part' | 'step', name: string): boolean {
  const [chunk, ...more] = parse('', `${word} ${name} "Title"\n`).chunks;
  const item = chunk?.item;
  return more.length === 0 && chunk!.issues.length === 0 && item?.kind === word && item.name?.text === name;
}

function codeOf(name: string): boolean {
  const [chunk] = parse('', `procedure p\n  applies to ${name}\n`).chunks;
  return chunk?.issues.length === 0 && chunk.item?.kind === 'procedure' && chunk.item.codes[0]?.text === name;
}

/** What has the new name already where the old one is known. */
const clashIn = (model: Model, kind: NameKind, name: string, definition: Definition): Definition | undefined => {
  const other = definitionOf(model, { kind, name: { ...definition, text: name } });
  return other === definition ? undefined : other;
};

/**
 * The edits that give what `offset` stands in another name, in every file of `snapshots`.
 * @throws ResponseError with a sentence for the author where that cannot be done.
 */
export function renamed(
  snapshot: Snapshot,
  snapshots: readonly Snapshot[],
  offset: number,
  newName: string,
): FileEdits[] {
  const naming = namingAt(snapshot, offset);
  if (naming === undefined) return refuse('There is no name here to change.');
  const { definition, kind, name } = naming;
  if (definition === undefined) return refuse(`No ${kind} is called \`${name.text}\`: declare it first.`);
  const trouble = nameTrouble(kind, newName);
  if (trouble !== undefined) return refuse(trouble);
  for (const each of snapshots) {
    const clash = clashIn(each.model, kind, newName, definition);
    if (clash !== undefined) {
      const file = each.fileOf(clash).name;
      return refuse(`${file}:${each.lineOf(clash)} has a ${kind} called \`${newName}\` already: choose another name.`);
    }
  }
  const byFile = new Map<SourceFile, Map<string, FileEdits['edits'][number]>>();
  for (const each of snapshots) {
    for (const occurrence of occurrencesOf(each, definition)) {
      const file = each.fileOf(occurrence);
      const { range } = each.locationOf(occurrence);
      const edits = byFile.get(file) ?? new Map();
      edits.set(`${range.start.line}:${range.start.character}`, { range, newText: newName });
      byFile.set(file, edits);
    }
  }
  return [...byFile].map(([file, edits]) => ({ file, edits: [...edits.values()] }));
}

export const prepareRename = feature<PrepareRenameParams, PrepareRenameResult>(
  'textDocument/prepareRename',
  {},
  (snapshot, { position }) => {
    const naming = namingAt(snapshot, snapshot.offsetAt(position));
    if (naming === undefined) return null;
    if (naming.definition === undefined)
      return refuse(`No ${naming.kind} is called \`${naming.name.text}\`: declare it first.`);
    return { range: snapshot.rangeOf(naming.name), placeholder: naming.name.text };
  },
);

export const rename = feature<RenameParams, WorkspaceEdit>(
  'textDocument/rename',
  { renameProvider: { prepareProvider: true } },
  async (snapshot, { position, newName }, { client, workspace, token }) => {
    const offset = snapshot.offsetAt(position);
    const naming = namingAt(snapshot, offset);
    // A name that is pasted brings blanks along.
    const written = newName.trim();
    const snapshots =
      naming?.definition === undefined
        ? [snapshot]
        : await snapshotsNaming(
            [naming.name.text, written],
            snapshot,
            naming.definition,
            workspace,
            () => token.isCancellationRequested,
          );
    // Half of the places would be worse than none.
    if (token.isCancellationRequested) return null;
    return workspaceEditOf(renamed(snapshot, snapshots, offset, written), client);
  },
);
