import { type Statement, type Step, walk } from '../../../grammar/syntax.ts';
import { noted } from './noted.ts';

/** Every statement of a step, outermost first, in the order of the text. */
export const statementsIn: (step: Step) => readonly Statement[] = noted(({ statements }: Step) =>
  statements.some((statement) => statement.branches !== undefined) ? [...walk(statements)] : statements,
);
