import { codeAction, codeActionResolve } from './code-action.ts';
import { completion } from './completion.ts';
import { declaration, definition } from './definition.ts';
import { pulledDiagnostics } from './diagnostics.ts';
import { documentSymbol } from './document-symbol.ts';
import type { Feature } from './feature.ts';
import { foldingRange } from './folding-range.ts';
import { hover } from './hover.ts';
import { references } from './references.ts';
import { workspaceDiagnostics } from './workspace-diagnostics.ts';

const table: readonly (readonly [file: string, ...Feature[]])[] = [
  ['diagnostics.ts', pulledDiagnostics],
  ['workspace-diagnostics.ts', workspaceDiagnostics],
  ['document-symbol.ts', documentSymbol],
  ['folding-range.ts', foldingRange],
  ['definition.ts', definition, declaration],
  ['references.ts', references],
  ['hover.ts', hover],
  ['completion.ts', completion],
  ['code-action.ts', codeAction, codeActionResolve],
];

/** Every protocol method that the server answers, with the file in this folder that does it. */
export const features: readonly { readonly method: string; readonly file: string; readonly feature: Feature }[] =
  table.flatMap(([file, ...own]) => own.map((feature) => ({ method: feature.method, file, feature })));
