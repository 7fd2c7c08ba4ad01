import { URI } from 'vscode-uri';
import type { SyntaxTree } from '../../grammar/syntax.ts';
import { baseOf, folderOf, isVersion, isWithin, keyOf, targetOf } from './addresses.ts';
import { defaultSettings, type Settings } from './checks/check.ts';
import type { Ledger } from './ledger/ledger.ts';
import type { Resolve } from './model/model.ts';
import { projectFile, projectPlaces } from './project/lookup.ts';
import { type Project, readProject } from './project/settings.ts';
import { type Keeper, type Kept, Snapshot, SourceFile, type TextChange } from './snapshot.ts';

/** Where closed files come from. Injected, so that the same code runs in Node and in a browser. */
export interface Files {
  /**
   * The text of the regular UTF-8 file at `uri`, which must really lie in one of the folders `roots`.
   * Rejects with an `Error` whose message says why it cannot be had.
   */
  read(uri: string, roots: readonly string[]): Promise<string>;
  /** The `*.fettle` files in and below `folder`. */
  list(folder: string): Promise<Listing>;
}
export interface Listing {
  readonly uris: readonly string[];
  /** False where there may be more, as some folder could not be looked into. */
  readonly isWhole: boolean;
}

/** For transports that can reach no files. */
export const noDisk: Files = {
  read: () => Promise.reject(new Error('this editor gives access to open files only')),
  list: () => Promise.resolve({ uris: [], isWhole: false }),
};

/** The paths that `use` lines name, in the order of the text. */
const usesIn = ({ chunks }: SyntaxTree): readonly string[] =>
  chunks.flatMap(({ item }) => (item?.kind === 'use' && item.path !== undefined ? [item.path.value] : []));

/** Milliseconds of one piece of long work. */
const slice = 8;
/** Files that are read while another is judged. */
const readAhead = 16;
/** Milliseconds that a list with gaps holds: what tells of files that come need not see a folder that comes back. */
const patience = 5_000;

/**
 * Lets all that waits have its turn. A timer would idle: for a millisecond each time in Node, for four in a browser, half as
 * long as the work between.
 */
const turn: () => Promise<void> =
  typeof setImmediate === 'function'
    ? () => new Promise((resolve) => setImmediate(resolve))
    : () =>
        new Promise((resolve) => {
          const { port1, port2 } = new MessageChannel();
          // Of the types, Node's alone are at hand here, and they lack what every browser has.
          Object.assign(port1, {
            onmessage: () => {
              port1.close();
              resolve();
            },
          });
          port2.postMessage(undefined);
        });

type Missing = { readonly missing: true; readonly reason: string };

const contentOf = (found: SourceFile | Missing): string =>
  found instanceof SourceFile ? `text ${found.text}` : `reason ${found.reason}`;

const isProjectFile = (key: string): boolean => key.endsWith(`/${projectFile}`);

/** Open and closed files, and the snapshots made of them. */
export class Workspace {
  private readonly disk: Files;
  private folders: readonly string[];
  private readonly open = new Map<string, SourceFile>();
  private readonly closed = new Map<string, SourceFile | Missing>();
  private readonly loading = new Map<string, Promise<void>>();
  private readonly snapshots = new Map<string, Snapshot>();
  /** Asked for by name: whoever did may still work with their trees. */
  private readonly lent = new WeakSet<Snapshot>();
  /** Of open files that have changed since: what was judged last. */
  private readonly judged = new Map<string, Ledger>();
  /** What each file asked for when its last snapshot was made; outlives the snapshot. */
  private readonly reads = new Map<string, ReadonlySet<string>>();
  private count = 0;
  /** What the folders hold; forgotten when a file comes or goes, and at `listedUntil`. */
  private listed: Promise<Listing> | undefined;
  /** By the clock of `performance`. */
  private listedUntil = Number.POSITIVE_INFINITY;
  /** By which the keeper has let go of what is gone. */
  private retained: Promise<Listing> | undefined;
  /** What the user has set in the editor; the project file goes first. */
  preferences: Pick<Settings, 'off' | 'severities' | 'longText'> = defaultSettings;
  private readonly projects = new WeakMap<SourceFile, Project>();
  private readonly digests = new WeakMap<SourceFile, string>();
  /** Absent where nothing is kept from one run to the next. */
  keeper: Keeper | undefined;
  /** Called with each open file whose findings may be others now, and the key of the file that changed. */
  onAffected: (file: SourceFile, cause: string) => void = () => {};
  /** Called where a file, open or not, may come to something else though nobody edits it. */
  onAffectedElsewhere: () => void = () => {};

