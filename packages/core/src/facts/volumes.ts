/** Readings, voids, drains, and what follows from pairing them. */
import { instantMs, isRefusal, minuteMs } from '../quantity/index.ts';
import {
  carryBack,
  fillingBetween,
  readingStandardDeviationMl,
  type CarriedBack,
  type FillingPrior,
} from '../filling/index.ts';
import type { Caution, Entry, UnitSettings } from '../record/index.ts';
import type {
  AgreementPair,
  DrainFact,
  PossibleDuplicate,
  ReadingFact,
  ResidualFact,
  VoidFact,
} from './types.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;

/** Cautions under which no reading is to be relied on (S-clinical-Q11, S-clinical-L1, S-clinical-L2). */
export const unreliableCautions: readonly Caution[] = [
  'neobladder',
  'urostomy',
  'ascites',
  'pelvic-mass',
  'peritoneal-dialysis',
];

export const z90 = 1.6448536269514722; // 95 % point of the standard normal (S-arithmetic)

export function readingFact(
  entry: Of<'reading'>,
  cautions: readonly Caution[],
  prior: FillingPrior,
): ReadingFact {
  const { payload } = entry;
  const lowBound =
    payload.result === 'at-least' ||
    payload.doubts.some((one) => one === 'cut-below' || one === 'edge-outside' || one === 'shadow');
  const trust =
    unreliableCautions.some((one) => cautions.includes(one)) ||
    payload.doubts.includes('second-fluid') ||
    payload.result === 'not-obtained'
      ? 'unreliable'
      : lowBound
        ? 'low-bound-only'
        : payload.doubts.length > 0
          ? 'doubtful'
          : 'good';
  const volumeMl = payload.volumeMl;
  const spread =
    volumeMl === undefined ? undefined : readingStandardDeviationMl(volumeMl, payload.doubts, prior) * z90;
  const given =
    payload.lowMl !== undefined && payload.highMl !== undefined
      ? { low: payload.lowMl, high: payload.highMl }
      : undefined;
  return {
    id: entry.id,
    atMs: instantMs(entry.effectiveAt),
    timeQuality: entry.timeQuality,
    result: payload.result,
    ...(volumeMl === undefined ? {} : { volumeMl }),
    relation: payload.relation,
    doubts: payload.doubts,
    trust,
    ...(given
      ? { intervalMl: given }
      : spread === undefined || volumeMl === undefined
        ? {}
        : { intervalMl: { low: Math.max(0, volumeMl - spread), high: volumeMl + spread } }),
    ...(payload.scanner === undefined ? {} : { scanner: payload.scanner }),
    operator: payload.operator ?? entry.author,
  };
}

/** Bounds for what a class of void may have held, mL. A fake number is never made up: a class gives a range. S-made-void-sizes */
const unmeasuredBounds = {
  small: [20, 150],
  medium: [120, 320],
  large: [280, 550],
  unknown: [40, 450],
} as const;
/** A void mixed with stool reads high and badly: its error as a share. S-made-void-sizes */
export const mixedVoidShare = 0.25;

export function voidFact(entry: Of<'void'>): VoidFact {
  const { payload } = entry;
  const base = { id: entry.id, atMs: instantMs(entry.effectiveAt), how: payload.how };
  if (payload.how === 'measured' || payload.how === 'mixed') {
    const volumeMl = payload.volumeMl ?? 0;
    // Reading a scale: about 65 % within 10 % (S-clinical2-R16).
    const share = payload.how === 'mixed' ? mixedVoidShare : 0.1;
    return { ...base, volumeMl, lowMl: volumeMl * (1 - share), highMl: volumeMl * (1 + share) };
  }
  if (payload.how === 'pad-weighed') {
    const grams = payload.padG ?? 0; // 1 g is taken as about 1 mL, an assumption that is kept apart from a measured void; its bounds S-made-void-sizes
    return { ...base, lowMl: Math.round(grams * 0.85), highMl: Math.round(grams * 1.15) + 10 };
  }
  const [low, high] = unmeasuredBounds[payload.size ?? 'unknown'];
  return { ...base, lowMl: payload.lowMl ?? low, highMl: payload.highMl ?? high };
}

export function drainFact(entry: Of<'drained'>): DrainFact {
  const { payload } = entry;
  return {
    id: entry.id,
    atMs: instantMs(entry.effectiveAt),
    route: payload.route,
    ...(payload.volumeMl === undefined ? {} : { volumeMl: payload.volumeMl }),
  };
}

/**
 * Voiding efficiency, VV / (VV + PVR) × 100.
 *
 * Source    S-clinical-D3. Undefined when both are 0.
 */
export function voidingEfficiencyPercent(voidedMl: number, residualMl: number): number | undefined {
  const held = voidedMl + residualMl;
  return held > 0 ? (voidedMl / held) * 100 : undefined;
}

/** A late residual as it was at the end of the void: filling taken off, the reading's own error counted. */
function carriedBack(
  reading: ReadingFact,
  sinceVoidMin: number,
  settings: UnitSettings,
): CarriedBack | undefined {
  if (reading.volumeMl === undefined || reading.intervalMl === undefined) return undefined;
  const carried = carryBack({
    residualMl: reading.volumeMl,
    standardDeviationMl: (reading.intervalMl.high - reading.volumeMl) / z90,
    sinceVoidMin,
    lowMlPerH: settings.plainRateLowMlPerH,
    highMlPerH: settings.plainRateHighMlPerH,
  });
  return isRefusal(carried) ? undefined : carried;
}

