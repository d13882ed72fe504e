/**
 * Sessions of people on shared tablets. A session is a random token in a cookie; here stands only its digest.
 * A restart ends them all: everybody signs in again.
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
const longestMs = 13 * hourMs;

export interface Session {
  readonly person: string;
  /** When somebody last signed in on this tablet with a secret; a PIN does not make it later. */
  readonly openedMs: number;
  usedMs: number;
  /** The first reading of the record in this session has been put in the audit. */
  readNoted: boolean;
}

export interface Sessions {
  /** Opens one and gives its token; a new one at every sign-in and switch. */
  open(person: string, nowMs: number, openedMs?: number): string;
  /** `live`, or `idle` when it has rested too long: an idle one can only be switched by PIN. */
  find(
    token: string | undefined,
    nowMs: number,
  ): { readonly state: 'live' | 'idle'; readonly session: Session } | undefined;
  end(token: string | undefined): void;
  /** How many there are, ended ones swept away. */
  count(nowMs: number): number;
}

/** @param lockAfterS the tablet's lock time for a person, from their wards' settings */
export function createSessions(lockAfterS: (person: string) => number): Sessions {
  const byDigest = new Map<string, Session>();
  const keyOf = (token: string): string => hash('sha256', token);
  const over = (session: Session, nowMs: number): boolean => nowMs - session.openedMs >= longestMs;
  const sweep = (nowMs: number): void => {
    for (const [key, session] of byDigest) if (over(session, nowMs)) byDigest.delete(key);
  };
  return {
    open: (person, nowMs, openedMs = nowMs) => {
      sweep(nowMs);
      const token = randomBytes(32).toString('base64url');
      byDigest.set(keyOf(token), { person, openedMs, usedMs: nowMs, readNoted: false });
      return token;
    },
    find: (token, nowMs) => {
      const session = token === undefined ? undefined : byDigest.get(keyOf(token));
      if (session === undefined || over(session, nowMs)) return undefined;
      const resting = nowMs - session.usedMs >= restingLocks * lockAfterS(session.person) * 1000;
      return { state: resting && controlIsOn('H12-idle') ? 'idle' : 'live', session };
    },
    end: (token) => {
      if (token !== undefined) byDigest.delete(keyOf(token));
    },
    count: (nowMs) => {
      sweep(nowMs);
      return byDigest.size;
    },
  };
}
