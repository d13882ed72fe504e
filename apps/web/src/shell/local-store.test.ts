// Proves     both local stores keep the same: order of arrival, no doubles, queue and entry as one, refused entries apart
// Published  none; IndexedDB by its public stand-in in memory
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { IDBFactory } from 'fake-indexeddb';
import { orThrow, refuse } from '@ebbline/core/quantity';
import { memoryStore, type LocalStore } from './local-store.ts';
import { fakeRecord, idsOf, nurse, openTablet, registered, startMs } from './testing/fakes.ts';
import { openTestVault, serverOf } from './testing/kept.ts';

const refusal = refuse('server/test', { asked: 'Entry', found: 'a', allowed: 'b', todo: 'c' });
const sealedStore = async (factory = new IDBFactory()): Promise<LocalStore> => {
  const vault = await openTestVault(factory);
  const server = await serverOf();
  return (await vault.openWithNetwork(nurse.id, await server.keyFor(nurse, await vault.copyName()), startMs))
    .store;
};
const makers: readonly (readonly [string, () => Promise<LocalStore>])[] = [
  ['memory', async () => memoryStore()],
  ['IndexedDB, sealed', () => sealedStore()],
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
    await Promise.all([store.keepReceived([a, b, c]), store.keepReceived([c])]);
    expect(idsOf(await store.entries())).toEqual(idsOf([b, a, c]));
    expect(idsOf(await store.entries())).toEqual(idsOf([b, a, c]));
    expect(idsOf(await store.unsent())).toEqual(idsOf([b]));
    expect(await store.waiting()).toEqual([{ id: (b as { id: string }).id, author: nurse.id }]);
  });

  it('takes what was sent out of the queue and keeps it', async () => {
    const store = await make();
    const entries = await three();
    await store.keepOwn(entries);
    await store.sent(idsOf(entries).slice(0, 2));
    expect(await store.unsent()).toHaveLength(1);
    expect(await store.waiting()).toHaveLength(1);
    expect(await store.entries()).toHaveLength(3);
  });

  it('puts a refused entry aside, drops it when told, and takes it in again when the record has it', async () => {
    const store = await make();
    const [first] = (await three()) as [never];
    await store.keepOwn([first]);
    await store.refuse(first, refusal);
    expect(await store.unsent()).toEqual([]);
    expect((await store.refused()).map((one) => one.refusal.code)).toEqual(['server/test']);
    await store.drop((first as { id: string }).id);
    expect([await store.entries(), await store.refused()]).toEqual([[], []]);
    await store.keepReceived([first]);
    expect(await store.entries()).toEqual([first]);
  });

  it('remembers notes', async () => {
    const store = await make();
    expect(await store.note('cursor')).toBeUndefined();
    await store.writeNote('cursor', 12);
    expect(await store.note('cursor')).toBe(12);
    await store.writeNote('cursor', undefined);
    expect(await store.note('cursor')).toBeUndefined();
  });
});