export function residualFacts(
  readings: readonly ReadingFact[],
  voids: readonly VoidFact[],
  drains: readonly DrainFact[],
  settings: UnitSettings,
): readonly ResidualFact[] {
  const residuals: ResidualFact[] = [];
  for (const reading of readings) {
    if (reading.relation !== 'after-void' || reading.volumeMl === undefined) continue;
    const since = drains.findLast((one) => one.atMs <= reading.atMs)?.atMs ?? Number.NEGATIVE_INFINITY;
    const void_ = voids.findLast((one) => one.atMs <= reading.atMs && one.atMs >= since);
    const sinceVoidMin = void_ ? (reading.atMs - void_.atMs) / minuteMs : undefined;
    const late = sinceVoidMin !== undefined && sinceVoidMin > settings.residualWithinMin;
    const carried = late ? carriedBack(reading, sinceVoidMin ?? 0, settings) : undefined;
    const efficiency =
      void_?.volumeMl === undefined || reading.result !== 'exact'
        ? undefined
        : voidingEfficiencyPercent(void_.volumeMl, reading.volumeMl);
    residuals.push({
      readingId: reading.id,
      ...(void_ ? { voidId: void_.id } : {}),
      residualMl: reading.volumeMl,
      atLeast: reading.result === 'at-least',
      ...(sinceVoidMin === undefined ? {} : { sinceVoidMin }),
      late,
      lateByMin: late && sinceVoidMin !== undefined ? sinceVoidMin - settings.residualWithinMin : 0,
      ...(carried === undefined
        ? {}
        : { carriedBackMl: { low: carried.lowMl, likely: carried.likelyMl, high: carried.highMl } }),
      ...(void_?.volumeMl === undefined ? {} : { voidedMl: void_.volumeMl }),
      ...(efficiency === undefined ? {} : { voidingEfficiencyPercent: efficiency }),
    });
  }
  return residuals;
}

export function agreementPairs(
  readings: readonly ReadingFact[],
  drains: readonly DrainFact[],
  voids: readonly VoidFact[],
  settings: UnitSettings,
): readonly AgreementPair[] {
  const pairs: AgreementPair[] = [];
  for (const drain of drains) {
    if (drain.route === 'from-catheter' || drain.volumeMl === undefined) continue;
    const drainedMl = drain.volumeMl;
    const earliest = drain.atMs - settings.pairWithinMin * minuteMs;
    const lastOut = Math.max(
      drains.findLast((one) => one.atMs < drain.atMs)?.atMs ?? Number.NEGATIVE_INFINITY,
      voids.findLast((one) => one.atMs <= drain.atMs)?.atMs ?? Number.NEGATIVE_INFINITY,
    );
    const near = readings.filter(
      (one) =>
        one.volumeMl !== undefined && one.atMs <= drain.atMs && one.atMs >= earliest && one.atMs >= lastOut,
    );
    const reading = near.at(-1);
    if (!reading || reading.volumeMl === undefined) continue;
    const apartMin = (drain.atMs - reading.atMs) / minuteMs;
    const filling = fillingBetween(
      reading.atMs,
      drain.atMs,
      settings.plainRateLowMlPerH,
      settings.plainRateHighMlPerH,
    );
    const readMl = reading.volumeMl;
    const heldMl = [drainedMl - filling.highMl, drainedMl - filling.lowMl];
    const against = heldMl.map((one) => ((readMl - one) / one) * 100);
    pairs.push({
      readingId: reading.id,
      drainId: drain.id,
      readMl,
      readAtLeast: reading.result === 'at-least',
      drainedMl,
      apartMin,
      fillingMl: { low: filling.lowMl, high: filling.highMl },
      ...(heldMl.every((one) => one > 0)
        ? { differencePercent: { low: Math.min(...against), high: Math.max(...against) } }
        : {}),
      ...(reading.scanner === undefined ? {} : { scanner: reading.scanner }),
      operator: reading.operator,
      besideMl: near
        .slice(0, -1)
        .flatMap((one) => (one.volumeMl === undefined || one.result !== 'exact' ? [] : [one.volumeMl])),
      readMuchDrainedLittle: drainedMl < readMl * settings.falseHighShare,
    });
  }
  return pairs;
}

/** Two readings by two hands that may be one: near in time and volume, by the same scanner. Both are kept. */
export function possibleDuplicates(
  entries: readonly Entry[],
  settings: UnitSettings,
): readonly PossibleDuplicate[] {
  const readings = entries.filter(
    (one): one is Of<'reading'> => one.kind === 'reading' && one.payload.volumeMl !== undefined,
  );
  const found: PossibleDuplicate[] = [];
  for (const [index, first] of readings.entries()) {
    for (const second of readings.slice(index + 1)) {
      const apartMin = (instantMs(second.effectiveAt) - instantMs(first.effectiveAt)) / minuteMs;
      if (apartMin > settings.duplicateWithinMin) break;
      const twoHands = first.author !== second.author || first.madeOn !== second.madeOn;
      const near =
        Math.abs((first.payload.volumeMl ?? 0) - (second.payload.volumeMl ?? 0)) <=
        settings.duplicateWithinMl;
      if (twoHands && near && first.payload.scanner === second.payload.scanner)
        found.push({ first: first.id, second: second.id });
    }
  }
  return found;
}
