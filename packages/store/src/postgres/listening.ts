/**
 * One connection that listens. What is told while it is down is lost to it: so after every (re)connect, and after every
 * failed try, each listener is told `undefined`, "look for yourself". Nobody relies on a message; it only says when to
 * look.
 *
 * Waiting   between two tries to connect, from 50 ms doubling to 2 s: a listener that looks at every try is never
 *           further behind than that (S-common-practice)
 */
import pg from 'pg';

/** What was told; `undefined`: something may have been missed. */
export type Heard = (told: string | undefined) => void;

export interface Listening {
  on(channel: string, heard: Heard): () => void;
  close(): Promise<void>;
}

const firstWaitMs = 50;
const longestWaitMs = 2_000;
/** How often the connection is asked whether it is still there: a cut cable sends no goodbye. */
const askEveryMs = 10_000;

export function createListening(
  connection: pg.ClientConfig,
  onProblem: (problem: unknown) => void,
): Listening {
  const listeners = new Map<string, Set<Heard>>();
  let client: pg.Client | undefined;
  let closed = false;
  let waitMs = firstWaitMs;
  let timer: NodeJS.Timeout | undefined;
  let asking: NodeJS.Timeout | undefined;

  const tellAll = (): void => {
    for (const heard of [...listeners.values()].flatMap((some) => [...some])) heard(undefined);
  };
  const again = (problem: unknown): void => {
    if (closed || timer !== undefined) return;
    onProblem(problem);
    clearInterval(asking);
    client?.end().catch(() => undefined);
    client = undefined;
    timer = setTimeout(() => {
      timer = undefined;
      void connect();
    }, waitMs);
    waitMs = Math.min(longestWaitMs, 2 * waitMs);
  };
  const connect = async (): Promise<void> => {
    const mine = new pg.Client(connection);
    client = mine;
    mine.on('error', (problem) => {
      if (client === mine) again(problem);
    });
    mine.on('end', () => {
      if (client === mine) again(new Error('the listening connection ended'));
    });
    mine.on('notification', ({ channel, payload }) => {
      for (const heard of listeners.get(channel) ?? []) heard(payload ?? '');
    });
    try {
      await mine.connect();
      // Channels that are asked for from here on say so themselves.
      for (const channel of listeners.keys()) await mine.query(`listen ${channel}`);
      if (closed) return;
      waitMs = firstWaitMs;
      asking = setInterval(() => {
        mine.query('select 1').catch((problem: unknown) => {
          if (client === mine) again(problem);
        });
      }, askEveryMs);
      asking.unref();
    } catch (problem) {
      if (client === mine) again(problem);
    }
    // From here every message arrives; what came before, or may have come while nobody listened, is looked for now.
    if (!closed) tellAll();
  };

  return {
    on: (channel, heard) => {
      const some = listeners.get(channel);
      if (some) some.add(heard);
      else {
        listeners.set(channel, new Set([heard]));
        if (client === undefined && timer === undefined) void connect();
        else
          client
            ?.query(`listen ${channel}`)
            .then(() => heard(undefined))
            .catch(onProblem);
      }
      return () => void listeners.get(channel)?.delete(heard);
    },
    close: async () => {
      closed = true;
      clearTimeout(timer);
      clearInterval(asking);
      const last = client;
      client = undefined;
      await last?.end().catch(() => undefined);
    },
  };
}
