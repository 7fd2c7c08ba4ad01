import type { Command } from '../command.ts';

/** In the order of the overview. Each is loaded alone: what one command needs would slow down all others. */
const loaders = {
  check: async () => (await import('./check.ts')).check,
  fmt: async () => (await import('./fmt.ts')).fmt,
  draft: async () => (await import('./draft.ts')).draft,
  explain: async () => (await import('./explain.ts')).explain,
  figures: async () => (await import('./figures.ts')).figures,
  plan: async () => (await import('./plan.ts')).plan,
  kit: async () => (await import('./kit.ts')).kit,
  card: async () => (await import('./card.ts')).card,
  diagram: async () => (await import('./diagram.ts')).diagram,
  compare: async () => (await import('./compare.ts')).compareVersions,
  stats: async () => (await import('./stats.ts')).stats,
  export: async () => (await import('./export.ts')).exportModel,
  import: async () => (await import('./import.ts')).importParts,
  serve: async () => (await import('./serve.ts')).serve,
} satisfies Record<string, () => Promise<Command>>;

export const commandNames: readonly string[] = Object.keys(loaders);

/** Nothing where there is no such command. */
export const loadCommand = async (name: string): Promise<Command | undefined> =>
  Object.hasOwn(loaders, name) ? loaders[name as keyof typeof loaders]() : undefined;

export const loadAllCommands = (): Promise<Command[]> => Promise.all(Object.values(loaders).map((load) => load()));
