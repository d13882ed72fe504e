// Proves     both local stores keep the same: order of arrival, no doubles, queue and entry as one, refused entries apart
// Published  none; IndexedDB by its public stand-in in memory
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { IDBFactory } from 'fake-indexeddb';
import { orThrow, refuse } from '@ebbline/core/quantity';
import { indexedStore, memoryStore, type LocalStore } from './local-store.ts';
import { fakeRecord, idsOf, openTablet, registered } from './testing/fakes.ts';

const refusal = refuse('server/test', { asked: 'Entry', found: 'a', allowed: 'b', todo: 'c' });
const makers: readonly (readonly [string, () => Promise<LocalStore>])[] = [
  ['memory', async () => memoryStore()],
  ['IndexedDB', () => indexedStore(new IDBFactory())],
];
const three = async () => {
  const { replica } = await openTablet(fakeRecord());
  return orThrow(replica.prepare([registered('p-1'), registered('p-2', '2'), registered('p-3')]));
};

describe.each(makers)('the local store in %s', (_name, make) => {
  it('gives entries back in order of arrival, each once', async () => {
    const store = await make();
    const [a, b, c] = (await three()) as [never, never, never];
    await store.keepOwn([b]);
    await store.keepReceived([a, b, c]);
    await store.keepReceived([c]);
    expect(idsOf(await store.entries())).toEqual(idsOf([b, a, c]));
    expect(idsOf(await store.unsent())).toEqual(idsOf([b]));
  });

  it('takes what was sent out of the queue and keeps it', async () => {
    const store = await make();
    const entries = await three();
    await store.keepOwn(entries);
    await store.sent(idsOf(entries).slice(0, 2));
    expect(await store.unsent()).toHaveLength(1);
    expect(await store.entries()).toHaveLength(3);
  });

  it('puts a refused entry aside, and drops it when told', async () => {
    const store = await make();
    const [first] = (await three()) as [never];
    await store.keepOwn([first]);
    await store.refuse(first, refusal);
    expect(await store.unsent()).toEqual([]);
    expect((await store.refused()).map((one) => one.refusal.code)).toEqual(['server/test']);
    await store.drop((first as { id: string }).id);
    expect([await store.entries(), await store.refused()]).toEqual([[], []]);
  });

  it('remembers notes', async () => {
    const store = await make();
    expect(await store.note('cursor')).toBeUndefined();
    await store.writeNote('cursor', 12);
    expect(await store.note('cursor')).toBe(12);
  });
});
