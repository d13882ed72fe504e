/**
 * The inflow one expects of a person at an instant: the setting's usual one, what was given, day and night, medicines.
 * What this person does beside it is the cloud's to find out.
 *
 * Units     mL/h; instants in ms; hours of the day by the clock on the wall
 * Source    constants in prior.ts
 */
import { hourMs } from '../quantity/index.ts';
import type { IntakeObservation } from './observation.ts';
import type { FillingPrior } from './prior.ts';

export interface Given {
  readonly infusions: readonly IntakeObservation[];
  readonly drinks: readonly IntakeObservation[];
  readonly diuretics: readonly { readonly atMs: number; readonly oral: boolean }[];
  readonly littleUrine: boolean;
  /** When the watch opened, or the first thing told. */
  readonly openedMs: number;
}

export const nothingGiven = (openedMs: number): Given => ({
  infusions: [],
  drinks: [],
  diuretics: [],
  littleUrine: false,
  openedMs,
});

const nightFromH = 23;
const nightToH = 6;

/** Is it night where the clock is so many ms ahead of UTC? */
export function isNight(atMs: number, clockAheadMs: number): boolean {
  const hour = ((((atMs + clockAheadMs) / hourMs) % 24) + 24) % 24;
  return hour >= nightFromH || hour < nightToH;
}

/** Drinks older than this no longer matter. */
const drinkLastsH = 6;

export function expectedInflowMlPerH(
  prior: FillingPrior,
  given: Given,
  atMs: number,
  clockAheadMs: number,
): number {
  if (given.littleUrine) return prior.littleUrineMlPerH;
  let inflow =
    prior.inflowMlPerH +
    prior.earlyExtraMlPerH * Math.exp(-Math.max(0, atMs - given.openedMs) / hourMs / prior.earlyExtraFadesH);
  if (isNight(atMs, clockAheadMs)) inflow *= prior.nightInflowShare;
  for (const { atMs: fromMs, overMin, volumeMl } of given.infusions) {
    if (atMs <= fromMs) continue;
    const hours = Math.max(0.2, overMin / 60);
    const sinceStart = (atMs - fromMs) / hourMs;
    const sinceEnd = Math.max(0, sinceStart - hours);
    // What runs in comes through with an hour's delay.
    inflow += prior.infusionShare * (volumeMl / hours) * (Math.exp(-sinceEnd) - Math.exp(-sinceStart));
  }
  for (const { atMs: drunkMs, volumeMl } of given.drinks) {
    const since = (atMs - drunkMs) / hourMs;
    if (since <= 0 || since > drinkLastsH) continue;
    inflow +=
      (prior.drinkShare * volumeMl * since * Math.exp(-since / prior.drinkPeakH)) / prior.drinkPeakH ** 2;
  }
  for (const { atMs: takenMs, oral } of given.diuretics) {
    const since = (atMs - takenMs) / hourMs;
    if (oral ? since > 1 && since < prior.diureticOralH : since > 0.25 && since < prior.diureticIvH)
      inflow += oral ? prior.diureticOralMlPerH : prior.diureticIvMlPerH;
  }
  return inflow;
}
