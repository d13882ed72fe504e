/**
 * A void trial by backfill: what was put into the emptied bladder before the catheter came out, and what has been
 * passed of it since.
 *
 * Units     mL; share in percent, not rounded: two thirds of a whole volume are told from anything less by a limit of 66.66 %
 *           (up to 1000 mL put in, the next share below two thirds is at most 66.63 %)
 * Domain    the last instillation of the open watch that no drain and no new catheter has ended
 */
import { instantMs } from '../quantity/index.ts';
import type { Entry } from '../record/index.ts';
import type { BackfillFact } from './types.ts';

/** One that began before the watch: the catheter often comes out as the watch opens. Common practice (S-common-practice). */
const mayLieBeforeMs = 2 * 60 * 60_000;

/** A new catheter, or a drain that was not in vain, takes out again what was put in. */
const takesOut = (entry: Entry): boolean =>
  entry.kind === 'catheter-placed' || (entry.kind === 'drained' && entry.payload.difficulty !== 'failed');

/** What was put in through the catheter that came out at an instant, and not drained again before; undefined for none. */
export function instilledThroughMl(live: readonly Entry[], outMs: number): number | undefined {
  let instilledMl: number | undefined;
  for (const one of live) {
    if (instantMs(one.effectiveAt) > outMs) break;
    if (one.kind === 'instilled') instilledMl = one.payload.volumeMl;
    else if (takesOut(one)) instilledMl = undefined;
  }
  return instilledMl;
}

export function backfillOf(live: readonly Entry[], openedAtMs: number | undefined): BackfillFact | undefined {
  if (openedAtMs === undefined) return undefined;
  const instilled = live.findLast((one) => one.kind === 'instilled');
  if (instilled?.kind !== 'instilled') return undefined;
  const atMs = instantMs(instilled.effectiveAt);
  if (atMs < openedAtMs - mayLieBeforeMs) return undefined;
  const after = live.filter((one) => instantMs(one.effectiveAt) >= atMs && one.id !== instilled.id);
  if (after.some(takesOut)) return undefined;
  const voids = after.filter((one) => one.kind === 'void');
  const notMeasured = voids.some((one) => one.payload.volumeMl === undefined);
  const voidedMl = voids.reduce((sum, one) => sum + (one.payload.volumeMl ?? 0), 0);
  return {
    instilledMl: instilled.payload.volumeMl,
    atMs,
    id: instilled.id,
    voids: voids.length,
    ...(voids.length === 0 || notMeasured
      ? {}
      : { voidedMl, voidedPercent: (100 * voidedMl) / instilled.payload.volumeMl }),
  };
}
