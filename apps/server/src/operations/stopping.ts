/**
 * A stop in order: no new requests, those that run are finished, then the last prints, the last checkpoint, the store.
 * Each part has its time; one that takes longer is given up, so that the process ends before whoever stopped it kills it.
 */
import type { FastifyInstance } from 'fastify';

/** How long running requests and the last prints may take at a stop, ms. S-common-practice */
export const stopPatience = { requestsMs: 10_000, printsMs: 12_000, wholeMs: 28_000 } as const;

/** Resolves with the work, or after a time without it; true when the work was done. */
export async function within(work: Promise<unknown>, ms: number): Promise<boolean> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<false>((resolve) => {
    timer = setTimeout(() => resolve(false), ms);
  });
  try {
    return await Promise.race([work.then(() => true as const), late]);
  } finally {
    clearTimeout(timer);
  }
}

/** Answers what runs, then closes; connections that are still open after the time are cut. */
export async function finishRequests(
  server: FastifyInstance,
  ms: number = stopPatience.requestsMs,
): Promise<void> {
  const closed = server.close();
  if (await within(closed, ms)) return;
  server.log.warn('requests were cut at the stop');
  server.server.closeAllConnections();
  await closed;
}
