// Proves     the browser adapter keeps the port's promises, on an IndexedDB made in memory
// Published  none
// Tolerance  exact
import 'fake-indexeddb/auto';
import { describe, expect, it } from 'vitest';
import { storeContract } from '../store.contract.ts';
import { entryMaker, organisation } from '../testing/entries.ts';
import { openIndexedDbStore, wipeIndexedDbStore } from './index.ts';

let count = 0;
storeContract('indexeddb', (onStep) =>
  openIndexedDbStore({ organisation, name: `contract-${(count += 1)}`, ...(onStep ? { onStep } : {}) }),
);

describe('a tablet that is closed and opened again', () => {
  it('still has its entries, and has none after it was wiped', async () => {
    const name = 'reopened';
    const entry = entryMaker(1).voided('p1');
    const first = await openIndexedDbStore({ organisation, name });
    await first.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse-1' });
    await first.close();
    const second = await openIndexedDbStore({ organisation, name });
    expect((await second.after(0, 10)).map((kept) => kept.entry)).toEqual([entry]);
    await second.close();
    await wipeIndexedDbStore(name);
    const third = await openIndexedDbStore({ organisation, name });
    expect(await third.head()).toBe(0);
    await third.close();
  });
});
