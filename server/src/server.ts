/** The language server for Node: over stdio, node IPC, a socket or a pipe, as its arguments say. */
import { basename, dirname, join } from 'node:path';
import { createConnection, ProposedFeatures } from 'vscode-languageserver/node';
import { serve } from './connection.ts';
import { disk } from './disk.ts';
import './engine.ts';
import { openKeeper } from './keeper.ts';
import { digestOfFiles, digestOfSources, removeSealed } from './sealed.ts';

/** The bundle is one file; from source, every file counts. */
const program = (main: string): string =>
  main.endsWith('.ts') ? digestOfSources(join(main, '../../..')) : digestOfFiles(dirname(main), [basename(main)]);

const place = (folder: string): string => join(folder, 'index');

serve(createConnection(ProposedFeatures.all), disk, {
  open: (folder, warn) => openKeeper(place(folder), program(process.argv[1]!), warn),
  remove: (folder) => removeSealed(place(folder)),
});
