import {
  CancellationTokenSource,
  commands,
  Disposable,
  l10n,
  Position,
  Range,
  TabInputWebview,
  type TextDocument,
  type TextEditor,
  TextEditorRevealType,
  Uri,
  ViewColumn,
  type WebviewPanel,
  type WebviewPanelSerializer,
  window,
  workspace,
} from 'vscode';
import { type CardParams, type Page, requests } from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { language } from '../options.ts';
import { shell } from './page/html.ts';
import type { FromPage, PageState, ToPage } from './page/messages.ts';

/** Milliseconds without an edit before a view is made anew. */
const pause = 200;

/** One sort of view beside the source. */
interface Kind {
  readonly viewType: string;
  readonly command: string;
  readonly request: string;
  title(name: string): string;
}

const kinds: readonly Kind[] = [
  {
    viewType: 'fettle.card',
    command: 'fettle.openCard',
    request: requests.card,
    title: (name) => l10n.t('Card: {0}', name),
  },
  {
    viewType: 'fettle.diagram',
    command: 'fettle.openDiagram',
    request: requests.diagram,
    title: (name) => l10n.t('What holds what: {0}', name),
  },
  {
    viewType: 'fettle.plan',
    command: 'fettle.openPlan',
    request: requests.plan,
    title: (name) => l10n.t('Plan: {0}', name),
  },
];

/** The views beside the source: at most one of each kind for a file. */
export class Pages {
  private readonly site: Site;
  private readonly views = new Set<PageView>();

  constructor(site: Site) {
    this.site = site;
    const { subscriptions } = site.context;
    for (const kind of kinds) {
      subscriptions.push(
        commands.registerCommand(kind.command, (source?: unknown, line?: unknown) =>
          this.open(kind, this.sourceOf(source), typeof line === 'number' ? line : undefined),
        ),
        window.registerWebviewPanelSerializer(kind.viewType, this.restorer(kind)),
      );
    }
    subscriptions.push(
      commands.registerCommand('fettle.chooseCode', () => this.chooseCode()),
      site.onDidChange(() => {
        for (const view of this.views) view.refresh();
      }),
    );
  }

  /** The card that is shown for `source`. */
  card(source: Uri): PageView | undefined {
    return this.shown('fettle.card', source);
  }

  /** The procedure that a command is about: that of the view in front where no other is given, else {@link sourceOf}. */
  sourceOf(given: unknown): Uri | undefined {
    // The title of a view gives the address of the view.
    const other = given instanceof Uri && given.scheme === 'webview-panel' ? undefined : given;
    return (other === undefined ? this.inFront()?.source : undefined) ?? sourceOf(other);
  }

  private shown(viewType: string, source: Uri): PageView | undefined {
    return [...this.views].find(
      (view) => view.kind.viewType === viewType && view.source.toString() === source.toString(),
    );
  }

  /** A panel that has just been made says that it is active although the focus stays in the text. */
  private inFront(): PageView | undefined {
    if (!(window.tabGroups.activeTabGroup.activeTab?.input instanceof TabInputWebview)) return undefined;
    return [...this.views].find(({ panel }) => panel.active);
  }

  /** Shows the view, and in it `line` of the source where one is given: a lens stands above another line than the cursor's. */
  private open(kind: Kind, source: Uri | undefined, line: number | undefined): void {
    if (source === undefined) {
      void window.showInformationMessage(l10n.t('Open a Fettle procedure first: this shows what stands in it.'));
      return;
    }
    // From the text a view opens beside it; from a view in its place, and has the focus, as that one is hidden.
    const fromView = this.inFront() !== undefined;
    const known = this.shown(kind.viewType, source);
    if (known !== undefined) {
      known.panel.reveal(undefined, !fromView);
      if (line !== undefined) known.show(line);
      return;
    }
    const panel = window.createWebviewPanel(
      kind.viewType,
      kind.title(shownName(source)),
      fromView ? ViewColumn.Active : { viewColumn: ViewColumn.Beside, preserveFocus: true },
      // A card may have hundreds of steps.
      { enableFindWidget: true },
    );
    const view = this.fill(kind, panel, { source: source.toString() });
    if (line !== undefined) view.show(line);
  }

  private restorer(kind: Kind): WebviewPanelSerializer<PageState> {
    return {
      deserializeWebviewPanel: async (panel, state) => {
        if (typeof state?.source === 'string') this.fill(kind, panel, state);
        else panel.dispose();
      },
    };
  }

  private fill(kind: Kind, panel: WebviewPanel, state: PageState): PageView {
    const view = new PageView(this.site, kind, panel, state);
    this.views.add(view);
    panel.onDidDispose(() => this.views.delete(view));
    return view;
  }

