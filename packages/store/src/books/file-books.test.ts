// Proves     books as files keep the port's promises; a file is its owner's alone and never half written
// Published  none
// Tolerance  exact
import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { booksContract } from './books.contract.ts';
import { fileBooks } from './index.ts';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-books-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
let count = 0;

booksContract('a folder', async () => {
  const own = join(folder, String((count += 1)));
  return { books: fileBooks(own), again: async () => fileBooks(own) };
});

it('leaves a file that its owner alone can read, and nothing beside it', async () => {
  const own = join(folder, 'own');
  await fileBooks(own)
    .book('people.json')
    .change(() => '[]');
  expect(readdirSync(own)).toEqual(['people.json']);
  expect(statSync(join(own, 'people.json')).mode & 0o777).toBe(0o600);
});
