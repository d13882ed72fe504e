// The documents: links resolve, every folder that CONTRIBUTING sends a reader to exists, every dependency has its
// line of why, and every room has its README with the five headings.
import { existsSync, readFileSync, readdirSync, statSync } from 'node:fs';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..');
const faults = [];
const markdown = [];
const walk = (folder) => {
  for (const name of readdirSync(folder)) {
    if (name === 'node_modules' || name === 'dist' || name.startsWith('.') || name === 'test-results')
      continue;
    const full = path.join(folder, name);
    if (statSync(full).isDirectory()) walk(full);
    else if (name.endsWith('.md')) markdown.push(full);
  }
};
walk(root);
for (const file of markdown) {
  const text = readFileSync(file, 'utf8');
  for (const match of text.matchAll(/\]\(([^)#\s]+)(?:#[^)]*)?\)/g)) {
    const link = match[1];
    if (/^[a-z]+:/.test(link)) continue;
    if (!existsSync(path.resolve(path.dirname(file), link)))
      faults.push(
        `${path.relative(root, file)}: the link ${link} leads nowhere; correct it or add the file.`,
      );
  }
}

const table = readFileSync(path.join(root, 'CONTRIBUTING.md'), 'utf8')
  .split('\n')
  .filter((line) => line.startsWith('|'));
for (const line of table) {
  for (const match of line.matchAll(
    /`((?:packages|apps|docs|scripts|conformance|bench|examples)\/[^`\s]*)`/g,
  )) {
    const place = match[1].replace(/[*<].*$/, '').replace(/\/$/, '');
    if (!existsSync(path.join(root, place)))
      faults.push(`CONTRIBUTING.md: ${match[1]} does not exist; the table must stay true.`);
  }
}

const reasons = readFileSync(path.join(root, 'docs/adr/0002-dependencies.md'), 'utf8');
const manifests = [
  'package.json',
  ...['packages', 'apps'].flatMap((top) =>
    readdirSync(path.join(root, top)).map((name) => `${top}/${name}/package.json`),
  ),
];
for (const manifest of manifests) {
  if (!existsSync(path.join(root, manifest))) continue;
  const { dependencies = {}, devDependencies = {} } = JSON.parse(
    readFileSync(path.join(root, manifest), 'utf8'),
  );
  for (const [name, version] of Object.entries({ ...dependencies, ...devDependencies })) {
    if (!/^\d/.test(version)) faults.push(`${manifest}: ${name} is not pinned to one version (${version}).`);
    if (!name.startsWith('@ebbline/') && !reasons.includes(name))
      faults.push(`docs/adr/0002-dependencies.md: ${name} of ${manifest} has no line of why.`);
  }
}

// The threat model names tests by file and words: one that was renamed or removed is told.
const threats = 'docs/guide/threat-model.md';
const threatText = readFileSync(path.join(root, threats), 'utf8');
let proofs = 0;
for (const [, file, words] of threatText.matchAll(/`([\w./-]+\.(?:test|spec)\.tsx?)` "([^"]+)"/g)) {
  proofs += 1;
  const full = path.join(root, file);
  if (!existsSync(full)) faults.push(`${threats}: ${file} is gone; name the test that holds this row now.`);
  else if (!readFileSync(full, 'utf8').includes(words))
    faults.push(`${threats}: no test "${words}" in ${file}; name the test that holds this row now.`);
}
for (const line of threatText.split('\n').filter((one) => /^\| (?!who |---)/.test(one)))
  if (!/`[\w./-]+\.(?:test|spec)\.tsx?` "/.test(line))
    faults.push(`${threats}: a row without a test: ${line.slice(0, 60)}`);
if (proofs < 20) faults.push(`${threats}: only ${proofs} tests are named; the form of the rows has changed.`);

const headings = ['What lives here', 'In → out', 'May import', 'How it is proved'];
const rooms = ['quantity', 'geometry', 'statistics', 'filling', 'record', 'facts', 'present'].map(
  (name) => `packages/core/src/${name}`,
);
for (const room of [
  ...rooms,
  'packages/imaging',
  'packages/protocol',
  'packages/store',
  'packages/simulate',
  'packages/replay',
  'packages/interop',
  'apps/server',
  'apps/web',
  'apps/cli',
]) {
  const file = path.join(root, room, 'README.md');
  if (!existsSync(file)) faults.push(`${room}: no README.md; say what lives here and how to add to it.`);
  else
    for (const heading of headings)
      if (!readFileSync(file, 'utf8').includes(heading))
        faults.push(`${room}/README.md: the heading "${heading}" is missing.`);
}

const lock = readFileSync(path.join(root, 'package-lock.json'), 'utf8');
if (/"resolved": "http/.test(lock))
  faults.push(
    'package-lock.json records download addresses; rewrite it with omit-lockfile-registry-resolved=true.',
  );

for (const fault of faults) console.error(fault);
console.log(`documents: ${markdown.length} pages, ${faults.length} faults`);
if (faults.length > 0) process.exit(1);
