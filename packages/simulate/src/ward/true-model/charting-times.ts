/**
 * How likely the first generator's ward is to have written something of a known instant at a certain time, in a certain
 * way, or not yet: the probabilities behind `chartedTime`.
 *
 * Units     ms; probabilities 0 to 1
 * Source    S-job-4.2 by way of charting.ts, whose figures these are
 */
import { hourMs, minuteMs } from '@ebbline/core/quantity';

const atOnceShare = 0.4;
const withinHourShare = 0.4;
const lateShare = 0.2;
const forgottenShare = 0.1;

/** Chance that a whole number of `most` · share, rounded, is `value`. */
const roundedShare = (value: number, most: number): number =>
  value < 0 || value > most || !Number.isInteger(value)
    ? 0
    : value === 0 || value === most
      ? 0.5 / most
      : 1 / most;

const roundTo = (ms: number, minutes: number): number =>
  Math.round(ms / (minutes * minuteMs)) * minutes * minuteMs;

/** Shifts end at 7, 15 and 23. S-made-ward-mix */
function shiftEndAfter(atMs: number): number {
  const day = Math.floor(atMs / (24 * hourMs)) * 24 * hourMs;
  return [7, 15, 23, 31].map((hour) => day + hour * hourMs).find((end) => end > atMs) ?? day + 31 * hourMs;
}

/** Chance that what happened then and was left to the end of the shift was written down at that minute. */
function lateAt(trueMs: number, recordedAtMs: number): number {
  const leastMs = trueMs + hourMs;
  const end = shiftEndAfter(trueMs);
  let chance = 0;
  for (let minutes = 0; minutes <= 20; minutes += 1)
    if (Math.max(leastMs, end + minutes * minuteMs) === recordedAtMs) chance += roundedShare(minutes, 20);
  return chance;
}

/** Chance that it was written down at that minute, with that time and quality. */
export function chartedAs(
  trueMs: number,
  charted: {
    readonly atMs: number;
    readonly quality: 'exact' | 'rounded' | 'unknown';
    readonly recordedAtMs: number;
  },
  timeMayBeUnknown: boolean,
): number {
  const { atMs, quality, recordedAtMs } = charted;
  const delayMin = (recordedAtMs - trueMs) / minuteMs;
  if (delayMin < 0) return 0;
  if (quality === 'exact') return atMs === trueMs ? atOnceShare * roundedShare(delayMin, 5) : 0;
  const soon = withinHourShare * roundedShare(delayMin - 6, 54);
  const late = lateShare * lateAt(trueMs, recordedAtMs);
  if (quality === 'unknown') return timeMayBeUnknown ? forgottenShare * (soon + late) : 0;
  const told = timeMayBeUnknown ? 1 - forgottenShare : 1;
  return (
    told *
    ((roundTo(trueMs, delayMin < 33 ? 5 : 15) === atMs ? soon : 0) +
      (roundTo(trueMs, 30) === atMs ? late : 0))
  );
}

/** Chance that something of that instant, which is to be written down, is not yet by `nowMs`. */
export function notChartedBy(trueMs: number, nowMs: number): number {
  const agoMin = (nowMs - trueMs) / minuteMs;
  if (agoMin < 0) return 1;
  const after = (whole: number, most: number): number =>
    whole < 0 ? 1 : Math.max(0, 1 - (Math.floor(whole) + 0.5) / most);
  const lateFrom = Math.max(60, (shiftEndAfter(trueMs) - trueMs) / minuteMs);
  const late = agoMin < lateFrom ? 1 : after(agoMin - (shiftEndAfter(trueMs) - trueMs) / minuteMs, 20);
  return atOnceShare * after(agoMin, 5) + withinHourShare * after(agoMin - 6, 54) + lateShare * late;
}
