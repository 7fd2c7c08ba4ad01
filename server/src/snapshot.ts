import { TextDocument } from 'vscode-languageserver-textdocument';
import { URI, Utils } from 'vscode-uri';
import { type Change, reparse } from '../../grammar/incremental.ts';
import { parse } from '../../grammar/parser.ts';
import { offsetsOf, type Span, type SyntaxTree } from '../../grammar/syntax.ts';
import { keyOf } from './addresses.ts';
import { type Context, defaultSettings, type Settings } from './checks/check.ts';
import { type Judged, judge } from './checks/run.ts';
import { type Ledger, replay } from './ledger/ledger.ts';
import { bind, type Model, type Resolve } from './model/model.ts';
import type { Position, Range } from './outputs/report.ts';

/** What is kept of a closed file from one run to the next. Plain data. */
export interface Kept {
  /** The settings that it went by, as JSON. */
  readonly settings: string;
  /** The file and all that it uses, by key: digest of the text, and the paths that its `use` lines name. */
  readonly files: Readonly<Record<string, { readonly digest: string; readonly uses: readonly string[] }>>;
  /** What was reckoned from them, by what asked for it. */
  readonly notes: Readonly<Record<string, unknown>>;
}

/** Keeps what closed files came to. Total: what cannot be kept or found is reckoned anew. */
export interface Keeper {
  digestOf(text: string): string;
  find(key: string): Kept | undefined;
  keep(key: string, kept: Kept): void;
  /** Lets go of all files but these. */
  retain(keys: readonly string[]): void;
}

/** A change as the protocol sends it: the whole text where `range` is absent. */
export interface TextChange {
  readonly range?: Range;
  readonly text: string;
}

/** Edits that are gone through one by one; behind more, the whole text is read anew. */
const mostEdits = 64;

/** One version of one file. Immutable. */
export class SourceFile {
  /** As the client spells it. */
  readonly uri: string;
  /** The same in one spelling for all. */
  readonly key: string;
  /** Absent where the file is not open. */
  readonly version: number | undefined;
  readonly text: string;
  /** With a table of its lines once a place has been asked for. */
  private lines: TextDocument | undefined;
  /** Some other file uses it. */
  isShared = false;
  private parsed: SyntaxTree | undefined;
  private dropped: WeakRef<SyntaxTree> | undefined;
  /** An older tree and what has been done to its text since. */
  private earlier: { readonly tree: SyntaxTree; readonly changes: readonly Change[] } | undefined;

  constructor(uri: string, version: number | undefined, text: string) {
    this.uri = uri;
    this.key = keyOf(uri);
    this.version = version;
    this.text = text;
  }

  /** As people know it, without its folder. */
  get name(): string {
    return Utils.basename(URI.parse(this.key));
  }

  get document(): TextDocument {
    this.lines ??= TextDocument.create(this.uri, 'fettle', this.version ?? 0, this.text);
    return this.lines;
  }

  get tree(): SyntaxTree {
    this.parsed ??= this.dropped?.deref();
    this.parsed ??=
      this.earlier === undefined ? parse(this.key, this.text) : this.earlier.changes.reduce(reparse, this.earlier.tree);
    this.earlier = undefined;
    return this.parsed;
  }

  /** Lets tree and table of lines go; they are made again when asked for. */
  forget(): void {
    // What users of a shared file have found in its tree is found by identity: one that somebody works with stays the one.
    // A weak reference keeps what it leads to over every small garbage collection, so there is none without need.
    if (this.parsed !== undefined && this.isShared) this.dropped = new WeakRef(this.parsed);
    this.parsed = undefined;
    this.lines = undefined;
  }

  /** Places outside the text are drawn to its nearest place. */
  changed(version: number, changes: readonly TextChange[]): SourceFile {
    let { document } = this;
    let earlier = this.parsed === undefined ? this.earlier : { tree: this.parsed, changes: [] };
    for (const { range, text } of changes) {
      const before = document.getText();
      if (range === undefined) {
        document = TextDocument.create(this.uri, 'fettle', version, text);
        earlier = undefined;
        continue;
      }
      const from = document.offsetAt(range.start);
      const to = document.offsetAt(range.end);
      const change = { start: Math.min(from, to), end: Math.max(from, to), text };
      document = TextDocument.create(
        this.uri,
        'fettle',
        version,
        before.slice(0, change.start) + text + before.slice(change.end),
      );
      if (earlier !== undefined) earlier = { tree: earlier.tree, changes: [...earlier.changes, change] };
    }
    const file = new SourceFile(this.uri, version, document.getText());
    if (earlier !== undefined && earlier.changes.length <= mostEdits) file.earlier = earlier;
    return file;
  }
}

