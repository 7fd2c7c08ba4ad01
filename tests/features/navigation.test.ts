import { describe, expect, it } from 'vitest';
import { SymbolKind } from 'vscode-languageserver';
import { definition } from '../../server/src/features/definition.ts';
import { outlineOf } from '../../server/src/features/document-symbol.ts';
import { foldingRangesOf } from '../../server/src/features/folding-range.ts';
import { references } from '../../server/src/features/references.ts';
import { scene, textAt } from './scene.ts';

const shared = `part bolt x4 "Bolt" thread M8 torque 25 N·m
tool wrench "Wrench" range 5..40 N·m
`;
const unit = `procedure pump "Overhaul the pump"
  applies to P-1, P-2
use "common/bolts.fettle"

part cover "Cover" held by bolt
part seal "Seal" renew

teardown
  step open "Open it" takes 10 min
    remove bolt
    remove cover
    for P-2
      remove seal
    end

reassembly
  step close "Close it" after open
    either "One way"
      fit new seal
    or "The other way"
      fit new seal
    end
    fit cover
    fit bolt
    tighten bolt order star using wrench
    measure play limit 0.1..0.2 mm
`;
const files = (marked: string) => ({ 'unit.fettle': marked, 'common/bolts.fettle': shared });
const at = (place: string) => {
  const [before, after] = place.split('¦') as [string, string];
  if (!unit.includes(before + after)) throw new Error(`${place} is not in the text`);
  return scene(files(unit.replace(before + after, place)));
};

async function definedAt(place: string): Promise<string> {
  const { snapshot, position, textDocument, site, workspace } = await at(place);
  const found = await definition.answer(
    snapshot,
    { textDocument, position },
    { ...site, client: { ...site.client, definitionLinks: false } },
  );
  if (found === null) return 'nothing';
  const [first] = found as { uri: string; range: Parameters<typeof textAt>[2] }[];
  return `${first!.uri.replace('file:///bench/', '')}:${first!.range.start.line + 1} ${await textAt(workspace, first!.uri, first!.range)}`;
}

describe('go to definition', () => {
  it.each([
    ['remove cov¦er', 'unit.fettle:5 cover'],
    ['remove cover¦', 'unit.fettle:5 cover'],
    ['tighten ¦bolt', 'common/bolts.fettle:1 bolt'],
    ['using wren¦ch', 'common/bolts.fettle:2 wrench'],
    ['after op¦en', 'unit.fettle:9 open'],
    ['for P-¦2', 'unit.fettle:2 P-2'],
    ['measure pl¦ay', 'unit.fettle:26 play'],
    ['"common/bo¦lts.fettle"', 'common/bolts.fettle:1 '],
    ['remo¦ve cover', 'nothing'],
  ])('of %s', async (place, expected) => {
    expect(await definedAt(place)).toBe(expected);
  });

  it('gives the whole declaration to clients that take links', async () => {
    const { snapshot, position, textDocument, site } = await at('remove cov¦er');
    expect(await definition.answer(snapshot, { textDocument, position }, site)).toEqual([
      {
        originSelectionRange: { start: { line: 10, character: 11 }, end: { line: 10, character: 16 } },
        targetUri: 'file:///bench/unit.fettle',
        targetRange: { start: { line: 4, character: 0 }, end: { line: 4, character: 31 } },
        targetSelectionRange: { start: { line: 4, character: 5 }, end: { line: 4, character: 10 } },
      },
    ]);
  });
});

describe('find references', () => {
  const places = async (text: Record<string, string>, includeDeclaration = true): Promise<string[]> => {
    const { snapshot, position, textDocument, site } = await scene(text);
    const found = await references.answer(snapshot, { textDocument, position, context: { includeDeclaration } }, site);
    return (found ?? []).map(
      ({ uri, range }) => `${uri.replace('file:///bench/', '')}:${range.start.line + 1}:${range.start.character}`,
    );
  };

  it('finds every use of a part, in clauses too', async () => {
    expect(await places(files(unit.replace('remove bolt', 'remove bo¦lt')))).toEqual([
      'common/bolts.fettle:1:5',
      'unit.fettle:5:27',
      'unit.fettle:10:11',
      'unit.fettle:24:8',
      'unit.fettle:25:12',
    ]);
  });

  it('leaves the declaration out when asked to', async () => {
    expect(await places(files(unit.replace('remove cover', 'remove ¦cover')), false)).toEqual([
      'unit.fettle:11:11',
      'unit.fettle:23:8',
    ]);
  });

  it('looks into closed files that use the same declarations', async () => {
    const other = 'use "common/bolts.fettle"\nteardown\n  step s\n    loosen bolt\n';
    expect(
      await places({
        'unit.fettle': unit,
        'common/bolts.fettle': shared.replace('bolt x4', 'bo¦lt x4'),
        'other.fettle': other,
      }),
    ).toEqual([
      'common/bolts.fettle:1:5',
      'other.fettle:4:11',
      'unit.fettle:5:27',
      'unit.fettle:10:11',
      'unit.fettle:24:8',
      'unit.fettle:25:12',
    ]);
  });
});

