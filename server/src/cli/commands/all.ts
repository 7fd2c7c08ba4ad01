import type { Command } from '../command.ts';
import { check } from './check.ts';
import { explain } from './explain.ts';
import { figures } from './figures.ts';

export const allCommands: readonly Command[] = [check, explain, figures];
