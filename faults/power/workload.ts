// A child that keeps things on a disk the way the server does, and says on its standard output what it has promised:
//   K id       an entry was answered "kept"
//   C number   a checkpoint was signed
//   B number   a book was written; S number says before that it is being written
// Arguments: folder, seed, rounds, appends a round.
import { writeSync } from 'node:fs';
import { join } from 'node:path';
import { seededRandom } from '@ebbline/core/quantity';
import { openSqliteStore } from '@ebbline/store/sqlite';
import { replaceFile } from '@ebbline/store/books';
import { openCheckpoints } from '../../apps/server/src/keeping/checkpoints.ts';
import { entryMaker, organisation, startMs } from '../../packages/store/src/testing/entries.ts';

const [folder = '', seed = '1', rounds = '4', appends = '6'] = process.argv.slice(2);
const say = (line: string): void => void writeSync(1, `${line}\n`);
const random = seededRandom(Number(seed));
const make = entryMaker(Number(seed));
const at = '2026-05-12T08:00:00Z';
let book = 0;
for (let round = 0; round < Number(rounds); round += 1) {
  const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
  const checkpoints = openCheckpoints(folder, store);
  for (let count = 0; count < Number(appends); count += 1) {
    const entries = Array.from({ length: 1 + random.below(5) }, () => make.voided(`p${random.below(5)}`));
    const { kept } = await store.append(entries, { receivedAt: at, actor: 'nurse-1' });
    for (const { entry } of kept) say(`K ${entry.id}`);
    if (random.below(3) === 0) {
      const waiting = await store.waiting(3);
      await store.markSent(
        waiting.map(({ sequence }) => sequence),
        at,
      );
    }
    if (random.below(3) === 0) {
      book += 1;
      say(`S ${book}`);
      await replaceFile(
        join(folder, 'directory.json'),
        `${JSON.stringify({ number: book, text: 'x'.repeat(random.below(9000)) })}\n`,
      );
      say(`B ${book}`);
    }
    if (random.below(3) === 0) {
      await checkpoints.now(startMs + count);
      say(`C ${checkpoints.newest()?.number}`);
    }
  }
  await store.close();
}
