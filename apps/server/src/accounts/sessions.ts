/**
 * Sessions of people on shared tablets. A session is a random token in a cookie; kept is only its digest: in memory,
 * where a restart ends them all, or in a database, where every server on it knows them.
 *
 * Units     milliseconds since the epoch; the clock is the caller's
 * Source    a session may rest `restingLocks` times the tablet's own lock time, since the server sees no touches, and
 *           lasts one shift with its handovers (S-common-practice)
 */
import { hash, randomBytes } from 'node:crypto';
import { controlIsOn, hourMs } from '@ebbline/core/quantity';

/** Times the unit's `lockAfterS`: 15 minutes where a tablet locks after 60 s. */
const restingLocks = 15;
/** A shift of twelve hours and its handovers. */
export const longestSessionMs = 13 * hourMs;

export interface Session {
  readonly person: string;
  /** When somebody last signed in on this tablet with a secret; a PIN does not make it later. */
  readonly openedMs: number;
  readonly usedMs: number;
  /** The tablet said that it locked: only a PIN or a secret opens another session. */
  readonly locked: boolean;
}

export interface HeldSession {
  /** `idle` when it has rested too long or was locked: it can only be switched by PIN. */
  readonly state: 'live' | 'idle';
  readonly session: Session;
}

export interface Sessions {
  /** Opens one and gives its token; a new one at every sign-in and switch. */
  open(person: string, nowMs: number, openedMs?: number): Promise<string>;
  find(token: string | undefined, nowMs: number): Promise<HeldSession | undefined>;
  /** It is in use: it rests from now. A locked one stays locked. */
  use(token: string | undefined, nowMs: number): Promise<void>;
  lock(token: string | undefined): Promise<void>;
  /** True once in a session, for one caller: that reading of the record is put in the audit. */
  firstReading(token: string | undefined): Promise<boolean>;
  end(token: string | undefined): Promise<void>;
  /** How many there are, ended ones swept away. */
  count(nowMs: number): Promise<number>;
}

/** The tablet's lock time for a person, from their wards' settings. */
export type LockAfterS = (person: string) => number;

export const sessionDigest = (token: string): string => hash('sha256', token);
export const newSessionToken = (): string => randomBytes(32).toString('base64url');

/** What a kept session is worth now. */
export function heldSession(
  session: Session | undefined,
  nowMs: number,
  lockAfterS: LockAfterS,
): HeldSession | undefined {
  if (session === undefined || nowMs - session.openedMs >= longestSessionMs) return undefined;
  const resting =
    session.locked || nowMs - session.usedMs >= restingLocks * lockAfterS(session.person) * 1000;
  return { state: resting && controlIsOn('H12-idle') ? 'idle' : 'live', session };
}

interface Kept {
  session: Session;
  readNoted: boolean;
}

export function createSessions(lockAfterS: LockAfterS): Sessions {
  const byDigest = new Map<string, Kept>();
  const keptOf = (token: string | undefined): Kept | undefined =>
    token === undefined ? undefined : byDigest.get(sessionDigest(token));
  const sweep = (nowMs: number): void => {
    for (const [key, { session }] of byDigest)
      if (nowMs - session.openedMs >= longestSessionMs) byDigest.delete(key);
  };
  return {
    open: async (person, nowMs, openedMs = nowMs) => {
      sweep(nowMs);
      const token = newSessionToken();
      byDigest.set(sessionDigest(token), {
        session: { person, openedMs, usedMs: nowMs, locked: false },
        readNoted: false,
      });
      return token;
    },
    find: async (token, nowMs) => heldSession(keptOf(token)?.session, nowMs, lockAfterS),
    use: async (token, nowMs) => {
      const kept = keptOf(token);
      if (kept) kept.session = { ...kept.session, usedMs: nowMs };
    },
    lock: async (token) => {
      const kept = keptOf(token);
      if (kept) kept.session = { ...kept.session, locked: true };
    },
    firstReading: async (token) => {
      const kept = keptOf(token);
      if (kept === undefined || kept.readNoted) return false;
      kept.readNoted = true;
      return true;
    },
    end: async (token) => {
      if (token !== undefined) byDigest.delete(sessionDigest(token));
    },
    count: async (nowMs) => {
      sweep(nowMs);
      return byDigest.size;
    },
  };
}
