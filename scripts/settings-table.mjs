// Writes the table of settings in docs/guide/operations.md from the server's own list; `--check` only compares.
//
//   node scripts/settings-table.mjs [--check]
import { readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { settingRows } from '../apps/server/src/config.ts';

const page = path.resolve(import.meta.dirname, '../docs/guide/operations.md');
const [from, to] = ['<!-- settings -->\n', '<!-- end of settings -->'];
const text = readFileSync(page, 'utf8');
const [start, end] = [text.indexOf(from), text.indexOf(to)];
if (start < 0 || end < start) throw new Error(`${page}: the marks of the table of settings are gone`);
const table = [
  '| setting | unset | what it is for |',
  '|---|---|---|',
  ...settingRows().map(({ name, unset, what }) => `| \`${name}\` | ${unset} | ${what} |`),
].join('\n');
const wanted = `${text.slice(0, start + from.length)}${table}\n${text.slice(end)}`;
if (!process.argv.includes('--check')) writeFileSync(page, wanted);
else if (wanted !== text) {
  console.error(
    'docs/guide/operations.md: the table of settings is not as config.ts has it; run node scripts/settings-table.mjs',
  );
  process.exit(1);
}
console.log(`settings: ${settingRows().length}`);
