/** The language server, for a process of Node and for a web worker: nearly all of it is alike, and goes into one bundle. */
import { serve } from './connection.ts';

/** A worker of a browser has it; Node has not. */
declare const WorkerGlobalScope: unknown;

const host = typeof WorkerGlobalScope === 'undefined' ? import('./node.ts') : import('./browser.ts');
void host.then(({ start }) => start(serve));
