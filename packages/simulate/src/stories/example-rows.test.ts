// Proves     every row that the stories quote stands in a starter table of that protocol, with the same step, minutes and words
// Tolerance  exact
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { exampleRows } from './example-rows.ts';

const starter = (protocolId: string): string =>
  readFileSync(new URL(`../../../protocol/src/starter/${protocolId}.dmn`, import.meta.url), 'utf8');

/** The cells of one rule, with the quotes of FEEL strings taken off. */
function outputsOf(dmn: string, rowId: string): readonly string[] {
  const rule = dmn.match(new RegExp(`<rule id="${rowId}">([\\s\\S]*?)</rule>`))?.[1] ?? '';
  return [...rule.matchAll(/<outputEntry[^>]*><text>([\s\S]*?)<\/text>/g)].map((match) =>
    (match[1] as string)
      .replace(/^"|"$/g, '')
      .replaceAll('&lt;', '<')
      .replaceAll('&gt;', '>')
      .replaceAll('&amp;', '&'),
  );
}

describe('the rows that stories quote', () => {
  it.each(Object.entries(exampleRows))('stand in the starter tables: %s', (_name, row) => {
    const cells = outputsOf(starter(row.protocolId), row.rowId);
    expect(cells.slice(0, 3)).toEqual([row.step, String(row.dueInMin), row.ownerRole]);
    expect(cells).toContain(row.rowText);
    expect(cells).toContain(row.rowSourceId);
  });
});
