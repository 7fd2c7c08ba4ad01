import type { Declaration } from '../../../grammar/syntax.ts';
import { type DeclarationWord, declarationWords } from '../../../grammar/tokens.ts';
import type { Model } from '../model/model.ts';
import { kindsNamed } from './compare-findings.ts';
import { declarationsOf, factsOfDeclaration, type Renamed } from './facts.ts';

/** Names of the new version stay as they are. */
export const asNow: Renamed = (_, name) => name;

/** What of the old version has another name in the new one. */
export class Renames {
  private readonly old: Model;
  private readonly now: Model;
  private readonly renames = new Map<string, string>();

  constructor(old: Model, now: Model) {
    this.old = old;
    this.now = now;
    for (const kind of declarationWords) this.find(kind);
  }

  /** What `name` is called now. Where no `kind` is given and it names things of several, or did, it stays: the same holds the other way round. */
  readonly nameNow = (name: string, kind?: DeclarationWord): string => {
    const [of, ...others] = kind === undefined ? kindsNamed(this.old, name) : [kind];
    const now = of === undefined || others.length > 0 ? undefined : this.renames.get(`${of} ${name}`);
    return now === undefined || (kind === undefined && kindsNamed(this.now, now).length > 1) ? name : now;
  };

  readonly renamed: Renamed = (kind, name) => this.renames.get(`${kind} ${name}`) ?? name;

  stepIsNow(old: string | undefined, now: string | undefined): void {
    this.renames.set(`step ${old}`, now ?? '');
  }

  /** A declaration under a new name is known by its title, or by all that it says, where nothing else is like it. */
  private find(kind: DeclarationWord): void {
    const before = declarationsOf(this.old, kind);
    const after = declarationsOf(this.now, kind);
    const gone = [...before].filter(([name]) => !after.has(name));
    const added = [...after].filter(([name]) => !before.has(name));
    const match = (signature: (each: Declaration) => string | undefined): void => {
      const one = (entries: [string, Declaration][]): Map<string, string | undefined> => {
        const by = new Map<string, string | undefined>();
        for (const [name, each] of entries) {
          const key = signature(each);
          if (key !== undefined) by.set(key, by.has(key) ? undefined : name);
        }
        return by;
      };
      const olds = one(gone.filter(([name]) => !this.renames.has(`${kind} ${name}`)));
      const taken = new Set([...before.keys()].map((name) => this.renames.get(`${kind} ${name}`)));
      for (const [key, to] of one(added)) {
        const from = olds.get(key);
        if (from !== undefined && to !== undefined && !taken.has(to)) this.renames.set(`${kind} ${from}`, to);
      }
    };
    match(({ title }) => title?.value);
    match((each) => {
      const facts = [...factsOfDeclaration(each, asNow)].filter(([label]) => label !== 'title');
      return facts.length < 2 && kind !== 'pattern' ? undefined : JSON.stringify(facts.map(([l, f]) => [l, f.same]));
    });
  }
}
