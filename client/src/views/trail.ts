import {
  CancellationTokenSource,
  commands,
  EventEmitter,
  l10n,
  MarkdownString,
  Range,
  type TextEditor,
  ThemeIcon,
  type TreeDataProvider,
  TreeItem,
  TreeItemCollapsibleState,
  type TreeView,
  type Uri,
  window,
  workspace,
} from 'vscode';
import {
  type PartsTrail,
  requests,
  type TrailLot,
  type TrailParams,
  type TrailPart,
  type TrailRider,
  type TrailView,
} from '../../../server/src/requests.ts';
import type { Site } from '../commands/command.ts';
import { language } from '../options.ts';
import { editorOf } from './pages.ts';

/** Milliseconds that the cursor has to rest. */
const pause = 120;
const reveal = 'fettle.revealPlace';

type Group = TrailView['groups'][number];
/** What stands on one line of the tree; `path` tells it apart from all others. */
export type TrailNode =
  | { readonly kind: 'view'; readonly path: string; readonly view: TrailView }
  | { readonly kind: 'group'; readonly path: string; readonly group: Group }
  | { readonly kind: 'part'; readonly path: string; readonly part: TrailPart; readonly group: Group['group'] }
  | { readonly kind: 'lot'; readonly path: string; readonly lot: TrailLot }
  | { readonly kind: 'rider'; readonly path: string; readonly rider: TrailRider; readonly carries: boolean };

/** `fettle.trail`: where every piece is at the cursor's statement, in a tree. */
export class TrailTree implements TreeDataProvider<TrailNode> {
  private readonly site: Site;
  private readonly view: TreeView<TrailNode>;
  private readonly changed = new EventEmitter<void>();
  private editor: TextEditor | undefined;
  private trail: PartsTrail | undefined;
  private source: Uri | undefined;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private asking: CancellationTokenSource | undefined;
  readonly onDidChangeTreeData = this.changed.event;

  constructor(site: Site) {
    this.site = site;
    this.view = window.createTreeView('fettle.trail', { treeDataProvider: this, showCollapseAll: true });
    const { subscriptions } = site.context;
    subscriptions.push(
      this.view,
      this.changed,
      this.view.onDidChangeVisibility(() => this.askSoon()),
      commands.registerCommand(reveal, (source: Uri, range: NonNullable<TrailLot['range']>) => this.go(source, range)),
      window.onDidChangeActiveTextEditor((editor) => this.look(editor)),
      window.onDidChangeTextEditorSelection(({ textEditor }) => {
        if (textEditor === this.editor) this.askSoon();
      }),
      workspace.onDidChangeTextDocument(({ document }) => {
        if (document === this.editor?.document) this.askSoon();
      }),
      workspace.onDidCloseTextDocument((document) => {
        if (document === this.editor?.document) this.look(undefined, true);
      }),
      site.onDidChange(() => this.askSoon()),
      { dispose: () => clearTimeout(this.timer) },
    );
    void commands.executeCommand('setContext', 'fettle.isUsed', true);
    this.look(window.activeTextEditor);
  }

  /** A view, a panel or an editor of another language in front changes nothing: the trail stays where it was. */
  private look(editor: TextEditor | undefined, closed = false): void {
    if (editor?.document.languageId === language) this.editor = editor;
    else if (closed) this.editor = undefined;
    else return;
    this.askSoon();
  }

  /** Nothing while nobody sees it: it is asked for once it is opened. */
  private askSoon(): void {
    clearTimeout(this.timer);
    if (!this.view.visible) return;
    this.timer = setTimeout(() => this.ask(), pause);
  }

  private async ask(): Promise<void> {
    this.asking?.cancel();
    const asking = new CancellationTokenSource();
    this.asking = asking;
    const { editor } = this;
    let trail: PartsTrail | null = null;
    if (editor !== undefined) {
      // Where it cannot be loaded, that has been told.
      const client = await this.site.client.catch(() => undefined);
      if (client === undefined || asking.token.isCancellationRequested) return;
      const { code2ProtocolConverter } = client;
      const params: TrailParams = {
        textDocument: code2ProtocolConverter.asTextDocumentIdentifier(editor.document),
        position: code2ProtocolConverter.asPosition(editor.selection.active),
      };
      try {
        trail = await client.sendRequest<PartsTrail | null>(requests.trail, params, asking.token);
      } catch (error) {
        // Without a server the trail is asked for again once there is one.
        if (!asking.token.isCancellationRequested) client.debug(`No parts trail: ${error}`);
        return;
      }
    }
    if (asking.token.isCancellationRequested) return;
    this.trail = trail ?? undefined;
    this.source = editor?.document.uri;
    this.show();
    this.changed.fire();
  }

  private show(): void {
    const { trail } = this;
    const views = trail?.views ?? [];
    this.view.description = trail?.line === undefined ? undefined : l10n.t('after line {0}', trail.line + 1);
    const empty = views.every(({ groups }) => groups.length === 0);
    this.view.message =
      trail === undefined
        ? l10n.t('Open a procedure to see what is on the tray at its cursor.')
        : empty
          ? l10n.t('Nothing has been taken off yet at the cursor.')
          : undefined;
  }

  /** In the editor that shows the file: beside it, a view may have the focus. */
  private async go(source: Uri, { start, end }: NonNullable<TrailLot['range']>): Promise<void> {
    const selection = new Range(start.line, start.character, end.line, end.character);
    const viewColumn = editorOf(source, this.editor)?.viewColumn;
    await window.showTextDocument(source, { selection, ...(viewColumn === undefined ? {} : { viewColumn }) });
  }

