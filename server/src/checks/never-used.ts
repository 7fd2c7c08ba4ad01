import type { Declaration, Statement } from '../../../grammar/syntax.ts';
import { declarationWords, isReserved } from '../../../grammar/tokens.ts';
import { addTo } from '../model/grouped.ts';
import { isDeclaration, mentionsOf } from '../model/mentions.ts';
import { chunksOf, type Model, tableOf } from '../model/model.ts';
import { noted } from '../model/noted.ts';
import { isAbove, isSafety, statementsIn, statementsOf } from '../model/statements.ts';
import type { Check, Edit, Repair } from './check.ts';
import { appendTo, insertBefore, removeDeclaration, replaceSpan } from './edits.ts';
import { namesMeant } from './unknown-name.ts';
import { named } from './wording.ts';
import { settingsOf, suitingIn, wrenchUse } from './wrenches.ts';

/** Declarations of this file that nothing refers to; of several by one name, the first. */
function unusedIn(model: Model): readonly Declaration[] {
  const found: Declaration[] = [];
  for (const kind of declarationWords)
    for (const name of model.unused[kind]) {
      const declaration = model[tableOf[kind]].get(name);
      if (declaration?.chunk.uri === model.tree.uri) found.push(declaration);
    }
  return found;
}

export const neverUsed: Check = {
  code: 'never-used',
  severity: 'hint',
  section: 'Coming back',
  fires: 'nothing refers to a declaration.',
  why: 'A part that no step touches is either noise or a forgotten step; a tool or supply that only texts speak of is missing in the kit.',
  bad: `procedure lid "Lid"
part cover "Cover"
part spacer "Spacer"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  good: `procedure lid "Lid"
part cover "Cover"
teardown
  step open
    remove cover
reassembly
  step close
    fit cover`,
  *run({ model }) {
    // A file of declarations only is there for others to use.
    if (model.head === undefined) return;
    const unused = unusedIn(model);
    if (unused.length === 0) return;
    const lost = new Set(model.lost);
    for (const chunk of chunksOf(model))
      if (chunk.issues.length > 0) for (const word of mentionsOf(chunk).unread) lost.add(word);
    // `unknown-name` tells of what was misspelt, with the name that was meant, and of what is there as another kind.
    if (model.useTroubles.length === 0) {
      for (const name of namesMeant(model)) lost.add(name);
      for (const { name, otherKind } of model.unknown) if (otherKind !== undefined) lost.add(name.text);
    }
    for (const declaration of unused) {
      const name = declaration.name;
      // A reserved word is no name: `syntax` tells of it.
      if (name === undefined || lost.has(name.text) || isReserved(name.text)) continue;
      yield {
        span: name,
        message: `the ${declaration.kind} ${named(name.text)} is declared and never used${howUsed(declaration, name.text)}, or take the declaration out.`,
        related: [],
        data: { subject: name.text },
      };
    }
  },
  repairs(finding, { model }) {
    const declaration = finding.span.chunk.item;
    if (declaration === undefined || !isDeclaration(declaration)) return [];
    const name = String(finding.data?.['subject']);
    const { edit, withComment } = removeDeclaration(model.tree, declaration);
    return [
      ...namedInTexts(declaration, name, model),
      ...usedForTorques(name, model),
      {
        title: `Take the declaration of ${name} out${withComment ? ', with its comment' : ''}`,
        edits: [edit],
        safe: false,
      },
    ];
  },
};

/** What the declaration lacks for now, and how it is used. */
function howUsed({ kind, cure }: Declaration, name: string): string {
  const unkept = ', and is left out of the kit';
  if (kind === 'tool') return `${unkept}: write \`using ${name}\` behind what it is used for`;
  if (kind === 'supply')
    return `${unkept}: write \`apply ${name} to\` and the part${cure === undefined ? `, or of a fluid \`fill ${name}\`` : ''}`;
  if (kind === 'pattern') return `: write \`holes ${name}\` in the declaration of the part that is in these holes`;
  return ': use it in a step';
}

/** Nobody looks through more. */
const mostMended = 100;