  private async chooseCode(): Promise<void> {
    const view = this.inFront();
    if (view?.kind.viewType !== 'fettle.card') return;
    const all = l10n.t('All codes');
    const chosen = await window.showQuickPick([all, ...view.codes], {
      placeHolder: l10n.t('The code on the plate of the unit that the card is for'),
    });
    if (chosen !== undefined) view.chooseCode(chosen === all ? undefined : chosen);
  }
}

/** The procedure that a command is about: the one given, as by a menu or a lens, or the one in the editor. */
export function sourceOf(given: unknown): Uri | undefined {
  if (given instanceof Uri) return given;
  // From a lens of the server.
  if (typeof given === 'string') return Uri.parse(given);
  const document = window.activeTextEditor?.document;
  return document?.languageId === language ? document.uri : undefined;
}

/** Of the editors that show `source`, the active one, else `last`, else any. */
export function editorOf(source: Uri, last: TextEditor | undefined): TextEditor | undefined {
  const shows = (editor: TextEditor | undefined): boolean => editor?.document.uri.toString() === source.toString();
  const { activeTextEditor, visibleTextEditors } = window;
  if (shows(activeTextEditor)) return activeTextEditor;
  const shown = visibleTextEditors.filter(shows);
  return shown.find((editor) => editor === last) ?? shown[0];
}

export const nameOf = (uri: Uri): string => uri.path.split('/').at(-1) ?? uri.path;

export class PageView {
  readonly kind: Kind;
  readonly panel: WebviewPanel;
  source: Uri;
  /** Codes that the procedure goes by. */
  codes: readonly string[] = [];
  code: string | undefined;
  private readonly site: Site;
  private readonly listeners: Disposable;
  private page: Page | undefined;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private asking: CancellationTokenSource | undefined;
  /** What was last shown of a source that was never saved: when it closes it is empty already. */
  private unsaved: string | undefined;
  /** Whether that has been closed. */
  private closed = false;
  /** The editor of the source that was last in front. */
  private editor: TextEditor | undefined;
  /** The line that was asked for; goes before the cursor until that moves. */
  private wanted: number | undefined;

  constructor(site: Site, kind: Kind, panel: WebviewPanel, state: PageState) {
    this.site = site;
    this.kind = kind;
    this.panel = panel;
    this.source = Uri.parse(state.source);
    this.code = state.code;
    const dist = Uri.joinPath(site.context.extensionUri, 'dist');
    const icons = Uri.joinPath(site.context.extensionUri, 'client/icons');
    panel.iconPath = { light: Uri.joinPath(icons, 'light.svg'), dark: Uri.joinPath(icons, 'dark.svg') };
    panel.webview.options = { enableScripts: true, localResourceRoots: [dist] };
    this.listeners = Disposable.from(
      panel.webview.onDidReceiveMessage((message: FromPage) => this.hear(message)),
      workspace.onDidChangeTextDocument(({ document }) => {
        if (this.isSource(document.uri)) this.refreshSoon();
      }),
      workspace.onDidChangeConfiguration((event) => {
        if (event.affectsConfiguration('fettle.card')) this.refreshSoon();
      }),
      workspace.onDidCloseTextDocument((document) => {
        if (!document.isUntitled || !this.isSource(document.uri)) return;
        this.closed = true;
        this.refreshSoon();
      }),
      workspace.onDidRenameFiles(({ files }) => {
        for (const { oldUri, newUri } of files) this.move(oldUri.toString(), newUri.toString());
      }),
      window.onDidChangeTextEditorSelection(({ textEditor, selections: [selection] }) => {
        // Where the file is shown twice, an edit moves the other cursor, too.
        if (textEditor !== this.editorInFront() || selection === undefined) return;
        this.wanted = undefined;
        this.follow(selection.active.line);
      }),
      window.onDidChangeActiveTextEditor(() => this.followEditor()),
    );
    panel.onDidDispose(() => {
      clearTimeout(this.timer);
      this.asking?.cancel();
      this.listeners.dispose();
    });
    panel.webview.html = shell({
      title: panel.title,
      script: panel.webview.asWebviewUri(Uri.joinPath(dist, 'page.js')).toString(),
      nonce: nonce(),
      words: {
        drawing: l10n.t('Size of the drawing'),
        smaller: l10n.t('Smaller'),
        larger: l10n.t('Larger'),
        fit: l10n.t('Whole width'),
      },
    });
  }

  /** The file, or a folder that it lies in, has another name. */
  private move(before: string, now: string): void {
    const source = this.source.toString();
    if (source !== before && !source.startsWith(`${before}/`)) return;
    this.moveTo(Uri.parse(now + source.slice(before.length)));
    this.refreshSoon();
  }

  private moveTo(source: Uri): void {
    this.source = source;
    this.closed = false;
    this.panel.title = this.kind.title(shownName(source));
  }

