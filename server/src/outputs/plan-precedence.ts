import type { Statement } from '../../../grammar/syntax.ts';
import { addTo } from '../model/grouped.ts';
import type { Model, StepEntry } from '../model/model.ts';
import { referencesOf } from '../model/references.ts';
import { loadsUnit } from '../model/statements.ts';

/** What has to be done before each step, asked in the order of the text. */
export class Precedence {
  private readonly model: Model;
  /** True as long as each step follows the one above it, and so all others above. */
  private isOneChain = true;
  private previous: string | undefined;
  /** The last activity of each step. */
  private readonly lastOf = new Map<StepEntry, string>();
  /** By thing, the last activity of the last step that worked on it. */
  private readonly lastWith = new Map<string, string>();
  /** By phase, the last activities of those steps that no other step of it follows. */
  private readonly endsOf = new Map<string | undefined, Set<string>>();
  /** What cures may have its time in these, from the first in which it is applied. */
  private readonly curing: string[] = [];
  private related: ReadonlyMap<string, readonly string[]> | undefined;

  constructor(model: Model) {
    this.model = model;
  }

  /** Ids of what a step with these statements follows, and with them all that they follow. */
  before({ step, phase }: StepEntry, statements: readonly Statement[]): readonly string[] {
    const { model } = this;
    const after = new Set<string>();
    for (const { text } of step.after) {
      const target = model.stepNames.get(text);
      if (target !== undefined) after.add(this.lastOf.get(target)!);
    }
    // A name that no step has may stand for any of them.
    const isInTurn = step.after.length === 0 || step.after.some((name) => !model.stepNames.has(name.text));
    if (isInTurn && this.previous !== undefined) after.add(this.previous);
    this.isOneChain &&= isInTurn;
    if (!this.isOneChain) {
      // Whoever worked on the same before came before the last who did.
      for (const thing of this.withRelatives(thingsOf(model, statements))) {
        const last = this.lastWith.get(thing);
        if (last !== undefined) after.add(last);
      }
      if (statements.some((statement) => loadsUnit(statement, phase))) for (const each of this.curing) after.add(each);
    }
    // Nothing is built up while the unit is still being taken apart, or proved while it is being built up.
    const barrier = phase === 'reassembly' ? 'teardown' : phase === 'proving' ? 'reassembly' : undefined;
    if (barrier !== undefined) for (const end of this.endsOf.get(barrier) ?? []) after.add(end);
    return [...after];
  }

  /** Goes on behind a step that follows the activities `after` and ends with `last`. */
  add(entry: StepEntry, statements: readonly Statement[], after: readonly string[], last: string): void {
    const { supplies } = this.model;
    this.lastOf.set(entry, last);
    this.previous = last;
    for (const thing of thingsOf(this.model, statements)) this.lastWith.set(thing, last);
    const ends = this.endsOf.get(entry.phase) ?? new Set();
    // In one chain it follows all of them, with other phases between them, too.
    if (this.isOneChain) ends.clear();
    else for (const each of after) ends.delete(each);
    this.endsOf.set(entry.phase, ends.add(last));
    const cures = statements.some(({ kind, name }) => kind === 'apply' && supplies.get(name?.text ?? '')?.cure);
    if (cures || (this.curing.length > 0 && statements.some(({ kind }) => kind === 'wait'))) this.curing.push(last);
  }

  /** The things themselves, and what holds, covers or carries the parts of them, or is held, covered or carried by them. */
  private withRelatives(things: ReadonlySet<string>): ReadonlySet<string> {
    this.related ??= relativesIn(this.model);
    const all = new Set(things);
    for (const thing of things) for (const each of this.related.get(thing) ?? []) all.add(each);
    return all;
  }
}

/** What cannot be worked on in two steps at once: parts, by name; readings and fluids, by word and name. */
function thingsOf(model: Model, statements: readonly Statement[]): Set<string> {
  const things = new Set<string>();
  for (const statement of statements) {
    if (statement.kind === 'measure' && statement.name !== undefined) things.add(`reading ${statement.name.text}`);
    for (const { name, kind } of referencesOf(statement)) {
      if (kind === 'part' && model.parts.has(name.text)) things.add(name.text);
      else if (kind === 'reading' || (kind === 'supply' && statement.kind !== 'apply'))
        things.add(`${kind} ${name.text}`);
    }
  }
  return things;
}

/** Of each part, what holds, covers or carries it, and what it holds, covers or carries. */
function relativesIn({ parts }: Model): ReadonlyMap<string, readonly string[]> {
  const related = new Map<string, string[]>();
  const link = (one: string, other: string): void => {
    addTo(related, one, other);
  };
  for (const [name, { heldBy, behind, carriedBy }] of parts)
    for (const { text } of carriedBy === undefined ? [...heldBy, ...behind] : [...heldBy, ...behind, carriedBy]) {
      link(name, text);
      link(text, name);
    }
  return related;
}
