import type { Allowance } from './allow.ts';
import type { Check, Raw } from './check.ts';
import { removeComment } from './edits.ts';
import { named } from './wording.ts';

export const idleAllow: Check = {
  code: 'idle-allow',
  severity: 'warning',
  section: 'Getting ready, safety, wording',
  fires: 'a `fettle-allow` silences nothing: the finding that it was written for is gone, or stands elsewhere.',
  why: 'An allowance left behind silences the next finding there, which nobody has looked at.',
  bad: `part cover "Cover"
teardown
  step open
    # fettle-allow left-off: it goes back with the new lid
    remove cover
reassembly
  step close
    fit cover`,
  good: `part cover "Cover"
teardown
  step open
    # fettle-allow left-off: it goes back with the new lid
    remove cover`,
  // Known only once every other check has run: `judge` gives these findings.
  *run(): Generator<Raw> {},
  repairs(finding, { model }) {
    return [
      {
        title: 'Take the allowance out',
        edits: [removeComment(model.tree, finding.span)],
        // Its reason, which somebody wrote, would go with it.
        safe: false,
      },
    ];
  },
};

/** The finding at an allowance that silenced nothing; where one such as it names stands inside the block that it is above, with the word of that. */
export const idle = ({ span, code }: Allowance, block?: string): Raw => ({
  span,
  message:
    block !== undefined
      ? `this silences ${named(code)} on the line of ${named(block)} only, and not in it: move it right above the line there that it is for.`
      : `nothing is found here by ${named(code)}, so this silences nothing: take the line out, or move it right above the line that it is for.`,
  related: [],
  data: { subject: code },
});
