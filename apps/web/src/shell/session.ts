/**
 * Who is at this tablet: nobody, somebody, or somebody who went away (locked). One person at a time, by name. While
 * nobody is, the page holds no patient and no key: the record on the tablet is sealed, and what waits goes on its way
 * as it stands.
 */
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { defaultSettings, type Directory, type Person } from '@ebbline/core/record';
import { jitter, nowMs, pageTimers, randomBytes } from './clock.ts';
import { carryOnce, keepCarrying } from './kept/carry.ts';
import { closeDrafts, openDrafts } from './kept/kept-drafts.ts';
import type { OpenCopy } from './kept/sealed-store.ts';
import {
  doorOf,
  doorPersonOf,
  nobodysDoor,
  openVault,
  type Door,
  type DoorPerson,
  type Typed,
  type Vault,
} from './kept/vault.ts';
import { memoryStore, type LocalStore } from './local-store.ts';
import { shouldLock } from './lock.ts';
import { openReplica, type OpenReplica } from './open-replica.ts';
import { httpRemote, type Answer, type Remote, type Welcome } from './remote.ts';
import { ticker } from './ticker.ts';
import { tellTabletName } from './view-log.ts';

export type SessionState =
  | { readonly at: 'starting' }
  | {
      readonly at: 'signed-out';
      readonly welcome: Welcome | undefined;
      readonly reached: boolean;
      /** Entries that wait, sealed, for the network. */
      readonly waiting: number;
    }
  | {
      readonly at: 'locked';
      readonly me: DoorPerson;
      readonly people: readonly DoorPerson[];
      readonly ended: boolean;
      readonly waiting: number;
      /** Only where what was open is not put away: see lock.ts. */
      readonly replica?: OpenReplica;
    }
  | { readonly at: 'in'; readonly me: Person; readonly replica: OpenReplica };

const touchKey = 'ebbline.touch';
const lockKey = 'ebbline.locked';
const outKey = 'ebbline.signed-out';
/** How often the age of what is kept is looked at, and its last contact written down, ms. */
const ageEveryMs = 60_000;

const kept = {
  read: (key: string): string | null => {
    try {
      return localStorage.getItem(key);
    } catch {
      return null;
    }
  },
  write: (key: string, value: string): void => {
    try {
      localStorage.setItem(key, value);
    } catch {
      // A browser that keeps nothing still works; it only forgets on closing.
    }
  },
};

const away = (): Refusal =>
  refuse('web/away', {
    asked: 'Sign-in',
    found: 'no answer',
    allowed: 'a sign-in while the network is there',
    todo: "The ward's record does not answer. Try again, or use a tablet that was signed in before.",
  });
const endedSession = (): Refusal =>
  refuse('web/session-ended', {
    asked: 'PIN',
    found: 'a sign-in that has ended',
    allowed: 'a sign-in with the secret',
    todo: 'Sign in again with the secret.',
  });

const notOpened = (): Refusal =>
  refuse('web/not-opened', {
    asked: 'This tablet',
    found: 'this browser could not read or write what it keeps',
    allowed: 'a browser with some free space',
    todo: 'Close the page and open it again, or use another tablet. What waits on this one is safe.',
  });
const stays = (): Refusal =>
  refuse('web/needs-network-to-leave', {
    asked: 'Another person',
    found: 'no network',
    allowed: 'somebody of this list',
    todo: 'Without the network only somebody of this list can open this tablet. It stays as it is.',
  });

export class Session {
  state: SessionState = { at: 'starting' };
  readonly remote: Remote;
  /** Absent where the browser keeps nothing: then everything is in memory, and only until the page is closed. */
  #vault: Vault | undefined;
  readonly #memory: LocalStore = memoryStore();
  #replica: OpenReplica | undefined;
  #door: Door | undefined;
  #keptOpen = false;
  #stopCarrying: (() => void) | undefined;
  #ageLookedAtMs = 0;
  #listeners = new Set<() => void>();
  #touchedMs = nowMs();

  constructor(remote: Remote = httpRemote()) {
    this.remote = remote;
  }

  subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  current = (): SessionState => this.state;

  /** A page that names nobody (the wall) is not locked. */
  keepOpen = (open: boolean): void => {
    this.#keptOpen = open;
  };

  /** False when a closed page would lose what was not sent. */
  get lasting(): boolean {
    return this.#vault !== undefined;
  }

  #become(state: SessionState): void {
    this.state = state;
    for (const listener of this.#listeners) listener();
  }

