/**
 * What one patient's known lines say to the filling room.
 *
 * Units     mL; instants in ms
 * Errors    an entry charted as happening later than it was recorded is taken as happening when it was recorded:
 *           the log's own clock is always right. Repeats at one look share their error, so they count as one
 *           reading: the mean of the exact ones, else the largest bound.
 * Source    S-wardlog-1; size words S-made-void-sizes
 */
import { instantMs, minuteMs } from '@ebbline/core/quantity';
import type { FillingObservation } from '@ebbline/core/filling';
import type { ReadingLine, VoidLine, WardLine, WatchLine } from './line.ts';

/** Bounds taken for a void that was only described. S-made-void-sizes */
const sizeMl: Readonly<Record<string, readonly [number, number]>> = {
  small: [20, 150],
  medium: [120, 320],
  large: [280, 550],
};
const padMl: Readonly<Record<string, readonly [number, number]>> = {
  small: [10, 80],
  medium: [60, 200],
  large: [180, 450],
};
const unknownMl: readonly [number, number] = [40, 450];

/** The void of which the watch was told happened some time before; its size is not known. */
const toldVoidMl: readonly [number, number] = [50, 450];

const happenedMs = (line: WardLine): number => Math.min(line.atMs, line.recordedAtMs);

function voidOf(line: VoidLine, atMs: number): FillingObservation {
  if (line.measured && line.volumeMl !== undefined) {
    return {
      kind: 'void',
      atMs,
      measured: true,
      volumeMl: line.volumeMl,
      ...(line.class === 'mixed-stool' ? { relativeSd: 0.25 } : {}),
    };
  }
  if (line.padG !== undefined)
    return {
      kind: 'void',
      atMs,
      measured: false,
      lowMl: Math.round(line.padG * 0.85),
      highMl: Math.round(line.padG * 1.15) + 10,
    };
  const [lowMl, highMl] =
    line.size === undefined ? unknownMl : ((line.class === 'pad' ? padMl : sizeMl)[line.size] ?? unknownMl);
  return { kind: 'void', atMs, measured: false, lowMl, highMl };
}

function lookOf(lines: readonly ReadingLine[]): FillingObservation {
  const exact = lines.filter((line) => line.bound === 'exact');
  const atMs = Math.max(...lines.map(happenedMs));
  const first = lines[0] as ReadingLine;
  if (exact.length === 0) {
    return {
      kind: 'reading',
      atMs,
      volumeMl: Math.max(...lines.map((line) => line.volumeMl)),
      bound: 'at-least',
      doubts: first.doubts,
    };
  }
  const clean = exact.filter((line) => line.doubts.length === 0);
  const used = clean.length > 0 ? clean : exact;
  const volumeMl = used.reduce((sum, line) => sum + line.volumeMl, 0) / used.length;
  return {
    kind: 'reading',
    atMs,
    volumeMl,
    bound: 'exact',
    doubts: clean.length > 0 ? [] : [...new Set(exact.flatMap((line) => line.doubts))],
  };
}

/** The watch that opened, when it is among the lines. */
export function watchOf(lines: readonly WardLine[]): WatchLine | undefined {
  return lines.findLast((line): line is WatchLine => line.kind === 'watch');
}

/** Filling observations of one patient's known lines (`knownAt(log, t, patient)`). */
export function fillingObservations(lines: readonly WardLine[]): readonly FillingObservation[] {
  const observations: FillingObservation[] = [];
  const looks = new Map<string, ReadingLine[]>();
  for (const line of lines) {
    const atMs = happenedMs(line);
    switch (line.kind) {
      case 'watch':
        if (line.lastVoidAt !== undefined && !line.catheterInPlace) {
          observations.push({
            kind: 'void',
            atMs: Math.min(atMs, instantMs(line.lastVoidAt)),
            measured: false,
            lowMl: toldVoidMl[0],
            highMl: toldVoidMl[1],
          });
        }
        observations.push({ kind: 'covariate', atMs, name: 'watch-opens', state: line.setting });
        if (line.catheterInPlace) observations.push({ kind: 'catheter', atMs, state: 'in' });
        break;
      case 'context':
        if (line.topic === 'dialysis')
          observations.push({ kind: 'covariate', atMs, name: 'little-or-no-urine', state: line.state });
        else
          observations.push({
            kind: 'covariate',
            atMs,
            name: line.topic,
            state: line.topic === 'loop-diuretic' ? (line.route ?? line.state) : line.state,
          });
        break;
      case 'intake':
        observations.push({
          kind: 'intake',
          atMs,
          volumeMl: line.volumeMl,
          overMin: line.overMin ?? 10,
          route: line.route,
        });
        break;
      case 'void':
        observations.push(voidOf(line, atMs));
        break;
      case 'reading':
        looks.set(line.look, [...(looks.get(line.look) ?? []), line]);
        break;
      case 'drained':
        observations.push({
          kind: 'drained',
          atMs,
          thenIn: line.route === 'indwelling' ? 'left-in' : 'out',
          ...(line.measured && line.volumeMl !== undefined ? { volumeMl: line.volumeMl } : {}),
        });
        break;
      case 'catheter':
        observations.push({
          kind: 'catheter',
          atMs,
          state: line.action === 'removed' ? 'out' : line.action === 'flushed' ? 'flushed' : 'in',
        });
        break;
      case 'bag': {
        const fromMs = Math.min(instantMs(line.sinceAt), atMs - minuteMs);
        observations.push({ kind: 'bag', fromMs, atMs, volumeMl: line.volumeMl });
        break;
      }
      case 'symptom':
        if (line.symptom === 'urge-cannot-pass')
          observations.push({ kind: 'covariate', atMs, name: 'cannot-pass', state: 'present' });
        break;
      case 'withdrawn':
        break;
    }
  }
  for (const lines of looks.values()) observations.push(lookOf(lines));
  return observations.sort((a, b) => a.atMs - b.atMs);
}
