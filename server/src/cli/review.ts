import type { Baseline, Fingerprint, KnownFinding } from '../outputs/baseline.ts';
import { counted, visible } from '../outputs/wording.ts';
import { type Arguments, UsageError } from './command.ts';
import type { BaselineFile } from './known.ts';
import { complain } from './streams.ts';

/** What a baseline takes out of the findings, and what is said of it and of repairs at the end. */
export class Review {
  private readonly known: { file: BaselineFile; baseline: Baseline } | undefined;
  private readonly written: BaselineFile | undefined;
  private readonly before: Baseline;
  private readonly found = new Map<string, readonly KnownFinding[]>();
  /** Findings that are not told, as they are known or to be known from now on. */
  withheld = 0;
  private taken = 0;
  private gone = 0;
  private mendings = 0;
  private mendedFiles = 0;

  /** @throws {UsageError} */
  static async of(args: Arguments): Promise<Review> {
    const [from, to] = [args.one('baseline'), args.one('write-baseline')];
    if (from !== undefined && to !== undefined)
      throw new UsageError('--baseline reads and --write-baseline writes: give one of them');
    if (args.has('fix') && args.operands.includes('-'))
      throw new UsageError('--fix changes files, and `-` is none: name files');
    if (args.has('changed-since') && args.operands.includes('-'))
      throw new UsageError('--changed-since asks git about files, and `-` is none: name files');
    const path = from ?? to;
    if (path === undefined) return new Review();
    // It brings the lexer with it: only where there is a baseline.
    const file = new (await import('./known.ts')).BaselineFile(path);
    return from === undefined ? new Review(undefined, file) : new Review({ file, baseline: file.read() });
  }

  private constructor(known?: { file: BaselineFile; baseline: Baseline }, written?: BaselineFile) {
    this.known = known;
    this.written = written;
    this.before = this.written?.before() ?? new Map();
  }

  fixed(findings: number): void {
    this.mendings += findings;
    if (findings > 0) this.mendedFiles++;
  }

  /** True where findings have to come with their fingerprints. */
  get wantsPrints(): boolean {
    return this.known !== undefined || this.written !== undefined;
  }

  /** Those of a file's findings that are to be told; `prints` are theirs, in their order. */
  leaves<Found>(name: string, findings: readonly Found[], prints: readonly Fingerprint[]): readonly Found[] {
    if (this.written !== undefined) {
      this.withheld += findings.length;
      this.found.set(this.written.keyOf(name), this.written.counted(prints));
      return [];
    }
    if (this.known === undefined) return findings;
    const { file, baseline } = this.known;
    const known = file.findingsOf(name, baseline);
    const told = findings.filter((_, i) => !known.take(prints[i]!));
    this.taken += findings.length - told.length;
    this.withheld = this.taken;
    this.gone += known.gone;
    return told;
  }

  /** False where the baseline could not be written. */
  close(quiet: boolean): boolean {
    const notes: string[] = [];
    if (this.mendings > 0)
      notes.push(`${counted(this.mendings, 'finding')} mended in ${counted(this.mendedFiles, 'file')}`);
    if (this.taken > 0) notes.push(`${counted(this.taken, 'known finding')} left out`);
    if (this.gone > 0) notes.push(`${counted(this.gone, 'known finding')} gone: write the baseline anew`);
    if (this.written !== undefined) {
      const refusal = this.written.write(new Map([...this.before, ...this.found]));
      if (refusal !== undefined) {
        complain(`${visible(this.written.path)}: ${refusal.reason}`);
        return false;
      }
      const count = [...this.found.values()].flat().reduce((sum, each) => sum + each.count, 0);
      notes.push(`${counted(count, 'finding')} written to ${visible(this.written.path)} as known`);
    }
    if (!quiet) for (const note of notes) complain(note);
    return true;
  }
}
