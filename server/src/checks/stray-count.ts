import { type Declaration, type Name, spanText } from '../../../grammar/syntax.ts';
import { namesWhere } from '../model/amended.ts';
import type { Model } from '../model/model.ts';
import { statementsIn } from '../model/statements.ts';
import { type Check, type Context, type Edit, type Raw, type Repair, related } from './check.ts';
import { replaceSpan } from './edits.ts';
import { named } from './wording.ts';

export const strayCount: Check = {
  code: 'stray-count',
  severity: 'information',
  section: 'Coming back',
  fires:
    'a count stands right behind what holds a part and would rather be the count of that: it is declared in that number, or is a fastener without a count; and a single part is behind, held or carried by the counted one, or a statement acts on that many of what holds it.',
  why: 'Four covers off and four covers back is in order, and nobody counts the bolts.',
  bad: `part bolt x4 "Bolt"
part cover "Cover" held by bolt x4
part gasket "Gasket" behind cover`,
  good: `part bolt x4 "Bolt"
part cover "Cover" held by bolt
part gasket "Gasket" behind cover`,
  *run({ model }: Context): Generator<Raw> {
    for (const { name, count, heldBy } of countedBehindHolder(model)) {
      const holder = heldBy.at(-1)!;
      const declared = model.parts.get(holder.text);
      if (name === undefined || count === undefined || declared === undefined || declared.broken) continue;
      const said = declared.count?.value;
      // Fasteners come in numbers.
      if (model.fasteners.has(name.text)) continue;
      if (said === undefined ? !model.fasteners.has(holder.text) : said !== count.value) continue;
      if (!isOne(model, name) && !(said === undefined && actsOn(model, holder.text, count.value))) continue;
      yield {
        span: count,
        message: `this counts ${count.value} of ${named(name.text)}, not of ${named(holder.text)}: ${said === undefined ? `write it behind ${named(`part ${holder.text}`)}, or` : 'take it out, or write it'} behind ${named(`part ${name.text}`)} if those are meant.`,
        related: related(declared.name, `${named(holder.text)} is declared here`),
        data: { subject: name.text, holder: holder.text, counted: said !== undefined },
      };
    }
  },
  repairs({ span, data }, { model }) {
    const [part, holder] = [String(data?.['subject']), String(data?.['holder'])];
    const count = spanText(span);
    const blanks = /[ \t]*$/.exec(span.chunk.text.slice(0, span.start))![0].length;
    const out = replaceSpan(model.tree, { ...span, start: span.start - blanks }, '');
    const behind = (name: string): Repair[] => {
      const place = model.parts.get(name)?.name;
      if (place?.chunk.uri !== model.tree.uri) return [];
      const put: Edit = replaceSpan(model.tree, { ...place, start: place.end }, ` ${count}`);
      return [{ title: `Count ${name} with it`, edits: [put, out], safe: false }];
    };
    return [
      ...(data?.['counted'] === true ? [{ title: 'Take it out', edits: [out], safe: false }] : behind(holder)),
      ...behind(part),
    ];
  },
};

/** Parts whose count stands right behind the last of what holds them; of several by one name, the first. */
const countedBehindHolder = ({ parts, tree }: Model): readonly Declaration[] =>
  namesWhere(parts, isCountedBehindHolder)
    .map((name) => parts.get(name)!)
    .filter(({ chunk }) => chunk.uri === tree.uri);

function isCountedBehindHolder({ chunk, count, heldBy }: Declaration): boolean {
  if (count === undefined || heldBy.length === 0) return false;
  const { end } = heldBy.at(-1)!;
  if (count.start < end || count.value < 2) return false;
  return /^\s+$/.test(chunk.text.slice(end, count.start));
}

/** True where a part of which there is one is behind, held or carried by it. */
const isOne = ({ ownDeclarations }: Model, part: Name): boolean =>
  ownDeclarations.some(
    ({ kind, count, heldBy, behind, carriedBy }) =>
      kind === 'part' &&
      count === undefined &&
      [...heldBy, ...behind, ...(carriedBy === undefined ? [] : [carriedBy])].some(({ text }) => text === part.text),
  );

const actsOn = ({ steps }: Model, part: string, pieces: number): boolean =>
  steps.some(({ step }) =>
    statementsIn(step).some(
      ({ name, count, order }) =>
        name?.text === part && (count?.value === pieces || (order?.form === 'list' && order.holes.length === pieces)),
    ),
  );
