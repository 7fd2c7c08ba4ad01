/** The server, which also tells its memory after a collection: run with `--expose-gc`. */
import { createConnection, ProposedFeatures } from 'vscode-languageserver/node';
import { serve } from '../../server/src/connection.ts';
import { disk } from '../../server/src/disk.ts';

const connection = createConnection(ProposedFeatures.all);
connection.onRequest('test/memory', () => {
  globalThis.gc!();
  return process.memoryUsage();
});
serve(connection, disk);
