import { URI, Utils } from 'vscode-uri';

export const projectFile = 'fettle.json';

/** Where the project file of the file at `uri` may stand, nearest folder first. */
export function* projectPlaces(uri: string): Generator<string> {
  for (let at = URI.parse(uri); ; ) {
    const folder = Utils.dirname(at);
    yield Utils.joinPath(folder, projectFile).toString();
    if (folder.path === Utils.dirname(folder).path) return;
    at = folder;
  }
}

/**
 * The project file that holds for the file at `uri`: the nearest one alone counts. `read` gives the text behind a URI, and
 * nothing where there is no such file; in an editor it may answer from open files, and note what it has yet to load.
 */
export function findProject(
  uri: string,
  read: (uri: string) => string | undefined,
): { readonly uri: string; readonly text: string } | undefined {
  for (const place of projectPlaces(uri)) {
    const text = read(place);
    if (text !== undefined) return { uri: place, text };
  }
  return undefined;
}
