import { nearestListed, parseThread, threadFault } from '../mechanics/index.ts';
import { type Check, named, type Raw } from './check.ts';
import { replaceSpan } from './edits.ts';

export const oddThread: Check = {
  code: 'odd-thread',
  severity: 'warning',
  section: 'Tightening',
  local: true,
  fires: 'a thread is one that no standard lists, or cannot be read as a thread (an error).',
  why: 'A wrong pitch is found when the bolt jams, two turns in.',
  bad: 'part bolt "Bolt" thread M8x1.3',
  good: 'part bolt "Bolt" thread M8x1.25',
  *run({ model }): Generator<Raw> {
    for (const { thread } of model.ownDeclarations) {
      if (thread === undefined) continue;
      const fault = threadFault(thread.text);
      if (fault !== undefined) {
        yield {
          span: thread,
          severity: 'error',
          message: `${named(thread.text)} is no thread that Fettle can read (${fault}): write it as in M8x1.25, M8, 1/4-20 or 10-32.`,
          related: [],
        };
        continue;
      }
      const parsed = parseThread(thread.text)!;
      if (parsed.listed) continue;
      const near = nearestListed(parsed)?.designation;
      yield {
        span: thread,
        message: `no standard lists ${named(thread.text)}${near === undefined ? '' : `; the nearest is ${near}`}: check the pitch with a thread gauge.`,
        related: [],
        data: near === undefined ? {} : { near },
      };
    }
  },
  repairs(finding, { model }) {
    const near = finding.data?.['near'];
    return typeof near === 'string'
      ? [{ title: `Change it to ${near}`, edits: [replaceSpan(model.tree, finding.span, near)], safe: false }]
      : [];
  },
};
