// The only place of the web that asks the time or draws random bytes, so that a browser test can set both.

/** Now, ms since the epoch. */
export function nowMs(): number {
  return Date.now();
}

/** Bytes from the browser's own generator. */
export function randomBytes(count: number): Uint8Array {
  return crypto.getRandomValues(new Uint8Array(count));
}

/** A share of a waiting time, so that many tablets do not come back in the same second. */
export function jitter(): number {
  return 0.5 + (randomBytes(1)[0] ?? 0) / 512;
}

/** Waits; a test gives its own, so that hours pass in a moment. */
export interface Timers {
  set(work: () => void, waitMs: number): unknown;
  clear(timer: unknown): void;
}

export const pageTimers: Timers = {
  set: (work, waitMs) => setTimeout(work, waitMs),
  clear: (timer) => clearTimeout(timer as ReturnType<typeof setTimeout> | undefined),
};
