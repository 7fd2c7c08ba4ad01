import { commands } from 'vscode';
import type { Command, Site } from './command.ts';
import { compare } from './compare.ts';
import { newProcedure } from './new-procedure.ts';
import { openSample } from './open-sample.ts';
import { restart } from './restart.ts';

const all: Command[] = [compare, newProcedure, openSample, restart];

/** Registers every command; all end with the extension. */
export function registerCommands(site: Site): void {
  for (const { id, run } of all) {
    site.context.subscriptions.push(commands.registerCommand(id, (...args: unknown[]) => run(site, ...args)));
  }
}
