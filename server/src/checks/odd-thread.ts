import { type Declaration, type Name, spanText } from '../../../grammar/syntax.ts';
import {
  nearestListed,
  nearestPipeThread,
  noThread,
  parsePipeThread,
  parseThread,
  threadFault,
} from '../mechanics/index.ts';
import type { Check, Raw, Repair } from './check.ts';
import { replaceSpan } from './edits.ts';
import { named } from './wording.ts';

export const oddThread: Check = {
  code: 'odd-thread',
  severity: 'warning',
  section: 'Tightening',
  local: true,
  fires:
    'a thread is one that no standard lists, or cannot be read as a thread (an error); or a count stands right behind it, where the trade writes the length; or `greased` stands with it, which is said of bearings.',
  why: 'A wrong pitch is found when the bolt jams, two turns in.',
  bad: 'part bolt "Bolt" thread M8x1.3',
  good: 'part bolt "Bolt" thread M8x1.25',
  *run({ model }): Generator<Raw> {
    for (const part of model.ownDeclarations) {
      const { thread, count, length, name } = part;
      if (thread === undefined || isTold(thread)) continue;
      if (isGreasedThread(part))
        yield {
          span: part.filled!,
          message: `\`greased\` says that a bearing is filled with grease, and nothing of a thread: write \`oiled\`, or \`paste\` where it is anti-seize.`,
          related: [],
          data: part.condition === undefined ? { instead: 'oiled' } : {},
        };
      const pipe = parsePipeThread(thread.text);
      if (pipe !== undefined) {
        if (!pipe.listed) yield unlisted(thread, nearestPipeThread(pipe));
        continue;
      }
      const fault = threadFault(thread.text);
      if (fault !== undefined) {
        const asSpelled = respelled(thread.text);
        const instead = asSpelled ?? (length === undefined ? withLength(thread.text) : undefined);
        yield {
          span: thread,
          severity: 'error',
          message: `${named(thread.text)} is no thread that Fettle can read${fault === noThread ? '' : ` (${fault})`}: write ${asSpelled === undefined ? `it as in M8x1.25, M8, 1/4-20, 10-32 or G1/2${instead === undefined ? '' : `, and a length apart, as in ${named(instead)}`}` : named(asSpelled)}.`,
          related: [],
          data: instead === undefined ? {} : { instead },
        };
        continue;
      }
      const parsed = parseThread(thread.text)!;
      if (count?.start === thread.end && thread.chunk.text[count.end] !== '/') {
        const instead = `length ${count.value} ${parsed.system === 'metric' ? 'mm' : 'in'}`;
        yield {
          span: count,
          message: `this counts ${count.value} of ${named(name?.text ?? '')}: write ${length === undefined ? `${named(instead)} if it is the length, or ` : ''}a blank before it.`,
          related: [],
          data: { count: count.value, ...(length === undefined && { instead: ` ${instead}` }) },
        };
      }
      if (!parsed.listed) yield unlisted(thread, nearestListed(parsed)?.designation);
    }
  },
  repairs({ span, data }, { model }) {
    const repair = (title: string, text: string, upTo = span.end): Repair => ({
      title,
      edits: [replaceSpan(model.tree, { ...span, end: upTo }, text)],
      safe: false,
    });
    const repairs: Repair[] = [];
    const instead = data?.['instead'];
    if (typeof instead === 'string') {
      const unit = /^[ \t]*(?:mm|in)\b/.exec(span.chunk.text.slice(span.end))?.[0].length ?? 0;
      repairs.push(repair(`Write ${instead.trim()}`, instead, span.end + unit));
    }
    if (data?.['count'] !== undefined) repairs.push(repair('Put a blank before it', ` ${spanText(span)}`));
    const near = data?.['near'];
    if (typeof near === 'string') repairs.push(repair(`Change it to ${near}`, near));
    return repairs;
  },
};

/** A rod end is a bearing and has a thread. */
const isGreasedThread = ({ filled, bore, interference, outside, limit, title }: Declaration): boolean =>
  filled?.text === 'greased' &&
  (bore ?? interference ?? outside ?? limit) === undefined &&
  !/\b(?:bearing|nipple)\b/i.test(title?.value ?? '');

/** Where a thread breaks off at a point, a stroke or a word, the reader of the text has told of it. */
function isTold({ chunk, text, end }: Name): boolean {
  const behind = chunk.text.slice(end, end + 9);
  if (/^(?:[./]|[ \t-]*(?:NP[ST]|BSP|\d+\/))/i.test(behind)) return true;
  return /^(?:G|R[pc]?|NPTF?|BSP[PT]?)$/i.test(text) && /^[ \t]+\d/.test(behind);
}

const unlisted = (thread: Name, near: string | undefined): Raw => ({
  span: thread,
  message: `no standard lists ${named(thread.text)}${near === undefined ? '' : `; the nearest is ${near}`}: check the pitch with a thread gauge.`,
  related: [],
  data: near === undefined ? {} : { near },
});

/** `M8x40`, `M8x1x40`: the length stands behind the thread, as in drawings. */
function withLength(text: string): string | undefined {
  const [, thread, length] = /^(M[\d.]+(?:x[\d.]+)?)x(\d+)$/.exec(text) ?? [];
  return thread === undefined || threadFault(thread) !== undefined ? undefined : `${thread} length ${length} mm`;
}

/** `m20`, `M20LH`, `M20-lh`, as they are spelled. */
function respelled(text: string): string | undefined {
  const thread = text.replace(/^m(?=\d)/, 'M').replace(/-?L-?H$/i, '-LH');
  return thread === text || !thread.startsWith('M') || threadFault(thread) !== undefined ? undefined : thread;
}
