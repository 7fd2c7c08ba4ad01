import { existsSync } from 'node:fs';
import { dirname, relative, resolve, sep } from 'node:path';
import {
  type Baseline,
  type Fingerprint,
  type KnownFinding,
  KnownFindings,
  knownOf,
  readBaseline,
  writeBaseline,
} from '../outputs/baseline.ts';
import { visible } from '../outputs/wording.ts';
import { UsageError } from './command.ts';
import { readSource, type Unusable } from './files.ts';
import { writeOutput } from './output.ts';

/** A baseline file, new or there already. */
export class BaselineFile {
  readonly path: string;

  constructor(path: string) {
    this.path = path;
  }

  /** By which the baseline knows the file `name`: from its own folder, so that both can move together. */
  keyOf(name: string): string {
    return relative(dirname(resolve(this.path)), resolve(name))
      .split(sep)
      .join('/');
  }

  /** The findings of one file, as the baseline keeps them. */
  counted(prints: readonly Fingerprint[]): KnownFinding[] {
    return knownOf(prints);
  }

  /** Those that `baseline` knows of the file `name`. */
  findingsOf(name: string, baseline: Baseline): KnownFindings {
    return new KnownFindings(baseline.get(this.keyOf(name)) ?? []);
  }

  /** @throws {UsageError} where it cannot be used. */
  read(): Baseline {
    const source = readSource(this.path);
    const baseline = 'reason' in source ? source : readBaseline(source.text);
    if ('reason' in baseline) throw new UsageError(`${visible(this.path)}: ${baseline.reason}`);
    return baseline as Baseline;
  }

  /**
   * What the file knows of others than are checked now, and that are still there: it is kept. A file that is no baseline
   * is not overwritten; one with a merge conflict in it is. @throws {UsageError}
   */
  before(): Baseline {
    if (!existsSync(this.path)) return new Map();
    const source = readSource(this.path);
    const baseline = 'reason' in source ? source : readBaseline(source.text);
    if ('text' in source && 'reason' in baseline && source.text.includes('"fettle-baseline"')) return new Map();
    if ('reason' in baseline)
      throw new UsageError(`${visible(this.path)} is there and no baseline of Fettle: name another file`);
    return new Map([...(baseline as Baseline)].filter(([file]) => existsSync(resolve(dirname(this.path), file))));
  }

  write(known: Baseline): Unusable | undefined {
    return writeOutput(this.path, writeBaseline(known));
  }
}
