import { existsSync } from 'node:fs';
import { dirname, relative, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { defaultSettings, type Settings } from '../checks/check.ts';
import { visible } from '../outputs/text.ts';
import { findProject } from '../project/lookup.ts';
import { readProject } from '../project/settings.ts';
import { UsageError } from './command.ts';
import { readSource } from './files.ts';

/** Settings of the files of one run. */
export class Projects {
  private readonly known = new Map<string, Settings>();
  /** Settings that differ, each once, in the order of their first use. */
  readonly all: Settings[] = [];
  private readonly places = new Map<string, number>();

  /**
   * The settings that hold for the file at `path`, which need not exist.
   * @throws {UsageError} that names every line of the project file that cannot be used.
   */
  settingsFor(path: string): Settings {
    const folder = dirname(resolve(path));
    let settings = this.known.get(folder);
    if (settings === undefined) {
      settings = read(path);
      this.known.set(folder, settings);
    }
    return settings;
  }

  /** Place in `all` of the settings that hold for the file at `path`. @throws {UsageError} as {@link settingsFor}. */
  placeFor(path: string): number {
    const settings = this.settingsFor(path);
    const content = JSON.stringify(settings);
    let place = this.places.get(content);
    if (place === undefined) {
      place = this.all.push(settings) - 1;
      this.places.set(content, place);
    }
    return place;
  }
}

function read(path: string): Settings {
  const project = findProject(pathToFileURL(resolve(path)).href, (uri) => {
    const file = fileURLToPath(uri);
    if (!existsSync(file)) return undefined;
    const source = readSource(file);
    if ('reason' in source) throw new UsageError(`${visible(relative('', file))}: ${source.reason}`);
    return source.text;
  });
  if (project === undefined) return defaultSettings;
  const { settings, problems } = readProject(project.text);
  if (problems.length > 0) {
    const name = visible(relative('', fileURLToPath(project.uri)));
    throw new UsageError(problems.map(({ line, message }) => `${name}:${line}: ${message}`).join('\nfettle: '));
  }
  return settings;
}
