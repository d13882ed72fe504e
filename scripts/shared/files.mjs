// Files of the house for the checks: everything that is kept or about to be, without generated folders.
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../../', import.meta.url));
const skipped = new Set([
  'node_modules',
  'dist',
  '.git',
  '.reports',
  'test-results',
  'playwright-report',
  'coverage',
]);

/** Paths below the given folders, relative to the root with forward slashes, whose name matches. */
export function filesUnder(folders, name) {
  const found = [];
  const walk = (folder) => {
    let entries;
    try {
      entries = readdirSync(folder, { withFileTypes: true });
    } catch {
      return;
    }
    for (const entry of entries) {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) {
        if (!skipped.has(entry.name)) walk(path);
      } else if (name.test(entry.name)) found.push(relative(root, path).split(sep).join('/'));
    }
  };
  for (const folder of folders) walk(join(root, folder));
  return found.sort();
}

export const read = (path) => readFileSync(join(root, path), 'utf8');

/** Prints faults and ends with 1, or prints the good news. */
export function finish(title, faults, goodNews) {
  if (faults.length > 0) {
    console.error(`${title}: ${faults.length} to put right`);
    for (const fault of faults) console.error(`  ${fault}`);
    process.exit(1);
  }
  console.log(`${title}: ${goodNews}`);
}
