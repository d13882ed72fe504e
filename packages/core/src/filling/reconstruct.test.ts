// Proves     looking back along the paths is the linear smoother where everything is linear, takes later entries into
//            account, counts the time and the area above a limit, and is the same again for the same entries.
// Published  the linear smoother is itself held to published figures (state.test.ts, conformance/data/statistics)
// Tolerance  4 standard errors of the drawn paths; where inflow wanders in its log and by steps of 15 min, 0.7 mL more
import { describe, expect, it } from 'vitest';
import { hourMs, isRefusal, minuteMs, orThrow } from '../quantity/index.ts';
import { personCount } from './cloud.ts';
import { priorFor } from './prior.ts';
import type { FillingObservation } from './observation.ts';
import { runPaths, type PathPiece } from './paths.ts';
import { reconstruct, type ReconstructQuestion } from './reconstruct.ts';
import { filterSeries, smoothSeries, type SeriesStep } from './series.ts';
import { contentIn, countSpells } from './spells.ts';
import type { FillingState } from './state.ts';
import { linear } from './testing/linear.ts';

const looks = [
  [20, 140, 40],
  [95, 260, 25],
  [130, 330, 60],
  [180, 300, 15],
  [260, 520, 30],
] as const;
const reading = (minutes: number, volumeMl: number, standardDeviationMl?: number): FillingObservation => ({
  kind: 'reading',
  atMs: minutes * minuteMs,
  volumeMl,
  bound: 'exact',
  doubts: [],
  ...(standardDeviationMl === undefined ? {} : { standardDeviationMl }),
});
const seen = looks.map(([minutes, volumeMl, sd]) => reading(minutes, volumeMl, sd));
/** Content of everybody at the first look, before it: median at the start, 0.2 of it and a little more as spread. */
const firstMl = linear.startMedianMl;
const firstVariance = (0.2 * firstMl) ** 2 + 9;

function smoothed(rate: { meanMlPerH: number; variance: number; pullPerH: number }): readonly FillingState[] {
  const noise = {
    contentVariancePerH: 0,
    rateVariancePerH: 2 * rate.pullPerH * rate.variance,
    pullPerH: rate.pullPerH,
    levelMlPerH: rate.meanMlPerH,
  };
  const steps: readonly SeriesStep[] = looks.map(([minutes, contentMl, sd], index) => ({
    hours: (minutes - (looks[index - 1]?.[0] ?? minutes)) / 60,
    noise,
    seen: { contentMl, variance: sd * sd },
  }));
  const start: FillingState = {
    contentMl: firstMl,
    contentVariance: firstVariance,
    rateMlPerH: rate.meanMlPerH,
    covariance: 0,
    rateVariance: rate.variance,
  };
  return smoothSeries(steps, filterSeries(start, steps));
}

describe('looking back where everything is linear', () => {
  it('is the smoother with a known inflow, in the middle and at the 5 and 95 % points', () => {
    const atMs = looks.map(([minutes]) => minutes * minuteMs);
    const { track, paths } = orThrow(
      reconstruct({
        observations: seen,
        prior: linear,
        limitMl: 2000,
        nowMs: 270 * minuteMs,
        fromMs: 20 * minuteMs,
        toMs: 270 * minuteMs,
        atMs,
      }),
    );
    expect(paths).toBeGreaterThanOrEqual(8192);
    expect(paths % personCount).toBe(0);
    for (const [index, state] of smoothed({ meanMlPerH: 80, variance: 0, pullPerH: 0.5 }).entries()) {
      const point = track[index];
      const sd = Math.sqrt(state.contentVariance);
      // Standard errors of the median and of a 5 % point of so many normals.
      const medianError = (1.2533 * sd) / Math.sqrt(paths);
      const endError = (Math.sqrt(0.05 * 0.95) / 0.10314 / Math.sqrt(paths)) * sd;
      expect(Math.abs((point?.p50Ml ?? 0) - state.contentMl)).toBeLessThan(4 * medianError);
      expect(Math.abs((point?.p05Ml ?? 0) - (state.contentMl - 1.64485 * sd))).toBeLessThan(4 * endError);
      expect(Math.abs((point?.p95Ml ?? 0) - (state.contentMl + 1.64485 * sd))).toBeLessThan(4 * endError);
    }
  });

  it('is the smoother of content and wandering inflow together', () => {
    const logSd = 0.15;
    const prior = { ...linear, inflowLogSd: logSd };
    const runs = 64;
    const means: number[][] = [];
    const logEvidence: number[] = [];
    for (let run = 1; run <= runs; run += 1) {
      const atLook = looks.map(() => new Float64Array(personCount));
      const take = (path: number, piece: PathPiece): void => {
        for (const [index, [minutes]] of looks.entries())
          if (piece.fromMs <= minutes * minuteMs && minutes * minuteMs <= piece.toMs)
            (atLook[index] as Float64Array)[path] = contentIn(piece, minutes * minuteMs);
      };
      const person = { prior, limitMl: 2000, nowMs: 260 * minuteMs, clockAheadMs: 0, run };
      const done = runPaths(
        { observations: seen, person, fromMs: 20 * minuteMs, untilMs: 260 * minuteMs },
        take,
      );
      means.push(
        atLook.map((values) => values.reduce((sum, one, path) => sum + one * (done.weight[path] ?? 0), 0)),
      );
      logEvidence.push(done.logEvidence);
    }
    const best = Math.max(...logEvidence);
    const shares = logEvidence.map((one) => Math.exp(one - best));
    const all = shares.reduce((sum, one) => sum + one, 0);
    const rate = {
      meanMlPerH: 80 * Math.exp(logSd ** 2 / 2),
      variance: 80 ** 2 * Math.exp(logSd ** 2) * Math.expm1(logSd ** 2),
      pullPerH: 1 / prior.inflowForgetsH,
    };
    for (const [index, state] of smoothed(rate).entries()) {
      const pooled = means.reduce((sum, one, run) => sum + ((shares[run] ?? 0) * (one[index] ?? 0)) / all, 0);
      const error = Math.sqrt(
        means.reduce(
          (sum, one, run) => sum + (((shares[run] ?? 0) / all) * ((one[index] ?? 0) - pooled)) ** 2,
          0,
        ),
      );
      expect(error).toBeLessThan(0.8);
      expect(Math.abs(pooled - state.contentMl)).toBeLessThan(4 * error + 0.7);
    }
  });
});

