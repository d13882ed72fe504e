/**
 * How likely it is that a volume is one that was charted already: sent by a device and keyed once more, keyed by two hands,
 * or put down again from memory at the end of a shift, rounder than before.
 *
 * Units     mL; shares 0 to 1
 * Domain    volumes of one patient and one kind
 * Not for   repeats of one look: staff chart each of them as it comes
 * Source    S-made-again-settings
 */
import { minuteMs } from '../quantity/index.ts';

export interface ChartedVolume {
  readonly volumeMl: number;
  readonly atMs: number;
  readonly recordedAtMs: number;
  readonly typed: boolean;
  /** Repeats of one look carry the same word. */
  readonly look?: string;
}

const sameWithinMs = 10 * minuteMs;
const laterWithinMs = 6 * 60 * minuteMs;
const memoryWithinMs = 6 * minuteMs;
const fromMemoryAfterMs = 10 * minuteMs;
/** The end of a device's range, and its 0, come again by themselves. */
const rangeEndMl = 999;
const laterAgain = 0.3;
const fromMemory = 0.97;
const nothingAgain = 0.8;

const roundedAlike = (told: number, before: number): boolean =>
  told === before || [5, 10].some((step) => told === Math.round(before / step) * step);

/** The share that this volume is the other once more. */
export function chartedAgainShare(now: ChartedVolume, before: ChartedVolume): number {
  if (now.volumeMl >= rangeEndMl) return 0;
  const apartMs = Math.abs(now.atMs - before.atMs);
  const otherLook = now.look === undefined || now.look !== before.look;
  // One look is charted within minutes; who puts it down again later does it from memory.
  const later = otherLook && now.recordedAtMs - before.recordedAtMs >= fromMemoryAfterMs;
  if (now.volumeMl === before.volumeMl && now.volumeMl > 0) {
    if (apartMs <= sameWithinMs && now.typed) return 1;
    // Later on the same volume comes again by itself, the more so a round one.
    return apartMs <= laterWithinMs && now.volumeMl % 5 !== 0 ? laterAgain : 0;
  }
  if (!now.typed || !later || apartMs > memoryWithinMs || !roundedAlike(now.volumeMl, before.volumeMl))
    return 0;
  return now.volumeMl === 0 ? nothingAgain : fromMemory;
}
