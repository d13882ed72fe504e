// Proves     the simulation finds what it is there to find: bugs of every part, planted in the product's source one at a time,
//            each break a promise within 5,000 histories
// Method     a process of its own for each; six of them in every run, all of them in `npm run long`
// Tolerance  none
import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { bugs, type Bug } from './bugs.ts';

const long = process.env['EBBLINE_LONG'] === '1';
const here = (name: string): string => fileURLToPath(new URL(name, import.meta.url));

/** Bugs of six parts that the first histories find. */
const everyRun = new Set([
  'marked as sent before it is',
  'one too far',
  'called saved before it is kept',
  'a second arrival kept as a second entry',
  'a correction left behind by a move',
  'an offer by name taken by anybody',
]);

function found(bug: Bug, histories: number): Promise<{ readonly seed?: number; readonly broken?: string }> {
  return new Promise((resolve, reject) => {
    const child = spawn(
      process.execPath,
      ['--import', here('./plant.ts'), here('./simulate.ts'), '--from', '1', '--count', String(histories)],
      { env: { ...process.env, EBBLINE_PLANTED_BUG: bug.name }, stdio: ['ignore', 'pipe', 'pipe'] },
    );
    let text = '';
    let notes = '';
    child.stdout.on('data', (part: Buffer) => (text += part.toString()));
    child.stderr.on('data', (part: Buffer) => (notes += part.toString()));
    child.on('error', reject);
    child.on('close', () => {
      const last = text.trim().split('\n').at(-1) ?? '';
      if (last.startsWith('{') && notes === '') resolve(JSON.parse(last) as { broken?: string });
      else reject(new Error(`${bug.name}: ${notes || text}`));
    });
  });
}

describe('bugs planted in the product', () => {
  it('are at least thirty, each of another name, and fit the source as it is', () => {
    expect(bugs.length).toBeGreaterThanOrEqual(30);
    expect(new Set(bugs.map(({ name }) => name)).size).toBe(bugs.length);
    for (const { name, file, find, put } of bugs) {
      const source = readFileSync(here(`../../${file}`), 'utf8');
      expect(source.split(find).length - 1, `${name}, in ${file}`).toBe(1);
      expect(put).not.toBe(find);
    }
  });

  for (const bug of bugs.filter(({ name }) => long || everyRun.has(name)))
    it(`are found: ${bug.name}`, { timeout: 1_800_000 }, async () => {
      const { broken, seed } = await found(bug, long ? 5000 : 400);
      expect(broken, 'no promise was broken').toBeDefined();
      if (long) process.stdout.write(`${bug.name}: history ${seed}\n`);
    });
});
