import type { Site } from '../commands/command.ts';
import { registerDraft } from './draft.ts';
import { Pages } from './pages.ts';
import { registerSaveCard } from './save-card.ts';
import { registerSaveKit } from './save-kit.ts';
import { TrailTree } from './trail.ts';

/** What is shown beside the text: the parts trail, the card, the diagram and the plan. */
export interface Views {
  readonly trail: TrailTree;
  readonly pages: Pages;
}

/** Registers every view with its commands; all end with the extension. */
export function registerViews(site: Site): Views {
  registerDraft(site);
  const pages = new Pages(site);
  registerSaveCard(site, pages);
  registerSaveKit(site, pages);
  return { trail: new TrailTree(site), pages };
}