  async start(): Promise<void> {
    // Without the platform's cryptography (a page that is not served over a secure line) nothing is kept at all.
    this.#vault =
      globalThis.crypto?.subtle === undefined
        ? undefined
        : await openVault({ factory: indexedDB }).catch(() => undefined);
    this.#door = await this.#vault?.door();
    await this.#vault?.wipeIfOld(nowMs());
    for (const type of ['pointerdown', 'keydown'] as const)
      addEventListener(type, this.#touch, { capture: true, passive: true });
    document.addEventListener('visibilitychange', this.#check);
    addEventListener('storage', this.#lockedElsewhere);
    ticker.subscribeEachSecond(this.#check);
    ticker.subscribe(() => this.#replica?.tick());

    if (kept.read(outKey) === 'yes') {
      await this.#tellSignedOut();
      return this.#toDoor(true);
    }
    // Locked it was, locked it is: nothing that the record could say changes that, so nobody waits for it.
    if (this.#door?.me && !this.#leftOpen()) return this.#showLock(this.#door.me, false);
    const answer = await this.remote.me();
    if (answer.state === 'reached') {
      if (this.#leftOpen() && (await this.#openWithNetwork(answer.value).catch(notOpened)) === undefined)
        return;
      return this.#showLock(doorPersonOf(answer.value), false);
    }
    // A sign-in that rests, or no network: the last person may come back by PIN.
    if (this.#door?.me) return this.#showLock(this.#door.me, false);
    await this.#toDoor(answer.state !== 'away');
  }

  /** True when this tablet was neither locked nor left alone for longer than the unit allows. */
  #leftOpen(): boolean {
    if (kept.read(lockKey) === 'yes') return false;
    const touched = Number(kept.read(touchKey) ?? 0);
    return !shouldLock({ lastTouchMs: touched, nowMs: nowMs(), lockAfterS: this.#lockAfterS() });
  }

  #lockAfterS(): number {
    return (this.#door ?? defaultSettings).lockAfterS;
  }

  #touch = (): void => {
    const now = nowMs();
    if (now - this.#touchedMs > 2000) kept.write(touchKey, String(now));
    this.#touchedMs = now;
  };

  /** Another page of this browser was locked, or signed out: it is one tablet. */
  #lockedElsewhere = ({ key, newValue }: Pick<StorageEvent, 'key' | 'newValue'>): void => {
    if ((key === lockKey || key === outKey) && newValue === 'yes') this.lock(key === outKey);
  };

  #check = (): void => {
    const now = nowMs();
    if (Math.abs(now - this.#ageLookedAtMs) >= ageEveryMs) {
      this.#ageLookedAtMs = now;
      const sinceHeard = this.#replica?.sourceAgeMs();
      if (this.state.at !== 'in') void this.#vault?.wipeIfOld(now);
      else if (sinceHeard !== undefined && sinceHeard < ageEveryMs) void this.#vault?.heard(now);
    }
    if (this.state.at !== 'in' || this.#keptOpen) return;
    if (shouldLock({ lastTouchMs: this.#touchedMs, nowMs: now, lockAfterS: this.#lockAfterS() })) this.lock();
  };

  async #toDoor(reached: boolean): Promise<void> {
    const welcome = await this.remote.welcome();
    this.#become({
      at: 'signed-out',
      welcome: welcome.state === 'reached' ? welcome.value : undefined,
      reached: reached && welcome.state !== 'away',
      waiting: (await this.#vault?.sealed())?.length ?? 0,
    });
    this.#carryOn();
  }

  /** A sign-out without the network: the record hears of it as soon as it can be reached. */
  async #tellSignedOut(): Promise<void> {
    if (kept.read(outKey) !== 'yes') return;
    if ((await this.remote.signOut()).state === 'reached') kept.write(outKey, 'no');
  }

  /** Sends what waits, as it stands, while nobody is there. */
  #carryOn(): void {
    this.#stopCarrying?.();
    const vault = this.#vault;
    if (vault === undefined) return;
    this.#stopCarrying = keepCarrying({
      vault,
      remote: this.remote,
      timers: pageTimers,
      jitter,
      first: () => this.#tellSignedOut(),
      waiting: (waiting) => {
        const { state } = this;
        if ((state.at === 'locked' || state.at === 'signed-out') && state.waiting !== waiting)
          this.#become({ ...state, waiting });
      },
    });
  }

  /** With the server's part of the key; a refusal when it was not given. */
  async #openWithNetwork(me: Person, typed?: Typed): Promise<Refusal | undefined> {
    const vault = this.#vault;
    if (vault === undefined) {
      await this.#enter(me, this.#memory);
      return undefined;
    }
    const answer = await this.remote.tabletKey(await vault.copyName());
    if (answer.state === 'refused') return answer.refusal;
    if (answer.state !== 'reached') return answer.state === 'away' ? away() : endedSession();
    await this.#open(me, await vault.openWithNetwork(me.id, answer.value, nowMs(), typed));
    return undefined;
  }

  async #open(me: Person, copy: OpenCopy): Promise<void> {
    openDrafts(copy.drafts);
    await this.#enter(me, copy.store);
  }

  async #enter(me: Person, store: LocalStore): Promise<void> {
    this.#stopCarrying?.();
    this.#replica?.close();
    const vault = this.#vault;
    let directory = await store.note<Directory>('directory');
    if (directory === undefined) {
      const answer = await this.remote.directory();
      directory =
        answer.state === 'reached'
          ? answer.value
          : { organisation: 'unknown', wards: [], people: [me], scanners: [] };
      if (answer.state === 'reached') await store.writeNote('directory', directory);
    }
    await store.writeNote(meNote(me.id), me);
    const madeOn = (await vault?.tablet()) ?? 'tablet-unkept';
    tellTabletName(madeOn);
    const replica = await openReplica({
      me,
      directory,
      store,
      remote: this.remote,
      madeOn,
      now: nowMs,
      random: randomBytes,
      jitter,
      onSignedOut: () => {
        if (this.#replica === replica) this.lock(true);
      },
      ...(vault === undefined
        ? {}
        : { carry: (otherwise: ReadonlySet<string>) => carryOnce(vault, this.remote, otherwise) }),
    });
    this.#replica = replica;
    await this.#keepDoor();
    replica.start();
    this.#touchedMs = nowMs();
    kept.write(touchKey, String(this.#touchedMs));
    kept.write(lockKey, 'no');
    kept.write(outKey, 'no');
    this.#become({ at: 'in', me, replica });
  }

  async #keepDoor(): Promise<void> {
    if (this.#replica === undefined) return;
    this.#door = doorOf(this.#replica.me, this.#replica.directory());
    await this.#vault?.writeDoor(this.#door);
  }

  #showLock(me: DoorPerson, ended: boolean): void {
    const people = this.#door?.people ?? [];
    this.#become({ at: 'locked', me, people, ended, waiting: 0 });
    void this.#vault?.sealed().then(({ length }) => {
      if (this.state.at === 'locked') this.#become({ ...this.state, waiting: length });
    });
    this.#carryOn();
  }

  /** The content leaves the page and the key leaves its memory; what waits goes on its way as it stands. */
  lock = (ended = false): void => {
    const replica = this.#replica;
    if (!replica) return;
    kept.write(lockKey, 'yes');
    void this.#keepDoor();
    const me = doorPersonOf(replica.me);
    closeDrafts();
    if (controlIsOn('H19-put-away')) {
      this.#replica = undefined;
      replica.close();
    } else replica.pause();
    this.#showLock(me, ended);
    // After the state has changed: until a PIN, this tablet's sign-in reads and writes nothing.
    if (!ended) void this.remote.lock();
  };

  async signIn(person: string, secret: string): Promise<Refusal | undefined> {
    const answer = await this.remote.signIn(person, secret);
    return this.#comeIn(person, { means: 'secret', text: secret }, answer).catch(notOpened);
  }

  /** Comes back, or hands the tablet to somebody else, by PIN. */
  async switchTo(person: string, pin: string): Promise<Refusal | undefined> {
    const answer = await this.remote.switchTo(person, pin);
    return this.#comeIn(person, { means: 'pin', text: pin }, answer).catch(notOpened);
  }

  /** By a way that the ward's record alone can check: a passkey, a badge. Without the network the PIN is left. */
  async comeInBy(ask: () => Promise<Answer<Person>>): Promise<Refusal | undefined> {
    const answer = await ask();
    if (answer.state === 'reached') return this.#openWithNetwork(answer.value).catch(notOpened);
    if (answer.state === 'refused') return answer.refusal;
    return answer.state === 'signed-out' ? endedSession() : away();
  }

  async #comeIn(person: string, typed: Typed, answer: Answer<Person>): Promise<Refusal | undefined> {
    if (answer.state === 'reached') return this.#openWithNetwork(answer.value, typed);
    if (answer.state === 'refused') return answer.refusal;
    if (answer.state === 'signed-out') return endedSession();
    if (this.#vault === undefined || this.state.at !== 'locked') return away();
    const copy = await this.#vault.openWithout(person, typed, nowMs());
    if (isRefusal(copy)) return copy;
    const me =
      (await copy.store.note<Person>(meNote(person))) ??
      (await copy.store.note<Directory>('directory'))?.people.find(({ id }) => id === person);
    if (me === undefined) return away();
    await this.#open(me, copy);
    return undefined;
  }

  /** Makes room at the lock for somebody who is not known here; not without the network, where nobody could come in. */
  async makeRoom(): Promise<Refusal | undefined> {
    if ((await this.remote.welcome()).state === 'away') return stays();
    await this.signOut();
    return undefined;
  }

  signOut = async (): Promise<void> => {
    kept.write(outKey, 'yes');
    closeDrafts();
    this.#replica?.close();
    this.#replica = undefined;
    this.#door = nobodysDoor;
    await this.#vault?.wipe();
    await this.#vault?.writeDoor(nobodysDoor);
    const answer = await this.remote.signOut();
    if (answer.state === 'reached') kept.write(outKey, 'no');
    kept.write(lockKey, 'no');
    await this.#toDoor(answer.state !== 'away');
  };
}

const meNote = (person: string): string => `me:${person}`;
