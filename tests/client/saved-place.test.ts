import { describe, expect, it } from 'vitest';
import { URI } from 'vscode-uri';
import { placeBeside } from '../../client/src/views/saved-place.ts';

const placeOf = (source: string, ...folders: string[]): string | undefined =>
  placeBeside(
    URI.parse(source),
    folders.map((folder) => URI.parse(folder)),
    'card.html',
  )?.toString();

describe('the card is offered to be saved', () => {
  it('beside its procedure', () => {
    expect(placeOf('file:///work/pump.fettle', 'file:///other')).toBe('file:///work/pump-card.html');
    expect(placeOf('file:///work/pump.v2.fettle')).toBe('file:///work/pump.v2-card.html');
  });

  it('of one that lies nowhere yet, in the workspace', () => {
    expect(placeOf('untitled:Untitled-1', 'file:///work')).toBe('file:///work/Untitled-1-card.html');
    expect(placeOf('untitled:Untitled-1', 'file:///')).toBe('file:///Untitled-1-card.html');
    expect(placeOf('untitled:Untitled-1')).toBeUndefined();
  });

  it('of an older version, beside the file and not in place of its card', () => {
    const version =
      'git:/work/pumps/pump.fettle?%7B%22path%22%3A%22/work/pumps/pump.fettle%22%2C%22ref%22%3A%22~%22%7D';
    expect(placeOf(version, 'file:///work')).toBe('file:///work/pumps/pump-older-version-card.html');
    expect(placeOf(version, 'file:///elsewhere')).toBe('file:///work/pumps/pump-older-version-card.html');
    expect(placeOf(version, 'file:///wor', 'vscode-vfs://host/work')).toBe(
      'vscode-vfs://host/work/pumps/pump-older-version-card.html',
    );
  });
});
