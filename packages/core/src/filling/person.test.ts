// Proves     the cloud in its linear case is the linear filter, and each kind of observation moves it as it should.
// Published  the linear filter is itself held to published figures (state.test.ts, conformance/data/statistics)
// Tolerance  1e-9 in the linear case
import { describe, expect, it } from 'vitest';
import { hourMs, minuteMs } from '../quantity/index.ts';
import { empties, type Cloud } from './cloud.ts';
import { estimateAt } from './estimate.ts';
import type { FillingObservation } from './observation.ts';
import { followPerson, openPerson } from './person.ts';
import { priorFor } from './prior.ts';
import { advance, seeContent } from './state.ts';
import { linear } from './testing/linear.ts';

const question = { prior: linear, limitMl: 500, nowMs: 10 * hourMs, clockAheadMs: 0 };
const reading = (minutes: number, volumeMl: number, standardDeviationMl: number): FillingObservation => ({
  kind: 'reading',
  atMs: minutes * minuteMs,
  volumeMl,
  bound: 'exact',
  doubts: [],
  standardDeviationMl,
});

describe('the cloud where everything is linear', () => {
  it('is the linear filter with a known inflow: content and variance after each of five readings', () => {
    const readings = [
      [20, 190, 40],
      [95, 260, 25],
      [130, 330, 60],
      [131, 300, 15],
      [260, 520, 30],
    ] as const;
    const person = openPerson(question, 0);
    const start = person.cloud;
    let state = {
      contentMl: start.contentMl[0] as number,
      contentVariance: start.contentVariance[0] as number,
      rateMlPerH: 80,
      covariance: 0,
      rateVariance: 0,
    };
    const noise = { contentVariancePerH: 0, rateVariancePerH: 0, pullPerH: 0, levelMlPerH: 80 };
    let before = 0;
    for (const [minutes, volumeMl, sd] of readings) {
      person.see(reading(minutes, volumeMl, sd));
      state = seeContent(advance(state, (minutes - before) / 60, noise), volumeMl, sd * sd).state;
      before = minutes;
      // Those without weight hold a reading afresh, which nothing of this case calls for.
      const counted = [...person.cloud.weight.keys()].filter((one) => (person.cloud.weight[one] ?? 0) > 0);
      expect(counted.length).toBeGreaterThan(200);
      for (const one of counted) {
        expect(Math.abs((person.cloud.contentMl[one] as number) - state.contentMl)).toBeLessThan(1e-9);
        expect(Math.abs((person.cloud.contentVariance[one] as number) - state.contentVariance)).toBeLessThan(
          1e-9,
        );
      }
    }
  });

  it('is not changed by one step split in two', () => {
    const whole = followPerson([reading(0, 200, 30)], question, 4 * hourMs);
    const split = followPerson([reading(0, 200, 30)], question, 100 * minuteMs);
    split.passTo(4 * hourMs);
    expect(
      Math.abs((whole.cloud.contentMl[7] as number) - (split.cloud.contentMl[7] as number)),
    ).toBeLessThan(1e-9);
  });
});

