import type { RandomSource } from '@ebbline/core/quantity';
import type { WatchSetting } from '@ebbline/core/record';

/** A made-up body: how fast it fills, how much it holds, what it feels, how well it empties. */
export interface VirtualPatient {
  readonly ageYears: number;
  readonly sex: 'female' | 'male';
  readonly weightKg: number;
  readonly capacityMl: number;
  readonly sensation: 'ordinary' | 'blunted' | 'none';
  readonly medianRateMlPerH: number;
  /** Share of the content that stays behind at a void: near 0, 0.3 to 0.7 for a poor emptier, 1 when nothing passes. */
  readonly keepsShare: number;
}

/** Median and spread of the filling rate, mL/h, by setting (S-job-4.2; after surgery S-clinical-E10). */
const rates: Readonly<Record<WatchSetting, { readonly median: number; readonly logSd: number }>> = {
  'after-surgery': { median: 120, logSd: 0.5 }, // 5 to 95 % about 50 to 260
  'catheter-removed': { median: 80, logSd: 0.35 },
  'after-birth': { median: 110, logSd: 0.5 },
  'stroke-or-rehabilitation': { median: 70, logSd: 0.35 },
  'spinal-cord': { median: 75, logSd: 0.35 },
  'intermittent-programme': { median: 75, logSd: 0.35 },
  child: { median: 40, logSd: 0.35 },
  comfort: { median: 45, logSd: 0.4 },
};

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/**
 * Draws one body. Shares and spreads are assumptions inside published ranges, good for demonstration, practice and
 * load; they prove nothing about real patients.
 *
 * Units     mL, mL/h, kg, years
 * Source    S-job-4.2 (capacity normal 600 sd 200, 200 to 1,600; sensation 70/20/10; emptying); S-clinical-C1 for a child
 */
export function drawPatient(random: RandomSource, setting: WatchSetting): VirtualPatient {
  const rate = rates[setting];
  const child = setting === 'child';
  const ageYears = child
    ? 4 + random.below(9)
    : setting === 'after-birth'
      ? 19 + random.below(24)
      : clamp(Math.round(66 + 14 * random.normal()), 20, 97);
  const sex = setting === 'after-birth' || random.next() < 0.5 ? 'female' : 'male';
  const weightKg = child
    ? 10 + ageYears * 2
    : Math.round(clamp((sex === 'male' ? 82 : 70) + 13 * random.normal(), 42, 150));
  const capacityMl = child ? 30 * (ageYears + 1) : Math.round(clamp(600 + 200 * random.normal(), 200, 1600));
  const feels = random.next();
  const sensation = feels < 0.7 ? 'ordinary' : feels < 0.9 ? 'blunted' : 'none';
  const empties = random.next();
  const failing = setting === 'spinal-cord' ? 0.9 : 0.14;
  const keepsShare =
    empties < failing ? 1 : empties < failing + 0.2 ? 0.3 + 0.4 * random.next() : 0.1 * random.next();
  return {
    ageYears,
    sex,
    weightKg,
    capacityMl,
    sensation,
    medianRateMlPerH: rate.median * Math.exp(rate.logSd * random.normal()),
    keepsShare,
  };
}