/** Names a tool or supply where texts speak of it. Nothing else than a cure would be told of then. */
function namedInTexts({ kind, title, cure }: Declaration, name: string, model: Model): Repair[] {
  if ((kind !== 'tool' && kind !== 'supply') || cure !== undefined) return [];
  const told = statementsTelling(model, [name, title?.value ?? '']);
  if (told.length > mostMended) return [];
  const edits =
    kind === 'tool'
      ? told.map((statement) => usingToo(model, statement, name))
      : told
          .filter((statement) => takesSupply.has(statement.kind) && statement.name !== undefined)
          .map((statement) => insertBefore(model.tree, statement, [`apply ${name} to ${statement.name!.text}`]));
  const written = kind === 'tool' ? `using ${name}` : `apply ${name}`;
  return edits.length === 0 ? [] : [{ title: `Write \`${written}\` where the texts name it`, edits, safe: false }];
}

/** Names a wrench where it is the finest that suits and none is named. */
function usedForTorques(name: string, model: Model): Repair[] {
  const statements = withoutWrench(model).get(name) ?? [];
  if (statements.length === 0 || statements.length > mostMended) return [];
  const edits = statements.map((statement) => usingToo(model, statement, name));
  return [{ title: `Write \`using ${name}\` where its range suits the torque best`, edits, safe: false }];
}

/** Tightenings of this file that name no wrench, by the name of the finest that suits. */
const withoutWrench = noted((model: Model): ReadonlyMap<string, readonly Statement[]> => {
  const suiting = suitingIn(model);
  const found = new Map<string, Statement[]>();
  for (const statement of statementsOf(model, 'tighten')) {
    const use = statement.chunk.uri === model.tree.uri ? wrenchUse(model, statement) : undefined;
    if (use === undefined || use.wrenches.length > 0) continue;
    const wrench = suiting(settingsOf(use), use.torques.at(-1)!.quantity.inUnit);
    if (wrench !== undefined) addTo(found, wrench, statement);
  }
  return found;
});

/** Statements on a part that is at hand, onto which something may go. */
const takesSupply: ReadonlySet<string> = new Set(['clean', 'fit', 'press']);

function usingToo({ tree }: Model, statement: Statement, tool: string): Edit {
  const last = statement.using?.at(-1);
  return last === undefined
    ? appendTo(tree, statement, `using ${tool}`)
    : replaceSpan(tree, last, `${last.text}, ${tool}`);
}

/** The statements of this file whose text says one of `phrases` as whole words, but for safety messages and what warns against it. */
function statementsTelling(model: Model, phrases: readonly string[]): readonly Statement[] {
  const said = phrases.map(inWords).filter((phrase) => phrase.trim() !== '');
  const found = new Set<Statement>();
  for (const phrase of said)
    for (const { statement, text } of textsByWord(model).get(phrase.trim().split(' ')[0]!) ?? [])
      if (text.includes(phrase)) found.add(statement);
  return [...found].sort((a, b) => (isAbove(model, a, b) ? -1 : 1));
}

/** Texts of statements by each word that they say. */
const textsByWord = noted((model: Model): ReadonlyMap<string, readonly Told[]> => {
  const byWord = new Map<string, Told[]>();
  for (const { step } of model.steps) {
    if (step.chunk.uri !== model.tree.uri) continue;
    for (const statement of statementsIn(step)) {
      if (statement.text === undefined || statement.branches !== undefined || isSafety(statement)) continue;
      if (warns.test(statement.text.value)) continue;
      const text = inWords(statement.text.value);
      for (const word of new Set(text.trim().split(' '))) addTo(byWord, word, { statement, text });
    }
  }
  return byWord;
});
const warns = /\b(?:cannot|instead of|never|not|rather than|without)\b|n['’]t\b/i;
interface Told {
  readonly statement: Statement;
  readonly text: string;
}

/** In small letters, with one blank between words and at either end; hyphens are blanks. */
const inWords = (text: string): string => ` ${(text.toLowerCase().match(/[\p{L}\p{N}]+/gu) ?? []).join(' ')} `;
