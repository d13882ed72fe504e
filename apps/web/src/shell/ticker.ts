// Two slow clocks for the page: each ten seconds for everything, each second for the age of the source alone.
import { nowMs } from './clock.ts';

const tenSeconds = 10_000;
const slow = new Set<() => void>();
const quick = new Set<() => void>();
let shownMs = nowMs();
let timer: ReturnType<typeof setInterval> | undefined;
let sinceSlow = 0;

function turn(): void {
  sinceSlow += 1;
  for (const listener of quick) listener();
  const now = nowMs();
  if (sinceSlow < 10 && Math.abs(now - shownMs) < tenSeconds) return;
  sinceSlow = 0;
  shownMs = now;
  for (const listener of slow) listener();
}

function join(set: Set<() => void>, listener: () => void): () => void {
  set.add(listener);
  timer ??= setInterval(turn, 1000);
  return () => {
    set.delete(listener);
    if (slow.size + quick.size > 0) return;
    clearInterval(timer);
    timer = undefined;
  };
}

export const ticker = {
  now: (): number => {
    if (timer === undefined) shownMs = Math.max(shownMs, nowMs() - (nowMs() % 1000));
    return shownMs;
  },
  subscribe: (listener: () => void): (() => void) => join(slow, listener),
  subscribeEachSecond: (listener: () => void): (() => void) => join(quick, listener),
};
