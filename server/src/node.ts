/** What the language server needs in a process of Node: it talks over stdio, IPC, a socket or a pipe, as its arguments say. */
import { flushCompileCache } from 'node:module';
import { basename, dirname, join } from 'node:path';
import { createConnection, ProposedFeatures } from 'vscode-languageserver/node';
import type { serve } from './connection.ts';
import { disk } from './disk.ts';
import './engine.ts';
import { openKeeper } from './keeper.ts';
import { digestOfFiles, digestOfSources, removeSealed } from './sealed.ts';

/** The bundle is one file; from source, every file counts. */
const program = (main: string): string =>
  main.endsWith('.ts') ? digestOfSources(join(main, '../../..')) : digestOfFiles(dirname(main), [basename(main)]);

const place = (folder: string): string => join(folder, 'index');

/** Milliseconds, by when the first files have been read. */
const settled = 10_000;

export const start = (server: typeof serve): void => {
  server(createConnection(ProposedFeatures.all), disk, {
    open: (folder, warn) => openKeeper(place(folder), program(process.argv[1]!), warn),
    remove: (folder) => removeSealed(place(folder)),
  });
  // What Node made of the code is kept where the client says, and at the end: an editor that closes may not wait for that.
  setTimeout(flushCompileCache, settled).unref();
};
