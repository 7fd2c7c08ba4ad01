import type { Command } from '../command.ts';
import { check } from './check.ts';
import { explain } from './explain.ts';
import { figures } from './figures.ts';
import { fmt } from './fmt.ts';
import { kit } from './kit.ts';
import { plan } from './plan.ts';

export const allCommands: readonly Command[] = [check, fmt, explain, figures, plan, kit];
