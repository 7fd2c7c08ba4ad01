import { type Chunk, spanText } from '../../../grammar/syntax.ts';
import { type DeclarationWord, declarationWords } from '../../../grammar/tokens.ts';
import type { Finding, Severity } from '../checks/check.ts';
import { unknownName } from '../checks/unknown-name.ts';
import { isDeclaration, type Mention, mentionsOf } from '../model/mentions.ts';
import { type Model, tableOf } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import type { Version } from './compare-changes.ts';
import { type Place, placeOf } from './compare-place.ts';
import { oneLine } from './facts.ts';

export interface ComparedFinding {
  readonly code: string;
  readonly severity: Severity;
  readonly subject: string;
  readonly message: string;
  readonly place: Place | undefined;
}

export interface FindingsBetween {
  readonly added: readonly ComparedFinding[];
  readonly gone: readonly ComparedFinding[];
}

const subjectOf = ({ data, span }: Finding): string => String(data?.['subject'] ?? oneLine(spanText(span)));

export const kindsNamed = (model: Model, name: string): readonly DeclarationWord[] =>
  declarationWords.filter((kind) => model[tableOf[kind]].has(name));

/**
 * What is called by the subject, where its declaration or a name in a statement tells, as things of several kinds may have one name;
 * where the finding stands on something else, the one kind that has it.
 */
function kindOf(model: Model, { span }: Finding, subject: string): DeclarationWord | undefined {
  const { item } = span.chunk;
  if (isDeclaration(item)) {
    if (item.name?.text === subject) return item.kind;
  } else {
    const mention = mentionsByPlace(span.chunk).get(span.start);
    if (mention?.name.text === subject) return declarationWords.find((kind) => kind === mention.kind);
  }
  const kinds = kindsNamed(model, subject);
  return kinds.length === 1 ? kinds[0] : undefined;
}

const mentionsByPlace = noted(
  (chunk: Chunk): ReadonlyMap<number, Mention> => new Map(mentionsOf(chunk).all.map((each) => [each.name.start, each])),
);

/** Findings of one version that have no like in the other: same check, severity and subject. */
export function findingsBetween(
  old: Version,
  now: Version,
  of: 'findings' | 'allowed',
  nameNow: (name: string, kind?: DeclarationWord) => string,
): FindingsBetween {
  const compared = (version: 'old' | 'new'): (ComparedFinding & { key: string })[] => {
    const { judged, model } = version === 'old' ? old : now;
    return judged[of].map((finding) => {
      const { code, severity, message } = finding;
      const subject = subjectOf(finding);
      const kind = kindOf(model, finding, subject);
      // An unknown name is that of no thing.
      const isRenamed = version === 'old' && code !== unknownName.code;
      const place = placeOf(version, model, finding.elsewhere ?? finding.span);
      return {
        code,
        severity,
        subject,
        message,
        place,
        key: `${code} ${severity} ${kind} ${isRenamed ? nameNow(subject, kind) : subject}`,
      };
    });
  };
  const left = (from: readonly { key: string }[]): Map<string, number> => {
    const counts = new Map<string, number>();
    for (const { key } of from) counts.set(key, (counts.get(key) ?? 0) + 1);
    return counts;
  };
  const without = (all: ReturnType<typeof compared>, others: Map<string, number>): ComparedFinding[] =>
    all
      .filter(({ key }) => {
        const count = others.get(key) ?? 0;
        if (count > 0) others.set(key, count - 1);
        return count === 0;
      })
      .map(({ key: _, ...finding }) => finding);
  const [before, after] = [compared('old'), compared('new')];
  return { added: without(after, left(before)), gone: without(before, left(after)) };
}
