import { hourMs } from '@ebbline/core/quantity';
import { defaultSettings, type WatchSetting } from '@ebbline/core/record';
import { drawPatient } from '../patient/virtual-patient.ts';
import type { Emptying } from './course.ts';
import type { SimulatedSetting, WatchFields } from './lines.ts';
import { streamFor } from './streams.ts';

/** Everything about one made-up patient that does not change while the watch runs. */
export interface WatchedBody {
  readonly setting: SimulatedSetting;
  readonly ageY: number;
  readonly sex: 'female' | 'male';
  readonly weightKg: number;
  readonly capacityMl: number;
  readonly capacityIsKnown: boolean;
  readonly limitMl: number;
  readonly sensation: 'ordinary' | 'blunted' | 'none';
  readonly emptying: Emptying;
  /** Share left behind at a void of a poor emptier. */
  readonly keepsShare: number;
  /** When a late recovery comes, hours after the watch opened. */
  readonly recoversAtH: number;
  /** When a regional block has worn off, hours after the watch opened; 0 without one. */
  readonly blockEndsAtH: number;
  readonly startMl: number;
  /** Inflow now and, once the stress of surgery or birth is over, mL/h. */
  readonly earlyRateMlPerH: number;
  readonly wardRateMlPerH: number;
  /** Inflow at night against that by day. */
  readonly nightFactor: number;
  readonly littleUrine: boolean;
  /** Goes to the toilet alone, so that more voids stay uncharted. */
  readonly goesAlone: boolean;
  readonly leaks: boolean;
  /** Share of capacity at which a bladder that cannot empty runs over. */
  readonly overflowShare: number;
  readonly cautions: WatchFields['cautions'];
}

/** Shares of settings on a mixed ward. S-made-ward-mix */
const settings: readonly (readonly [SimulatedSetting, number])[] = [
  ['after-surgery', 0.4],
  ['catheter-removed', 0.2],
  ['after-birth', 0.15],
  ['stroke', 0.15],
  ['spinal-cord', 0.1],
];

const recordSetting = (setting: SimulatedSetting): WatchSetting =>
  setting === 'stroke' ? 'stroke-or-rehabilitation' : setting;

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/**
 * Draws one watched patient: the body of `drawPatient` and what the watch adds to it.
 *
 * Units     mL, mL/h, kg, hours after opening
 * Source    S-job-4.2 for capacity, sensation, emptying and inflow; S-made-ward-mix for the shares it does not give
 */
export function drawWatchedBody(seed: number, patient: string): WatchedBody {
  const random = streamFor(seed, patient, 'body');
  let place = random.next();
  const setting = (settings.find(([, share]) => (place -= share) < 0) ?? settings[0] ?? ['stroke', 1])[0];
  const drawn = drawPatient(random, recordSetting(setting));
  // Half of those who pass nothing at first get it back; an injured cord does not.
  const recovers = random.next() < 0.5 && setting !== 'spinal-cord';
  const emptying: Emptying =
    drawn.keepsShare >= 1
      ? recovers
        ? 'late-recovery'
        : 'retention'
      : drawn.keepsShare >= 0.3
        ? 'poor'
        : 'good';
  const recoversAtH = 8 * Math.exp(0.5 * random.normal());
  const blocked = random.next() < ({ 'after-surgery': 0.45, 'after-birth': 0.4 }[setting as string] ?? 0);
  const blockEndsAtH = blocked ? 3 * Math.exp(0.4 * random.normal()) : 0;
  const capacityIsKnown = random.next() < 0.25;
  const start = random.next();
  const startMl =
    setting === 'after-surgery'
      ? clamp(300 + 150 * random.normal(), 20, 900)
      : setting === 'catheter-removed'
        ? 40 * start
        : 50 + 300 * start;
  const wardRate =
    setting === 'after-surgery' || setting === 'after-birth'
      ? 75 * Math.exp(0.25 * random.normal())
      : drawn.medianRateMlPerH;
  return {
    setting,
    ageY: drawn.ageYears,
    sex: drawn.sex,
    weightKg: drawn.weightKg,
    capacityMl: drawn.capacityMl,
    capacityIsKnown,
    limitMl: capacityIsKnown
      ? Math.round(
          clamp(drawn.capacityMl, defaultSettings.ownLimitLowestMl, defaultSettings.ownLimitHighestMl) / 10,
        ) * 10
      : defaultSettings.unitLimitMl,
    sensation: drawn.sensation,
    emptying,
    keepsShare: drawn.keepsShare,
    recoversAtH,
    blockEndsAtH,
    startMl,
    earlyRateMlPerH: drawn.medianRateMlPerH,
    wardRateMlPerH: wardRate,
    // By day 60 to 90, by night 30 to 60; one in five makes more by night.
    nightFactor: random.next() < 0.2 ? 1.35 : 0.6,
    littleUrine: random.next() < 0.03,
    goesAlone: random.next() < 0.6,
    leaks: random.next() < 0.08,
    overflowShare: 1.1 + 0.6 * random.next(),
    cautions: random.next() < 0.1 ? ['obesity'] : random.next() < 0.03 ? ['ascites'] : [],
  };
}

/** Night as the ward counts it: 23 to 6 by the clock of the log, which is UTC. */
export const isNight = (atMs: number): boolean => {
  const hour = (atMs / hourMs) % 24;
  return hour >= 23 || hour < 6;
};
