import { repairsFor } from '../checks/all.ts';
import type { Repair, Settings } from '../checks/check.ts';
import { faultCode, judge } from '../checks/run.ts';
import { bind } from '../model/model.ts';
import { type Fingerprint, fingerprintOf } from '../outputs/baseline.ts';
import { Places, type ReportedFinding, reported } from '../outputs/report.ts';
import { Cache, type CachePlace, Uses } from './cache.ts';
import type { Source, Unusable } from './files.ts';
import { type Mended, mendedSource } from './fix.ts';
import { Loader } from './load.ts';
import { namer } from './paths.ts';
import { readProcedure } from './procedure-file.ts';

/** What is wanted of every file of one run. Plain data, as all here: it goes from thread to thread. */
export interface Order {
  /** Codes of the checks that count; absent where all do. */
  readonly wanted?: ReadonlySet<string>;
  readonly withRepairs: boolean;
  readonly withPrints: boolean;
  readonly withText: boolean;
  /** The settings that files of the run go by. */
  readonly settings: readonly Settings[];
  /** Absent where every file is to be judged anew. */
  readonly cache?: CachePlace;
}

/** One file to be worked on. */
export interface Job {
  readonly do: 'judge' | 'mend';
  readonly path: string;
  /** Place in `Order.settings`. */
  readonly settings: number;
}

export interface Opinion {
  readonly findings: readonly ReportedFinding[];
  /** By which a baseline knows the findings, in their order; empty where nobody asks. */
  readonly prints: readonly Fingerprint[];
  /** Of the file; empty where nothing was found, or nobody asks. */
  readonly text: string;
  /** There is nothing in the file but blanks. */
  readonly blank: boolean;
}

/** A file may be mended apart from all others only where it uses none of them. */
export interface Entangled {
  readonly uses: true;
}

export type Outcome = Opinion | Mended | Entangled | Unusable;

/** Does the jobs of one run, all in one thread. */
export class Judge {
  private readonly order: Order;
  /** Of one thread: what several files use is read once. */
  private readonly loader = new Loader();

  private readonly cache: Cache | undefined;

  constructor(order: Order) {
    this.order = order;
    this.cache = order.cache && new Cache(order.cache);
  }

  do(job: Job): Outcome {
    const source = readProcedure(job.path);
    if ('reason' in source) return source;
    const settings = this.order.settings[job.settings]!;
    if (job.do === 'judge') return this.remembered(job.path, source, settings);
    // The word is asked for, not the meaning: it also stands in texts and comments, and then costs only time.
    if (/\buse\b/.test(source.text)) return { uses: true };
    return mendedSource(job.path, source, settings, this.order.wanted);
  }

  private remembered(name: string, source: Source, settings: Settings): Opinion {
    const known = this.cache?.find(name, source.text, settings);
    if (known !== undefined)
      return {
        ...known,
        text: this.order.withText && known.findings.length > 0 ? source.text : '',
        blank: isBlank(source),
      };
    const uses = new Uses();
    const opinion = this.judge(name, source, settings, uses);
    // A fault may lie in the moment, as where memory ran out.
    if (opinion.findings.every(({ code }) => code !== faultCode))
      this.cache?.keep(name, source.text, settings, opinion, uses);
    return opinion;
  }

  judge(name: string, source: Source, settings: Settings, uses = new Uses()): Opinion {
    const { wanted, withRepairs, withPrints, withText } = this.order;
    const { tree, resolve } = this.loader.open(name, source.text);
    const model = bind(tree, uses.around(resolve));
    const { ledger, findings } = judge(model, settings);
    const context = { model, ledger, settings };
    const told = findings.filter(({ code }) => wanted === undefined || wanted.has(code) || code === faultCode);
    const places = new Places(model, namer(name, name));
    return {
      findings: told.map((finding) => {
        const repairs: Repair[] = withRepairs ? repairsFor(finding, context) : [];
        return reported(finding, places, repairs);
      }),
      prints: withPrints ? told.map((finding) => fingerprintOf(model, finding)) : [],
      text: withText && told.length > 0 ? source.text : '',
      blank: isBlank(source),
    };
  }
}

const isBlank = ({ text }: Source): boolean => text.trim() === '';
