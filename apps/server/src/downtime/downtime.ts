/**
 * Prints for the hours without the tool: once an hour and at a clean stop every ward's sheets go to a folder that the
 * unit chose, best on another disk or a share. What fails is said (readiness, metrics, the operations page) and tried
 * again after some minutes; it never stops the server, and it holds up no request.
 */
import { Worker } from 'node:worker_threads';
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { wardFactsOf } from '@ebbline/core/facts';
import type { Ward } from '@ebbline/core/record';
import { inForce, protocolFor, type CompiledProtocol, type ProtocolVersion } from '@ebbline/protocol';
import { settings as watchSettings } from '@ebbline/core/record';
import type { DirectoryBook } from '../directory-book.ts';
import type { ProtocolBook } from '../protocol-book.ts';
import type { RecordView } from '../record-view.ts';
import type { PrintAnswer, PrintJob } from './print-worker.ts';
import { setName } from './write-set.ts';

/** A failed round is tried again after so long; a thread that is silent for so long is given up. S-common-practice */
const againAfterMs = 5 * minuteMs;
const longestWardMs = 2 * minuteMs;
/** Prints this old are called late: one round was missed. */
export const lateAfterMs = hourMs + 15 * minuteMs;

export interface DowntimeStatus {
  readonly folder: string;
  /** When the newest round was finished for every ward. */
  readonly printedAtMs?: number;
  readonly wards: number;
  /** Why the newest round is not whole; absent when it is. */
  readonly failure?: { readonly code: string; readonly found: string; readonly atMs: number };
}

export interface Downtime {
  /** Prints when an hour has begun since the newest round, or a failed one is to be tried again. */
  tick(nowMs: number): Promise<void>;
  /** Prints whatever the hour; at a stop. */
  now(nowMs: number): Promise<void>;
  status(): DowntimeStatus;
  close(): Promise<void>;
}

export interface DowntimeParts {
  readonly folder: string;
  /** Sets that are kept for each ward. */
  readonly keep: number;
  readonly view: Pick<RecordView, 'wards'>;
  readonly directory: DirectoryBook;
  readonly protocols: ProtocolBook;
}

/** What the watches of a ward go by, and what a new one would: each version once. */
function protocolsOf(
  ward: Ward,
  facts: ReturnType<typeof wardFactsOf>,
  versions: readonly ProtocolVersion[],
): readonly CompiledProtocol[] {
  const own = watchSettings.flatMap((setting) => inForce(versions, ward.id, setting)?.protocol ?? []);
  const kept = facts.patients.flatMap((one) => protocolFor(one.watch, ward.id, versions) ?? []);
  const found = new Map<string, CompiledProtocol>();
  for (const one of [...own, ...kept]) found.set(`${one.id} ${one.version}`, one);
  return [...found.values()];
}

const gaveUp: PrintAnswer = { code: 'downtime/not-finished', found: 'a print that did not come to its end' };

export function createDowntime({ folder, keep, view, directory, protocols }: DowntimeParts): Downtime {
  let thread: Worker | undefined;
  let round: Promise<void> | undefined;
  let triedAtMs: number | undefined;
  let status: DowntimeStatus = { folder, wards: 0 };

  const printOne = (job: PrintJob): Promise<PrintAnswer> => {
    const worker = (thread ??= new Worker(new URL('./print-worker.ts', import.meta.url)));
    worker.ref();
    return new Promise((resolve) => {
      const done = (answer: PrintAnswer): void => {
        clearTimeout(late);
        worker.off('message', done).off('error', broke).off('exit', broke);
        worker.unref();
        resolve(answer);
      };
      const broke = (): void => {
        thread = undefined;
        done(gaveUp);
        void worker.terminate();
      };
      const late = setTimeout(broke, longestWardMs);
      worker.on('message', done).on('error', broke).on('exit', broke);
      worker.postMessage(job);
    });
  };

  const printAll = async (nowMs: number): Promise<void> => {
    triedAtMs = nowMs;
    const book = directory.current();
    const known = new Map((await view.wards(nowMs)).map(({ ward, facts }) => [ward.id, facts]));
    const versions = protocols.versions();
    let failed: Extract<PrintAnswer, { code: string }> | undefined;
    for (const ward of book.wards) {
      const facts = known.get(ward.id) ?? wardFactsOf(ward.id, nowMs, []);
      const answer = await printOne({
        print: {
          ward,
          facts,
          directory: book,
          protocols: protocolsOf(ward, facts, versions),
          printedAtMs: nowMs,
        },
        to: { folder, ward: ward.id, name: setName(nowMs, ward.zone), keep },
      });
      if ('code' in answer) failed ??= answer;
      // One ward that fails does not keep the others from their sheets, unless the place itself hangs.
      if (answer === gaveUp) break;
    }
    status = {
      folder,
      wards: book.wards.length,
      ...(failed === undefined
        ? { printedAtMs: nowMs }
        : {
            ...(status.printedAtMs === undefined ? {} : { printedAtMs: status.printedAtMs }),
            failure: { ...failed, atMs: nowMs },
          }),
    };
  };

  const now = (nowMs: number): Promise<void> =>
    (round ??= printAll(nowMs)
      .catch((problem: unknown) => {
        const found = `facts that could not be worked out (${(problem as Error).name})`;
        status = { ...status, failure: { code: 'downtime/failed', found, atMs: nowMs } };
      })
      .finally(() => {
        round = undefined;
      }));

  return {
    now,
    tick: async (nowMs) => {
      const { printedAtMs, failure } = status;
      const due =
        printedAtMs === undefined || Math.floor(printedAtMs / hourMs) !== Math.floor(nowMs / hourMs);
      if (!due && failure === undefined) return;
      if (failure !== undefined && triedAtMs !== undefined && nowMs - triedAtMs < againAfterMs) return;
      await now(nowMs);
    },
    status: () => status,
    close: async () => {
      await thread?.terminate();
      thread = undefined;
    },
  };
}
