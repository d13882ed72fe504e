// Proves     a tablet without the network for eight hours, with forty entries, locked, signed out and restarted meanwhile,
//            while another edits the same patients: whichever comes back first, the record holds every entry once under
//            its author, and both tablets show the same; nothing on the tablet can be read meanwhile
// Method     the product's own session, sealed store, sync and HTTP remote on an IndexedDB in memory, against the product's
//            own server over loopback; eight hours pass on a clock that the test turns
// Tolerance  exact
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { IDBFactory } from 'fake-indexeddb';
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { verifyStore } from '@ebbline/store';
import { nodeDigest } from '@ebbline/store/sqlite';
import { fixedDirectory } from '../../apps/server/src/directory-book.ts';
import { directory, minutes, openWorld, pin, secret, startMs } from '../../apps/server/src/testing/world.ts';
import type { World } from '../../apps/server/src/testing/world.ts';
import { memoryStore } from '../../apps/web/src/shell/local-store.ts';
import { openReplica, type OpenReplica } from '../../apps/web/src/shell/open-replica.ts';
import type { Remote } from '../../apps/web/src/shell/remote.ts';
import type { Draft } from '../../apps/web/src/shell/replica.ts';
import { Session } from '../../apps/web/src/shell/session.ts';
import { everythingIn } from '../../apps/web/src/shell/testing/kept.ts';
import { browserNames, pageRemote } from '../network/page.ts';

/** Nobody is locked out by the hours that pass in a moment. */
const unit = {
  ...directory,
  wards: directory.wards.map((ward) => ({ ...ward, settings: { ...ward.settings, lockAfterS: 12 * 3600 } })),
};
const hours = 8;
const perHour = 5;

/** A network that can be taken away from one tablet. */
class Network {
  cut = false;
  readonly #lines = new Set<() => void>();
  readonly remote: Remote;

  constructor(through: Remote) {
    this.remote = new Proxy(through, {
      get: (target, name: keyof Remote) => {
        if (name !== 'live') return this.cut ? async () => ({ state: 'away' }) : target[name].bind(target);
        return ((after, listener, ...more) => {
          const lost = (): void => {
            this.#lines.delete(lost);
            listener.lost();
          };
          if (this.cut) {
            setTimeout(lost);
            return () => undefined;
          }
          this.#lines.add(lost);
          const close = target.live(after, listener, ...more);
          return () => {
            this.#lines.delete(lost);
            close();
          };
        }) satisfies Remote['live'];
      },
    });
  }

