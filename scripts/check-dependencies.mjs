// Every dependency of every package.json has its line in docs/adr/0002-dependencies.md with the exact version that is
// installed by it, and every line there belongs to a dependency.
//
//   node scripts/check-dependencies.mjs
import { filesUnder, finish, read } from './shared/files.mjs';

const faults = [];
const page = 'docs/adr/0002-dependencies.md';
const listed = new Map();
for (const line of read(page).split('\n')) {
  const [, name, version, , why] = line.split('|').map((cell) => cell.trim());
  if (name === undefined || version === undefined || !/^\d/.test(version)) continue;
  if (listed.has(name)) faults.push(`${page}: ${name} stands twice`);
  if (!why) faults.push(`${page}: ${name} has no reason`);
  listed.set(name, version);
}
const wanted = new Set();
for (const path of ['package.json', ...filesUnder(['packages', 'apps'], /^package\.json$/)]) {
  const { dependencies = {}, devDependencies = {}, optionalDependencies = {} } = JSON.parse(read(path));
  for (const [name, version] of Object.entries({
    ...dependencies,
    ...devDependencies,
    ...optionalDependencies,
  })) {
    if (name.startsWith('@ebbline/')) continue;
    wanted.add(name);
    if (!/^\d+\.\d+\.\d+$/.test(version))
      faults.push(`${path}: ${name} is "${version}"; give one exact version`);
    if (!listed.has(name)) faults.push(`${page}: no line for ${name} (${path})`);
    else if (listed.get(name) !== version)
      faults.push(`${page}: ${name} is ${listed.get(name)}, ${path} has ${version}`);
  }
}
for (const name of listed.keys())
  if (!wanted.has(name)) faults.push(`${page}: ${name} is no dependency any more`);
finish('dependencies', faults, `${wanted.size}, each with its version and its reason`);
