// Proves     what every verb says to a path or a file that it cannot use: what was found, what is allowed, what to do,
//            exit code 2 or 3, nothing on standard output, no trace of the program's inside, nothing left behind.
// Published  none; the contract is the command line's own
// Tolerance  exact codes
import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';

const here = (name: string): string => fileURLToPath(new URL(name, import.meta.url));
const main = here('../main.ts');
const ward = here('../../../../examples/ward');
const starter = here('../../../../packages/protocol/src/starter/after-surgery.dmn');
const root = mkdtempSync(join(tmpdir(), 'ebbline-refusals-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const at = (name: string): string => join(root, name);

const binary = Uint8Array.from({ length: 3000 }, (_, index) => (index * 151 + (index >> 3)) % 256);
writeFileSync(at('half.json'), '{"a": 1');
writeFileSync(at('empty.ndjson'), '');
writeFileSync(at('blank.csv'), '');
writeFileSync(at('binary.bin'), binary);
writeFileSync(at('binary.ndjson'), binary);
writeFileSync(at('list.json'), '[1, 2]');
writeFileSync(at('huge.json'), '{"volumeMl": 1e400}');
mkdirSync(at('folder'));
for (const [name, about] of [
  ['other-planet', '{"format": "wardlog-1", "ward": "heron", "zone": "Mars/Olympus"}'],
  ['half-about', '{"format": "wardlog-1"'],
  ['no-zone', '{"format": "wardlog-1", "ward": "heron"}'],
] as const) {
  cpSync(ward, at(name), { recursive: true });
  writeFileSync(at(`${name}/ward.json`), about);
}
for (const [name, directory] of [
  ['spoilt', '{"organisation": "o", "wards": [], "people": [], "scanners": []}'],
  ['cut-short', '{"organisation": '],
] as const) {
  mkdirSync(at(name));
  writeFileSync(at(`${name}/directory.json`), directory);
  writeFileSync(at(`${name}/record.sqlite`), binary);
}
// A ward folder whose own log is good, with a broken second log beside it.
cpSync(ward, at('two-logs'), { recursive: true });
writeFileSync(at('two-logs/second.ndjson'), '{"id": "x"}\n');

const run = (words: readonly string[]): Promise<{ code: number | null; out: string; complaint: string }> =>
  new Promise((resolve) => {
    const child = spawn(process.execPath, [main, ...words], { stdio: ['ignore', 'pipe', 'pipe'], cwd: root });
    let [out, complaint] = ['', ''];
    child.stdout.on('data', (part: Buffer) => (out += part.toString()));
    child.stderr.on('data', (part: Buffer) => (complaint += part.toString()));
    child.on('close', (code) => resolve({ code, out, complaint }));
  });

const answer = (...words: readonly string[]): readonly string[] => ['protocol', 'answer', starter, ...words];

const cases: readonly (readonly [string, readonly string[], string])[] = [
  ['a log that is not there', ['estimate', 'none.ndjson'], 'cli/file-not-read'],
  ['a folder without a log', ['estimate', 'folder'], 'cli/file-not-read'],
  ['an empty log', ['estimate', 'empty.ndjson'], 'estimate/nothing-in-it'],
  ['a log that is not text', ['estimate', 'binary.bin'], 'wardlog/not-json'],
  ['a zone that does not exist', ['estimate', 'other-planet'], 'cli/ward-json'],
  ['half a ward.json', ['estimate', 'half-about'], 'cli/ward-json'],
  ['a ward.json without a zone', ['estimate', 'no-zone'], 'cli/ward-json'],
  [
    'queries that are a folder',
    ['estimate', ward, '--queries', 'folder', '--csv', 'a.csv'],
    'cli/file-not-read',
  ],
  [
    'answers to a folder that is not there',
    ['estimate', ward, '--queries', join(ward, 'queries.csv'), '--csv', 'nowhere/a.csv'],
    'cli/file-not-written',
  ],
  ['planes that are not there', ['volume', 'none'], 'cli/path-not-read'],
  ['half a geometry', ['volume', ward, '--geometry', 'half.json'], 'planeset/not-json'],
  ['a protocol that is a folder', ['protocol', 'answer', 'folder', '--input', '{}'], 'cli/file-not-read'],
  ['a protocol that is not text', ['protocol', 'answer', 'binary.bin', '--input', '{}'], 'protocol/not-dmn'],
  ['a number without end', answer('--decision', 'Limit', '--input', '@huge.json'), 'protocol/input-type'],
  ['an import that is not there', ['import', 'none', '--data', 'd'], 'cli/file-not-read'],
  ['an import of nothing', ['import', 'empty.ndjson', '--data', 'd'], 'cli/nothing-in-it'],
  ['an import of an empty table', ['import', 'blank.csv', '--data', 'd'], 'csv/'],
  ['an import of another kind of file', ['import', 'binary.bin', '--data', 'd'], 'cli/unknown-file'],
  ['a data folder that is a file', ['import', ward, '--data', 'half.json'], 'cli/not-a-folder'],
  ['the broken one of two logs', ['import', 'two-logs/second.ndjson', '--check'], 'wardlog/missing-field'],
  [
    'a sheet from the broken one',
    ['report', 'ward', 'two-logs/second.ndjson', '--pdf', 'x.pdf'],
    'wardlog/missing-field',
  ],
  ['a sheet from nothing', ['report', 'ward', 'none', '--pdf', 'x.pdf'], 'cli/file-not-read'],
  ['a sheet to a folder', ['report', 'ward', ward, '--pdf', 'folder'], 'cli/file-not-written'],
  [
    'a sheet to a folder that is not there',
    ['report', 'ward', ward, '--pdf', 'nowhere/x.pdf'],
    'cli/file-not-written',
  ],
  ['an export to a file', ['export', '--to', 'half.json', '--data', 'd'], 'cli/not-a-folder'],
  ['a token for a file', ['token', '--role', 'integration', '--data', 'half.json'], 'cli/not-a-folder'],
  [
    'a sheet from a record that is none',
    ['report', 'ward', '--data', 'spoilt', '--pdf', 'x.pdf'],
    'store/not-a-record',
  ],
  ['a server on a record that is none', ['serve', '--data', 'spoilt', '--port', '0'], 'store/not-a-record'],
  [
    'a directory cut short',
    ['report', 'ward', '--data', 'cut-short', '--pdf', 'x.pdf'],
    'server/directory-file',
  ],
  ['a server on a file', ['serve', '--data', 'half.json', '--port', '0'], 'server/not-a-folder'],
];

describe('a file that cannot be used', () => {
  it.concurrent.each(cases)('%s is refused in words, with exit code 3', async (_name, words, code) => {
    const before = readdirSync(root);
    const done = await run(words);
    const said = `${words[0] === 'volume' ? done.out : ''}${done.complaint}`;
    expect(said).toContain(`[${code}`);
    expect(said).toMatch(/ not accepted.*: found .+; allowed is .+\. .+\. \[/);
    expect(said).not.toMatch(/\n\s+at |node:|E[A-Z]{4,}:/);
    expect(done.code).toBe(3);
    if (words[0] !== 'volume') expect(done.out).toBe('');
    expect(readdirSync(root)).toEqual(before);
  });

  it.concurrent.each([
    ['half a JSON', answer('--input', '@half.json')],
    ['a list', answer('--input', '@list.json')],
    ['a rate without numbers', ['estimate', ward, '--rate', 'fast']],
    ['a span of days without end', ['report', 'unit', ward, '--days', '1e99', '--pdf', 'x.pdf']],
    ['a port that does not exist', ['serve', '--port', '99999', '--data', 'd']],
  ] as const)('%s is bad usage: exit code 2, in words', async (_name, words) => {
    const done = await run(words);
    expect([done.code, done.out]).toEqual([2, '']);
    expect(done.complaint).toMatch(/--[a-z]+/);
    expect(done.complaint).not.toMatch(/\n\s+at /);
    expect(existsSync(at('d'))).toBe(false);
  });
});
