import { TextDocument } from 'vscode-languageserver-textdocument';
import type { Span } from '../../../grammar/syntax.ts';
import { offsetsOf, type SyntaxTree } from '../../../grammar/syntax.ts';
import type { Edit, Finding, Repair, Severity } from '../checks/check.ts';
import type { Model } from '../model/model.ts';

/** Counted from 0; `character` in UTF-16 units, as the Language Server Protocol 3.17 has it. */
export interface Position {
  readonly line: number;
  readonly character: number;
}

export interface Range {
  readonly start: Position;
  readonly end: Position;
}

export interface ReportedPlace {
  readonly file: string;
  readonly range: Range;
  readonly message: string;
}

export interface ReportedRepair {
  readonly title: string;
  readonly edits: readonly { readonly file: string; readonly range: Range; readonly text: string }[];
}

export interface ReportedFinding {
  readonly code: string;
  readonly severity: Severity;
  readonly range: Range;
  readonly message: string;
  readonly related: readonly ReportedPlace[];
  readonly repairs: readonly ReportedRepair[];
}

/** What is said of one file, free of trees, so that many can be kept. */
export interface FileReport {
  readonly file: string;
  readonly findings: readonly ReportedFinding[];
}

export type Summary = Readonly<Record<Severity, number>>;

export const severities: readonly Severity[] = ['error', 'warning', 'information', 'hint'];

export function summaryOf(findings: Iterable<{ readonly severity: Severity }>): Summary {
  const summary = { error: 0, warning: 0, information: 0, hint: 0 };
  for (const { severity } of findings) summary[severity]++;
  return summary;
}

/** One way of writing reports: `opening`, then every file as it is judged, then `closing`. */
export interface Writer {
  readonly opening: string;
  /** `text` is the file's whole text. */
  file(report: FileReport, text: string): string;
  /** A file that could not be judged, and why. */
  unusable(file: string, reason: string): string;
  /** `known`: findings that a baseline knows, and that were not told. */
  closing(summary: Summary, known?: number): string;
}

/** Turns spans into positions, for every file that a model is made of. */
export class Places {
  private readonly files = new Map<string, { tree: SyntaxTree; document: TextDocument }>();
  private readonly model: Model;
  private readonly nameOf: (uri: string) => string;

  /** @param nameOf The name by which people know the file with this URI. */
  constructor(model: Model, nameOf: (uri: string) => string) {
    this.model = model;
    this.nameOf = nameOf;
  }

  ofSpan(span: Span): { file: string; range: Range } {
    const { start, end } = offsetsOf(this.fileAt(span.chunk.uri).tree, span);
    return this.ofOffsets(span.chunk.uri, start, end);
  }

  ofOffsets(uri: string, start: number, end: number): { file: string; range: Range } {
    const { document } = this.fileAt(uri);
    return { file: this.nameOf(uri), range: { start: document.positionAt(start), end: document.positionAt(end) } };
  }

  private fileAt(uri: string): { tree: SyntaxTree; document: TextDocument } {
    let known = this.files.get(uri);
    if (known === undefined) {
      const tree = this.model.files.find((file) => file.uri === uri) ?? this.model.tree;
      known = { tree, document: TextDocument.create(uri, 'fettle', 0, tree.text) };
      this.files.set(uri, known);
    }
    return known;
  }
}

export function reported(finding: Finding, places: Places, repairs: readonly Repair[] = []): ReportedFinding {
  const placed = ({ uri, start, end, text }: Edit) => ({ ...places.ofOffsets(uri, start, end), text });
  return {
    code: finding.code,
    severity: finding.severity,
    range: places.ofSpan(finding.span).range,
    message: finding.message,
    related: finding.related.map(({ span, message }) => ({ ...places.ofSpan(span), message })),
    repairs: repairs.map(({ title, edits }) => ({ title, edits: edits.map(placed) })),
  };
}