  take(): void {
    this.cut = true;
    for (const lost of this.#lines) lost();
  }
  give(): void {
    this.cut = false;
    globalThis.dispatchEvent(new Event('online'));
  }
}

let world: World;
let address: string;
let takeNamesAway: () => void;
const small = new Map<string, string>();

beforeEach(async () => {
  vi.useFakeTimers({ toFake: ['Date'], now: startMs });
  takeNamesAway = browserNames();
  const page = new EventTarget();
  for (const name of ['addEventListener', 'removeEventListener', 'dispatchEvent'] as const)
    vi.stubGlobal(name, page[name].bind(page));
  vi.stubGlobal('document', new EventTarget());
  small.clear();
  vi.stubGlobal('localStorage', {
    getItem: (key: string) => small.get(key) ?? null,
    setItem: (key: string, value: string) => void small.set(key, value),
  });
  world = await openWorld({ directory: fixedDirectory(unit), now: () => Date.now() });
  address = await world.server.listen({ host: '127.0.0.1', port: 0 });
});
afterEach(async () => {
  await world.server.close();
  takeNamesAway();
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

const registered = (patient: string, bed: string): Draft => ({
  patient,
  kind: 'patient-registered',
  payload: {
    familyName: 'Ostrander',
    givenName: 'Wilma',
    sex: 'female',
    identifierSystem: 'urn:made-up',
    identifierValue: patient,
    ward: 'harbour-3',
    bed,
  },
});
const passed = (patient: string, volumeMl: number): Draft => ({
  patient,
  kind: 'void',
  payload: { how: 'measured', volumeMl },
});
const until = (holds: () => boolean | Promise<boolean>): Promise<void> =>
  vi.waitFor(async () => expect(await holds()).toBe(true), { timeout: 20_000, interval: 20 });
const kept = async (): Promise<readonly Entry[]> =>
  (await world.store.after(0, 999)).map(({ entry }) => entry);
const waitingAt = ({ state }: Session): number =>
  state.at === 'locked' || state.at === 'signed-out' ? state.waiting : -1;

describe('a tablet that was away for eight hours', () => {
  it.each(['it', 'the other tablet'] as const)(
    'and another that edits the same patients come to the same when %s is back first',
    async (first) => {
      const [mine, theirs] = [new Network(pageRemote(address)), new Network(pageRemote(address))];
      const factory = new IDBFactory();
      vi.stubGlobal('indexedDB', factory);
      const openPage = async (): Promise<Session> => {
        const session = new Session(mine.remote);
        await session.start();
        return session;
      };
      const replicaOf = ({ state }: Session): OpenReplica => {
        if (state.at !== 'in') throw new Error(`at ${state.at}`);
        return state.replica;
      };
      let session = await openPage();
      expect(await session.signIn('nurse', secret)).toBeUndefined();
      await replicaOf(session).record([registered('p-1', '1'), registered('p-2', '2')]);
      await until(async () => (await kept()).length === 2);
      session.lock();
      expect(await session.switchTo('nurse', pin)).toBeUndefined();

      const random = seededRandom(7);
      const me = await theirs.remote.signIn('second-nurse', secret);
      if (me.state !== 'reached') throw new Error(me.state);
      const other = await openReplica({
        me: me.value,
        directory: unit,
        store: memoryStore(),
        remote: theirs.remote,
        madeOn: 'tablet-other',
        now: () => Date.now(),
        random: (count) => Uint8Array.from({ length: count }, () => random.below(256)),
        jitter: () => 0.05,
        onSignedOut: () => undefined,
      });
      other.start();
      await until(() => other.entries().length === 2);

      mine.take();
      const away: Entry[] = [];
      const there: Entry[] = [];
      for (let hour = 0; hour < hours; hour += 1) {
        if (hour % 2 === 1) theirs.take();
        else theirs.give();
        if (hour === 3) {
          session.lock();
          session = await openPage();
          expect(session.state.at).toBe('locked');
          expect(await session.switchTo('nurse', pin)).toBeUndefined();
        }
        for (let index = 0; index < perHour; index += 1) {
          vi.setSystemTime(startMs + minutes(60 * hour + 12 * index));
          const patient = index % 2 === 0 ? 'p-1' : 'p-2';
          away.push(...orThrow(await replicaOf(session).record([passed(patient, 100 + hour)])));
        }
        there.push(...orThrow(await other.record([passed('p-1', 300 + hour)])));
      }
      theirs.take();
      expect(away).toHaveLength(40);
      session.lock();
      await session.signOut();
      session = await openPage();
      await until(() => waitingAt(session) === away.length);
      const onTablet = await everythingIn(factory);
      for (const word of ['Ostrander', 'Wilma', 'volumeMl', '"p-1"']) expect(onTablet).not.toContain(word);

      const all = 2 + away.length + there.length;
      const [sooner, later] = first === 'it' ? [mine, theirs] : [theirs, mine];
      const before = (await kept()).length;
      sooner.give();
      await until(async () => (await kept()).length > before);
      later.give();
      await until(async () => (await kept()).length === all);

      // Every entry once, word for word, under who made it; carried with nobody signed in.
      const record = new Map((await kept()).map((entry) => [entry.id, entry]));
      expect(record.size).toBe(all);
      for (const entry of [...away, ...there]) expect(record.get(entry.id)).toEqual(entry);
      const audit = await world.store.auditAfter(0, 999);
      expect(new Set(away.map(({ id }) => audit.find(({ subject }) => subject === id)?.actor))).toEqual(
        new Set(['locked-tablet']),
      );
      expect(isRefusal(await verifyStore(world.store, nodeDigest))).toBe(false);

      await until(() => waitingAt(session) === 0);
      expect(await session.signIn('nurse', secret)).toBeUndefined();
      const replicas = [replicaOf(session), other];
      await until(() => replicas.every((replica) => replica.entries().length === all));
      const shown = replicas.map((replica) =>
        ['p-1', 'p-2'].map((patient) =>
          replica.factsOf(patient).voids.map(({ id, volumeMl }) => [id, volumeMl]),
        ),
      );
      expect(shown[0]).toEqual(shown[1]);
      expect(shown[0]?.flat()).toHaveLength(all - 2);
      for (const replica of replicas) expect(replica.network()).toMatchObject({ waiting: 0, refused: [] });
      for (const replica of replicas) replica.close();
    },
    60_000,
  );
});
