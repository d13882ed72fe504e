// A child that writes to a record as fast as it can, several at once, and prints each id only after it was answered
// "kept". It never ends by itself. Arguments: file, seed.
import { writeSync } from 'node:fs';
import { seededRandom } from '@ebbline/core/quantity';
import { openSqliteStore } from '@ebbline/store/sqlite';
import { entryMaker, organisation } from '../../packages/store/src/testing/entries.ts';

const [path = '', seed = '1'] = process.argv.slice(2);
const store = openSqliteStore({ path, organisation });
const make = entryMaker(Number(seed));
const random = seededRandom(Number(seed));
const at = '2026-05-12T08:00:00Z';

async function append(): Promise<void> {
  const entries = Array.from({ length: 1 + random.below(6) }, () => make.voided('p1'));
  const { kept } = await store.append(entries, { receivedAt: at, actor: 'nurse-1' });
  writeSync(1, kept.map(({ entry }) => `${entry.id}\n`).join(''));
}
for (;;) {
  const several = [append()];
  for (let more = random.below(4); more > 0; more -= 1) several.push(append());
  await Promise.all(several);
  if (random.below(3) === 0) await store.note({ at, actor: 'nurse-1', action: 'read', subject: 'record' });
  if (random.below(3) === 0) {
    const waiting = await store.waiting(5);
    await store.markSent(
      waiting.map(({ sequence }) => sequence),
      at,
    );
  }
}