  constructor(disk: Files = noDisk, folders: readonly string[] = []) {
    this.disk = disk;
    this.folders = folders.map(keyOf);
  }

  get folderUris(): readonly string[] {
    return this.folders;
  }

  setFolders(folders: readonly string[]): void {
    this.folders = folders.map(keyOf);
    this.listed = undefined;
    this.forgetAll();
  }

  /** Every snapshot is made anew, as after a change of settings. */
  forgetAll(): void {
    this.snapshots.clear();
    for (const [key, file] of this.closed) if (!(file instanceof SourceFile)) this.closed.delete(key);
    for (const file of this.open.values()) this.onAffected(file, '');
    this.onAffectedElsewhere();
  }

  // --- documents ----------------------------------------------------------------------------------------------------

  didOpen(uri: string, version: number, text: string): void {
    const file = new SourceFile(uri, version, text);
    this.open.set(file.key, file);
    this.changed(file.key);
  }

  /** Nothing happens to a file that is not open, nor by a version older than the one known. */
  didChange(uri: string, version: number, changes: readonly TextChange[]): void {
    const key = keyOf(uri);
    const before = this.open.get(key);
    if (before === undefined || version < before.version!) return;
    this.open.set(key, before.changed(version, changes));
    this.changed(key);
  }

  didClose(uri: string): void {
    const key = keyOf(uri);
    if (!this.open.delete(key)) return;
    this.closed.delete(key);
    this.changed(key);
  }

  /** A closed file was made, changed or deleted on disk. */
  didChangeOnDisk(uri: string, deleted = false): void {
    const key = keyOf(uri);
    if (!(this.closed.get(key) instanceof SourceFile) || deleted) this.listed = undefined;
    this.closed.delete(key);
    if (!this.open.has(key)) this.changed(key);
  }

  /** Closed files are read anew when they are next asked for. */
  forgetClosed(): void {
    const keys = [...this.closed.keys()];
    this.closed.clear();
    this.listed = undefined;
    for (const key of keys) this.changed(key);
  }

  /**
   * Reads again what the client's watchers need not tell of: what could not be read (it may be allowed by now, or lie where
   * nobody watches), what lies outside the folders, and what has another ending. Where nothing has changed all stays as it is.
   */
  async lookAgain(): Promise<void> {
    const doubtful = [...this.closed].filter(
      ([key, found]) => !this.isWatched(key) || (!(found instanceof SourceFile) && !isProjectFile(key)),
    );
    await Promise.all(
      doubtful.map(async ([key, before]) => {
        const user = [...this.reads].find(([, keys]) => keys.has(key))?.[0] ?? key;
        const now = await this.read(key, this.rootsOf(user));
        if (this.closed.get(key) === before && contentOf(now) !== contentOf(before))
          this.didChangeOnDisk(key, !(now instanceof SourceFile));
      }),
    );
  }

  private isWatched(key: string): boolean {
    return (
      (key.endsWith('.fettle') || isProjectFile(key)) && this.folders.some((folder) => isWithin(URI.parse(key), folder))
    );
  }

  isOpen(uri: string): boolean {
    return this.open.has(keyOf(uri));
  }
  get openFiles(): readonly SourceFile[] {
    return [...this.open.values()];
  }
  openFile(uri: string): SourceFile | undefined {
    return this.open.get(keyOf(uri));
  }

  private changed(key: string): void {
    for (const [root, keys] of this.reads) {
      if (root !== key && keys.has(key)) this.affect(root, key);
    }
    this.affect(key, key);
  }

  private affect(key: string, cause: string): void {
    const ledger = this.snapshots.get(key)?.lastJudged;
    this.snapshots.delete(key);
    const file = this.open.get(key);
    if (file === undefined) this.judged.delete(key);
    else if (ledger !== undefined) this.judged.set(key, ledger);
    if (file !== undefined) this.onAffected(file, cause);
    if (file === undefined || key !== cause) this.onAffectedElsewhere();
  }

  // --- snapshots ----------------------------------------------------------------------------------------------------

  /** The state of the file as it is now, once all that it uses has been read; nothing where there is no such file. */
  async snapshot(uri: string): Promise<Snapshot | undefined> {
    const snapshot = await this.reach(keyOf(uri));
    if (snapshot !== undefined) this.lent.add(snapshot);
    return snapshot;
  }

