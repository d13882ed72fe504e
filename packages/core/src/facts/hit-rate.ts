/**
 * How often the estimate was right: what it said just before each measured volume, from nothing but what was recorded
 * by then, beside what was measured. One look counts once, however often it was repeated.
 *
 *     said = median ∓ √((spread of the content)² + (1.645 · σ of the measurement)²)     90 % range, never below 0
 *
 * The content's own 5, 50 and 95 % points give its spread on each side; σ is that of a reading of the median, or of a
 * drain. It never looks at what was measured, so that a miss can't widen the range that it has missed.
 *
 * Units     mL, ms since the epoch, per cent
 * Counts    whole readings without doubts and measured drains of a bladder that was watched, not drained by a catheter,
 *           and of which at least one informative entry was known: where the page shows a number
 * Not for   readings that are "at least": they hold or miss no range
 * Errors    joined spreads are exact for normal ones; outright wrong readings count as misses (hit-rate.test.ts)
 * Source    exact interval of a share S-clopper-pearson; the rest S-made-hit-rate
 */
import { instantMs, isRefusal, minuteMs } from '../quantity/index.ts';
import { readingStandardDeviationMl, type FillingPrior } from '../filling/index.ts';
import { clopperPearsonInterval } from '../statistics/index.ts';
import type { Entry, UnitSettings, Ward } from '../record/index.ts';
import { countsFromMs, estimateOf, lookOf, priorOf } from './estimate.ts';
import { estimateInputsOf, liveEntries } from './fold.ts';
import { resolveEntries } from './resolve.ts';
import { placementOf, watchOf } from './situation.ts';
import { z90 } from './volumes.ts';

export interface HitPair {
  readonly atMs: number;
  readonly entryId: string;
  readonly kind: 'reading' | 'drained';
  /** Where the patient was then. */
  readonly ward: string;
  /** The 90 % range of what would be measured, as said just before. */
  readonly saidLowMl: number;
  readonly saidHighMl: number;
  readonly measuredMl: number;
  readonly within: boolean;
}

export type WardRules = Pick<Ward, 'settings' | 'zone'>;

export interface HitRate {
  readonly within: number;
  readonly of: number;
  /** With its exact 95 % interval; absent without a pair. */
  readonly percent?: { readonly share: number; readonly low: number; readonly high: number };
}

type ReadingEntry = Extract<Entry, { kind: 'reading' }>;
type DrainedEntry = Extract<Entry, { kind: 'drained' }>;

interface Measured {
  readonly entry: ReadingEntry | DrainedEntry;
  readonly measuredMl: number;
  /** Of the measurement, given what the estimate expects. */
  readonly errorMl: (expectedMl: number, prior: FillingPrior) => number;
}

const isWholeReading = (entry: Entry): entry is ReadingEntry =>
  entry.kind === 'reading' &&
  entry.payload.result === 'exact' &&
  entry.payload.volumeMl !== undefined &&
  entry.payload.doubts.length === 0;

const isMeasuredDrain = (entry: Entry): entry is DrainedEntry =>
  entry.kind === 'drained' &&
  entry.payload.volumeMl !== undefined &&
  entry.payload.route !== 'from-catheter' &&
  entry.payload.difficulty !== 'failed';

const takesOut = (entry: Entry): boolean =>
  entry.kind === 'void' || entry.kind === 'drained' || entry.kind === 'catheter-placed';

/** Looks, each once: repeats carry the same mark, or follow so soon that they could be one (the unit's setting). */
function looksOf(live: readonly Entry[], settings: UnitSettings): readonly (readonly ReadingEntry[])[] {
  const looks: ReadingEntry[][] = [];
  for (const entry of live) {
    if (!isWholeReading(entry)) continue;
    const same = looks.find((look) => {
      const [first, last] = [look[0], look.at(-1)] as [ReadingEntry, ReadingEntry];
      if (entry.payload.look !== undefined && entry.payload.look === first.payload.look) return true;
      const fromMs = instantMs(last.effectiveAt);
      const toMs = instantMs(entry.effectiveAt);
      return (
        toMs - fromMs <= settings.duplicateWithinMin * minuteMs &&
        !live.some((one) => takesOut(one) && countsFromMs(one) >= fromMs && countsFromMs(one) <= toMs)
      );
    });
    if (same) same.push(entry);
    else looks.push([entry]);
  }
  return looks;
}

function measuredOf(live: readonly Entry[], settings: UnitSettings): readonly Measured[] {
  const looks = looksOf(live, settings).map((entries): Measured => {
    const look = lookOf(entries);
    const own = look.standardDeviationMl;
    return {
      entry: entries[0] as ReadingEntry,
      measuredMl: look.volumeMl,
      errorMl: (expectedMl, prior) => own ?? readingStandardDeviationMl(expectedMl, [], prior),
    };
  });
  const drains = live.filter(isMeasuredDrain).map((entry): Measured => ({
    entry,
    measuredMl: entry.payload.volumeMl ?? 0,
    errorMl: (expectedMl, prior) =>
      Math.hypot(prior.drainedSdMl, prior.drainedShare * expectedMl, prior.leftAfterDrainingSdMl),
  }));
  return [...looks, ...drains];
}