describe('outline', () => {
  it('keeps the figures of a title that runs from right to left in their order', async () => {
    const { snapshot } = await scene(
      'part se¦al x2 "חותם ציר 40 mm"\nteardown\n  step open "פתח 25 N·m" takes 5 min\n',
    );
    const [parts, teardown] = outlineOf(snapshot);
    // Isolates of UAX #9.
    expect(parts!.children![0]!.detail).toBe('x2 \u2068חותם ציר \u206640 mm\u2069\u2069');
    expect(teardown!.children![0]!.detail).toBe('\u2068פתח \u206625 N·m\u2069\u2069 · 5 min');
  });

  it('gives parts the sign that the list of completions gives them, and not that of their group', async () => {
    const { snapshot } = await scene('part lid "Lid"\ntool bit "Bit"\nteardown\n  step open\n    remove lid\n');
    const [parts, tools, teardown] = outlineOf(snapshot);
    expect(parts!.children![0]!.kind).toBe(SymbolKind.Field);
    expect(tools!.children![0]!.kind).toBe(SymbolKind.Interface);
    // Editors draw braces for each of these: groups and phases, not what they hold.
    const braces: readonly SymbolKind[] = [
      SymbolKind.Module,
      SymbolKind.Namespace,
      SymbolKind.Package,
      SymbolKind.Object,
    ];
    for (const { kind, children } of [parts!, tools!, teardown!]) {
      expect(braces).toContain(kind);
      for (const each of children!) expect(braces).not.toContain(each.kind);
    }
  });

  it('holds the head, declarations by kind, phases with their steps and readings', async () => {
    const { snapshot } = await scene(files(unit));
    type Symbol = ReturnType<typeof outlineOf>[number];
    const print = (symbols: readonly Symbol[], indent = ''): string[] =>
      symbols.flatMap(({ name, detail, children }) => [
        `${indent}${name}${detail === undefined ? '' : ` (${detail})`}`,
        ...print(children ?? [], `${indent}  `),
      ]);
    expect(print(outlineOf(snapshot))).toEqual([
      'pump (Overhaul the pump)',
      'common/bolts.fettle',
      'parts (2)',
      '  cover (Cover)',
      '  seal (Seal)',
      'teardown',
      '  open (Open it · 10 min)',
      'reassembly',
      '  close (Close it)',
      '    play',
    ]);
  });

  it('keeps every range within that of its parent, and the name within its range', async () => {
    const { snapshot } = await scene(files(unit));
    const { document } = snapshot.file;
    type Symbol = ReturnType<typeof outlineOf>[number];
    const check = (symbols: readonly Symbol[], outer?: Symbol): void => {
      for (const symbol of symbols) {
        for (const [inside, around] of [
          [symbol.selectionRange, symbol.range],
          ...(outer ? [[symbol.range, outer.range]] : []),
        ]) {
          expect(document.offsetAt(inside!.start), symbol.name).toBeGreaterThanOrEqual(
            document.offsetAt(around!.start),
          );
          expect(document.offsetAt(inside!.end), symbol.name).toBeLessThanOrEqual(document.offsetAt(around!.end));
        }
        check(symbol.children ?? [], symbol);
      }
    };
    check(outlineOf(snapshot));
  });
});

describe('folding', () => {
  it('folds phases, steps, branches, declarations and comments by whole lines', async () => {
    const { snapshot } = await scene(`# One\n# Two\n${unit}`);
    expect(
      foldingRangesOf(snapshot).map(({ startLine, endLine, kind }) =>
        `${startLine + 1}-${endLine + 1} ${kind ?? ''}`.trim(),
      ),
    ).toEqual(['1-2 comment', '3-4', '7-8 region', '10-16', '11-16', '14-15', '18-28', '19-28', '20-21', '22-23']);
  });
});