  private async reach(key: string): Promise<Snapshot | undefined> {
    // Every round reads at least one file; a file that keeps changing on disk must not hold a request for ever.
    for (let round = 0; round < 1000; round++) {
      const file = this.at(key);
      if (file === undefined) {
        if (round > 0 || this.closed.has(key)) return undefined;
        await this.load(key, this.rootsOf(key));
        continue;
      }
      if (!(file instanceof SourceFile)) return undefined;
      const known = this.snapshots.get(key);
      if (known !== undefined) return known;
      const made = this.make(file);
      if (made instanceof Snapshot) return made;
      await Promise.all(made.map((unread) => this.load(unread, this.rootsOf(key))));
    }
    return undefined;
  }

  private at(key: string): SourceFile | Missing | undefined {
    return this.open.get(key) ?? this.closed.get(key);
  }

  /** Folders that a file opened at `key` may use files from. */
  private rootsOf(key: string): readonly string[] {
    return [...this.folders, folderOf(key)];
  }

  /** A snapshot, or the keys of files that have to be read first. */
  private make(file: SourceFile): Snapshot | readonly string[] {
    const kept = this.open.has(file.key) ? undefined : this.keeper?.find(file.key);
    return (kept && this.madeOf(file, kept)) ?? this.madeOf(file)!;
  }

  /** Of what was `kept` of the file, without reading a line; nothing where that is of other texts or settings. */
  private madeOf(file: SourceFile, kept?: Kept): Snapshot | readonly string[] | undefined {
    const roots = this.rootsOf(file.key);
    const files = new Map<string, SourceFile>([[file.key, file]]);
    const answers = new Map<string, SourceFile | Missing>();
    const asked = new Set<string>([file.key]);
    const unread = new Set<string>();
    const queue = [file];
    for (let next = queue.pop(); next !== undefined; next = queue.pop()) {
      const paths = kept === undefined ? usesIn(next.tree) : this.keptUses(next, kept);
      if (paths === undefined) return undefined;
      for (const path of paths) {
        const question = `${next.key}\n${path}`;
        const target = targetOf(path, baseOf(next.key, roots), roots);
        if ('refused' in target) {
          // Kept is what led somewhere.
          if (kept !== undefined) return undefined;
          answers.set(question, { missing: true, reason: target.refused });
          continue;
        }
        asked.add(target.key);
        const found = this.at(target.key);
        if (found === undefined) unread.add(target.key);
        else if (found instanceof SourceFile) {
          answers.set(question, found);
          if (!files.has(found.key)) {
            found.isShared = true;
            files.set(found.key, found);
            queue.push(found);
          }
        } else if (kept !== undefined) return undefined;
        else answers.set(question, found);
      }
    }
    const settings = this.settingsOf(file, roots, asked, unread);
    this.reads.set(file.key, asked);
    if (unread.size > 0) return [...unread];
    if (kept !== undefined && kept.settings !== JSON.stringify(settings)) return undefined;
    const resolve: Resolve = (path, from) => {
      const found = answers.get(`${from}\n${path}`) ?? { missing: true };
      return found instanceof SourceFile ? found.tree : found;
    };
    const earlier = this.judged.get(file.key);
    const keeper = kept === undefined ? undefined : this.keeper;
    const snapshot = new Snapshot(++this.count, file, files, resolve, settings, earlier, kept?.notes, keeper);
    this.judged.delete(file.key);
    this.snapshots.set(file.key, snapshot);
    return snapshot;
  }

  private keptUses(file: SourceFile, { files }: Kept): readonly string[] | undefined {
    const kept = Object.hasOwn(files, file.key) ? files[file.key] : undefined;
    return kept?.digest === this.digestOf(file) ? kept?.uses : undefined;
  }

  private digestOf(file: SourceFile): string | undefined {
    let digest = this.digests.get(file);
    if (digest === undefined && this.keeper !== undefined) {
      digest = this.keeper.digestOf(file.text);
      this.digests.set(file, digest);
    }
    return digest;
  }

  /** Of a closed file. What it uses and is not there may come any time, and leads to nothing that could be compared. */
  private keep({ file, files, settings, resolve }: Snapshot, notes: Kept['notes']): void {
    const kept: Record<string, Kept['files'][string]> = {};
    for (const each of files.values()) {
      const uses = usesIn(each.tree);
      if (uses.some((path) => 'missing' in resolve(path, each.key))) return;
      kept[each.key] = { digest: this.digestOf(each)!, uses };
    }
    this.keeper?.keep(file.key, { settings: JSON.stringify(settings), files: kept, notes });
  }