/** What was written first of a measurement that was put right later: the estimate knew neither before that. */
function firstWritten(entry: Entry, byId: ReadonlyMap<string, Entry>): Entry {
  let first = entry;
  for (let step = 0; step < 32 && first.corrects !== undefined; step += 1) {
    const before = byId.get(first.corrects);
    if (before === undefined) break;
    first = before;
  }
  return first;
}

/** What was on record just before an entry was; of one save, what happened before it. */
const recordedBefore = (entries: readonly Entry[], target: Entry): readonly Entry[] => {
  const [atMs, recordedMs] = [instantMs(target.effectiveAt), instantMs(target.recordedAt)];
  return entries.filter((one) => {
    const otherMs = instantMs(one.recordedAt);
    return otherMs < recordedMs || (otherMs === recordedMs && instantMs(one.effectiveAt) < atMs);
  });
};

/** The range in which a measurement was to be expected, nine times in ten. */
export function expectedRange(
  content: { readonly p05Ml: number; readonly p50Ml: number; readonly p95Ml: number },
  errorMl: number,
): { readonly lowMl: number; readonly highMl: number } {
  const { p05Ml, p50Ml, p95Ml } = content;
  return {
    lowMl: Math.max(0, p50Ml - Math.hypot(p50Ml - p05Ml, z90 * errorMl)),
    highMl: p50Ml + Math.hypot(p95Ml - p50Ml, z90 * errorMl),
  };
}

/**
 * Every pair of one patient, in the order in which it happened.
 *
 * @param entries every entry that can change this patient's facts, as `entriesByPatient` groups them
 */
export function hitPairsOf(request: {
  readonly patient: string;
  readonly entries: readonly Entry[];
  /** Settings and zone of a ward, the shipped ones where it is not known. */
  readonly wardOf: (ward: string) => WardRules;
}): readonly HitPair[] {
  const { patient, entries, wardOf } = request;
  const now = liveEntries(resolveEntries(entries), patient, Number.POSITIVE_INFINITY);
  const byId = new Map(entries.map((one) => [one.id as string, one]));
  const pairs: HitPair[] = [];
  for (const { entry, measuredMl, errorMl } of measuredOf(now, wardOf(placementOf(now).ward).settings)) {
    const atMs = countsFromMs(entry);
    const before = recordedBefore(entries, firstWritten(entry, byId));
    const known = liveEntries(resolveEntries(before), patient, atMs);
    const watch = watchOf(known).state;
    if (watch !== 'open' && watch !== 'paused') continue;
    const { ward } = placementOf(known);
    const inputs = estimateInputsOf(known, wardOf(ward));
    const said = estimateOf(inputs, atMs, undefined, 1);
    if ('notValid' in said || said.informativeEntries === 0 || said.catheter === 'in') continue;
    const prior = priorOf(inputs);
    const { p05Ml, p50Ml, p95Ml } = said.content;
    // A drain leaves a little behind: that much less than the content is to be expected in the jug.
    const leftMl = entry.kind === 'drained' ? prior.leftAfterDrainingMl : 0;
    const out = {
      p05Ml: Math.max(0, p05Ml - leftMl),
      p50Ml: Math.max(0, p50Ml - leftMl),
      p95Ml: Math.max(0, p95Ml - leftMl),
    };
    const { lowMl, highMl } = expectedRange(out, errorMl(out.p50Ml, prior));
    pairs.push({
      atMs,
      entryId: entry.id,
      kind: entry.kind,
      ward,
      saidLowMl: lowMl,
      saidHighMl: highMl,
      measuredMl,
      within: measuredMl >= lowMl && measuredMl <= highMl,
    });
  }
  return pairs.sort((a, b) => a.atMs - b.atMs || (a.entryId < b.entryId ? -1 : 1));
}

/** The share of pairs within, with its exact 95 % interval. */
export function hitRateOf(pairs: readonly Pick<HitPair, 'within'>[]): HitRate {
  const within = pairs.filter((one) => one.within).length;
  const interval = clopperPearsonInterval(within, pairs.length);
  if (isRefusal(interval)) return { within, of: pairs.length };
  const { share, low, high } = interval;
  return { within, of: pairs.length, percent: { share: 100 * share, low: 100 * low, high: 100 * high } };
}

/** Pairs worked out once and kept until an entry or the settings of a patient change. */
export interface HitRateBook {
  readonly pairsOf: typeof hitPairsOf;
}

export function hitRateBook(): HitRateBook {
  const kept = new Map<string, { key: string; settings: UnitSettings; pairs: readonly HitPair[] }>();
  return {
    pairsOf: (request) => {
      const { patient, entries, wardOf } = request;
      const key = entries.map((one) => one.id).join(' ');
      const place = entries.findLast(
        (one) => one.kind === 'transferred' || one.kind === 'patient-registered',
      );
      const { settings } = wardOf(
        place?.kind === 'transferred' || place?.kind === 'patient-registered' ? place.payload.ward : '',
      );
      const held = kept.get(patient);
      if (held?.key === key && held.settings === settings) return held.pairs;
      const pairs = hitPairsOf(request);
      kept.set(patient, { key, settings, pairs });
      return pairs;
    },
  };
}
