import { fillers } from '../../../grammar/meant.ts';
import { nearest } from '../../../grammar/nearest.ts';
import type { Name } from '../../../grammar/syntax.ts';
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

/** A name that stands there with a blank in place of a hyphen. */
function withBlanks({ chunk, start, end }: Name, candidates: readonly string[]): string | undefined {
  return candidates.find((candidate) => {
    if (candidate[end - start] !== '-') return false;
    const written = chunk.text.slice(start, start + candidate.length).replaceAll(' ', '-');
    return (
      written.toLowerCase() === candidate.toLowerCase() &&
      !/[\p{L}\d-]/u.test(chunk.text[start + candidate.length] ?? '')
    );
  });
}

/** Whether the word stands before a name as in English. */
function fills({ chunk, text, end }: Name, candidates: readonly string[]): boolean {
  if (!fillers.has(text.toLowerCase())) return false;
  const next = /^[ \t]+(?:new[ \t]+)?([\p{L}\d-]+)/u.exec(chunk.text.slice(end))?.[1];
  return next !== undefined && candidates.includes(next);
}

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
      const blank = withBlanks(name, candidates);
      const isFiller = blank === undefined && fills(name, candidates);
      const near = isFiller ? undefined : (blank ?? nearest(name.text, candidates));
      const isWith = otherKind === 'tool' && /\bwith\s+$/.test(name.chunk.text.slice(0, name.start));
      const remedy = isWith
        ? `write \`using ${name.text}\``
        : isFiller
          ? `take ${named(name.text)} out${name.text === 'all' ? ', without a count all pieces are meant' : ''}`
          : blank !== undefined
            ? `a name has no blanks, write ${named(blank)}`
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
        data: { subject: name.text, kind, near: near ?? '', filler: isFiller, blank: blank !== undefined },
      };
    }
  },
  repairs(finding, { model }) {
    const near = String(finding.data?.['near'] ?? '');
    const name = String(finding.data?.['subject']);
    const kind = String(finding.data?.['kind']);
    const { span } = finding;
    if (finding.data?.['filler'] === true) {
      const blanks = /^[ \t]*/.exec(span.chunk.text.slice(span.end))![0].length;
      const edits = [replaceSpan(model.tree, { ...span, end: span.end + blanks }, '')];
      return [{ title: `Take ${name} out`, edits, safe: false }];
    }
    const written = finding.data?.['blank'] === true ? { ...span, end: span.start + near.length } : span;
    const repairs =
      near === ''
        ? []
        : [{ title: `Change it to ${near}`, edits: [replaceSpan(model.tree, written, near)], safe: false }];
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