  /** Of the nearest project file that lies within `roots`; adds what it asks for, and what of it has to be read first. */
  private settingsOf(file: SourceFile, roots: readonly string[], asked: Set<string>, unread: Set<string>): Settings {
    const { off, severities, longText } = this.preferences;
    let project: Pick<Project, 'settings' | 'stated'> = { settings: defaultSettings, stated: new Set() };
    for (const place of projectPlaces(baseOf(file.key, roots))) {
      if (!roots.some((root) => isWithin(URI.parse(place), root))) break;
      asked.add(place);
      const found = this.at(place);
      if (found === undefined) unread.add(place);
      else if (found instanceof SourceFile) {
        project = this.projectIn(found);
        break;
      }
    }
    const { settings, stated } = project;
    return {
      ...settings,
      // A check that the project counts cannot be switched off by one user alone.
      off: [...new Set([...settings.off, ...off.filter((code) => !Object.hasOwn(settings.severities, code))])],
      severities: { ...severities, ...settings.severities },
      longText: stated.has('longText') ? settings.longText : longText,
    };
  }

  private projectIn(file: SourceFile): Project {
    let project = this.projects.get(file);
    if (project === undefined) {
      project = readProject(file.text);
      this.projects.set(file, project);
    }
    return project;
  }

  /** Project files that have been read, with what of them cannot be used. */
  *projectProblems(): Generator<{ readonly file: SourceFile; readonly problems: Project['problems'] }> {
    for (const file of this.closed.values()) {
      if (file instanceof SourceFile && this.projects.has(file))
        yield { file, problems: this.projectIn(file).problems };
    }
  }

  private load(key: string, roots: readonly string[]): Promise<void> {
    const running = this.loading.get(key);
    if (running !== undefined) return running;
    const reading = this.read(key, roots).then((found) => {
      this.loading.delete(key);
      this.closed.set(key, found);
    });
    this.loading.set(key, reading);
    return reading;
  }

  private read(key: string, roots: readonly string[]): Promise<SourceFile | Missing> {
    return this.disk.read(key, roots).then(
      (text) => new SourceFile(key, undefined, text),
      (error: unknown): Missing => ({
        missing: true,
        reason: error instanceof Error ? error.message : String(error),
      }),
    );
  }

  /** Keys of all files of the workspace folders, open ones first. */
  async allKeys(): Promise<readonly string[]> {
    const { uris } = await this.listing();
    return [...new Set([...this.open.keys(), ...uris])].filter((key) => !isVersion(key));
  }

  /** What all folders hold, by key. */
  private listing(): Promise<Listing> {
    if (this.listed !== undefined && performance.now() < this.listedUntil) return this.listed;
    const listed: Promise<Listing> = Promise.all(
      this.folders.map((folder) => this.disk.list(folder).catch((): Listing => ({ uris: [], isWhole: false }))),
    ).then((lists) => {
      const isWhole = lists.every((list) => list.isWhole);
      if (!isWhole && this.listed === listed) this.listedUntil = performance.now() + patience;
      return { uris: lists.flatMap(({ uris }) => uris.map(keyOf)), isWhole };
    });
    this.listed = listed;
    this.listedUntil = Number.POSITIVE_INFINITY;
    return listed;
  }

  /** Lets the keeper let go of files that are gone: once for each listing, as long as it holds. */
  private async retain(listing: Promise<Listing>): Promise<void> {
    if (this.keeper === undefined || listing !== this.listed || listing === this.retained) return;
    this.retained = listing;
    const { uris, isWhole } = await listing;
    // An empty one may be that of a disk that is away.
    // Perhaps it was taken away meanwhile.
    if (isWhole && uris.length > 0) this.keeper?.retain(uris);
  }

  /**
   * Snapshots of every file of the workspace folders, open ones first, one by one; the caller may stop between two.
   * Other work gets its turn every few milliseconds.
   */
  async *everySnapshot(): AsyncGenerator<Snapshot> {
    let since = performance.now();
    const listing = this.listing();
    const keys = await this.allKeys();
    for (const [i, key] of keys.entries()) {
      if (i % readAhead === 0) for (const next of keys.slice(i, i + 2 * readAhead)) this.readEarly(next);
      const snapshot = await this.reach(key);
      if (snapshot === undefined) continue;
      yield snapshot;
      if (!this.open.has(key)) {
        const notes = this.keeper && snapshot.notesFor(this.keeper);
        if (notes !== undefined) this.keep(snapshot, notes);
        // The caller has kept what it wants; a thousand trees would fill the memory.
        if (!this.lent.has(snapshot)) snapshot.forget();
      }
      if (performance.now() - since < slice) continue;
      await turn();
      since = performance.now();
    }
    await this.retain(listing);
  }

  /** Begins to read a closed file that nobody has asked for yet. */
  private readEarly(key: string): void {
    if (this.at(key) === undefined) void this.load(key, this.rootsOf(key));
  }
}