  /** The source's text. What was never saved is followed to where it is saved; asked for by its old address, it would come up anew and empty. */
  private async document(): Promise<TextDocument> {
    const { closed, unsaved } = this;
    const known = closed ? workspace.textDocuments.find(({ uri }) => this.isSource(uri)) : undefined;
    if (!closed || known !== undefined) return known ?? workspace.openTextDocument(this.source);
    const saved = workspace.textDocuments.find(
      (each) =>
        !each.isUntitled &&
        each.languageId === language &&
        (each.uri.path === this.source.path || (unsaved !== undefined && wordsOf(each.getText()) === wordsOf(unsaved))),
    );
    if (saved === undefined) throw new Error(l10n.t('there is no such file'));
    this.moveTo(saved.uri);
    return saved;
  }

  chooseCode(code: string | undefined): void {
    this.code = code;
    this.refresh();
  }

  /** Makes the view anew; an answer that a later question has overtaken is dropped. */
  async refresh(): Promise<void> {
    this.asking?.cancel();
    const asking = new CancellationTokenSource();
    this.asking = asking;
    try {
      // A file that is not open is not known to a server without files.
      const document = await this.document();
      this.unsaved = document.isUntitled ? document.getText() : undefined;
      const client = await this.site.client;
      const params: CardParams = {
        textDocument: client.code2ProtocolConverter.asTextDocumentIdentifier(document),
        code: this.code,
        paper: workspace.getConfiguration('fettle.card', this.source).get('paper'),
      };
      const page = await client.sendRequest<Page | null>(this.kind.request, params, asking.token);
      if (asking.token.isCancellationRequested) return;
      this.page = page ?? undefined;
      if (page === null) throw new Error(l10n.t('there is no such file'));
      this.codes = page.codes;
      if (this.code !== undefined && !page.codes.includes(this.code)) this.code = undefined;
      this.send(page);
    } catch (error) {
      if (asking.token.isCancellationRequested) return;
      this.post({ type: 'trouble', text: this.troubleOf(error) });
    }
  }

  private troubleOf(error: unknown): string {
    const reason = error instanceof Error ? error.message : String(error);
    return l10n.t('{0} cannot be shown: {1}', nameOf(this.source), reason);
  }

  private refreshSoon(): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.refresh(), pause);
  }

  private send({ style, body }: Page): void {
    const state: PageState = {
      source: this.source.toString(),
      ...(this.code === undefined ? {} : { code: this.code }),
    };
    this.post({ type: 'content', style, body, state });
    this.followEditor();
  }

  private post(message: ToPage): void {
    void this.panel.webview.postMessage(message);
  }

  /** What the page says; open to tests. */
  async hear(message: FromPage): Promise<void> {
    if (message.type === 'ready') {
      // A page that was hidden starts from nothing.
      if (this.page !== undefined) this.send(this.page);
      else await this.refresh();
    } else if (message.type === 'go' && Number.isInteger(message.line)) {
      try {
        await this.reveal(message.line);
      } catch (error) {
        // The source may be gone while its card is still looked at.
        void window.showWarningMessage(this.troubleOf(error));
      }
    }
  }

  private async reveal(line: number): Promise<void> {
    const document = await this.document();
    const at = document.lineAt(Math.min(Math.max(0, line), document.lineCount - 1));
    const start = new Position(at.lineNumber, at.firstNonWhitespaceCharacterIndex);
    const editor = await window.showTextDocument(document, {
      viewColumn: this.editorInFront()?.viewColumn ?? ViewColumn.One,
      selection: new Range(start, start),
    });
    editor.revealRange(at.range, TextEditorRevealType.InCenterIfOutsideViewport);
  }

  /** Brings what stands for a line of the source into sight. */
  show(line: number): void {
    this.wanted = line;
    this.post({ type: 'cursor', line, reveal: true });
  }

  private followEditor(): void {
    if (this.wanted !== undefined) {
      this.follow(this.wanted);
      return;
    }
    const editor = this.editorInFront();
    if (editor !== undefined) this.follow(editor.selection.active.line);
  }

  private editorInFront(): TextEditor | undefined {
    this.editor = editorOf(this.source, this.editor);
    return this.editor;
  }

  private follow(line: number): void {
    this.post({ type: 'cursor', line });
  }

  private isSource(uri: Uri): boolean {
    return uri.toString() === this.source.toString();
  }
}

/** By an older version, as the left side of a comparison shows one, nobody must work unawares. */
const shownName = (source: Uri): string =>
  source.query === '' ? nameOf(source) : l10n.t('{0}, an older version', nameOf(source));

/** Without the layout, which saving may change. */
const wordsOf = (text: string): string => text.replace(/\s+/g, ' ').trim();

/** 128 random bits, anew for each page. */
const nonce = (): string =>
  [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, '0')).join('');
