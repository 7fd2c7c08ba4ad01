import { FileSystemError, FileType, RelativePattern, Uri, workspace } from 'vscode';
import type { BaseLanguageClient } from 'vscode-languageclient';
import { largestFile, mostFiles } from '../../server/src/limits.ts';
import { askedOfClient } from '../../server/src/requests.ts';

/** Answers the server's questions for files that it cannot reach itself: all of them in the web, virtual ones on the desktop. */
export function giveFiles(client: BaseLanguageClient): void {
  client.onRequest<{ text: string } | { reason: string }, void>(askedOfClient.readFile, ({ uri }: { uri: string }) =>
    readFile(Uri.parse(uri)),
  );
  client.onRequest(askedOfClient.listFiles, async ({ folder }: { folder: string }) => {
    const pattern = new RelativePattern(Uri.parse(folder), '**/*.fettle');
    const found = await workspace.findFiles(pattern, '**/{node_modules,.git}/**', mostFiles);
    return found.map((uri) => uri.toString());
  });
}

/** The text, or the reason why it cannot be had; the server says it to the user. */
async function readFile(uri: Uri): Promise<{ text: string } | { reason: string }> {
  try {
    const { type, size } = await workspace.fs.stat(uri);
    if (type & FileType.SymbolicLink) return { reason: 'it is a link, which is not followed here' };
    if (type !== FileType.File) return { reason: 'it is no regular file' };
    if (size > largestFile) return { reason: 'it is larger than 16 MiB: split it' };
    const bytes = await workspace.fs.readFile(uri);
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes) };
  } catch (error) {
    if (error instanceof TypeError) return { reason: 'it is not UTF-8: save it as UTF-8' };
    if (!(error instanceof FileSystemError)) throw error;
    return {
      reason: error.code === 'FileNotFound' ? 'there is no such file' : 'the editor cannot read it',
    };
  }
}