const prior = priorFor('after-surgery', { capacityMl: 600 });
const question: ReconstructQuestion = {
  observations: [
    { kind: 'covariate', atMs: 0, name: 'watch-opens', state: 'after-surgery' },
    reading(10, 240),
    { kind: 'void', atMs: 140 * minuteMs, measured: true, volumeMl: 80 },
    reading(176, 560),
    { kind: 'drained', atMs: 190 * minuteMs, volumeMl: 690, thenIn: 'out' },
  ],
  prior,
  limitMl: 600,
  nowMs: 300 * minuteMs,
  fromMs: 0,
  toMs: 190 * minuteMs,
  aboutMs: 190 * minuteMs,
};
const ask = (more: Partial<ReconstructQuestion>) => orThrow(reconstruct({ ...question, ...more }));
const withDrained = (volumeMl: number): readonly FillingObservation[] =>
  question.observations.map((one) => (one.kind === 'drained' ? { ...one, volumeMl } : one));

describe('looking back', () => {
  it('says the same for the same entries, in whatever order they come', () => {
    expect(ask({ observations: question.observations.toReversed() })).toEqual(ask({}));
  });

  it('weighs each cloud by how likely it finds what was seen', () => {
    let [all, over] = [0, 0];
    for (const run of [1, 2, 3]) {
      const isOver = new Uint8Array(personCount);
      const counter = countSpells(600, 0, question.toMs);
      let last = 0;
      const close = (): void => {
        isOver[last] = counter.finish().length > 0 ? 1 : 0;
      };
      const person = { prior, limitMl: 600, nowMs: question.nowMs, clockAheadMs: 0, run };
      const { weight, logEvidence } = runPaths(
        { observations: question.observations, person, fromMs: 0, untilMs: question.toMs },
        (path, piece) => {
          if (path !== last) close();
          last = path;
          counter.take(piece);
        },
      );
      close();
      const evidence = Math.exp(logEvidence + 30);
      all += evidence;
      over += evidence * weight.reduce((sum, one, path) => sum + one * (isOver[path] ?? 0), 0);
    }
    const { aboutMs: _all, ...whole } = question;
    expect(orThrow(reconstruct({ ...whole, clouds: 3 })).overShare).toBeCloseTo(over / all, 9);
  });

  it('knows of what came later: the more was drained, the more was there before, and the earlier the limit was passed', () => {
    const answers = [580, 630, 690].map((volumeMl) =>
      ask({ observations: withDrained(volumeMl), atMs: [120 * minuteMs] }),
    );
    for (const [index, answer] of answers.entries()) {
      if (index === 0) continue;
      const before = answers[index - 1];
      expect(answer.track[0]?.p50Ml).toBeGreaterThan(before?.track[0]?.p50Ml ?? Infinity);
      expect(answer.overShare).toBeGreaterThan(before?.overShare ?? Infinity);
      expect(answer.crossing?.likelyAtMs).toBeLessThan(before?.crossing?.likelyAtMs ?? 0);
      expect(answer.mlHoursOver.likely).toBeGreaterThan(before?.mlHoursOver.likely ?? Infinity);
    }
  });

  it('is surer of a content between two entries than before the later one', () => {
    const widthAt = (observations: readonly FillingObservation[]): number => {
      const point = ask({ observations, atMs: [100 * minuteMs] }).track[0];
      return (point?.p95Ml ?? 0) - (point?.p05Ml ?? 0);
    };
    const before = question.observations.filter((one) => one.atMs <= 10 * minuteMs);
    expect(widthAt(question.observations)).toBeLessThan(0.8 * widthAt(before));
  });

  it('keeps its times in order and inside the stretch', () => {
    const { crossing, hoursOver, mlHoursOver, overShare } = ask({});
    expect(overShare).toBeGreaterThan(0.7);
    expect(crossing?.earliestAtMs).toBeGreaterThanOrEqual(0);
    expect(crossing?.earliestAtMs).toBeLessThan(crossing?.likelyAtMs ?? 0);
    expect(crossing?.likelyAtMs).toBeLessThan(crossing?.latestAtMs ?? 0);
    expect(crossing?.latestAtMs).toBeLessThanOrEqual(190 * minuteMs);
    expect(hoursOver.likely).toBeLessThan(190 / 60);
    expect(mlHoursOver.low).toBeLessThanOrEqual(mlHoursOver.likely);
    expect(mlHoursOver.high).toBeGreaterThan(mlHoursOver.likely);
  });

  it('says "probably never" of a bladder that was seen small all along', () => {
    const small = [reading(0, 120), reading(60, 180), reading(120, 230), reading(185, 300)];
    const { overShare, hoursOver, mlHoursOver } = orThrow(
      reconstruct({
        observations: small,
        prior,
        limitMl: 600,
        nowMs: 190 * minuteMs,
        fromMs: 0,
        toMs: 190 * minuteMs,
      }),
    );
    expect(overShare).toBeLessThan(0.05);
    expect([hoursOver.likely, mlHoursOver.likely]).toEqual([0, 0]);
  });

  it('says of how many nothing charted tells how they came to be, when a reading fits nothing', () => {
    const leap = (volumeMl: number) =>
      orThrow(
        reconstruct({
          observations: [reading(0, 100, 15), reading(20, 110, 15), reading(40, volumeMl, 60)],
          prior,
          limitMl: 600,
          nowMs: 41 * minuteMs,
          fromMs: 0,
          toMs: 41 * minuteMs,
          aboutMs: 40 * minuteMs,
        }),
      );
    expect(leap(1200).unexplainedShare).toBeGreaterThan(0.9);
    expect(ask({}).unexplainedShare).toBeLessThan(0.1);
  });

  it('gives no number to rely on under irrigation', () => {
    const irrigated: FillingObservation = {
      kind: 'covariate',
      atMs: 5 * minuteMs,
      name: 'irrigation',
      state: 'running',
    };
    expect(ask({ observations: [...question.observations, irrigated] }).validity.valid).toBe(false);
  });

  it('refuses a stretch that is not over, is empty, or is too long', () => {
    for (const more of [
      { toMs: 301 * minuteMs },
      { fromMs: 190 * minuteMs },
      { fromMs: -15 * 24 * hourMs },
      { limitMl: 10 },
      { clouds: 0 },
    ])
      expect(isRefusal(reconstruct({ ...question, ...more }))).toBe(true);
  });
});

