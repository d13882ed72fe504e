// Proves     a lock lets go of everything that can be read, a sign-out takes it from the disk, unsent entries outlive both
//            and a restart, and go out with whoever has network; two tablets that were apart for eight hours come to the
//            same, whichever is back first
// Published  none; the record is a stand-in in memory, IndexedDB its public stand-in
// Tolerance  exact
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { IDBFactory, IDBObjectStore } from 'fake-indexeddb';
import { minuteMs, orThrow } from '@ebbline/core/quantity';
import type { Entry, Person } from '@ebbline/core/record';
import type { OpenReplica } from './open-replica.ts';
import type { Answer, Remote } from './remote.ts';
import { Session } from './session.ts';
import {
  fakeRecord,
  idsOf,
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
  /** Its own: the other tablet's may be there meanwhile. */
  readonly network = { cut: false };
  readonly #remote: Remote;
  session: Session;

  constructor(record: FakeRecord) {
    this.#remote = this.#throughNetwork(record);
    this.session = new Session(this.#remote);
  }

  #throughNetwork({ remote, ...record }: FakeRecord): Remote {
    const { network } = this;
    let person: Person | undefined;
    const entering = async (answer: Promise<Answer<Person>>): Promise<Answer<Person>> => {
      const given = await answer;
      if (given.state === 'reached') person = given.value;
      return given;
    };
    const own: Remote = {
      ...remote,
      signIn: (who, secret) => entering(remote.signIn(who, secret)),
      switchTo: (who, pin) => entering(remote.switchTo(who, pin)),
      tabletKey: async (copy) =>
        person && record.server
          ? { state: 'reached', value: await record.server.keyFor(person, copy) }
          : { state: 'signed-out' },
      live: (after, listener) =>
        remote.live(after, {
          ...listener,
          opened: () => (network.cut ? listener.lost() : listener.opened()),
          entry: (kept) => (network.cut ? listener.lost() : listener.entry(kept)),
          alive: (head, acts) => (network.cut ? listener.lost() : listener.alive(head, acts)),
        }),
    };
    return new Proxy(own, {
      get: (target, name: keyof Remote) =>
        network.cut && name !== 'live' ? async () => ({ state: 'away' }) : target[name],
    });
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
async function until(holds: () => boolean): Promise<void> {
  for (let turn = 0; turn < 200 && !holds(); turn += 1) await settle(500);
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
    tablet.network.cut = true;
    const made = orThrow(await replica.record([registered('p-1'), passed('p-1', 240)]));
    tablet.session.lock();
    await until(() => tablet.waiting === 2);
    tablet.network.cut = false;
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
    put.mockRestore();
    expect(await tablet.session.signIn(nurse.id, 'a secret')).toBeUndefined();
  });
});

describe('signing out', () => {
  it('[H19-wiped] leaves nothing that can be read, and the unsent go out with whoever comes next', async () => {
    const tablet = await new Tablet(record).openPage();
    const replica = await tablet.comesIn(nurse);
    tablet.network.cut = true;
    const made = orThrow(await replica.record([registered('p-1'), passed('p-1', 240)]));
    await tablet.session.signOut();
    const all = await tablet.everything();
    expect(all.split('ebbline-kept copy\n')[1]?.startsWith('ebbline-kept plain')).toBe(true);
    expect(all.split('ebbline-kept boxes\n')[1]?.startsWith('ebbline-kept copy')).toBe(true);
    await tablet.openPage();
    expect(tablet.session.state).toMatchObject({ at: 'signed-out', waiting: 2 });
    tablet.network.cut = false;
    await tablet.comesIn(otherNurse);
    await until(() => record.kept.length === 2);
    expect(new Set(record.kept.map(({ entry }) => entry))).toEqual(new Set(made));
  });

  it('without the network stays signed out when the page is opened again', async () => {
    const tablet = await new Tablet(record).openPage();
    await tablet.comesIn(nurse);
    tablet.network.cut = true;
    await tablet.session.signOut();
    tablet.network.cut = false;
    // The record never heard of it: its sign-in would still be good.
    expect(record.signedInAs).toEqual(nurse);
    await tablet.openPage();
    expect(tablet.session.state.at).toBe('signed-out');
    expect(record.signedInAs).toBeUndefined();
  });
});

describe('two tablets that were apart for eight hours', () => {
  const hours = 8;
  const perHour = 5;

  /** One is cut off with forty entries, locked, signed out and restarted meanwhile; the other edits the same patients. */
  async function apart(backFirst: 'the one that was away' | 'the other'): Promise<{
    readonly record: FakeRecord;
    readonly replicas: readonly OpenReplica[];
    readonly away: readonly Entry[];
    readonly there: readonly Entry[];
  }> {
    const one = await new Tablet(record).openPage();
    const first = await one.comesIn(nurse);
    await first.record([registered('p-1'), registered('p-2', '2')]);
    await until(() => record.kept.length === 2);
    one.session.lock();
    await one.comesIn(nurse);
    const two = new Tablet(record);
    await two.openPage();
    const other = await two.comesIn(otherNurse);
    await until(() => other.entries().length === 2);

    const away: Entry[] = [];
    const there: Entry[] = [];
    let replica = first;
    for (let hour = 0; hour < hours; hour += 1) {
      one.network.cut = true;
      two.network.cut = hour % 2 === 0;
      if (hour === 3) {
        one.session.lock();
        await one.openPage();
        expect(one.session.state.at).toBe('locked');
      }
      replica = one.session.state.at === 'in' ? one.session.state.replica : await one.comesIn(nurse);
      for (let index = 0; index < perHour; index += 1) {
        vi.setSystemTime(startMs + (hour * 60 + index * 10) * minuteMs);
        away.push(...orThrow(await replica.record([passed(index % 2 === 0 ? 'p-1' : 'p-2', 100 + hour)])));
      }
      there.push(...orThrow(await other.record([passed('p-1', 300 + hour)])));
    }
    one.session.lock();
    two.network.cut = true;
    await one.session.signOut();
    await one.openPage();
    expect(one.session.state).toMatchObject({ at: 'signed-out', waiting: away.length });
    const [sooner, later] = backFirst === 'the other' ? [two, one] : [one, two];
    sooner.network.cut = false;
    const before = record.kept.length;
    await until(() => record.kept.length > before);
    await settle(60_000);
    later.network.cut = false;
    // Signed out as it is, it sends what waits.
    await until(() => record.kept.length === 2 + away.length + there.length);
    const last = await one.comesIn(nurse);
    record.beat();
    await until(() => [last, other].every((each) => each.entries().length === record.kept.length));
    return { record, replicas: [last, other], away, there };
  }

  it.each(['the one that was away', 'the other'] as const)(
    'hold and show the same when %s is back first',
    async (backFirst) => {
      const { replicas, away, there } = await apart(backFirst);
      expect(away).toHaveLength(hours * perHour);
      const all = new Set([...idsOf(away), ...idsOf(there)]);
      for (const replica of replicas) {
        expect(new Set(idsOf(replica.entries())).size).toBe(replica.entries().length);
        const shown = ['p-1', 'p-2'].flatMap((patient) => replica.factsOf(patient).voids.map(({ id }) => id));
        expect(new Set(shown)).toEqual(all);
        expect(replica.waiting()).toBe(0);
      }
      const facts = replicas.map((replica) =>
        ['p-1', 'p-2'].map((patient) => {
          const { voids, bed } = replica.factsOf(patient);
          return { voids, bed };
        }),
      );
      expect(facts[0]).toEqual(facts[1]);
      expect(record.kept).toHaveLength(2 + all.size);
    },
    20_000,
  );
});
