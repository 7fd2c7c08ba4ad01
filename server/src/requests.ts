/**
 * Requests beyond the protocol, for the views of an editor. Each is about the file in `textDocument`; lines and characters
 * count from 0, and an answer is null where there is no such file.
 */
import type { Position, Range } from './outputs/report.ts';
import type { TrailGroup } from './outputs/trail.ts';

export const requests = {
  /** {@link TrailParams} → {@link PartsTrail} */
  trail: 'fettle/trail',
  /** {@link CardParams} → {@link Page} */
  card: 'fettle/card',
  /** {@link CardParams} → {@link CardFile} */
  cardFile: 'fettle/cardFile',
  /** {@link KitParams} → {@link KitFile} */
  kitFile: 'fettle/kitFile',
  /** {@link FileParams} → {@link Page} */
  diagram: 'fettle/diagram',
  /** {@link FileParams} → {@link Page} */
  plan: 'fettle/plan',
  /** {@link FileParams} → {@link DraftAnswer} */
  draft: 'fettle/draft',
  /** {@link CompareParams} → {@link ComparedText} */
  compare: 'fettle/compare',
} as const;

/** Asked of a client that says `files: true` in its initialization options, for places that the server cannot reach. */
export const askedOfClient = {
  /** `{ uri }` → `{ text }` or `{ reason }` */
  readFile: 'fettle/readFile',
  /** `{ folder }` → URIs */
  listFiles: 'fettle/listFiles',
} as const;

/**
 * Told to a client that says `changes: true` in its initialization options: what any of these was answered with may be other now, by
 * a change in a used file, on disk or in the settings.
 */
export const changed = 'fettle/changed';

export interface FileParams {
  readonly textDocument: { readonly uri: string };
}

export interface TrailParams extends FileParams {
  readonly position: Position;
}

/** Where the pieces are behind the statement that the position stands on or behind. */
export interface PartsTrail {
  /** Of the statement, or absent where the position stands before all of them. */
  readonly line?: number;
  /** One where all codes agree. */
  readonly views: readonly TrailView[];
}
export interface TrailView {
  /** Empty where the procedure names none. */
  readonly codes: readonly string[];
  readonly onTray: number;
  readonly groups: readonly { readonly group: TrailGroup; readonly parts: readonly TrailPart[] }[];
}
export interface TrailPart {
  readonly part: string;
  readonly title: string;
  readonly pieces: number;
  readonly of: number;
  readonly spoiled: number;
  readonly unsure: boolean;
  /** The latest first, and at least one. */
  readonly lots: readonly TrailLot[];
  readonly riders: readonly TrailRider[];
  readonly carriers: readonly TrailRider[];
}
export interface TrailLot {
  readonly pieces: number;
  readonly place?: string;
  /** The statement that brought them there. */
  readonly range?: Range;
}
export interface TrailRider {
  readonly part: string;
  readonly title: string;
  readonly pieces: number;
}

/** `old` is the whole text of the earlier version; what it `use`s is taken as it is now. */
export interface CompareParams extends FileParams {
  readonly old: string;
}
export interface ComparedText {
  readonly text: string;
  /** A safety message or a torque changed. */
  readonly review: boolean;
}

export interface CardParams extends FileParams {
  readonly code?: string;
  readonly paper?: 'a4' | 'letter';
}

/** What a view shows. Nothing in `body` runs, asks for anything or carries a style of its own. */
export interface Page {
  readonly title: string;
  /** A style sheet. */
  readonly style: string;
  /** Markup. An element marked `data-line` stands for that line of the source. */
  readonly body: string;
  /** That the unit goes by. */
  readonly codes: readonly string[];
}

/** The card as a page of its own. */
export interface CardFile {
  readonly html: string;
  /** Errors that the procedure has; the card then says not to use it. */
  readonly errors: number;
}

export interface KitParams extends FileParams {
  /** List what this code needs; without, or where the procedure has no such code, every code. */
  readonly code?: string;
  /** The day on which the work begins, `YYYY-MM-DD`, that order dates count from; without, or where it is no such day, there are none. */
  readonly start?: string;
}

/** The kit as a file for spreadsheets. */
export interface KitFile {
  /** Comma-separated values (RFC 4180), with the byte order mark by which spreadsheets tell UTF-8. */
  readonly csv: string;
  /** Things listed; nothing is worth saving where there are none. */
  readonly things: number;
  /** Errors that the procedure has; the list may lack something then. */
  readonly errors: number;
  /** What the list is for; absent where it is for all. */
  readonly code?: string;
  /** Some of it has a lead time, so that its table has order dates where the day of the start is known. */
  readonly leads: boolean;
  /** The day that its order dates count from; absent where none was asked for, or no day of the calendar. */
  readonly start?: string;
}

export interface DraftAnswer {
  /** Of the text that the edits count in; absent where the file is not open. */
  readonly version?: number;
  /** Insertions; empty where there is nothing to add. */
  readonly edits: readonly { readonly range: Range; readonly newText: string }[];
  /** What the author has to look at, a sentence each. */
  readonly notes: readonly string[];
}
