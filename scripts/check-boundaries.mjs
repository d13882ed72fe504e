// Walks the imports of product code and says which step goes the wrong way. Each fault says what to do instead.
import { readFileSync, readdirSync, statSync } from 'node:fs';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const ladder = ['quantity', 'geometry', 'statistics', 'filling', 'record', 'facts', 'present'];
/** Which packages a package may enter. */
const mayImport = {
  core: [],
  imaging: ['core'],
  protocol: ['core'],
  simulate: ['core', 'imaging'],
  store: ['core'],
  interop: ['core', 'imaging', 'protocol'],
  replay: ['core', 'protocol', 'simulate', 'interop'],
};
const packageOf = (name) => name.replace('@ebbline/', '').split('/')[0];

const files = [];
const walk = (folder) => {
  for (const name of readdirSync(folder)) {
    const full = path.join(folder, name);
    if (name === 'node_modules' || name === 'dist') continue;
    if (statSync(full).isDirectory()) walk(full);
    else if (/\.(ts|tsx|mts|mjs)$/.test(name) && !name.endsWith('.d.ts')) files.push(full);
  }
};
walk(path.join(root, 'packages'));
walk(path.join(root, 'apps'));

const isTest = (file) => /\.(test|contract|spec)\.tsx?$|[\\/](testing|e2e)[\\/]/.test(file);
const importPattern =
  /(?:^|\n)\s*(?:import|export)\b[^;'"]*?\bfrom\s*['"]([^'"]+)['"]|(?:^|\n)\s*import\s*['"]([^'"]+)['"]|\bimport\(\s*['"]([^'"]+)['"]\s*\)/g;

const faults = [];
const graph = new Map();
for (const file of files) {
  const relative = path.relative(root, file);
  const parts = relative.split(path.sep);
  const [top, owner] = parts;
  const source = readFileSync(file, 'utf8');
  const edges = [];
  graph.set(file, edges);
  for (const match of source.matchAll(importPattern)) {
    const wanted = match[1] ?? match[2] ?? match[3];
    const dynamic = match[3] !== undefined;
    const typeOnly = /(?:import|export)\s+type\b/.test(match[0]);
    const fault = (why) => faults.push(`${relative} imports ${wanted}: ${why}`);
    if (wanted.startsWith('.')) {
      const target = path.resolve(path.dirname(file), wanted.split('?')[0]);
      if (!dynamic && !typeOnly) edges.push(target);
      const to = path.relative(root, target).split(path.sep);
      if (to[0] !== top || to[1] !== owner)
        fault('another package or app is entered by its front door (@ebbline/…), not by a path.');
      if (
        top === 'packages' &&
        owner === 'core' &&
        parts[2] === 'src' &&
        to[2] === 'src' &&
        parts.length > 4 &&
        to.length > 4
      ) {
        const from = ladder.indexOf(parts[3]);
        const into = ladder.indexOf(to[3]);
        if (from >= 0 && into > from)
          fault(
            `the ladder of core is only walked down (${ladder.join(' → ')}); move what is shared to a lower room.`,
          );
      }
      if (
        top === 'apps' &&
        owner === 'web' &&
        parts[3] === 'features' &&
        to[3] === 'features' &&
        parts[4] !== to[4] &&
        !isTest(file)
      ) {
        fault('features stand apart; move what is common to src/shared or to a package.');
      }
      if (!isTest(file) && isTest(target)) fault('product code imports no test.');
    } else if (wanted.startsWith('@ebbline/')) {
      const into = packageOf(wanted);
      if (top === 'packages') {
        if (['server', 'web', 'cli'].includes(into)) fault('packages never import apps; pass the value in.');
        else if (into !== owner && !isTest(file) && !(mayImport[owner] ?? []).includes(into))
          fault(
            `packages/${owner} may enter ${(mayImport[owner] ?? []).join(', ') || 'nothing'}; move the shared part down or pass it in.`,
          );
      }
      if (top === 'apps' && ['web', 'cli'].includes(into)) fault('apps share only through packages.');
      if (top === 'apps' && into === 'server' && owner !== 'cli') fault('apps share only through packages.');
    } else if (wanted.startsWith('node:')) {
      if (
        top === 'packages' &&
        ['core', 'imaging', 'protocol', 'simulate', 'replay'].includes(owner) &&
        !isTest(file) &&
        parts[2] === 'src'
      )
        fault('pure rooms use no Node module; do the file work at an edge.');
    } else if (
      top === 'packages' &&
      ['core', 'imaging', 'simulate', 'replay'].includes(owner) &&
      !isTest(file)
    ) {
      fault('pure rooms use no npm package; put the library at an edge.');
    }
  }
}

// Cycles among value imports, by depth-first search.
const state = new Map();
const stack = [];
const visit = (file) => {
  state.set(file, 'open');
  stack.push(file);
  for (const next of graph.get(file) ?? []) {
    if (!graph.has(next)) continue;
    if (state.get(next) === 'open') {
      const cycle = [...stack.slice(stack.indexOf(next)), next].map((one) => path.relative(root, one));
      faults.push(`cycle: ${cycle.join(' → ')}: take out the part that both need.`);
    } else if (!state.has(next)) visit(next);
  }
  stack.pop();
  state.set(file, 'done');
};
for (const file of graph.keys()) if (!state.has(file)) visit(file);

for (const fault of faults) console.error(fault);
console.log(`boundaries: ${files.length} files, ${faults.length} faults`);
if (faults.length > 0) process.exit(1);
