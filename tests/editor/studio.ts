import { mkdir, stat, writeFile } from 'node:fs/promises';
import { dirname, join, relative } from 'node:path';
import type { Page } from 'playwright-core';
import {
  type Folders,
  installExtension,
  keepEvidence,
  makeFolders,
  newestPackage,
  openBrowser,
  quietSettings,
  startHost,
  workbenchAddress,
} from './host.ts';

type Size = { readonly width: number; readonly height: number };

/** The real editor with the packed extension, set up for pictures: all that takes some shares it. */
export interface Studio {
  readonly folders: Folders;
  /** A window on `workspace`, with `settings` upon those of every picture, and the file opened at a place. */
  window(options: {
    workspace: string;
    size: Size;
    scale?: number;
    settings?: Record<string, unknown>;
    file?: string;
    /** Counted from 1. */
    at?: readonly [line: number, column: number];
  }): Promise<Page>;
  /** Writes pictures, PNGs of one height, side by side into one WebP file: a third as large. Says how large on the console. */
  keep(path: string, pngs: readonly Buffer[]): Promise<void>;
  /** Keeps a picture and the logs of what failed. */
  evidence(page: Page): Promise<void>;
  close(): Promise<void>;
}

/** Room for the text: no minimap, no menus; a fixed cursor, so that a picture taken twice is the same. */
const pictureSettings = {
  ...quietSettings,
  'workbench.colorTheme': 'Light Modern',
  'workbench.layoutControl.enabled': false,
  'workbench.tips.enabled': false,
  'window.commandCenter': false,
  'window.menuBarVisibility': 'compact',
  'editor.minimap.enabled': false,
  'editor.cursorBlinking': 'solid',
};

/** `settings` are those of all its windows. */
export async function openStudio(settings: Record<string, unknown> = {}): Promise<Studio> {
  const usual = { ...pictureSettings, ...settings };
  const folders = await makeFolders(usual);
  await installExtension(folders, await newestPackage());
  const host = await startHost(folders);
  const browser = await openBrowser();
  const encoder = await browser.newPage();
  return {
    folders,
    async window({ workspace, size, scale = 1, settings: own, file, at: [line, column] = [1, 1] }) {
      await writeFile(join(folders.userData, 'User/settings.json'), JSON.stringify({ ...usual, ...own }));
      const page = await browser.newPage({ viewport: size, deviceScaleFactor: scale });
      page.setDefaultTimeout(30_000);
      const opened: [string, string][] = [
        ['gotoLineMode', 'true'],
        ['openFile', `${file}:${line}:${column}`],
      ];
      await page.goto(workbenchAddress(host, workspace, file === undefined ? [] : opened));
      return page;
    },
    async keep(path, pngs) {
      await mkdir(dirname(path), { recursive: true });
      await writeFile(path, await webp(encoder, pngs));
      console.log(`${relative(process.cwd(), path)}: ${Math.round((await stat(path)).size / 1000)} KB`);
    },
    evidence: (page) => keepEvidence(folders, page, []),
    async close() {
      await browser.close();
      await host.stop();
    },
  };
}

/** By the browser's own encoder. */
export async function webp(encoder: Page, pngs: readonly Buffer[]): Promise<Buffer> {
  const sources = JSON.stringify(pngs.map((png) => `data:image/png;base64,${png.toString('base64')}`));
  const encode = `(async () => {
    const pictures = ${sources}.map((src) => Object.assign(new Image(), { src }));
    await Promise.all(pictures.map((picture) => picture.decode()));
    const gap = 8;
    const canvas = document.createElement('canvas');
    canvas.width = pictures.reduce((sum, { width }) => sum + width + gap, -gap);
    canvas.height = Math.max(...pictures.map(({ height }) => height));
    const context = canvas.getContext('2d');
    let left = 0;
    for (const picture of pictures) {
      context.drawImage(picture, left, 0);
      left += picture.width + gap;
    }
    return canvas.toDataURL('image/webp', 0.45);
  })()`;
  const address = await encoder.evaluate<string>(encode);
  return Buffer.from(address.slice(address.indexOf(',') + 1), 'base64');
}
