/**
 * Late detections: the first known volume above this patient's limit. How long it had been above is rebuilt from
 * what was known before, filling taken as constant, and given as a range. For learning, not blame.
 */
import { hourMs, minuteMs } from '../quantity/index.ts';
import type { DrainFact, LateDetection, ReadingFact, VoidFact } from './types.ts';

/** A rate over less than this is mostly the readings' error (S-clinical-O3), so the rebuild starts further back. */
const rebuildAtLeastMs = hourMs;

interface Known {
  readonly atMs: number;
  readonly lowMl: number;
  readonly likelyMl: number;
  readonly highMl: number;
}

/** Minutes above the limit when the content runs at constant filling from a start to a known end, voids taken off. */
export function minutesOver(
  startMl: number,
  startMs: number,
  endMl: number,
  endMs: number,
  voids: readonly { atMs: number; volumeMl: number }[],
  limitMl: number,
): number | undefined {
  const hours = (endMs - startMs) / hourMs;
  if (hours <= 0) return undefined;
  const passedMl = voids.reduce((sum, one) => sum + one.volumeMl, 0);
  const rateMlPerH = (endMl + passedMl - startMl) / hours;
  if (rateMlPerH <= 0) return undefined;
  let contentMl = startMl;
  let fromMs = startMs;
  let overMs = 0;
  for (const stop of [...voids, { atMs: endMs, volumeMl: 0 }]) {
    const span = stop.atMs - fromMs;
    const reaches = contentMl + (rateMlPerH * span) / hourMs;
    if (reaches > limitMl)
      overMs += contentMl >= limitMl ? span : ((reaches - limitMl) / rateMlPerH) * hourMs;
    contentMl = Math.max(0, reaches - stop.volumeMl);
    fromMs = stop.atMs;
  }
  return overMs / minuteMs;
}

export function lateDetections(
  readings: readonly ReadingFact[],
  voids: readonly VoidFact[],
  drains: readonly DrainFact[],
  limitMl: number,
): readonly LateDetection[] {
  type Event = {
    atMs: number;
    id: string;
    volumeMl: number;
    exact: boolean;
    drain: boolean;
    lowMl: number;
    highMl: number;
  };
  const events: Event[] = [
    ...readings.flatMap((one) =>
      one.volumeMl === undefined || one.trust === 'unreliable'
        ? []
        : [
            {
              atMs: one.atMs,
              id: one.id,
              volumeMl: one.volumeMl,
              exact: one.result === 'exact' && one.trust !== 'low-bound-only',
              drain: false,
              lowMl: one.intervalMl?.low ?? one.volumeMl,
              highMl: one.intervalMl?.high ?? one.volumeMl,
            },
          ],
    ),
    ...drains.flatMap((one) =>
      one.route === 'from-catheter'
        ? []
        : [
            {
              atMs: one.atMs,
              id: one.id,
              volumeMl: one.volumeMl ?? 0,
              exact: true,
              drain: true,
              lowMl: 0,
              highMl: 0,
            },
          ],
    ),
  ].sort((a, b) => a.atMs - b.atMs || (a.drain ? 1 : -1));
  const found: LateDetection[] = [];
  let known: Known[] = [];
  let alreadyFound = false;
  for (const event of events) {
    if (event.volumeMl > limitMl && !alreadyFound) {
      alreadyFound = true;
      const from = known.findLast((one) => one.atMs <= event.atMs - rebuildAtLeastMs) ?? known[0];
      const between = from ? voids.filter((one) => one.atMs > from.atMs && one.atMs <= event.atMs) : [];
      const allMeasured = between.every((one) => one.volumeMl !== undefined);
      const over = (startMl: number): number | undefined =>
        from && allMeasured
          ? minutesOver(
              startMl,
              from.atMs,
              event.volumeMl,
              event.atMs,
              between.map((one) => ({ atMs: one.atMs, volumeMl: one.volumeMl ?? 0 })),
              limitMl,
            )
          : undefined;
      const [a, likely, b] = from ? [over(from.lowMl), over(from.likelyMl), over(from.highMl)] : [];
      found.push({
        byEntry: event.id,
        atMs: event.atMs,
        volumeMl: event.volumeMl,
        limitMl,
        ...(a === undefined || b === undefined || likely === undefined
          ? {}
          : { overMin: { low: Math.min(a, b), likely, high: Math.max(a, b) } }),
      });
    }
    if (event.drain) {
      alreadyFound = false;
      known = [{ atMs: event.atMs, lowMl: 0, likelyMl: 0, highMl: 0 }];
    } else if (event.exact && event.volumeMl <= limitMl) {
      // A low bound starts no rebuild.
      known.push({ atMs: event.atMs, lowMl: event.lowMl, likelyMl: event.volumeMl, highMl: event.highMl });
    }
  }
  return found;
}
