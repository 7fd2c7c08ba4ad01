import type { Command } from '../command.ts';
import { card } from './card.ts';
import { check } from './check.ts';
import { compareVersions } from './compare.ts';
import { diagram } from './diagram.ts';
import { draft } from './draft.ts';
import { explain } from './explain.ts';
import { exportModel } from './export.ts';
import { figures } from './figures.ts';
import { fmt } from './fmt.ts';
import { importParts } from './import.ts';
import { kit } from './kit.ts';
import { plan } from './plan.ts';
import { serve } from './serve.ts';
import { stats } from './stats.ts';

export const allCommands: readonly Command[] = [
  check,
  fmt,
  draft,
  explain,
  figures,
  plan,
  kit,
  card,
  diagram,
  compareVersions,
  stats,
  exportModel,
  importParts,
  serve,
];
