/**
 * What stands on a tablet whether somebody is there or not, and the ways to open it: with the network, by the server's
 * part of the key; without, by the PIN or secret of somebody whom the record accepted here not long ago. Locked, it can
 * say how many entries wait and hand them on; it can read none.
 *
 * Units     milliseconds since the epoch
 * Errors    `web/wait`, `web/wrong-pin`, `web/pin-needs-network`, `web/tries-used-up`
 */
import { controlIsOn, hourMs, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import { defaultSettings, type Directory, type Person } from '@ebbline/core/record';
import { base64Of, bytesOf, publicKeyOf, type Bytes } from '@ebbline/store/sealed';
import type { TabletKey } from '../remote.ts';
import {
  drawKey,
  drawSalt,
  importKey,
  makeDeviceKey,
  openForPerson,
  openWithServer,
  usualRounds,
  wrapForPerson,
  wrapForServer,
  type Means,
  type PersonWrap,
} from './copy-key.ts';
import { openKeptDatabase } from './kept-database.ts';
import { deleteOldCopy, readOldCopy } from './old-copy.ts';
import { openCopy, type OpenCopy, type SealedRow } from './sealed-store.ts';
import { counted, ended, noTries, right, waitS, type TriesKept } from './tries.ts';

/** Nobody's name: what the lock shows. */
export type DoorPerson = Pick<Person, 'id' | 'initials' | 'role' | 'wards'>;

export interface Door {
  /** Who was here last; absent when nobody is expected back. */
  readonly me: DoorPerson | undefined;
  readonly people: readonly DoorPerson[];
  readonly lockAfterS: number;
  readonly offlineForH: number;
  readonly offlineTriesAtMost: number;
}

export interface Typed {
  readonly means: Means;
  readonly text: string;
}

export interface Vault {
  door(): Promise<Door | undefined>;
  writeDoor(door: Door): Promise<void>;
  tablet(): Promise<string>;
  /** Unsent entries, as only the server can read them. */
  sealed(): Promise<readonly SealedRow[]>;
  settled(ids: readonly string[]): Promise<void>;
  /** The name of the copy that the server gives its part for. */
  copyName(): Promise<string>;
  /** @param typed what the person came in with; absent after a reload, when nothing was typed */
  openWithNetwork(person: string, given: TabletKey, nowMs: number, typed?: Typed): Promise<OpenCopy>;
  /** Undefined when this person cannot be known here. */
  openWithout(person: string, typed: Typed, nowMs: number): Promise<OpenCopy | Refusal>;
  /** The record was reached, or somebody came in: the copy's age counts from here. */
  heard(nowMs: number): Promise<void>;
  /** Takes away what can be read; what is unsent stays, sealed. */
  wipe(): Promise<void>;
  wipeIfOld(nowMs: number): Promise<boolean>;
  close(): void;
}

export const doorPersonOf = ({ id, initials, role, wards }: Person): DoorPerson => ({
  id,
  initials,
  role,
  wards,
});

export function doorOf(me: Person, directory: Directory): Door {
  const numbers = directory.wards.find(({ id }) => me.wards.includes(id))?.settings ?? defaultSettings;
  return {
    me: doorPersonOf(me),
    people: directory.people.map(doorPersonOf),
    lockAfterS: numbers.lockAfterS,
    offlineForH: numbers.offlineForH,
    offlineTriesAtMost: numbers.offlineTriesAtMost,
  };
}

export const nobodysDoor: Door = {
  me: undefined,
  people: [],
  lockAfterS: defaultSettings.lockAfterS,
  offlineForH: defaultSettings.offlineForH,
  offlineTriesAtMost: defaultSettings.offlineTriesAtMost,
};

/** A clock that was set back by more than this ends the copy as if it were old. */
const clockBackMs = hourMs;

const needsNetwork = (): Refusal =>
  refuse('web/pin-needs-network', {
    asked: 'PIN',
    found: 'no network, and nobody whom this tablet may let in without',
    allowed: 'somebody whom the record has let in here within the unit’s hours',
    todo: 'Ask somebody who has used this tablet this shift, or write on the paper sheet until the network is back.',
  });
const secretOpens = (): Refusal =>
  refuse('web/secret-opens', {
    asked: 'PIN',
    found: 'no network, and nobody’s PIN that was used here before',
    allowed: "this person's secret",
    todo: 'Without the network your secret opens this tablet: enter it.',
  });
const usedUp = (): Refusal =>
  refuse('web/tries-used-up', {
    asked: 'PIN',
    found: 'too many wrong tries without the network',
    allowed: 'opening with the network',
    todo: 'This tablet opens again when the network is back. What waits on it is safe.',
  });
const wrong = (): Refusal =>
  refuse('web/wrong-pin', {
    asked: 'PIN',
    found: 'another PIN',
    allowed: "this person's PIN",
    todo: 'Try again.',
  });
const tooSoon = (seconds: number, count: number): Refusal =>
  refuse('web/wait', {
    asked: 'PIN',
    found: `${count} wrong tries`,
    allowed: `another try in ${seconds} s`,
    todo: `Wait ${seconds} seconds, or until the network is back.`,
  });

const wrapName = (person: string, means: Means): string => JSON.stringify([person, means]);

export interface VaultOptions {
  readonly factory: IDBFactory;
  /** Default: as many as stand in copy-key.ts. */
  readonly rounds?: number;
}

/** Rejects where the browser keeps nothing, or has no cryptography to offer. */
export async function openVault({ factory, rounds = usualRounds }: VaultOptions): Promise<Vault> {
  const database = await openKeptDatabase(factory);
  const plain = database.table('plain');
  const put = (name: string, value: unknown): Promise<void> =>
    database.write(['plain'], (store) => void store('plain').put(value, name));
  let device = await plain.get<CryptoKey>('device');
  if (device === undefined) {
    device = await makeDeviceKey();
    await put('device', device);
  }
  const held = device;

  const doorKept = (): Promise<Door | undefined> => plain.get<Door>('door');
  const offlineMs = async (): Promise<number> =>
    ((await doorKept())?.offlineForH ?? defaultSettings.offlineForH) * hourMs;
  const outside = (sinceMs: number, nowMs: number, forMs: number): boolean =>
    nowMs - sinceMs >= forMs || nowMs - sinceMs < -clockBackMs;

  async function wipe(): Promise<void> {
    await database.write(['copy', 'boxes', 'wraps', 'plain', 'sealed'], (store) => {
      for (const name of ['copy', 'boxes', 'wraps'] as const) store(name).clear();
      for (const name of ['server-wrap', 'copy-name']) store('plain').delete(name);
      if (!controlIsOn('H19-unsent-stays')) store('sealed').clear();
    });
  }

  async function opened(
    person: string,
    raw: Bytes,
    voucher: TabletKey['voucher'],
    server: TabletKey['server'],
  ): Promise<OpenCopy> {
    const key = await importKey(raw);
    raw.fill(0);
    const publicKey = await publicKeyOf(bytesOf(server.publicKey));
    return openCopy({ database, key, server: { id: server.id, key: publicKey }, person, voucher });
  }

  async function takeOver(copy: OpenCopy): Promise<void> {
    const old = await readOldCopy(factory);
    if (old !== undefined) {
      // What the record has is read anew from there; only what it does not have is carried over.
      await copy.store.keepOwn(old.unsent);
      await copy.store.keepReceived(old.refused.map(({ entry }) => entry));
      for (const { entry, refusal } of old.refused) await copy.store.refuse(entry, refusal);
      if (old.tablet !== undefined) await put('tablet', old.tablet);
    }
    deleteOldCopy(factory);
  }

  const vault: Vault = {
    door: async () => {
      const kept = await doorKept();
      if (kept !== undefined) return kept;
      const old = await readOldCopy(factory);
      return old?.me && old.directory ? doorOf(old.me, old.directory) : undefined;
    },
    writeDoor: (door) => put('door', door),
    tablet: async () => {
      const known = await plain.get<string>('tablet');
      if (known !== undefined) return known;
      const name = `tablet-${Array.from(drawSalt().slice(0, 4), (byte) => byte.toString(16).padStart(2, '0')).join('')}`;
      await put('tablet', name);
      return name;
    },
    sealed: async () =>
      (await database.table('sealed').all<SealedRow>()).sort((a, b) => (a.id < b.id ? -1 : 1)),
    settled: (ids) =>
      database.write(['sealed'], (store) => {
        for (const id of ids) store('sealed').delete(id);
      }),
    copyName: async () => {
      const known = await plain.get<string>('copy-name');
      if (known !== undefined) return known;
      const name = base64Of(drawSalt());
      await put('copy-name', name);
      return name;
    },
    openWithNetwork: async (person, given, nowMs, typed) => {
      const part = bytesOf(given.part);
      const wrapped = await plain.get<Bytes>('server-wrap');
      let raw = wrapped && (await openWithServer(held, part, wrapped));
      if (raw === undefined) {
        // None yet, or one that this person may not read: what was there goes, and is read anew.
        const name = await vault.copyName();
        await wipe();
        raw = drawKey();
        const box = await wrapForServer(held, part, raw);
        await database.write(['plain'], (store) => {
          store('plain').put(name, 'copy-name');
          store('plain').put(box, 'server-wrap');
        });
      }
      const forMs = await offlineMs();
      if (typed !== undefined && forMs > 0) {
        const wrap = await wrapForPerson({
          device: held,
          person,
          means: typed.means,
          typed: typed.text,
          raw,
          voucher: given.voucher,
          untilMs: nowMs + forMs,
          rounds,
        });
        await database.write(
          ['wraps'],
          (store) => void store('wraps').put(wrap, wrapName(person, typed.means)),
        );
      }
      await put('tries', noTries);
      await put('server', given.server);
      await vault.heard(nowMs);
      let copy: OpenCopy;
      try {
        copy = await opened(person, raw.slice(), given.voucher, given.server);
      } catch {
        // Pieces of another key, from another page of this browser: what can be read is read anew.
        await database.write(['copy', 'boxes'], (store) => {
          for (const one of ['copy', 'boxes'] as const) store(one).clear();
        });
        copy = await opened(person, raw.slice(), given.voucher, given.server);
      }
      raw.fill(0);
      await takeOver(copy);
      return copy;
    },
    openWithout: async (person, typed, nowMs) => {
      const atMost = (await doorKept())?.offlineTriesAtMost ?? defaultSettings.offlineTriesAtMost;
      const before = (await plain.get<TriesKept>('tries')) ?? noTries;
      if (ended(before, person, atMost) !== 'nobody') return usedUp();
      const seconds = waitS(before, nowMs);
      if (seconds > 0) return tooSoon(seconds, before.byPerson[person] ?? before.inAll);
      const name = wrapName(person, typed.means);
      const wrap = await database.table('wraps').get<PersonWrap>(name);
      const server = await plain.get<TabletKey['server']>('server');
      if (wrap === undefined || server === undefined) {
        const other = await database.table('wraps').get(wrapName(person, 'secret'));
        return other === undefined || typed.means === 'secret' ? needsNetwork() : secretOpens();
      }
      if (outside(wrap.untilMs - (await offlineMs()), nowMs, await offlineMs())) {
        await database.write(['wraps'], (store) => void store('wraps').delete(name));
        return needsNetwork();
      }
      // Counted first: a page closed in the middle of a try has had it.
      const tried = counted(before, person, nowMs);
      await put('tries', tried);
      const found = await openForPerson(held, person, typed.means, typed.text, wrap);
      if (found === undefined) {
        const whose = ended(tried, person, atMost);
        if (whose === 'nobody') return wrong();
        await database.write(['wraps'], (store) => {
          if (whose === 'everybody') store('wraps').clear();
          else for (const means of ['pin', 'secret'] as const) store('wraps').delete(wrapName(person, means));
        });
        return usedUp();
      }
      await put('tries', right(tried, person));
      await vault.heard(nowMs);
      return opened(person, found.raw, found.voucher, server);
    },
    heard: (nowMs) => put('heard', nowMs),
    wipe: async () => {
      if (controlIsOn('H19-wiped')) await wipe();
    },
    wipeIfOld: async (nowMs) => {
      const heard = await plain.get<number>('heard');
      if (heard === undefined || !outside(heard, nowMs, Math.max(await offlineMs(), minuteMs))) return false;
      await vault.wipe();
      await database.write(['plain'], (store) => void store('plain').delete('heard'));
      return true;
    },
    close: () => database.close(),
  };
  return vault;
}
