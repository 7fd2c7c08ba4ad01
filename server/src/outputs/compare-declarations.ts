import { type Declaration, spanText } from '../../../grammar/syntax.ts';
import { type DeclarationWord, declarationWords } from '../../../grammar/tokens.ts';
import type { Model } from '../model/model.ts';
import { type Changes, code, said, type Version } from './compare-changes.ts';
import { asNow, type Renames } from './compare-names.ts';
import { declarationsOf, factsOfDeclaration, oneLine, type Renamed } from './facts.ts';

/** What differs above the first phase: the head and the declarations, and which parts get new pieces. */
export class DeclarationComparison {
  private readonly changes: Changes;
  private readonly names: Renames;

  constructor(changes: Changes, names: Renames) {
    this.changes = changes;
    this.names = names;
  }

  tell(): void {
    this.head();
    for (const kind of declarationWords) this.declarations(kind);
    this.renewals();
  }

  private head(): void {
    const rows = (model: Model): [string, string | undefined][] => [
      ['name', model.head?.name?.text],
      ['title', model.head?.title?.value],
      ['codes', model.codes.length === 0 ? undefined : [...model.codes].sort().join(', ')],
      ['code plate', model.head?.codePlate?.value],
      ['measures', model.measures],
    ];
    const before = new Map(rows(this.changes.old.model));
    for (const [label, after] of rows(this.changes.now.model)) {
      const was = before.get(label);
      if (was === after) continue;
      const [from, to] = label === 'codes' ? [was, after] : [was, after].map((each) => each && `"${each}"`);
      this.changes.add({
        kind: 'procedure',
        subject: label,
        before: was,
        after,
        text: `the procedure: ${said(label, from, to)}`,
        review: false,
        place: this.changes.now.model.head && this.changes.placeOf('new', this.changes.now.model.head),
      });
    }
  }

  private declarations(kind: DeclarationWord): void {
    const before = declarationsOf(this.changes.old.model, kind);
    const after = declarationsOf(this.changes.now.model, kind);
    const kept = new Set<string>();
    for (const [oldName, was] of before) {
      const name = this.names.renamed(kind, oldName);
      const is = after.get(name);
      if (is === undefined) {
        this.declaration(kind, oldName, was, 'gone');
        continue;
      }
      kept.add(name);
      if (name !== oldName)
        this.changes.add({
          kind,
          subject: name,
          before: oldName,
          after: name,
          text: `${kind} ${code(oldName)} is now called ${code(name)}`,
          review: false,
          place: this.changes.placeOf('new', is),
        });
      this.changes.facts(factsOfDeclaration(was, this.names.renamed), factsOfDeclaration(is, asNow), {
        subject: name,
        step: undefined,
        about: code(name),
        place: this.changes.placeOf('new', is),
      });
    }
    for (const [name, is] of after) if (!kept.has(name)) this.declaration(kind, name, is, 'new');
  }

  private declaration(kind: DeclarationWord, name: string, each: Declaration, what: 'new' | 'gone'): void {
    const text = oneLine(spanText(each));
    this.changes.add({
      kind,
      subject: name,
      ...(what === 'new' ? { after: text } : { before: text }),
      text: `${kind} ${code(name)} ${what === 'new' ? `is new: ${text}` : `is gone: ${text}`}`,
      review: each.torque !== undefined || each.hazards.length > 0,
      place: this.changes.placeOf(what === 'new' ? 'new' : 'old', each),
    });
  }

  /** Parts that get new pieces in one version only. */
  private renewals(): void {
    const renewedIn = ({ judged: { ledger } }: Version, side: Renamed): Set<string> =>
      new Set(
        ledger.variants.flatMap(({ entries }) =>
          entries.flatMap(({ actions }) =>
            actions
              .filter(({ verb, fresh }) => verb === 'replace' || verb === 'swap-in' || (verb === 'fit' && fresh))
              .map(({ part }) => side('part', part)),
          ),
        ),
      );
    const before = renewedIn(this.changes.old, this.names.renamed);
    const after = renewedIn(this.changes.now, asNow);
    const oldParts = new Set(
      [...declarationsOf(this.changes.old.model, 'part').keys()].map((name) => this.names.renamed('part', name)),
    );
    for (const [name, part] of declarationsOf(this.changes.now.model, 'part')) {
      if (!oldParts.has(name) || before.has(name) === after.has(name)) continue;
      this.changes.renewed.add(name);
      const [was, is] = after.has(name) ? ['put back', 'renewed'] : ['renewed', 'put back'];
      this.changes.add({
        kind: 'renewal',
        subject: name,
        before: was,
        after: is,
        text: `${code(name)} is ${after.has(name) ? 'now renewed' : 'no longer renewed'}`,
        review: false,
        place: this.changes.placeOf('new', part),
      });
    }
  }
}