describe('a person of the cloud', () => {
  const prior = priorFor('after-surgery', { capacityMl: 600 });
  const ask = (observations: readonly FillingObservation[], minutes: number) => {
    const answer = estimateAt({
      observations,
      prior,
      atMs: minutes * minuteMs,
      limitMl: 600,
      horizonMin: 600,
    });
    if ('code' in answer) throw new Error(answer.code);
    return answer;
  };
  const start = reading(0, 300, 30);

  it('does not differ with the seconds of a clock', () => {
    const later: FillingObservation = { ...start, atMs: 41_000 };
    const inMinute = (observation: FillingObservation, atMs: number) =>
      estimateAt({ observations: [observation], prior, atMs, limitMl: 600, horizonMin: 600 });
    expect(inMinute(later, 90 * minuteMs + 59_000)).toEqual(inMinute(start, 90 * minuteMs));
  });

  it('may have been drained without anybody having charted it once a look was at the limit', () => {
    const nobodyVoids = { ...prior, voidsLowPerH: 0, voidsHighPerH: 0, leaksPerH: 0 };
    const emptyShare = (volumeMl: number): number => {
      const asked = { prior: nobodyVoids, limitMl: 600, nowMs: 45 * minuteMs, clockAheadMs: 0 };
      const { cloud } = followPerson([reading(0, volumeMl, 30)], asked, asked.nowMs);
      return cloud.weight.reduce(
        (sum, weight, one) => sum + ((cloud.contentMl[one] as number) < 100 ? weight : 0),
        0,
      );
    };
    expect(emptyShare(640)).toBeGreaterThan(0.15);
    expect(emptyShare(500)).toBeLessThan(0.05);
  });

  it('is no dearer to follow through two months of silence than through a day', () => {
    const passed: number[] = [];
    for (const days of [2, 60]) {
      const nowMs = days * 24 * hourMs;
      const person = followPerson([start], { ...question, prior: priorFor('resting'), nowMs }, nowMs);
      passed.push(person.cloud.contentMl.reduce((sum, one) => sum + one, 0));
    }
    // The same day is followed after the same entry, so the answer is the same.
    expect(passed[0]).toBe(passed[1]);
  });

  it('takes a high reading for possible though the one before was low', () => {
    expect(ask([reading(0, 60, 20), reading(60, 700, 60)], 61).overLimitProbability).toBeGreaterThan(0.05);
  });

  it('fills faster after fluids, and slower at night', () => {
    const likely = (more: readonly FillingObservation[], minutes = 1): number =>
      ask([start, ...more], minutes).crossing.likelyAtMs ?? Number.POSITIVE_INFINITY;
    const drink: FillingObservation = {
      kind: 'intake',
      atMs: minuteMs / 2,
      volumeMl: 600,
      overMin: 10,
      route: 'oral',
    };
    expect(likely([drink])).toBeLessThan(likely([]) - 15 * minuteMs);
    const night = followPerson([start], { ...question, prior, clockAheadMs: -hourMs }, minuteMs);
    const day = followPerson([start], { ...question, prior, clockAheadMs: 12 * hourMs }, minuteMs);
    expect(night.expectedInflowMlPerH()).toBeLessThan(day.expectedInflowMlPerH());
  });

  const share = (
    observations: readonly FillingObservation[],
    minutes: number,
    counts: (cloud: Cloud, one: number) => boolean,
    drawnFrom = prior,
  ): number => {
    const asked = { prior: drawnFrom, limitMl: 600, nowMs: minutes * minuteMs, clockAheadMs: 0 };
    const { cloud } = followPerson(observations, asked, asked.nowMs);
    return cloud.weight.reduce((sum, weight, one) => sum + (counts(cloud, one) ? weight : 0), 0);
  };
  const emptiesHardly = (cloud: Cloud, one: number): boolean =>
    (cloud.empties[one] as number) >= empties.hardly;
  const ran = (minutes: number, intoPad: boolean): FillingObservation => ({
    kind: 'void',
    atMs: minutes * minuteMs,
    measured: false,
    lowMl: 100,
    highMl: 200,
    ...(intoPad ? { intoPad } : {}),
  });

  it('may pass nothing after the watch opens, though they passed urine before it', () => {
    const opens: FillingObservation = {
      kind: 'covariate',
      atMs: 100 * minuteMs,
      name: 'watch-opens',
      state: 'after-surgery',
    };
    const drawn = prior.hardlyEmptiesShare + prior.notYetEmptiesShare;
    expect(share([ran(0, false), opens], 101, emptiesHardly)).toBeGreaterThan(0.7 * drawn);
    expect(share([opens, ran(101, false)], 102, emptiesHardly)).toBeLessThan(0.3 * drawn);
  });

  it('is not taken for somebody who empties well because urine ran into a pad', () => {
    const full = [reading(0, 640, 30)];
    const before = share(full, 20, emptiesHardly);
    expect(share([...full, ran(20, true)], 20, emptiesHardly)).toBeGreaterThan(before);
    expect(share([...full, ran(20, false)], 20, emptiesHardly)).toBeLessThan(before);
    // As much as was in the pad is gone, and no more.
    const still = (cloud: Cloud, one: number): boolean => (cloud.contentMl[one] as number) > 350;
    expect(share([...full, ran(20, true)], 20, still)).toBeGreaterThan(
      share([...full, ran(20, false)], 20, still) + 0.3,
    );
  });

  it('is believed to feel less, the longer a full bladder brought nobody to the toilet', () => {
    const feelsLess = (cloud: Cloud, one: number): boolean => (cloud.feels[one] as number) < 1;
    const emptyWell = { ...prior, poorlyEmptiesShare: 0, hardlyEmptiesShare: 0, notYetEmptiesShare: 0 };
    const at = share([reading(0, 450, 30)], 1, feelsLess, emptyWell);
    const hoursLater = [0, 120, 240].map((minutes) => reading(minutes, 450 + minutes / 2, 30));
    expect(share(hoursLater, 241, feelsLess, emptyWell)).toBeGreaterThan(2 * at);
  });
});
