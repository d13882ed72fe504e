import type { RandomSource } from '@ebbline/core/quantity';
import { readVolume, typedVolume } from '../patient/reading-error.ts';
import type { WardHabits } from './charting.ts';
import type { TrueReading } from './course.ts';
import type { ReadingFields } from './lines.ts';

/** Where a made-up scanner's range ends, mL. S-made-ward-mix */
const rangeEndsMl = 999;

export interface Look {
  readonly truth: TrueReading;
  readonly fields: ReadingFields;
  readonly source: 'typed' | 'device';
}

/**
 * One look with the lasting errors of scanner and operator, the error of the moment, and six in a hundred that go
 * badly wrong; half of those cut off below are seen to be so and charted as "at least".
 *
 * Units     mL, minutes
 * Source    S-job-4.2; shares of what staff notice S-made-ward-mix
 */
export function takeLook(
  atMs: number,
  trueMl: number,
  random: RandomSource,
  ward: WardHabits,
  name: string,
  minutesSinceVoid: number | undefined,
): Look {
  const scanner = random.below(ward.scannerBias.length);
  const operator = random.below(ward.operatorBias.length);
  const byDevice = random.next() < 0.5;
  const [notices, lowEdge, unclean, unnamed, unnamedScanner] = [
    random.next(),
    random.next(),
    random.next(),
    random.next(),
    random.next(),
  ];
  const read = readVolume(
    trueMl,
    { scanner: ward.scannerBias[scanner] ?? 0, operator: ward.operatorBias[operator] ?? 0 },
    random,
  );
  const raw = byDevice ? read.volumeMl : typedVolume(read.volumeMl, random);
  const pastRange = raw > rangeEndsMl;
  // Besides the gross ones, a look now and then misses the lower edge and says so.
  const seenCut = read.gross === 'clipped' ? notices < 0.5 : read.gross === undefined && lowEdge < 0.03;
  const shownMl = pastRange
    ? rangeEndsMl
    : seenCut && read.gross === undefined
      ? Math.round(0.85 * raw)
      : raw;
  const doubts: ReadingFields['doubts'] = seenCut
    ? ['cut-below']
    : read.gross === 'other-fluid' && notices < 0.3
      ? ['second-fluid']
      : read.gross === 'wrong-aim' && notices < 0.3
        ? ['unsure-aim']
        : unclean < 0.05
          ? ['poor-contact']
          : [];
  const bound = seenCut || pastRange ? 'at-least' : 'exact';
  const names = { device: `S${scanner + 1}`, operator: `N${operator + 1}` };
  return {
    source: byDevice ? 'device' : 'typed',
    truth: {
      atMs,
      trueMl,
      shownMl,
      bound,
      ...(read.gross === undefined ? {} : { gross: read.gross }),
      ...names,
    },
    fields: {
      kind: 'reading',
      volumeMl: shownMl,
      bound,
      doubts,
      afterVoid: minutesSinceVoid !== undefined,
      ...(minutesSinceVoid === undefined ? {} : { minutesSinceVoid }),
      look: name,
      ...(!byDevice && unnamedScanner < 0.2 ? {} : { device: names.device }),
      ...(unnamed < 0.03 ? {} : { operator: names.operator }),
    },
  };
}