describe('time above a limit', () => {
  const piece = (
    from: number,
    to: number,
    startMl: number,
    reachedMl: number,
    leftMl = reachedMl,
  ): PathPiece => ({
    fromMs: from * hourMs,
    toMs: to * hourMs,
    startMl,
    reachedMl,
    leftMl,
    afresh: false,
  });
  const spellsOf = (pieces: readonly PathPiece[], from = 0, to = 100) => {
    const counter = countSpells(600, from * hourMs, to * hourMs);
    for (const one of pieces.toReversed()) counter.take(one);
    return counter
      .finish()
      .map((one) => [one.sinceMs / hourMs, one.untilMs / hourMs, one.areaMlMs / hourMs, one.afresh]);
  };

  it('is a triangle from the crossing to the drain', () => {
    // 500 to 700 in 2 h passes 600 after 1 h: 1 h and 50 mL·h, then 1 h at 750 on average: 150 mL·h.
    expect(spellsOf([piece(0, 2, 500, 700), piece(2, 3, 700, 800, 16), piece(3, 4, 16, 100)])).toEqual([
      [1, 3, 200, false],
    ]);
  });

  it('counts two spells where the content fell below in between, the latest first', () => {
    expect(
      spellsOf([
        piece(0, 1, 600, 700, 300),
        piece(1, 3, 300, 500),
        piece(3, 5, 500, 700, 650),
        piece(5, 6, 650, 650),
      ]),
    ).toEqual([
      [4, 6, 100, false],
      [0, 1, 50, false],
    ]);
  });

  it('ends with the stretch at both ends', () => {
    expect(spellsOf([piece(0, 10, 700, 700)], 2, 5)).toEqual([[2, 5, 300, false]]);
  });

  it('marks a spell that begins with a content believed afresh', () => {
    expect(
      spellsOf([
        piece(0, 1, 100, 200),
        { ...piece(1, 1, 200, 200, 800), afresh: true },
        piece(1, 2, 800, 800),
      ]),
    ).toEqual([[1, 2, 200, true]]);
  });
});
