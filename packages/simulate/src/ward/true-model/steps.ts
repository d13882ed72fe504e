/**
 * What one particle of the true model does in a step of the first generator: whether it can pass urine, feels it, goes,
 * what it passes, and what its kidneys give.
 *
 * Units     mL, mL/h, grid steps since the watch opened
 * Source    S-job-4.2, S-clinical-C15 and S-made-ward-mix by way of voiding.ts and inflow.ts, whose figures these are
 */
import type { RandomSource } from '@ebbline/core/quantity';
import { gridMin } from '../course.ts';
import type { KnownChart } from './chart.ts';
import { emptying, sensation, type People } from './people.ts';

export const stepH = gridMin / 60;
/** Share of voids that nobody ever charts, by whether someone goes alone. */
export const never = [0.08, 0.3] as const;
export const isNumb = (people: People, one: number, step: number): boolean =>
  step * stepH < (people.blockEndsAtH[one] as number);

export function canPass(people: People, one: number, step: number): boolean {
  if (isNumb(people, one, step)) return false;
  const kind = people.emptying[one] as number;
  return (
    kind === emptying.good ||
    kind === emptying.poor ||
    (kind === emptying.lateRecovery && step * stepH >= (people.recoversAtH[one] as number))
  );
}

export function feltAtMl(people: People, one: number, step: number): number {
  const feels = people.sensation[one] as number;
  if (feels === sensation.none || isNumb(people, one, step)) return Infinity;
  return (
    (people.capacityMl[one] as number) *
    (people.urgeShare[one] as number) *
    (feels === sensation.blunted ? 1.5 : 1)
  );
}

export const hazardAt = (heldMl: number, feltMl: number, asleep: boolean): number =>
  heldMl >= feltMl ? (asleep && heldMl < 1.2 * feltMl ? 0.08 : 0.25) : asleep || heldMl < 150 ? 0 : 0.004;

export function pass(
  people: People,
  one: number,
  step: number,
  second: boolean,
  random: RandomSource,
): number {
  const heldMl = people.heldMl[one] as number;
  const poor = people.emptying[one] === emptying.poor;
  const leftMl = poor
    ? heldMl * (second ? 0.7 : (people.keepsShare[one] as number))
    : Math.min(heldMl, 50 * random.next());
  if (!second && poor && random.next() < 0.25) people.secondAt[one] = step + 2;
  people.urgeShare[one] = 0.42 + 0.26 * random.next();
  people.heldMl[one] = leftMl;
  people.lastVoid[one] = step;
  return heldMl - leftMl;
}

/** mL that come during a step. */
export function inflowOf(people: People, one: number, step: number, asleep: boolean, stress: number): number {
  const level =
    (people.wardRate[one] as number) +
    ((people.earlyRate[one] as number) - (people.wardRate[one] as number)) * stress;
  const factor = people.nightFactor[one] as number;
  const night = asleep ? factor + (1 - factor) * stress : 1;
  let rate = level * night * Math.exp(people.logRatio[one] as number);
  if (step >= (people.drivenFrom[one] as number) && step < (people.drivenUntil[one] as number))
    rate = Math.max(rate, people.drivenMlPerH[one] as number);
  if (step < (people.reliefUntil[one] as number)) rate = Math.max(rate, people.reliefMlPerH[one] as number);
  return rate * stepH + (step < (people.hiddenUntil[one] as number) ? (people.hiddenMl[one] as number) : 0);
}

/** What is known to have been given, mL for each step, beside what is drunk without being charted, on average. */
export function givenMl(chart: KnownChart, step: number, asleep: boolean): number {
  let sum = 0;
  const add = (from: number, volumeMl: number, overMin: number): void => {
    const lasts = Math.ceil((overMin + 90) / gridMin);
    if (step >= from && step < from + lasts) sum += (0.1 * volumeMl) / lasts;
  };
  for (const drink of chart.drinks) add(drink.step, drink.volumeMl, 10);
  if (chart.infusion !== undefined) add(chart.infusion.step, chart.infusion.volumeMl, chart.infusion.overMin);
  if (!asleep)
    sum += 6 * (stepH / 17) * 22.5 * (0.6 + 0.4 * (chart.notYet[Math.min(step, chart.steps - 1)] as number));
  return sum;
}
