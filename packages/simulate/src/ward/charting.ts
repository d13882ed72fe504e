/**
 * How a ward writes things down: late, rounded, in part, or not at all.
 *
 * Units     mL, minutes, ms
 * Source    S-job-4.2 (times 40 % within 5 min, 40 % within the hour, 20 % at the end of the shift; void volume
 *           unmeasured 15 to 30 %, time unknown 6 %, drained volume missing 5 %, operator 3 %, scanner 20 % when typed)
 */
import { hourMs, minuteMs, type RandomSource } from '@ebbline/core/quantity';
import { typedVolume } from '../patient/reading-error.ts';
import type { VoidFields } from './lines.ts';
import { streamFor } from './streams.ts';

/** What is so on one ward: its habits, and the lasting errors of its scanners and operators. */
export interface WardHabits {
  readonly unmeasuredShare: number;
  readonly scannerBias: readonly number[];
  readonly operatorBias: readonly number[];
}

/** Two scanners with errors of −8 to +8 %, eight operators with −10 to +10 %. S-job-4.2; how many: S-made-ward-mix */
export function drawHabits(seed: number, ward: string): WardHabits {
  const random = streamFor(seed, ward, 'habits');
  return {
    unmeasuredShare: 0.15 + 0.15 * random.next(),
    scannerBias: Array.from({ length: 2 }, () => -0.08 + 0.16 * random.next()),
    operatorBias: Array.from({ length: 8 }, () => -0.1 + 0.2 * random.next()),
  };
}

export interface ChartedTime {
  readonly atMs: number;
  readonly atQuality: 'exact' | 'rounded' | 'unknown';
  readonly recordedAtMs: number;
}

const roundTo = (ms: number, minutes: number): number =>
  Math.round(ms / (minutes * minuteMs)) * minutes * minuteMs;

/** Shifts end at 7, 15 and 23. S-made-ward-mix */
function shiftEndAfter(atMs: number): number {
  const day = Math.floor(atMs / (24 * hourMs)) * 24 * hourMs;
  return [7, 15, 23, 31].map((hour) => day + hour * hourMs).find((end) => end > atMs) ?? day + 31 * hourMs;
}

/** When it was written down, and what time was written. */
export function chartedTime(
  trueMs: number,
  random: RandomSource,
  settings: { readonly timeMayBeUnknown: boolean },
): ChartedTime {
  const chance = random.next();
  const delay = random.next();
  const forgotten = random.next();
  const recordedAtMs =
    chance < 0.4
      ? trueMs + Math.round(5 * delay) * minuteMs
      : chance < 0.8
        ? trueMs + (6 + Math.round(54 * delay)) * minuteMs
        : Math.max(trueMs + 60 * minuteMs, shiftEndAfter(trueMs) + Math.round(20 * delay) * minuteMs);
  if (settings.timeMayBeUnknown && chance >= 0.4 && forgotten < 0.1)
    return { atMs: recordedAtMs, atQuality: 'unknown', recordedAtMs };
  if (chance < 0.4) return { atMs: trueMs, atQuality: 'exact', recordedAtMs };
  const rounded = roundTo(trueMs, chance < 0.8 ? (delay < 0.5 ? 5 : 15) : 30);
  return { atMs: rounded, atQuality: 'rounded', recordedAtMs };
}

/** How one void is written down; undefined when nobody does. Uncharted shares: S-made-ward-mix */
export function chartVoid(
  passedMl: number,
  random: RandomSource,
  ward: WardHabits,
  goesAlone: boolean,
): VoidFields | undefined {
  const [seen, measures, place, tellsSize, mixed, error] = [
    random.next(),
    random.next(),
    random.next(),
    random.next(),
    random.next(),
    random.normal(),
  ];
  if (seen < (goesAlone ? 0.3 : 0.08)) return undefined;
  if (measures < ward.unmeasuredShare) {
    return {
      kind: 'void',
      measured: false,
      class: goesAlone ? (place < 0.85 ? 'toilet' : 'shower') : place < 0.7 ? 'toilet' : 'bed',
      ...(tellsSize < 0.6
        ? {
            size:
              passedMl < 150 ? ('small' as const) : passedMl < 350 ? ('medium' as const) : ('large' as const),
          }
        : {}),
    };
  }
  // A jug is read to 5 % or so; with stool in it, it reads high.
  const isMixed = mixed < 0.05;
  const shownMl = Math.max(0, passedMl * (1 + 0.05 * error) * (isMixed ? 1.2 + 0.4 * tellsSize : 1));
  return {
    kind: 'void',
    measured: true,
    class: isMixed ? 'mixed-stool' : 'jug',
    volumeMl: place < 0.5 ? Math.round(shownMl / 10) * 10 : typedVolume(shownMl, random),
  };
}
