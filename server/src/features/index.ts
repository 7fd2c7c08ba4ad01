import { incomingCalls, outgoingCalls, prepareCallHierarchy } from './call-hierarchy.ts';
import { cardForFile, cardView } from './card-view.ts';
import { codeAction, codeActionResolve } from './code-action.ts';
import { codeLens } from './code-lens.ts';
import { compareVersions } from './compare-versions.ts';
import { completion } from './completion.ts';
import { declaration, definition } from './definition.ts';
import { pulledDiagnostics } from './diagnostics.ts';
import { documentHighlight } from './document-highlight.ts';
import { documentLink } from './document-link.ts';
import { documentSymbol } from './document-symbol.ts';
import { draftCommand } from './draft-command.ts';
import type { Feature } from './feature.ts';
import { foldingRange } from './folding-range.ts';
import { formatting, onTypeFormatting, rangeFormatting } from './formatting.ts';
import { holdingDiagram } from './holding-diagram.ts';
import { hover } from './hover.ts';
import { inlayHint } from './inlay-hint.ts';
import { inlineCompletion } from './inline-completion.ts';
import { kitForFile } from './kit-file.ts';
import { linkedEditingRange } from './linked-editing.ts';
import { partsTrail } from './parts-trail.ts';
import { planView } from './plan-view.ts';
import { references } from './references.ts';
import { prepareRename, rename } from './rename.ts';
import { renameFiles } from './rename-files.ts';
import { selectionRange } from './selection-range.ts';
import { semanticTokens, semanticTokensDelta, semanticTokensRange } from './semantic-tokens.ts';
import { signatureHelp } from './signature-help.ts';
import { workspaceDiagnostics } from './workspace-diagnostics.ts';
import { workspaceSymbol } from './workspace-symbol.ts';

const table: readonly (readonly [file: string, ...Feature[]])[] = [
  ['diagnostics.ts', pulledDiagnostics],
  ['workspace-diagnostics.ts', workspaceDiagnostics],
  ['completion.ts', completion],
  ['inline-completion.ts', inlineCompletion],
  ['signature-help.ts', signatureHelp],
  ['hover.ts', hover],
  ['definition.ts', definition, declaration],
  ['references.ts', references],
  ['document-highlight.ts', documentHighlight],
  ['rename.ts', prepareRename, rename],
  ['rename-files.ts', renameFiles],
  ['linked-editing.ts', linkedEditingRange],
  ['code-action.ts', codeAction, codeActionResolve],
  ['formatting.ts', formatting, rangeFormatting, onTypeFormatting],
  ['document-symbol.ts', documentSymbol],
  ['workspace-symbol.ts', workspaceSymbol],
  ['folding-range.ts', foldingRange],
  ['selection-range.ts', selectionRange],
  ['document-link.ts', documentLink],
  ['semantic-tokens.ts', semanticTokens, semanticTokensDelta, semanticTokensRange],
  ['inlay-hint.ts', inlayHint],
  ['code-lens.ts', codeLens],
  ['call-hierarchy.ts', prepareCallHierarchy, incomingCalls, outgoingCalls],
  ['parts-trail.ts', partsTrail],
  ['card-view.ts', cardView, cardForFile],
  ['kit-file.ts', kitForFile],
  ['holding-diagram.ts', holdingDiagram],
  ['plan-view.ts', planView],
  ['draft-command.ts', draftCommand],
  ['compare-versions.ts', compareVersions],
];

/** Every protocol method that the server answers, what `initialize` announces for it, and the file that does it. */
export const features: readonly {
  readonly method: string;
  readonly capability: string | undefined;
  readonly file: string;
  readonly feature: Feature;
}[] = table.flatMap(([file, ...own]) =>
  own.map((feature) => ({
    method: feature.method,
    capability: Object.keys(
      (own.find(({ capability }) => Object.keys(capability).length > 0) ?? feature).capability,
    )[0],
    file,
    feature,
  })),
);
