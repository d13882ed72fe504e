// Proves     a lock lets go of everything that can be read, a sign-out takes it from the disk, unsent entries outlive both
//            and a restart, and go out with whoever has network
// Published  none; the record is a stand-in in memory, IndexedDB its public stand-in
// Tolerance  exact
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { IDBFactory, IDBObjectStore } from 'fake-indexeddb';
import { orThrow } from '@ebbline/core/quantity';
import type { Person } from '@ebbline/core/record';
import type { OpenReplica } from './open-replica.ts';
import type { Remote } from './remote.ts';
import { Session } from './session.ts';
import {
  fakeRecord,
  nurse,
  otherNurse,
  passed,
  registered,
  startMs,
  type FakeRecord,
} from './testing/fakes.ts';
import { everythingIn, serverOf } from './testing/kept.ts';

/** What a browser keeps of one tablet, and its page, which can be closed and opened again. */
class Tablet {
  readonly factory = new IDBFactory();
  readonly page = new EventTarget();
  readonly #small = new Map<string, string>();
  readonly #remote: Remote;
  session: Session;

  constructor(record: FakeRecord) {
    this.#remote = record.remote;
    this.session = new Session(this.#remote);
  }

  #browser(): void {
    vi.stubGlobal('indexedDB', this.factory);
    vi.stubGlobal('localStorage', {
      getItem: (key: string) => this.#small.get(key) ?? null,
      setItem: (key: string, value: string) => void this.#small.set(key, value),
    });
    const { page } = this;
    vi.stubGlobal('addEventListener', page.addEventListener.bind(page));
    vi.stubGlobal('removeEventListener', page.removeEventListener.bind(page));
    vi.stubGlobal('document', new EventTarget());
  }

  async openPage(): Promise<this> {
    this.#browser();
    this.session = new Session(this.#remote);
    await this.session.start();
    return this;
  }

  async comesIn(person: Person): Promise<OpenReplica> {
    this.#browser();
    const answer =
      this.session.state.at === 'locked'
        ? await this.session.switchTo(person.id, '4821')
        : await this.session.signIn(person.id, 'a secret');
    if (answer !== undefined) throw new Error(answer.code);
    const { state } = this.session;
    if (state.at !== 'in') throw new Error(state.at);
    return state.replica;
  }

  get waiting(): number {
    const { state } = this.session;
    return state.at === 'locked' || state.at === 'signed-out' ? state.waiting : -1;
  }

  everything = (): Promise<string> => everythingIn(this.factory);
}

let record: FakeRecord;
beforeEach(async () => {
  vi.useFakeTimers({
    toFake: ['Date', 'setTimeout', 'clearTimeout', 'setInterval', 'clearInterval'],
    now: startMs,
  });
  record = fakeRecord();
  record.server = await serverOf();
  record.signedInAs = undefined;
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

/** Until what is under way has come to rest: its databases answer in tasks of their own. */
async function settle(milliseconds = 0): Promise<void> {
  await vi.advanceTimersByTimeAsync(milliseconds);
  for (let turn = 0; turn < 60; turn += 1) await new Promise<void>((resolve) => setImmediate(resolve));
  await vi.advanceTimersByTimeAsync(0);
}
/** A hundred seconds of the test's clock at most; then only until what was begun has come to its end. */
async function until(holds: () => boolean): Promise<void> {
  const patienceMs = 20_000;
  const begunMs = performance.now();
  for (let turn = 0; !holds() && performance.now() - begunMs < patienceMs; turn += 1)
    await settle(turn < 200 ? 500 : 0);
  expect(holds()).toBe(true);
}

setFlagsFromString('--expose_gc');
const collect = runInNewContext('gc') as () => void;

describe('a lock', () => {
  it('[H19-put-away] lets go of the record and the key: nothing in the page holds them any more', async () => {
    const tablet = await new Tablet(record).openPage();
    const held = new WeakRef(await tablet.comesIn(nurse));
    await orThrow((await held.deref()?.record([registered('p-1')])) ?? []);
    tablet.session.lock();
    expect(tablet.session.state).not.toHaveProperty('replica');
    await settle(2000);
    for (let turn = 0; turn < 5; turn += 1) {
      collect();
      await settle();
    }
    expect(held.deref()).toBeUndefined();
  });

  it('goes on sending without reading: what waits reaches the record while nobody is there', async () => {
    const tablet = await new Tablet(record).openPage();
    const replica = await tablet.comesIn(nurse);
    record.cut = true;
    const made = orThrow(await replica.record([registered('p-1'), passed('p-1', 240)]));
    tablet.session.lock();
    await until(() => tablet.waiting === 2);
    record.cut = false;
    await until(() => tablet.waiting === 0);
    expect(new Set(record.kept.map(({ entry }) => entry))).toEqual(new Set(made));
    expect(await tablet.everything()).not.toContain('Marsh');
  });
});

describe('two pages of one tablet', () => {
  it('are locked together', async () => {
    const tablet = await new Tablet(record).openPage();
    await tablet.comesIn(nurse);
    const told = Object.assign(new Event('storage'), { key: 'ebbline.locked', newValue: 'yes' });
    tablet.page.dispatchEvent(Object.assign(new Event('storage'), { key: 'ebbline.theme', newValue: 'yes' }));
    expect(tablet.session.state.at).toBe('in');
    tablet.page.dispatchEvent(told);
    expect(tablet.session.state.at).toBe('locked');
  });
});

describe('a browser that cannot write', () => {
  it('lets nobody in, says so, and lets them in when it can again', async () => {
    const tablet = await new Tablet(record).openPage();
    const put = vi.spyOn(IDBObjectStore.prototype, 'put').mockImplementation(() => {
      throw new DOMException('full', 'QuotaExceededError');
    });
    expect(await tablet.session.signIn(nurse.id, 'a secret')).toMatchObject({ code: 'web/not-opened' });
    const byPasskey = await tablet.session.comeInBy(async () => ({ state: 'reached', value: nurse }));
    expect(byPasskey).toMatchObject({ code: 'web/not-opened' });
    put.mockRestore();
    expect(await tablet.session.signIn(nurse.id, 'a secret')).toBeUndefined();
  });
});

describe('signing out', () => {
  it('[H19-wiped] leaves nothing that can be read, and the unsent go out with whoever comes next', async () => {
    const tablet = await new Tablet(record).openPage();
    const replica = await tablet.comesIn(nurse);
    record.cut = true;
    const made = orThrow(await replica.record([registered('p-1'), passed('p-1', 240)]));
    await tablet.session.signOut();
    const all = await tablet.everything();
    expect(all.split('ebbline-kept copy\n')[1]?.startsWith('ebbline-kept plain')).toBe(true);
    expect(all.split('ebbline-kept boxes\n')[1]?.startsWith('ebbline-kept copy')).toBe(true);
    await tablet.openPage();
    expect(tablet.session.state).toMatchObject({ at: 'signed-out', waiting: 2 });
    record.cut = false;
    await tablet.comesIn(otherNurse);
    await until(() => record.kept.length === 2);
    expect(new Set(record.kept.map(({ entry }) => entry))).toEqual(new Set(made));
  });

  it('without the network stays signed out when the page is opened again', async () => {
    const tablet = await new Tablet(record).openPage();
    await tablet.comesIn(nurse);
    record.cut = true;
    await tablet.session.signOut();
    record.cut = false;
    // The record never heard of it: its sign-in would still be good.
    expect(record.signedInAs).toEqual(nurse);
    await tablet.openPage();
    expect(tablet.session.state.at).toBe('signed-out');
    expect(record.signedInAs).toBeUndefined();
  });
});
