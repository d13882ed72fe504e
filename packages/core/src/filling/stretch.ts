/**
 * When somebody was found over the limit, and the stretch in which they came to be: from when the bladder was last
 * emptied or first heard of, to when it was emptied next.
 *
 * Units     mL, ms
 * Domain    observations in order of time, as `checkObservations` gives them; a limit above 0
 */
import { hourMs } from '../quantity/index.ts';
import type { FillingObservation } from './observation.ts';

export interface Stretch {
  readonly fromMs: number;
  readonly toMs: number;
  /** Whether the bladder was emptied at its end; else it goes on. */
  readonly emptied: boolean;
}

/** No stretch is looked at that is longer. S-made-looking-back */
const longestMs = 48 * hourMs;

const empties = (one: FillingObservation): boolean =>
  one.kind === 'drained' || (one.kind === 'catheter' && one.state !== 'blocked');

/** The stretch about an instant. */
export function stretchAbout(
  observations: readonly FillingObservation[],
  aboutMs: number,
  nowMs: number,
): Stretch {
  const before = observations.findLast((one) => empties(one) && one.atMs < aboutMs);
  const after = observations.find((one) => empties(one) && one.atMs >= aboutMs && one.atMs <= nowMs);
  const toMs = after?.atMs ?? nowMs;
  const firstMs = before?.atMs ?? Math.min(aboutMs, ...observations.map((one) => one.atMs));
  return { fromMs: Math.max(firstMs, toMs - longestMs), toMs, emptied: after !== undefined };
}

export interface FoundOver {
  readonly atMs: number;
  readonly by: 'reading' | 'drained';
  readonly volumeMl: number;
}

/** The first known volume over the limit after each emptying. A reading and a drain of one instant count once. */
export function foundOver(
  observations: readonly FillingObservation[],
  limitMl: number,
): readonly FoundOver[] {
  const found: FoundOver[] = [];
  let already = false;
  for (const one of observations) {
    const volumeMl = one.kind === 'reading' || one.kind === 'drained' ? one.volumeMl : undefined;
    if (volumeMl !== undefined && volumeMl > limitMl && !already) {
      found.push({ atMs: one.atMs, by: one.kind === 'reading' ? 'reading' : 'drained', volumeMl });
      already = true;
    }
    if (empties(one)) already = false;
  }
  return found;
}
