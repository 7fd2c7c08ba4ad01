/** The language server for Node: over stdio, node IPC, a socket or a pipe, as its arguments say. */
import { createConnection, ProposedFeatures } from 'vscode-languageserver/node';
import { serve } from './connection.ts';
import { disk } from './disk.ts';

serve(createConnection(ProposedFeatures.all), disk);
