/** The page that every view starts as: a strict content policy, one script, and no content until the extension sends some. */
export function shell(options: {
  readonly title: string;
  readonly script: string;
  readonly nonce: string;
  readonly words: { readonly drawing: string; readonly smaller: string; readonly larger: string; readonly fit: string };
}): string {
  const { title, script, nonce, words } = options;
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'nonce-${nonce}'; script-src 'nonce-${nonce}'; form-action 'none'; base-uri 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escaped(title)}</title>
<style nonce="${nonce}">${style}</style>
<style nonce="${nonce}" id="style"></style>
</head>
<body>
<section id="tools" aria-label="${escaped(words.drawing)}" hidden><button type="button" data-zoom="0.8">${escaped(words.smaller)}</button><button type="button" data-zoom="1.25">${escaped(words.larger)}</button><button type="button" data-zoom="fit">${escaped(words.fit)}</button></section>
<div id="page"></div>
<script nonce="${nonce}" src="${escaped(script)}"></script>
</body>
</html>
`;
}

const signs: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };
const escaped = (text: string): string => text.replace(/[&<>"]/g, (sign) => signs[sign]!);

/** The place of the cursor is told by an outline and a bar, not by colour alone; a bar as high as its line would leave a hair above that. */
const style = `
html { scroll-padding: 3em; }
body { margin: 0; padding: 0; color: var(--vscode-editor-foreground); background: var(--vscode-editor-background); font-family: var(--vscode-font-family); font-size: var(--vscode-font-size); }
code { padding: 0; color: inherit; background: none; }
main { padding: 0 16px 24px; }
.job-card main { padding: 0; }
#tools { position: sticky; top: 0; z-index: 1; display: flex; gap: 6px; padding: 8px 16px; background: var(--vscode-editor-background); }
#tools[hidden] { display: none; }
button { font: inherit; padding: 3px 10px; border: 1px solid var(--vscode-button-border, transparent); border-radius: 2px; color: var(--vscode-button-secondaryForeground); background: var(--vscode-button-secondaryBackground); cursor: pointer; }
button:hover { background: var(--vscode-button-secondaryHoverBackground); }
:focus-visible { outline: 2px solid var(--vscode-focusBorder); outline-offset: 2px; }
li[data-line], li[data-finding-line], .step[data-line] > header, .job-card [data-line] { cursor: pointer; }
li[data-line]:hover:not(.here), li[data-finding-line]:hover, .step > header:hover { outline: 1px dashed currentColor; outline-offset: 3px; }
li.here { outline: 2px solid currentColor; box-shadow: -4px 0 0 0 currentColor; }
.job-card .here { outline: 2px solid currentColor; outline-offset: 3px; box-shadow: -10px 0 0 -1px currentColor; }
.job-card .step.here { outline-offset: 0; }
`;
