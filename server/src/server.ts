/** The language server for Node: over stdio, node IPC, a socket or a pipe, as its arguments say. */
import { basename, dirname, join } from 'node:path';
import { createConnection, ProposedFeatures } from 'vscode-languageserver/node';
import { serve } from './connection.ts';
import { disk } from './disk.ts';
import { openKeeper } from './keeper.ts';
import { digestOfFiles, digestOfSources } from './sealed.ts';

/** The bundle is one file; from source, every file counts. */
const program = (main: string): string =>
  main.endsWith('.ts') ? digestOfSources(join(main, '../../..')) : digestOfFiles(dirname(main), [basename(main)]);

serve(createConnection(ProposedFeatures.all), disk, (folder, warn) =>
  openKeeper(join(folder, 'index'), program(process.argv[1]!), warn),
);