/** A file with all that it `use`s, as they were at one moment. Immutable; what is costly is reckoned once, when asked for. */
export class Snapshot {
  /** Counts up with every snapshot made. */
  readonly id: number;
  readonly file: SourceFile;
  /** This file and every file reached through `use`, by key. */
  readonly files: ReadonlyMap<string, SourceFile>;
  readonly settings: Settings;
  readonly resolve: Resolve;
  private bound: Model | undefined;
  private replayed: Ledger | undefined;
  private reckoned: Judged | undefined;
  /** Judged before the last edits: what they left alone is taken from it. */
  private earlier: Ledger | undefined;
  private readonly notes: Map<string, unknown>;
  /** Has the notes as they are. */
  private noted: Keeper | undefined;

  constructor(
    id: number,
    file: SourceFile,
    files: ReadonlyMap<string, SourceFile>,
    resolve: Resolve,
    settings: Settings = defaultSettings,
    earlier?: Ledger,
    notes: Kept['notes'] = {},
    noted?: Keeper,
  ) {
    this.notes = new Map(Object.entries(notes));
    this.noted = noted;
    this.earlier = earlier;
    this.id = id;
    this.file = file;
    this.files = files;
    this.resolve = resolve;
    this.settings = settings;
  }

  get tree(): SyntaxTree {
    return this.file.tree;
  }
  get text(): string {
    return this.file.text;
  }
  get model(): Model {
    this.bound ??= bind(this.tree, this.resolve, this.earlier?.model);
    return this.bound;
  }
  /** Enough for what asks where a part is; the checks cost more. */
  get ledger(): Ledger {
    this.replayed ??= replay(this.model, this.earlier);
    return this.replayed;
  }
  get judged(): Judged {
    this.reckoned ??= judge(this.model, this.settings, this.ledger, this.earlier);
    this.earlier = undefined;
    return this.reckoned;
  }
  /**
   * `reckon`, done once under this name and kept when all else of a closed file is let go: its outcome must be plain data
   * that follows from files and settings alone. What does not hold for good, as `lasts` says, is not kept.
   */
  note<T>(name: string, reckon: () => T, lasts: (value: T) => boolean = () => true): T {
    if (this.notes.has(name)) return this.notes.get(name) as T;
    const value = reckon();
    if (lasts(value)) {
      this.notes.set(name, value);
      this.noted = undefined;
    }
    return value;
  }
  /** All notes, where there are any that `keeper` has not been given. */
  notesFor(keeper: Keeper): Kept['notes'] | undefined {
    if (this.noted === keeper || this.notes.size === 0) return undefined;
    this.noted = keeper;
    return Object.fromEntries(this.notes);
  }
  /** Lets all go that can be reckoned again, but for the notes. */
  forget(): void {
    this.bound = undefined;
    this.replayed = undefined;
    this.reckoned = undefined;
    this.earlier = undefined;
    this.file.forget();
  }
  /** The newest ledger, of this text or an older one, that has been judged. */
  get lastJudged(): Ledger | undefined {
    return this.reckoned?.ledger ?? this.earlier;
  }
  /** What repairs and checks ask for. */
  get context(): Context {
    return { model: this.model, ledger: this.ledger, settings: this.settings };
  }

  offsetAt(position: Position): number {
    return this.file.document.offsetAt(position);
  }
  rangeAt(start: number, end: number): Range {
    const { document } = this.file;
    return { start: document.positionAt(start), end: document.positionAt(end) };
  }
  /** Range of a span that stands in this file. */
  rangeOf(span: Span): Range {
    const { start, end } = offsetsOf(this.tree, span);
    return this.rangeAt(start, end);
  }
  fileOf(span: Span): SourceFile {
    return this.files.get(span.chunk.uri) ?? this.file;
  }
  /** Place of a span of this file or of a used one. */
  locationOf(span: Span): { uri: string; range: Range } {
    const file = this.fileOf(span);
    const { start, end } = offsetsOf(file.tree, span);
    return {
      uri: file.uri,
      range: { start: file.document.positionAt(start), end: file.document.positionAt(end) },
    };
  }
  /** Line of a span, counted from 1. */
  lineOf(span: Span): number {
    return this.locationOf(span).range.start.line + 1;
  }
  isOwn(span: Span): boolean {
    return span.chunk.uri === this.tree.uri;
  }
}
