// A child process that appends entries one by one and prints each id only after it was answered "kept".
// Arguments: file, seed, how many.
import { writeSync } from 'node:fs';
import { entryMaker, organisation } from '../../testing/entries.ts';
import { openSqliteStore } from '../index.ts';

const [path = '', seed = '1', many = '500'] = process.argv.slice(2);
const store = openSqliteStore({ path, organisation });
const make = entryMaker(Number(seed));
for (let index = 0; index < Number(many); index += 1) {
  const entry = make.voided('p1');
  const { kept } = await store.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse-1' });
  for (const one of kept) writeSync(1, `${one.entry.id}\n`);
}
await store.close();