  // --- the tree -----------------------------------------------------------------------------------------------------------

  getChildren(node?: TrailNode): TrailNode[] {
    if (node === undefined) {
      const views = (this.trail?.views ?? []).map((view): TrailNode & { kind: 'view' } => ({
        kind: 'view',
        path: view.codes.join(','),
        view,
      }));
      // Where all codes agree there is one tree.
      return views.length === 1 ? this.getChildren(views[0]) : views;
    }
    const below = (name: string): string => `${node.path}/${name}`;
    switch (node.kind) {
      case 'view':
        return node.view.groups.map((group) => ({ kind: 'group', path: below(group.group), group }));
      case 'group':
        return node.group.parts.map((part) => ({
          kind: 'part',
          path: below(part.part),
          part,
          group: node.group.group,
        }));
      case 'part': {
        const { lots, riders, carriers } = node.part;
        return [
          ...(lots.length < 2 ? [] : lots).map((lot, i): TrailNode => ({ kind: 'lot', path: below(`${i}`), lot })),
          ...carriers.map(
            (rider): TrailNode => ({ kind: 'rider', path: below(`by ${rider.part}`), rider, carries: true }),
          ),
          ...riders.map((rider): TrailNode => ({ kind: 'rider', path: below(rider.part), rider, carries: false })),
        ];
      }
      default:
        return [];
    }
  }

  getTreeItem(node: TrailNode): TreeItem {
    const item = itemOf(node, this.source);
    item.id = node.path;
    return item;
  }
}

const groupWords: Readonly<Record<Group['group'], { label: () => string; icon: string; open: boolean }>> = {
  tray: { label: () => l10n.t('On the tray'), icon: 'inbox', open: true },
  disconnected: { label: () => l10n.t('Disconnected'), icon: 'debug-disconnect', open: true },
  new: { label: () => l10n.t('New, on the bench'), icon: 'package', open: true },
  loose: { label: () => l10n.t('On, loose'), icon: 'unlock', open: true },
  'hand-tight': { label: () => l10n.t('On, hand-tight'), icon: 'circle-large-outline', open: true },
  scrapped: { label: () => l10n.t('Scrapped'), icon: 'trash', open: false },
  moved: { label: () => l10n.t('Carried by another part'), icon: 'arrow-swap', open: false },
  omitted: { label: () => l10n.t('Left off on purpose'), icon: 'circle-slash', open: false },
  back: { label: () => l10n.t('Back on'), icon: 'check', open: false },
};

function itemOf(node: TrailNode, source: Uri | undefined): TreeItem {
  const { Collapsed, Expanded, None } = TreeItemCollapsibleState;
  switch (node.kind) {
    case 'view': {
      const item = new TreeItem(node.view.codes.join(', '), Expanded);
      item.description = l10n.t('{0} on the tray', node.view.onTray);
      item.iconPath = new ThemeIcon('tag');
      return item;
    }
    case 'group': {
      const { label, icon, open } = groupWords[node.group.group];
      const item = new TreeItem(label(), open ? Expanded : Collapsed);
      item.description = String(node.group.parts.reduce((sum, { pieces }) => sum + pieces, 0));
      item.iconPath = new ThemeIcon(icon);
      return item;
    }
    case 'part':
      return partItem(node.part, node.group, source);
    case 'lot': {
      const item = new TreeItem(`× ${node.lot.pieces}`, None);
      item.description = placeOf(node.lot) ?? l10n.t('no place given');
      item.command = goTo(node.lot, source);
      return item;
    }
    case 'rider': {
      const { title, part, pieces } = node.rider;
      const said = node.carries ? l10n.t('on {0}', title) : l10n.t('with {0}', title);
      const item = new TreeItem(pieces === 1 ? said : `${said} × ${pieces}`, None);
      item.description = part;
      return item;
    }
  }
}

function partItem(part: TrailPart, group: Group['group'], source: Uri | undefined): TreeItem {
  const { title, pieces, of, spoiled, unsure, lots, riders, carriers } = part;
  const count = of === 1 ? '' : pieces === of ? ` × ${pieces}` : ` × ${pieces} ${l10n.t('of {0}', of)}`;
  const inner = (lots.length < 2 ? 0 : lots.length) + riders.length + carriers.length;
  const item = new TreeItem(
    `${title}${count}`,
    inner === 0 ? TreeItemCollapsibleState.None : TreeItemCollapsibleState.Collapsed,
  );
  const said = [
    ...(lots.length === 1 ? [placeOf(lots[0]!)] : []),
    spoiled === 0 ? undefined : spoiled === pieces ? l10n.t('not to go back') : l10n.t('{0} not to go back', spoiled),
    unsure ? l10n.t('not certain') : undefined,
  ].filter((each) => each !== undefined);
  item.description = said.join(', ');
  item.iconPath = unsure ? new ThemeIcon('question') : spoiled > 0 ? new ThemeIcon('warning') : undefined;
  item.tooltip = new MarkdownString();
  item.tooltip.appendText([`${title}${count} (${part.part})`, groupWords[group].label(), ...said].join('\n'));
  // Several lots: each has its own statement; the latest is the part's.
  item.command = goTo(lots[0], source);
  item.contextValue = group;
  return item;
}

const placeOf = ({ place }: TrailLot): string | undefined =>
  place === undefined ? undefined : l10n.t('in {0}', place);

function goTo(lot: TrailLot | undefined, source: Uri | undefined): TreeItem['command'] {
  if (lot?.range === undefined || source === undefined) return undefined;
  return { command: reveal, title: l10n.t('Go to the statement'), arguments: [source, lot.range] };
}
