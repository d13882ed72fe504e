// Runs one bench, or all: `npm run bench -- append`. A bench prints ratios to a named peer measured in the same run.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync } from 'node:fs';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const folder = path.join(root, 'bench');
const names = existsSync(folder)
  ? readdirSync(folder).filter((name) => /\.(ts|mjs)$/.test(name) && !name.includes('.test.'))
  : [];
const wanted = process.argv.slice(2);
let failed = false;
for (const name of names) {
  const short = name.replace(/\.(ts|mjs)$/, '');
  if (wanted.length > 0 && !wanted.includes(short)) continue;
  console.log(`\n— ${short}`);
  if (spawnSync('node', [path.join(folder, name)], { cwd: root, stdio: 'inherit' }).status !== 0)
    failed = true;
}
const unknown = wanted.filter((one) => !names.some((name) => name.replace(/\.(ts|mjs)$/, '') === one));
for (const one of unknown)
  console.error(
    `There is no bench called ${one}; there are: ${names.map((name) => name.replace(/\.(ts|mjs)$/, '')).join(', ')}.`,
  );
process.exit(failed || unknown.length > 0 ? 1 : 0);
