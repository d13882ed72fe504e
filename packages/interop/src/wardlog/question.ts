/**
 * How implausible each volume of a ward log is, judged by what was known when it was charted: how likely a slip or a bad
 * look is to be behind it, the same thing charted twice, a clock that was wrong.
 *
 * Units     mL; scores 0 to 1, higher is less plausible
 * Not for   saying what the volume should have been; any entry may stand as it is
 * Source    S-made-question-score; the content by core/filling (ADR 0013)
 */
import { minuteMs, isRefusal } from '@ebbline/core/quantity';
import { chartedBefore, chartedBeforeWords, clockDoubt, surpriseWords, voidTold } from '@ebbline/core/facts';
import {
  shareToAsk,
  surpriseOf,
  type ChartedVolume,
  type FillingObservation,
  type Measured,
  type UnitFactors,
} from '@ebbline/core/filling';
import { defaultSettings } from '@ebbline/core/record';
import { knownBefore } from './observations.ts';
import type { WardLog } from './read.ts';
import type { WardLine } from './line.ts';

export interface Questioned {
  readonly line: WardLine;
  readonly score: number;
  readonly questioned: boolean;
  /** How far out it lies of what everything else leads to; 1 where that says nothing. */
  readonly tail: number;
  /** Why, with its figures; empty when the entry is not questioned. */
  readonly reason: string;
}

/** From here on an entry is questioned: on simulated wards about 2 in 100 sound ones are. S-made-question-score */
const { questionFrom } = defaultSettings;

type VolumeLine = Extract<WardLine, { volumeMl?: number }> & { readonly volumeMl: number };

const isVolume = (line: WardLine): line is VolumeLine =>
  (line.kind === 'reading' || line.kind === 'void' || line.kind === 'drained' || line.kind === 'bag') &&
  line.volumeMl !== undefined;

function measuredOf(line: VolumeLine): Measured | undefined {
  const { atMs, volumeMl } = line;
  switch (line.kind) {
    case 'reading':
      return { kind: 'reading', atMs, volumeMl, bound: line.bound, doubts: line.doubts };
    case 'void':
      return { kind: 'void', atMs, measured: true, volumeMl };
    case 'drained':
      return { kind: 'drained', atMs, volumeMl, thenIn: line.route === 'indwelling' ? 'left-in' : 'out' };
    case 'bag':
      return { kind: 'bag', atMs, volumeMl, fromMs: Math.min(Date.parse(line.sinceAt), atMs - minuteMs) };
    default:
      return undefined;
  }
}

const charted = (line: VolumeLine): ChartedVolume => ({
  volumeMl: line.volumeMl,
  atMs: line.atMs,
  recordedAtMs: line.recordedAtMs,
  typed: line.source === 'typed',
  ...(line.kind === 'reading' ? { look: line.look } : {}),
});

/** A volume of the same kind already in this chart: how sure it is that one thing was charted twice. */
function sameAlready(
  line: VolumeLine,
  known: readonly WardLine[],
): { readonly score: number; readonly reason: string } {
  const now = charted(line);
  const others = known
    .filter((other) => other.id !== line.id && other.kind === line.kind)
    .filter(isVolume)
    .map(charted);
  const before = chartedBefore(now, others);
  return before
    ? { score: before.share, reason: chartedBeforeWords(now, before.other) }
    : { score: 0, reason: '' };
}

const voidToldBy = (
  line: VolumeLine,
  observations: readonly FillingObservation[],
): readonly FillingObservation[] =>
  line.kind === 'reading'
    ? voidTold(
        { atMs: line.atMs, afterVoid: line.afterVoid, sinceVoidMin: line.minutesSinceVoid },
        observations,
      )
    : [];

/** Judges every volume of a log, each as of its recording. */
export function* questionLog(log: WardLog, ownFigures?: UnitFactors): Generator<Questioned> {
  for (const line of log.lines) {
    if (!isVolume(line) || line.replaces !== undefined) continue;
    const measured = measuredOf(line);
    if (!measured) continue;
    const { atMs, recordedAtMs } = line;
    const clock = clockDoubt({ atMs, recordedAtMs, byDevice: line.source === 'device' });
    if (clock) {
      yield { line, score: 1, questioned: true, tail: 1, reason: clock.sum };
      continue;
    }
    const { lines, observations, prior, clockAheadMs, limitMl } = knownBefore(log, line, ownFigures);
    const same = sameAlready(line, lines);
    const surprise = surpriseOf([...observations, ...voidToldBy(line, observations)], measured, {
      prior,
      limitMl,
      nowMs: line.recordedAtMs,
      clockAheadMs,
      typed: line.source === 'typed',
    });
    const bySum = isRefusal(surprise)
      ? 0
      : shareToAsk(surprise, ownFigures === undefined ? 'starting' : 'own');
    const score = Math.max(same.score, bySum);
    const questioned = score >= questionFrom;
    const reason = !questioned
      ? ''
      : same.score >= bySum || isRefusal(surprise)
        ? same.reason
        : surpriseWords(measured, surprise).sum;
    yield { line, score, questioned, tail: isRefusal(surprise) ? 1 : surprise.tail, reason };
  }
}
