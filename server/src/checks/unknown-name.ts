import { nearest } from '../../../grammar/nearest.ts';
import { type Check, named } from './check.ts';
import { replaceSpan } from './edits.ts';

const clause: Readonly<Record<string, string>> = {
  part: 'declare it with `part`',
  tool: 'declare it with `tool`',
  supply: 'declare it with `supply`',
  pattern: 'declare it with `pattern`',
  step: 'correct it to a step of this procedure',
  reading: 'take it with `measure` first',
  code: 'add it behind `applies to`',
};

const declared: ReadonlySet<string> = new Set(['part', 'tool', 'supply', 'pattern']);

export const unknownName: Check = {
  code: 'unknown-name',
  severity: 'error',
  section: 'Getting ready, safety, wording',
  fires: 'a name stands for no part, tool, supply, pattern, step, reading or code.',
  why: 'A misspelt name hides the part from every other check.',
  bad: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover
    clean covr`,
  good: `part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover
    clean cover`,
  *run({ model }) {
    // What a missing file declares is unknown for that reason only; the missing file is told of instead.
    const fileMissing = model.useTroubles.some(({ trouble }) => trouble !== 'loop');
    for (const { name, kind, candidates, otherKind } of model.unknown) {
      if (fileMissing && otherKind === undefined && declared.has(kind)) continue;
      const near = nearest(name.text, candidates);
      const isWith = otherKind === 'tool' && /\bwith\s+$/.test(name.chunk.text.slice(0, name.start));
      const remedy = isWith
        ? `write \`using ${name.text}\``
        : near === undefined
          ? clause[kind]!
          : `did you mean ${named(near)}?`;
      const what =
        otherKind === undefined
          ? `no ${kind} is called ${named(name.text)}`
          : `${named(name.text)} is a ${otherKind}, and a ${kind} belongs here`;
      yield {
        span: name,
        message: `${what}: ${remedy}${remedy.endsWith('?') ? '' : '.'}`,
        related: [],
        data: { subject: name.text, kind, near: near ?? '' },
      };
    }
  },
  repairs(finding, { model }) {
    const near = String(finding.data?.['near'] ?? '');
    const name = String(finding.data?.['subject']);
    const kind = String(finding.data?.['kind']);
    const repairs =
      near === ''
        ? []
        : [{ title: `Change it to ${near}`, edits: [replaceSpan(model.tree, finding.span, near)], safe: false }];
    if (kind === 'part' || kind === 'tool' || kind === 'supply') {
      const last = model.ownDeclarations.findLast((each) => each.kind === kind) ?? model.ownDeclarations.at(-1);
      if (last !== undefined) {
        const at = model.tree.starts[model.tree.chunks.indexOf(last.chunk)]! + last.end;
        const title = name.replace(/-/g, ' ');
        repairs.push({
          title: `Declare the ${kind} ${name}`,
          edits: [
            {
              uri: model.tree.uri,
              start: at,
              end: at,
              text: `\n${kind} ${name} "${title[0]!.toUpperCase()}${title.slice(1)}"`,
            },
          ],
          safe: false,
        });
      }
    }
    return repairs;
  },
};
