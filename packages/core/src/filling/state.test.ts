// Proves     the linear-Gaussian filter, its smoother and its likelihood.
// Published  conformance/data/statistics/content-filter.json (dense joint Gaussian, 50 digits) and
//            nile-local-level.json (Durbin & Koopman; R StructTS, statsmodels)
// Tolerance  1e-9 relative for the first, 1e-6 for the second; properties 1e-9.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalUpperTail } from '../statistics/index.ts';
import { evenly, expectWithin, referenceTable } from '../statistics/testing/within.ts';
import { filterSeries, fitLocalLevel, localLevelSteps, seriesLogLikelihood, smoothSeries } from './series.ts';
import { advance, seeContent, seeRate, takeOut, type FillingNoise, type FillingState } from './state.ts';

const example = referenceTable('content-filter');
const nile = referenceTable('nile-local-level');

const nineDigits = 1e-9;
const sixDigits = 1e-6;
/** Years (from 1) of the surprises in the table. */
const surpriseYears = [2, 10, 100];

describe('content filter', () => {
  it('equals the dense joint Gaussian at every step, with its likelihood and P(V > 500)', () => {
    const noise: FillingNoise = {
      contentVariancePerH: example.contentVariancePerH,
      rateVariancePerH: example.rateVariancePerH,
      pullPerH: 0,
      levelMlPerH: 0,
    };
    const { contentMl, rateMlPerH, contentSdMl, rateSdMlPerH } = example.prior;
    let state: FillingState = {
      contentMl,
      rateMlPerH,
      contentVariance: contentSdMl ** 2,
      covariance: 0,
      rateVariance: rateSdMlPerH ** 2,
    };
    let [atH, logLikelihood] = [0, 0];
    for (const step of example.steps) {
      state = advance(state, step.atH - atH, noise);
      atH = step.atH;
      if (step.what === 'reading') {
        const seen = seeContent(state, step.volumeMl ?? Number.NaN, (step.sdMl ?? Number.NaN) ** 2);
        state = seen.state;
        logLikelihood += seen.logDensity;
      }
      if (step.what === 'drained')
        state = takeOut(state, step.volumeMl ?? Number.NaN, (step.sdMl ?? Number.NaN) ** 2);
      expectWithin(state.contentMl, step.contentMl, nineDigits, `content at ${step.atH} h`);
      expectWithin(state.rateMlPerH, step.rateMlPerH, nineDigits, `inflow at ${step.atH} h`);
      for (const [index, value] of [state.contentVariance, state.covariance, state.rateVariance].entries()) {
        expectWithin(
          value,
          step.covariance[index] as number,
          nineDigits,
          `covariance ${index} at ${step.atH} h`,
        );
      }
    }
    expectWithin(logLikelihood, example.logLikelihood, nineDigits, 'log-likelihood');
    expectWithin(
      normalUpperTail((500 - state.contentMl) / Math.sqrt(state.contentVariance)),
      example.above500Ml,
      nineDigits,
      'P(V > 500 mL)',
    );
  });
});

describe('Nile, local level', () => {
  const start: FillingState = {
    contentMl: 0,
    rateMlPerH: 0,
    contentVariance: nile.startVariance,
    covariance: 0,
    rateVariance: 0,
  };
  const run = (flow: readonly (number | undefined)[]) => {
    const steps = localLevelSteps(flow, nile.observationVariance, nile.levelVariance);
    const filtered = filterSeries(start, steps);
    return { filtered, smoothed: smoothSeries(steps, filtered) };
  };

  it('has the published filter, smoother, surprises and likelihood at all hundred years', () => {
    const { filtered, smoothed } = run(nile.flow);
    for (const index of nile.flow.keys()) {
      expectWithin(
        filtered[index]?.filtered.contentMl,
        nile.filtered[index] as number,
        sixDigits,
        `filtered ${index + 1}`,
      );
      expectWithin(
        filtered[index]?.filtered.contentVariance,
        nile.filteredVariance[index] as number,
        sixDigits,
        `its variance ${index + 1}`,
      );
      expectWithin(
        smoothed[index]?.contentMl,
        nile.smoothed[index] as number,
        sixDigits,
        `smoothed ${index + 1}`,
      );
      expectWithin(
        smoothed[index]?.contentVariance,
        nile.smoothedVariance[index] as number,
        sixDigits,
        `its variance ${index + 1}`,
      );
    }
    for (const [index, value] of nile.surprises.entries()) {
      const step = filtered[(surpriseYears[index] as number) - 1];
      expectWithin(step?.surprise, value, sixDigits, `surprise ${index}`);
      expectWithin(
        step?.surpriseVariance,
        nile.surpriseVariances[index] as number,
        sixDigits,
        `its variance ${index}`,
      );
    }
    expectWithin(
      seriesLogLikelihood(filtered, 1),
      nile.logLikelihoodWithoutFirst,
      sixDigits,
      'log-likelihood',
    );
    const { observationVariance: h, levelVariance: q } = nile;
    expectWithin(
      (q / 2) * (1 + Math.sqrt(1 + (4 * h) / q)),
      nile.steadyPredictedVariance,
      sixDigits,
      'steady variance, closed form',
    );
    expectWithin(
      filtered[99]?.predicted.contentVariance,
      nile.steadyPredictedVariance,
      sixDigits,
      'steady variance, filter',
    );
  });

  it('carries over years 21-40 and 61-80 when they are missing', () => {
    const { filtered, smoothed } = run(
      nile.flow.map((value, index) =>
        (index >= 20 && index < 40) || (index >= 60 && index < 80) ? undefined : value,
      ),
    );
    const want = nile.missing21to40and61to80;
    for (const [place, year] of want.at.entries()) {
      expectWithin(
        filtered[year - 1]?.filtered.contentMl,
        want.filtered[place] as number,
        sixDigits,
        `filtered ${year}`,
      );
      expectWithin(
        filtered[year - 1]?.filtered.contentVariance,
        want.filteredVariance[place] as number,
        sixDigits,
        `its variance ${year}`,
      );
      expectWithin(
        smoothed[year - 1]?.contentMl,
        want.smoothed[place] as number,
        sixDigits,
        `smoothed ${year}`,
      );
      expectWithin(
        smoothed[year - 1]?.contentVariance,
        want.smoothedVariance[place] as number,
        sixDigits,
        `its variance ${year}`,
      );
    }
  });

  it('has the likeliest variances that the reference finds', () => {
    const fit = fitLocalLevel(nile.flow, nile.startVariance);
    expectWithin(
      fit.observationVariance,
      nile.likeliest.observationVariance,
      sixDigits,
      'observation variance',
    );
    expectWithin(fit.levelVariance, nile.likeliest.levelVariance, sixDigits, 'level variance');
    expectWithin(fit.logLikelihood, nile.likeliest.logLikelihood, 1e-9, 'log-likelihood');
  });
});

