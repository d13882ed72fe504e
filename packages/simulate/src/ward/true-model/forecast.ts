/**
 * What the true model expects from its question on, as long as nothing more is charted.
 *
 *     chance(t) = share over the limit at t, of those of whom nothing has been charted since
 *
 * Units     hours, steps of five minutes
 * Source    charting S-job-4.2 by way of charting.ts
 */
import { minuteMs } from '@ebbline/core/quantity';
import { gridMin } from '../course.ts';
import { nightAt } from './chart.ts';
import type { TrueModel } from './filter.ts';
import { copyOfPeople } from './people.ts';
import { canPass, feltAtMl, givenMl, hazardAt, inflowOf, never, pass, stepH } from './steps.ts';

export interface TrueForecast {
  /** By step from `fromStep` on, counted since the watch opened. */
  readonly chance: Float64Array;
  readonly fromStep: number;
}

export function forecastTruth(model: TrueModel, steps: number): TrueForecast {
  const { chart, random } = model;
  const people = copyOfPeople(model.people);
  const { count, heldMl, weight } = people;
  const limitMl = chart.watch.limitMl;
  const first = chart.steps;
  const chance = new Float64Array(steps);
  /** The step at which something of this person reaches the chart. */
  const told = new Float64Array(count).fill(Infinity);
  for (let after = 0; after < steps; after += 1) {
    const step = first + after;
    const atMs = chart.opensAtMs + step * gridMin * minuteMs;
    const asleep = nightAt(atMs);
    const stress = Math.exp((-step * stepH) / 12);
    const extraMl = givenMl(chart, step, asleep);
    let alive = 0;
    let over = 0;
    for (let one = 0; one < count; one += 1) {
      if ((told[one] as number) > step) {
        alive += weight[one] as number;
        if ((heldMl[one] as number) > limitMl) over += weight[one] as number;
      }
      people.logRatio[one] =
        (people.logRatio[one] as number) * (1 - 0.1 * stepH) + 0.25 * Math.sqrt(stepH) * random.normal();
      const held = heldMl[one] as number;
      const able = canPass(people, one, step);
      const felt = feltAtMl(people, one, step);
      const urge = hazardAt(held, felt, asleep);
      const second = able && people.secondAt[one] === step;
      if (able && (second || random.next() < urge)) {
        pass(people, one, step, second, random);
        if (random.next() < (1 - (never[people.goesAlone[one] as number] as number)) * (second ? 0.6 : 1)) {
          const late = random.next();
          const laterMin = late < 0.4 ? 3 : late < 0.8 ? 6 + 54 * random.next() : 60 + 420 * random.next();
          told[one] = Math.min(told[one] as number, step + laterMin / gridMin);
        }
      } else if (!able && held >= felt && random.next() < urge) {
        if ((people.triedAt[one] as number) + 60 / gridMin <= step) {
          people.triedAt[one] = step;
          if (random.next() < 0.6) told[one] = Math.min(told[one] as number, step);
        }
      } else {
        const overMl = held - (people.overflowShare[one] as number) * (people.capacityMl[one] as number);
        if (overMl > 0) heldMl[one] = held - overMl * (0.3 + 0.7 * random.next());
      }
      const came = chart.littleUrine
        ? Math.min(10, 5 * Math.exp(people.logRatio[one] as number)) * stepH
        : inflowOf(people, one, step, asleep, stress);
      heldMl[one] = (heldMl[one] as number) + came + extraMl;
    }
    chance[after] = alive > 0 ? over / alive : 0;
  }
  return { chance, fromStep: first };
}
