export interface Indentation {
  readonly tabSize: number;
  readonly insertSpaces: boolean;
}

/**
 * What an editor should indent by and does not: a file that is open before the workbench knows this language's defaults keeps
 * those of plain text. Nothing where the text itself has lines that are indented: from those the editor has told.
 */
export function indentationOwed(text: string, shown: Partial<Indentation>, set: Indentation): Indentation | undefined {
  if (/^[ \t]+\S/m.test(text)) return undefined;
  return shown.tabSize === set.tabSize && shown.insertSpaces === set.insertSpaces ? undefined : set;
}
