// Puts the change notes of changes/ into CHANGELOG.md.
//
//   node scripts/build-changelog.mjs            writes it
//   node scripts/build-changelog.mjs --check    fails when it is out of date or a note lacks a line
import { existsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { filesUnder, finish, read, root } from './shared/files.mjs';

const faults = [];
const needed = [
  /^- Who notices: .+/m,
  /^- (New|Was wrong): .+/m,
  /^- Could a past number differ: (no|yes).*/m,
  /^- Hazards: (none|all|H\d+(, H\d+)*)$/m,
];
const { version } = JSON.parse(read('package.json'));
const notes = filesUnder(['changes'], /^\d{4}-.+\.md$/).map((path) => {
  const text = read(path).trim();
  if (!text.startsWith('# ')) faults.push(`${path}: begin with "# " and what changed`);
  for (const line of needed) if (!line.test(text)) faults.push(`${path}: no line like ${String(line)}`);
  return text.replace(/^# /, '### ');
});
const page = `# Changes\n\nMade from the notes in [changes](changes/README.md).\n\n## ${version}\n\n${notes.join('\n\n')}\n`;
const target = join(root, 'CHANGELOG.md');
if (!process.argv.includes('--check')) {
  if (faults.length === 0) writeFileSync(target, page);
} else if (!existsSync(target) || read('CHANGELOG.md') !== page)
  faults.push('CHANGELOG.md is out of date: node scripts/build-changelog.mjs');
finish('changelog', faults, `${notes.length} notes`);