describe('the filter, whatever it is given', () => {
  const state = fc.record({
    contentMl: evenly(0, 900),
    rateMlPerH: evenly(0, 300),
    contentVariance: evenly(1, 40_000),
    rateVariance: evenly(1, 10_000),
    correlation: evenly(-0.99, 0.99),
  });
  const noise = fc.record({
    contentVariancePerH: evenly(0, 5000),
    rateVariancePerH: evenly(0, 3000),
    pullPerH: fc.constantFrom(0, 1e-6, 0.01, 0.2, 0.5, 3),
    levelMlPerH: evenly(0, 200),
  });
  const made = (raw: {
    contentMl: number;
    rateMlPerH: number;
    contentVariance: number;
    rateVariance: number;
    correlation: number;
  }): FillingState => ({
    contentMl: raw.contentMl,
    rateMlPerH: raw.rateMlPerH,
    contentVariance: raw.contentVariance,
    rateVariance: raw.rateVariance,
    covariance: raw.correlation * Math.sqrt(raw.contentVariance * raw.rateVariance),
  });
  const close = (a: FillingState, b: FillingState): boolean =>
    (Object.keys(a) as (keyof FillingState)[]).every(
      (name) => Math.abs(a[name] - b[name]) <= 1e-9 * Math.max(1, Math.abs(a[name]), a.contentVariance),
    );
  const positive = (one: FillingState): boolean =>
    one.contentVariance > 0 &&
    one.rateVariance > 0 &&
    one.contentVariance * one.rateVariance - one.covariance ** 2 >
      -1e-9 * one.contentVariance * one.rateVariance;

  it('changes nothing when one step is split in two', () => {
    fc.assert(
      fc.property(state, noise, evenly(0, 12), evenly(0, 1), (raw, how, hours, part) =>
        close(
          advance(made(raw), hours, how),
          advance(advance(made(raw), hours * part, how), hours * (1 - part), how),
        ),
      ),
      { seed: 44, numRuns: 400 },
    );
  });

  it('does not mind the order of two readings at the same time', () => {
    const seen = fc.tuple(evenly(0, 900), evenly(1, 10_000));
    fc.assert(
      fc.property(state, seen, seen, (raw, one, two) => {
        const there = seeContent(seeContent(made(raw), ...one).state, ...two).state;
        const back = seeContent(seeContent(made(raw), ...two).state, ...one).state;
        return close(there, back);
      }),
      { seed: 45, numRuns: 400 },
    );
  });

  it('keeps its covariance positive, and never grows less sure by looking', () => {
    fc.assert(
      fc.property(
        state,
        noise,
        fc.array(fc.tuple(evenly(0, 6), evenly(0, 900), evenly(0.01, 10_000), fc.boolean()), {
          maxLength: 20,
        }),
        (raw, how, looks) => {
          let now = made(raw);
          for (const [hours, value, variance, onContent] of looks) {
            const before = advance(now, hours, how);
            now = onContent
              ? seeContent(before, value, variance).state
              : seeRate(before, value / 5, variance).state;
            if (
              !positive(now) ||
              now.contentVariance > before.contentVariance * (1 + 1e-12) ||
              now.rateVariance > before.rateVariance * (1 + 1e-12)
            )
              return false;
          }
          return true;
        },
      ),
      { seed: 46, numRuns: 300 },
    );
  });

  it('refuses to step backwards', () => {
    expect(() =>
      advance(
        made({ contentMl: 1, rateMlPerH: 1, contentVariance: 1, rateVariance: 1, correlation: 0 }),
        -1,
        { contentVariancePerH: 0, rateVariancePerH: 0, pullPerH: 0, levelMlPerH: 0 },
      ),
    ).toThrow('backwards');
  });
});
