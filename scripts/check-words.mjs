// Every word of the closed lists, every kind of entry and every choice of a field has a line in docs/glossary.md, no
// line there explains a word that is gone, and every link of the README files and of docs leads somewhere.
//
//   node scripts/check-words.mjs
import { existsSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { filesUnder, finish, read, root } from './shared/files.mjs';

const faults = [];
const strings = (text) => [...text.matchAll(/'([^']+)'/g)].map((match) => match[1]);

const words = new Map();
const record = 'packages/core/src/record/';
for (const match of read(`${record}words.ts`).matchAll(/export const (\w+) = \[([\s\S]*?)\] as const/g)) {
  for (const word of strings(match[2])) words.set(word, `${match[1]} in words.ts`);
}
const kinds = read(`${record}kinds.ts`);
for (const match of kinds.matchAll(/^ {2}'?([\w-]+)'?: s\.shape\(/gm))
  words.set(match[1], 'kinds of entry in kinds.ts');
for (const match of kinds.matchAll(/(\w+): (?:s\.maybe\()?s\.choice\(\[([^\]]*)\]/g))
  for (const word of strings(match[2])) words.set(word, `${match[1]} in kinds.ts`);
for (const match of read(`${record}entry.ts`).matchAll(/timeQualities = \[([^\]]*)\]/g))
  for (const word of strings(match[1])) words.set(word, 'timeQualities in entry.ts');
const reasons = /export type ReasonCode =([^;]*);/.exec(read('packages/imaging/src/reasons.ts'))?.[1] ?? '';
for (const word of strings(reasons)) words.set(word, 'ReasonCode in imaging/reasons.ts');
if (words.size < 160)
  faults.push(`only ${words.size} words found in the closed lists: this check no longer reads them`);

const glossary = read('docs/glossary.md');
const explained = new Set();
for (const line of glossary.split('\n')) {
  const match = /^- `([^`]+)`: (.+)$/.exec(line);
  if (match) explained.add(match[1]);
  else if (line.startsWith('- `'))
    faults.push(`docs/glossary.md: "${line.slice(0, 60)}" is no line of the form - \`word\`: meaning`);
}
for (const [word, where] of words)
  if (!explained.has(word)) faults.push(`${word} (${where}) has no line in docs/glossary.md`);
for (const word of explained)
  if (!words.has(word)) faults.push(`docs/glossary.md explains ${word}, which no closed list has any more`);

let links = 0;
const later = [];
const anchors = (text) =>
  new Set(
    [...text.matchAll(/^#+ (.+)$/gm)].map((match) =>
      match[1]
        .toLowerCase()
        .replace(/[^\p{L}\p{N}\s-]/gu, '')
        .trim()
        .replaceAll(' ', '-'),
    ),
  );
const pages = [...filesUnder(['.'], /\.md$/)].filter((path) => !path.startsWith('node_modules/'));
for (const path of pages) {
  const text = read(path)
    .replace(/```[\s\S]*?```/g, '')
    .replace(/`[^`\n]*`/g, '');
  for (const match of text.matchAll(/\]\(([^)\s]+)\)/g)) {
    const link = match[1];
    if (/^[a-z]+:/.test(link)) continue;
    links += 1;
    const [file = '', anchor] = link.split('#');
    const target = file === '' ? path : normalize(join(dirname(path), file)).replaceAll('\\', '/');
    if (!existsSync(join(root, target))) {
      if (/^docs\/guide\/pictures\/.+\.png$/.test(target)) later.push(target);
      else faults.push(`${path}: ${link} leads nowhere`);
    } else if (anchor !== undefined && target.endsWith('.md') && !anchors(read(target)).has(anchor))
      faults.push(`${path}: ${link} names a heading that is not there`);
  }
}
const decisions = read('docs/adr/README.md');
for (const path of filesUnder(['docs/adr'], /^\d{4}-.+\.md$/)) {
  if (!decisions.includes(`(${path.split('/').at(-1)})`))
    faults.push(`docs/adr/README.md does not list ${path}`);
}
if (later.length > 0)
  console.log(
    `pictures still to come: ${[...new Set(later)].map((path) => path.split('/').at(-1)).join(', ')}`,
  );
finish('words', faults, `${words.size} words explained, ${links} links lead somewhere`);
