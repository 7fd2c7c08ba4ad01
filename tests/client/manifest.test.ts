import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { SemanticTokenModifiers } from 'vscode-languageserver';
import { allChecks } from '../../server/src/checks/all.ts';
import { semanticTokens } from '../../server/src/features/semantic-tokens.ts';
import { defaultPreferences, readPreferences, severityChoices, shownUnits } from '../../server/src/settings.ts';

const root = join(import.meta.dirname, '../..');
const manifest = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8'));
const texts: Record<string, string> = JSON.parse(readFileSync(join(root, 'package.nls.json'), 'utf8'));
const sources = readdirSync(join(root, 'client/src'), { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.ts'))
  .map((name): [string, string] => [name, readFileSync(join(root, 'client/src', name), 'utf8')]);
const { properties } = manifest.contributes.configuration;

describe('texts', () => {
  it('of the manifest stand in package.nls.json, and each of those is used', () => {
    const used = [...JSON.stringify(manifest).matchAll(/"%([\w.-]+)%"/g)].map(([, key]) => key!);
    expect([...new Set(used)].sort()).toEqual(Object.keys(texts).sort());
    for (const text of Object.values(texts)) expect(text.trim()).not.toBe('');
  });

  it('that people read are all in package.nls.json', () => {
    const spoken = new Set(['title', 'description', 'markdownDescription', 'altText', 'enumDescriptions']);
    const bare: string[] = [];
    const walk = (value: unknown, key: string): void => {
      if (typeof value === 'string') {
        // The product's own name is the same in every language.
        if (spoken.has(key) && value !== 'Fettle' && !/^%[\w.-]+%$/.test(value)) bare.push(`${key}: ${value}`);
      } else if (Array.isArray(value)) for (const each of value) walk(each, key);
      else if (typeof value === 'object' && value !== null)
        for (const [inner, each] of Object.entries(value)) walk(each, inner);
    };
    walk(manifest.contributes, '');
    walk(manifest.capabilities, '');
    expect(bare).toEqual([]);
  });

  it.each(sources)('of %s are localisable', (_, source) => {
    // Template literals may join what is localised. What is shown comes from `l10n.t`, and `l10n.t` gets a plain string, which translators can find.
    expect([...source.matchAll(/\bshow(?:Information|Warning|Error)Message\(\s*(?:['"]|`[^$])/g)]).toEqual([]);
    expect([...source.matchAll(/\b(?:title|placeHolder|saveLabel|label): (?:['"]|`[^$])/g)]).toEqual([]);
    for (const [call] of source.matchAll(/\bl10n\.t\(\s*./g)) expect(call).toMatch(/['"]$/);
  });
});

describe('settings', () => {
  const keys = Object.keys(properties).filter((key) => !/^fettle\.(trace|card)\./.test(key));
  const section = (values: Record<string, unknown>): unknown => {
    const nested: Record<string, Record<string, unknown>> = {};
    for (const [key, value] of Object.entries(values)) {
      const [first, second] = key.replace('fettle.', '').split('.') as [string, string | undefined];
      if (second === undefined) nested[first] = value as Record<string, unknown>;
      else nested[first] = { ...nested[first], [second]: value };
    }
    return nested;
  };
  const defaults = Object.fromEntries(keys.map((key) => [key, properties[key].default]));

  it('have the defaults of the server', () => {
    expect(readPreferences(section(defaults))).toEqual(defaultPreferences);
  });

  it.each(keys)('%s changes something', (key) => {
    const { type, default: usual, enum: choices } = properties[key];
    const others = {
      boolean: [!usual],
      integer: [properties[key].minimum, properties[key].maximum],
      string: choices?.filter((choice: string) => choice !== usual),
      object: [{ 'left-off': 'hint' }, { 'left-off': 'off' }],
    }[type as string];
    expect(others).not.toEqual([]);
    for (const value of others)
      expect(readPreferences(section({ ...defaults, [key]: value }))).not.toEqual(defaultPreferences);
  });

  it('name every check with its severity, and take no other word', () => {
    const { properties: checks, additionalProperties } = properties['fettle.severity'];
    expect(additionalProperties).toBe(false);
    expect(Object.keys(checks)).toEqual(allChecks.map(({ code }) => code));
    for (const { code, severity } of allChecks) {
      expect(checks[code].default).toBe(severity);
      expect(checks[code].enum).toEqual(severityChoices.filter((choice) => choice !== 'off' || code !== 'syntax'));
    }
    expect(properties['fettle.units'].enum).toEqual(shownUnits);
  });
});

describe('what changed since the last commit', () => {
  it('is wrapped: its lines are sentences', () => {
    const { languages, configurationDefaults } = manifest.contributes;
    expect(configurationDefaults['[fettle-changes]']['editor.wordWrap']).toBe('on');
    expect(languages.map(({ id }: { id: string }) => `[${id}]`)).toEqual(Object.keys(configurationDefaults));
  });
});

describe('the text', () => {
  const defaults = manifest.contributes.configurationDefaults['[fettle]'];
  it('shows states in every theme: without this, one that is silent about such colours shows none', () => {
    expect(defaults['editor.semanticHighlighting.enabled']).toBe(true);
  });
  it('has a closing quote typed over, that of a place to fill in, too: a second one would open a text', () => {
    expect(defaults['editor.autoClosingOvertype']).toBe('always');
  });
  it('keeps at the top of the editor the lines that a line is indented under, not the first of a list of parts', () => {
    expect(defaults['editor.stickyScroll.defaultModel']).toBe('indentationModel');
  });
  it('has room for both figures of a tightening in two stages and for what the last clamps with', () => {
    const hints = ['= 33.2 lbf·ft', '= 66.4 lbf·ft', '≈ 100 % of proof load'];
    expect(defaults['editor.inlayHints.maximumLength']).toBeGreaterThan(hints.join('').length);
  });
  it('has no box around the sign of sizes, as in M8 × 40 mm', () => {
    expect(defaults['editor.unicodeHighlight.allowedCharacters']).toEqual({ '×': true });
  });
});

describe('names by their state', () => {
  const { tokenTypes, tokenModifiers } = semanticTokens.capability.semanticTokensProvider!.legend;
  const { semanticTokenModifiers, semanticTokenScopes } = manifest.contributes;
  it('are told to the editor with every modifier of our own', () => {
    const standard: string[] = Object.values(SemanticTokenModifiers);
    expect(semanticTokenModifiers.map(({ id }: { id: string }) => id)).toEqual(
      tokenModifiers.filter((modifier) => !standard.includes(modifier)),
    );
  });
  it('look as the theme has it: scopes that themes know, and no colour of our own', () => {
    const [{ language, scopes }] = semanticTokenScopes;
    expect(language).toBe('fettle');
    expect(scopes).toEqual({ 'variable.off': ['markup.italic'] });
    for (const selector of Object.keys(scopes)) {
      const [type, modifier] = selector.split('.');
      expect(tokenTypes).toContain(type);
      expect(tokenModifiers).toContain(modifier);
    }
    expect(JSON.stringify(manifest.contributes)).not.toMatch(/#[0-9a-f]{3,8}"/i);
  });
});

describe('commands', () => {
  const commands: string[] = manifest.contributes.commands.map(({ command }: { command: string }) => command);
  it.each(commands)('%s is registered', (command) => {
    expect(sources.filter(([, source]) => source.includes(`'${command}'`))).not.toEqual([]);
  });
  it("stand in the editor's own list of new files", () => {
    expect(manifest.contributes.menus['file/newFile']).toEqual([{ command: 'fettle.newProcedure' }]);
    // There the list has no category beside the title.
    expect(texts['newProcedure.title']).toMatch(/Fettle/);
    const snippets = JSON.parse(readFileSync(join(root, 'grammar/snippets.json'), 'utf8'));
    const [, source] = sources.find(([name]) => name.endsWith('new-procedure.ts'))!;
    expect(Object.keys(snippets)).toContain(/name: '([^']+)'/.exec(source)![1]);
  });
  it('that the walkthrough links to exist', () => {
    const linked = Object.entries(texts)
      .filter(([key]) => key.startsWith('walkthrough.'))
      .flatMap(([, text]) => [...text.matchAll(/\(command:(fettle\.\w+)\)/g)].map(([, command]) => command!));
    expect(linked).not.toEqual([]);
    for (const command of linked) expect(commands).toContain(command);
  });

  const views = ['fettle.card', 'fettle.diagram', 'fettle.plan'];
  /** Whether a condition of the manifest holds; fails on forms that are not used in it. */
  const holds = (condition: string, keys: Record<string, string>): boolean =>
    condition.split(' || ').some((term) => {
      const [, key, is, like] = /^(\w+) (?:== '?([\w.]+)'?|=~ \/(.+)\/)$/.exec(term)!;
      const value = keys[key!] ?? '';
      return like === undefined ? value === is : new RegExp(like).test(value);
    });
  const enabled = (keys: Record<string, string>): string[] =>
    manifest.contributes.commands
      .filter(({ enablement }: { enablement?: string }) => enablement !== undefined && holds(enablement, keys))
      .map(({ command }: { command: string }) => command);
  const inTitle = (keys: Record<string, string>): string[] =>
    manifest.contributes.menus['editor/title']
      .filter(({ when }: { when: string }) => holds(when, keys))
      .map(({ command }: { command: string }) => command);

  it.each(views)('from %s open the others and save what is made of the procedure', (activeWebviewPanelId) => {
    const keys = { activeWebviewPanelId };
    expect(enabled(keys)).toEqual(
      expect.arrayContaining([
        'fettle.openCard',
        'fettle.openDiagram',
        'fettle.openPlan',
        'fettle.saveCard',
        'fettle.saveKit',
      ]),
    );
    const own = activeWebviewPanelId.replace(/\.(.)/, (_, letter: string) => `.open${letter.toUpperCase()}`);
    expect(inTitle(keys).sort()).toEqual(
      enabled(keys)
        .filter((command) => command !== own)
        .sort(),
    );
  });
  it('stand in a title only where they can be used, each once', () => {
    for (const keys of [
      { resourceLangId: 'fettle', editorLangId: 'fettle' },
      ...views.map((activeWebviewPanelId) => ({ activeWebviewPanelId })),
    ]) {
      const shown = inTitle(keys);
      expect(enabled(keys)).toEqual(expect.arrayContaining(shown));
      expect(shown).toEqual([...new Set(shown)]);
    }
    expect(inTitle({ activeWebviewPanelId: 'other.plan', resourceLangId: 'markdown' })).toEqual([]);
  });
});

describe('icons', () => {
  it('of the extension is a square PNG of 128 pixels or more', () => {
    const png = readFileSync(join(root, manifest.icon));
    expect(png.subarray(0, 8).toString('latin1')).toBe('\x89PNG\r\n\x1a\n');
    // The PNG specification (W3C): width and height are the first fields of IHDR, which comes first.
    const [width, height] = [png.readUInt32BE(16), png.readUInt32BE(20)];
    expect(width).toBe(height);
    expect(width).toBeGreaterThanOrEqual(128);
  });

  // WCAG 2.2, 1.4.11: 3 to 1 for what is seen of a sign.
  it.each([
    ['light', '#f8f8f8'],
    ['dark', '#181818'],
  ] as const)('of the files can be told from a %s background', (theme, background) => {
    const svg = readFileSync(join(root, manifest.contributes.languages[0].icon[theme]), 'utf8');
    const colours = [...svg.matchAll(/(?:fill|stroke)="(#[0-9a-f]{6})"/g)].map(([, colour]) => colour!);
    expect(colours.length).toBeGreaterThan(1);
    for (const colour of colours) expect([colour, contrast(colour, background) >= 3]).toEqual([colour, true]);
  });

  /** WCAG 2.2, definitions of relative luminance and contrast ratio. */
  function contrast(one: string, other: string): number {
    const luminance = (colour: string): number => {
      const [red, green, blue] = [1, 3, 5].map((at) => {
        const share = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
        return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
      }) as [number, number, number];
      return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    };
    const [brighter, darker] = [luminance(one), luminance(other)].sort((a, b) => b - a) as [number, number];
    return (brighter + 0.05) / (darker + 0.05);
  }
});
