// Proves     the tables of conformance/README.md: every test they name is there and names the row, every function they name
//            is exported by the statistics or filling room, and no row stands twice.
// Published  -
// Tolerance  exact
import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import * as filling from '@ebbline/core/filling';
import * as statistics from '@ebbline/core/statistics';

const root = new URL('../', import.meta.url);
const lines = readFileSync(new URL('README.md', import.meta.url), 'utf8').split('\n');
const cells = (line: string): readonly string[] =>
  line
    .split('|')
    .slice(1, -1)
    .map((cell) => cell.trim());
const rows = lines.filter((line) => /^\| [A-Z]\d+/.test(line)).map(cells);
const tables = lines.filter((line) => /^\| `[\w-]+\.(csv|json)`/.test(line)).map(cells);
const textOf = (path: string): string => readFileSync(new URL(path, root), 'utf8');
const pathIn = (cell: string | undefined): string => /`([^`]+\.test\.ts)`/.exec(cell ?? '')?.[1] ?? '';

describe('rows of the clinical reference', () => {
  it('are more than fifty, each once', () => {
    expect(rows.length).toBeGreaterThan(50);
    expect(new Set(rows.map(([row]) => row)).size).toBe(rows.length);
  });
  it.each(rows.map(([row = '', , test]) => [row, pathIn(test)] as const))(
    '%s is named by %s',
    (row, path) => {
      const id = row.split(' ')[0] ?? '';
      expect(existsSync(new URL(path, root))).toBe(true);
      expect(textOf(path)).toMatch(new RegExp(`(?<![A-Za-z0-9])${id}(?![0-9])`));
    },
  );
});

describe('reference tables of statistics', () => {
  const shipped = { ...statistics, ...filling } as Readonly<Record<string, unknown>>;
  it('are eleven lines', () => expect(tables).toHaveLength(11));
  it.each(tables.map(([file = '', functions = '', test = '']) => [file, functions, pathIn(test)] as const))(
    '%s is answered by functions that ship and that its test calls',
    (_file, functions, path) => {
      const text = textOf(path);
      for (const [, name = ''] of functions.matchAll(/`(\w+)`/g)) {
        expect(typeof shipped[name], name).toBe('function');
        expect(text, name).toContain(`${name}(`);
      }
    },
  );
});
