// Every source id used in code, tests, tables or the guide stands in docs/evidence/*.json, and every id there is used
// or marked kept.
//
//   node scripts/check-sources.mjs
import { filesUnder, finish, read } from './shared/files.mjs';

const grades = ['verified', 'from memory', 'common practice', 'arithmetic', 'made here'];
const faults = [];
const notes = [];

const known = new Map();
for (const path of filesUnder(['docs/evidence'], /\.json$/)) {
  let sources;
  try {
    sources = JSON.parse(read(path));
  } catch (error) {
    faults.push(`${path} is no JSON: ${error.message}`);
    continue;
  }
  for (const [id, source] of Object.entries(sources)) {
    const say = (what) => faults.push(`${path}, ${id}: ${what}`);
    if (!/^S-[a-z]/.test(id)) say('an id begins with S- and a small letter');
    for (const name of ['title', 'where'])
      if (typeof source[name] !== 'string' || source[name].trim() === '') say(`no ${name}`);
    if (!grades.includes(source.grade)) say(`grade is ${source.grade}; should be ${grades.join(', ')}`);
    const other = known.get(id);
    if (other && other.source.grade !== source.grade)
      say(`graded "${source.grade}" here and "${other.source.grade}" in ${other.path}`);
    else if (other) notes.push(`${id} stands in ${other.path} and in ${path}`);
    known.set(id, { source, path });
  }
}

const used = new Map();
const places = [
  ...filesUnder(['packages', 'apps', 'conformance', 'bench', 'examples'], /\.(ts|tsx|mjs|dmn|csv|json|css)$/),
  ...filesUnder(['scripts'], /\.mjs$/),
  ...filesUnder(['docs/guide', 'docs/adr', 'docs/hazards'], /\.(md|yaml)$/),
  ...filesUnder(['docs'], /^glossary\.md$/),
].filter((path) => !path.endsWith('check-sources.mjs'));
for (const path of places) {
  const text = read(path);
  // An id followed by a placeholder is the beginning of ids that are made at run time from rows named beside it.
  for (const match of text.matchAll(/(?<![A-Za-z0-9_])S-[a-z][A-Za-z0-9]*(?:[-.][A-Za-z0-9]+)*/g)) {
    if (text.startsWith('-${', match.index + match[0].length)) continue;
    if (!used.has(match[0])) used.set(match[0], path);
  }
  // "S-clinical-A1 to S-clinical-A13" names every row between.
  for (const [, stem, first, last] of text.matchAll(/\b(S-[a-z][\w.-]*?[A-Z])(\d+) to \1(\d+)/g)) {
    for (let row = Number(first); row <= Number(last); row += 1)
      if (!used.has(stem + row)) used.set(stem + row, path);
  }
}
for (const [id, path] of [...used].sort())
  if (!known.has(id)) faults.push(`${id} is used in ${path} and stands in no docs/evidence/*.json`);
for (const [id, { source, path }] of known)
  if (!used.has(id) && source.kept === undefined)
    faults.push(`${id} in ${path} is used nowhere; take it out, or say why it is kept ("kept": "…")`);

for (const note of notes) console.log(`note: ${note}`);
const count = (grade) => [...known.values()].filter(({ source }) => source.grade === grade).length;
finish(
  'sources',
  faults,
  `${used.size} ids used, all known (${grades.map((grade) => `${count(grade)} ${grade}`).join(', ')})`,
);
