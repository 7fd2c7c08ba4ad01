/** The little of an editor's address that is used here, so that it can be tested without the editor. */
interface Address<Self> {
  readonly scheme: string;
  readonly authority: string;
  readonly path: string;
  readonly query: string;
  with(change: { scheme?: string; authority?: string; path?: string; query?: string }): Self;
}

/**
 * Where what is made of a procedure is offered to be saved: beside it, its name with `ending`, as in `card.html`. An older version has an
 * address of its own, under which nothing can be written: what is made of it goes beside the file, under a name that does not take the
 * place of that of the file as it is now.
 */
export function placeBeside<Uri extends Address<Uri>>(
  source: Uri,
  folders: readonly Uri[],
  ending: string,
): Uri | undefined {
  const cut = source.path.lastIndexOf('/') + 1;
  const beside = source.path.slice(0, cut);
  const name = source.path.slice(cut).replace(/\.fettle$/, '');
  // One that lies nowhere yet.
  if (source.scheme === 'untitled') return folders[0]?.with({ path: `${trimmed(folders[0].path)}/${name}-${ending}` });
  if (source.query === '') return source.with({ path: `${beside}${name}-${ending}` });
  const path = `${beside}${name}-older-version-${ending}`;
  const folder = folders.find((each) => source.path.startsWith(`${trimmed(each.path)}/`));
  return folder?.with({ path, query: '' }) ?? source.with({ scheme: 'file', authority: '', path, query: '' });
}

const trimmed = (path: string): string => path.replace(/\/$/, '');
