import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { expect, test } from 'vitest';
import { allChecks } from '../../server/src/checks/all.ts';
import { faultCode } from '../../server/src/checks/run.ts';
import { helpHref } from '../../server/src/outputs/help.ts';

const home = pathToFileURL(join(import.meta.dirname, '../..')).href;

test('every check has a help page that its findings can link to', () => {
  const missing = allChecks.filter(({ code }) => !existsSync(fileURLToPath(helpHref(code, home)!)));
  expect(missing.map(({ code }) => code)).toEqual([]);
});

test('the address counts from any folder, and there is none for what is no check', () => {
  expect(helpHref('left-off', 'vscode-vfs://host/fettle/')).toBe('vscode-vfs://host/fettle/server/checks/left-off.md');
  expect(helpHref(faultCode, home)).toBeUndefined();
  expect(helpHref('toString', home)).toBeUndefined();
});
