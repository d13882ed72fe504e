/**
 * Hands sealed entries on: those of anybody, whoever is here, and also while nobody is. What the server has taken, in
 * its record or for a person to decide, leaves this tablet; everything else stays.
 */
import type { Timers } from '../clock.ts';
import type { Remote } from '../remote.ts';
import type { SealedRow } from './sealed-store.ts';
import type { Vault } from './vault.ts';

const batch = 50;
const mostLetters = 500_000;
const shortestWaitMs = 1000;
const longestWaitMs = 30_000;

type Carrier = Pick<Vault, 'sealed' | 'settled'>;

function load(rows: readonly SealedRow[]): readonly SealedRow[] {
  let letters = 0;
  const fit = rows.slice(0, batch).findIndex((row) => (letters += row.box.length) > mostLetters);
  return rows.slice(0, fit === -1 ? batch : Math.max(1, fit));
}

/**
 * Once through everything that waits, except what is sent otherwise.
 *
 * @returns ids that are settled, and whether the record was reached all the way
 */
export async function carryOnce(
  vault: Carrier,
  remote: Pick<Remote, 'carry'>,
  otherwise: ReadonlySet<string> = new Set(),
): Promise<{ readonly settled: readonly string[]; readonly reached: boolean }> {
  const settled: string[] = [];
  let rows = (await vault.sealed()).filter(({ id }) => !otherwise.has(id));
  while (rows.length > 0) {
    const part = load(rows);
    const answer = await remote.carry(part.map(({ id, key, box }) => ({ id, key, box })));
    if (answer.state !== 'reached') return { settled, reached: false };
    const done = [...answer.value.kept, ...answer.value.held];
    await vault.settled(done);
    settled.push(...done);
    rows = rows.slice(part.length);
  }
  return { settled, reached: true };
}

/** Carries on until stopped: while the tablet is locked, or nobody is signed in. */
export function keepCarrying(options: {
  readonly vault: Carrier;
  readonly remote: Pick<Remote, 'carry'>;
  readonly timers: Timers;
  readonly jitter: () => number;
  /** What is to be told before anything is carried. */
  readonly first: () => Promise<void>;
  /** So many wait, now that some were carried or none could be. */
  readonly waiting: (count: number) => void;
}): () => void {
  const { vault, remote, timers, jitter, first, waiting } = options;
  let stopped = false;
  let timer: unknown;
  let waitMs = shortestWaitMs;
  let busy = false;
  const round = async (): Promise<void> => {
    if (busy || stopped) return;
    busy = true;
    timers.clear(timer);
    try {
      await first();
      const { reached } = await carryOnce(vault, remote);
      const left = (await vault.sealed()).length;
      if (stopped) return;
      waiting(left);
      // What the server did not take is offered again, seldom.
      waitMs = reached ? longestWaitMs : Math.min(longestWaitMs, waitMs * 2);
    } catch {
      waitMs = longestWaitMs;
    } finally {
      busy = false;
    }
    if (!stopped) timer = timers.set(() => void round(), waitMs * jitter());
  };
  const back = (): void => {
    waitMs = shortestWaitMs;
    void round();
  };
  globalThis.addEventListener?.('online', back);
  void round();
  return () => {
    stopped = true;
    timers.clear(timer);
    globalThis.removeEventListener?.('online', back);
  };
}
