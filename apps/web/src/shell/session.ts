/**
 * Who is at this tablet: nobody, somebody, or somebody who went away (locked). One person at a time, by name; the
 * record of the ward stays on the tablet in between, so that work without the network goes on.
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { Directory, Person } from '@ebbline/core/record';
import { defaultSettings } from '@ebbline/core/record';
import { jitter, nowMs, randomBytes } from './clock.ts';
import { indexedStore, memoryStore, type LocalStore } from './local-store.ts';
import { digestPin, pinMatches, shouldLock, waitAfterWrong, type PinDigest } from './lock.ts';
import { openReplica, type OpenReplica } from './open-replica.ts';
import { httpRemote, type Remote, type Welcome } from './remote.ts';
import { ticker } from './ticker.ts';

export type SessionState =
  | { readonly at: 'starting' }
  | { readonly at: 'signed-out'; readonly welcome: Welcome | undefined; readonly reached: boolean }
  | {
      readonly at: 'locked';
      readonly me: Person;
      readonly people: readonly Person[];
      readonly ended: boolean;
      readonly replica: OpenReplica;
    }
  | { readonly at: 'in'; readonly me: Person; readonly replica: OpenReplica };

const touchKey = 'ebbline.touch';
const lockKey = 'ebbline.locked';

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

export class Session {
  state: SessionState = { at: 'starting' };
  readonly remote: Remote;
  #store: LocalStore | undefined;
  #replica: OpenReplica | undefined;
  #directory: Directory | undefined;
  #keptOpen = false;
  #wrong = 0;
  #waitUntilMs = 0;
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
    return this.#store?.lasting ?? true;
  }

  #become(state: SessionState): void {
    this.state = state;
    for (const listener of this.#listeners) listener();
  }

  async start(): Promise<void> {
    this.#store = await indexedStore().catch(() => memoryStore());
    this.#directory = await this.#store.note<Directory>('directory');
    const last = await this.#store.note<Person>('me');
    for (const type of ['pointerdown', 'keydown'] as const)
      addEventListener(type, this.#touch, { capture: true, passive: true });
    document.addEventListener('visibilitychange', this.#check);
    ticker.subscribeEachSecond(this.#check);
    ticker.subscribe(() => this.#replica?.tick());

    if (last && this.#directory && !this.#leftOpen()) {
      // Locked it was, locked it is: nothing that the record could say changes that, so nobody waits for it.
      await this.#open(last, this.#directory);
      return this.lock();
    }
    const answer = await this.remote.me();
    if (answer.state === 'reached') {
      if (this.#leftOpen()) return this.#enter(answer.value);
      await this.#open(answer.value);
      return this.lock();
    }
    if (last && this.#directory) {
      // A sign-in that rests, or no network: the last person may come back by PIN.
      await this.#open(last);
      return this.lock();
    }
    await this.#toDoor(answer.state !== 'away');
  }

  /** True when this tablet was neither locked nor left alone for longer than the unit allows. */
  #leftOpen(): boolean {
    if (kept.read(lockKey) === 'yes') return false;
    const touched = Number(kept.read(touchKey) ?? 0);
    return !shouldLock({ lastTouchMs: touched, nowMs: nowMs(), lockAfterS: this.#lockAfterS() });
  }

  #lockAfterS(): number {
    const state = this.state;
    const ward =
      state.at === 'in' ? this.#directory?.wards.find((one) => state.me.wards.includes(one.id)) : undefined;
    return (ward?.settings ?? defaultSettings).lockAfterS;
  }

  #touch = (): void => {
    const now = nowMs();
    if (now - this.#touchedMs > 2000) kept.write(touchKey, String(now));
    this.#touchedMs = now;
  };

  #check = (): void => {
    if (this.state.at !== 'in' || this.#keptOpen) return;
    if (shouldLock({ lastTouchMs: this.#touchedMs, nowMs: nowMs(), lockAfterS: this.#lockAfterS() }))
      this.lock();
  };

  async #toDoor(reached: boolean): Promise<void> {
    const welcome = await this.remote.welcome();
    const found =
      welcome.state === 'reached'
        ? welcome.value
        : this.#directory
          ? { people: this.#directory.people, demo: false }
          : undefined;
    this.#become({ at: 'signed-out', welcome: found, reached: reached && welcome.state !== 'away' });
  }

  /** With a directory that is good enough to begin with, the record is not asked; the replica asks once it listens. */
  async #open(me: Person, toBegin?: Directory): Promise<void> {
    const store = this.#store as LocalStore;
    this.#replica?.close();
    const answer = toBegin ? undefined : await this.remote.directory();
    if (answer?.state === 'reached') {
      this.#directory = answer.value;
      await store.writeNote('directory', answer.value);
    }
    let madeOn = await store.note<string>('tablet');
    if (madeOn === undefined) {
      madeOn = `tablet-${Array.from(randomBytes(4), (byte) => byte.toString(16).padStart(2, '0')).join('')}`;
      await store.writeNote('tablet', madeOn);
    }
    await store.writeNote('me', me);
    this.#replica = await openReplica({
      me,
      directory: this.#directory ?? { organisation: 'unknown', wards: [], people: [me], scanners: [] },
      store,
      remote: this.remote,
      madeOn,
      now: nowMs,
      random: randomBytes,
      jitter,
      onSignedOut: () => {
        this.#replica?.pause();
        this.lock(true);
      },
    });
  }

  async #enter(me: Person): Promise<void> {
    if (this.#replica?.me.id !== me.id) await this.#open(me);
    this.#replica?.start();
    this.#touchedMs = nowMs();
    kept.write(touchKey, String(this.#touchedMs));
    kept.write(lockKey, 'no');
    this.#wrong = 0;
    this.#become({ at: 'in', me, replica: this.#replica as OpenReplica });
  }

  /** The content leaves the page; the record stays on the tablet and goes on sending. */
  lock = (ended = false): void => {
    const replica = this.#replica;
    if (!replica) return;
    const { me } = replica;
    this.#directory = replica.directory();
    kept.write(lockKey, 'yes');
    this.#become({ at: 'locked', me, people: this.#directory.people, ended, replica });
    // After the state has changed: it goes on only while the tablet is locked.
    if (!ended) void this.#tellLocked(me);
  };

  /** What waits is sent first; then the ward's record is told, and this tablet's sign-in reads and writes nothing. */
  async #tellLocked(me: Person): Promise<void> {
    const replica = this.#replica;
    while (this.state.at === 'locked' && this.state.me.id === me.id) {
      if (replica === undefined || replica.network().waitingOwn === 0) {
        replica?.pause();
        await this.remote.lock();
        return;
      }
      await new Promise((resolve) => setTimeout(resolve, 1000));
    }
  }

  async signIn(person: string, secret: string): Promise<Refusal | undefined> {
    const answer = await this.remote.signIn(person, secret);
    if (answer.state === 'reached') {
      await this.#enter(answer.value);
      return undefined;
    }
    if (answer.state === 'refused') return answer.refusal;
    return refuse('web/away', {
      asked: 'Sign-in',
      found: 'no answer',
      allowed: 'a sign-in while the network is there',
      todo: "The ward's record does not answer. Try again, or use a tablet that was signed in before.",
    });
  }

  /** Comes back, or hands the tablet to somebody else, by PIN. */
  async switchTo(person: string, pin: string): Promise<Refusal | undefined> {
    const store = this.#store as LocalStore;
    const waitS = Math.ceil((this.#waitUntilMs - nowMs()) / 1000);
    if (waitS > 0) {
      return refuse('web/wait', {
        asked: 'PIN',
        found: `${this.#wrong} wrong tries`,
        allowed: `another try in ${waitS} s`,
        todo: `Wait ${waitS} seconds, or sign in with the secret.`,
      });
    }
    const answer = await this.remote.switchTo(person, pin);
    if (answer.state === 'reached') {
      const digest = await digestPin(pin, randomBytes(16));
      if (digest) await store.writeNote(`pin:${person}`, digest);
      await this.#enter(answer.value);
      return undefined;
    }
    const known = this.#directory?.people.find((one) => one.id === person);
    const keptDigest = answer.state === 'away' ? await store.note<PinDigest>(`pin:${person}`) : undefined;
    if (answer.state === 'away' && (!keptDigest || !known)) {
      return refuse('web/pin-needs-network', {
        asked: 'PIN',
        found: 'no network, and this person has not unlocked this tablet before',
        allowed: 'somebody who has unlocked it before',
        todo: 'Ask somebody who has used this tablet, or write on the paper sheet until the network is back.',
      });
    }
    if (keptDigest && known && (await pinMatches(pin, keptDigest))) {
      await this.#enter(known);
      return undefined;
    }
    this.#wrong += 1;
    this.#waitUntilMs = nowMs() + waitAfterWrong(this.#wrong) * 1000;
    if (answer.state === 'refused') return answer.refusal;
    if (answer.state === 'signed-out') {
      return refuse('web/session-ended', {
        asked: 'PIN',
        found: 'a sign-in that has ended',
        allowed: 'a sign-in with the secret',
        todo: 'Sign in again with the secret.',
      });
    }
    return refuse('web/wrong-pin', {
      asked: 'PIN',
      found: 'another PIN',
      allowed: "this person's PIN",
      todo: 'Try again.',
    });
  }

  signOut = async (): Promise<void> => {
    await this.remote.signOut();
    this.#replica?.close();
    this.#replica = undefined;
    await this.#store?.writeNote('me', undefined);
    kept.write(lockKey, 'no');
    await this.#toDoor(true);
  };
}
