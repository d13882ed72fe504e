// Proves     product-limit curve, its three intervals, median, restricted mean, log-rank, one-covariate hazards,
//            cumulative incidence with both variances.
// Published  conformance/data/statistics/survival.json and competing-risks.json; S-clinical-K9 to K12
// Tolerance  1e-6 relative; printed figures half their last digit. The data sets are read from EBBLINE_SAMPLES.
import { beforeAll, describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '../quantity/index.ts';
import {
  cumulativeIncidence,
  incidenceAt,
  logScaleInterval,
  type CompetingOutcome,
  type IncidenceStep,
} from './competing-risks.ts';
import { coxOneCovariate } from './cox.ts';
import {
  kaplanMeier,
  logRank,
  medianTime,
  restrictedMean,
  survivalAt,
  type SurvivalIntervalKind,
  type TimedOutcome,
} from './survival.ts';
import { expectWithin, sampleRows, referenceTable } from './testing/within.ts';

const competing = referenceTable('competing-risks');
const expected = referenceTable('survival');

const one = 1e-6;
const outcome = (time: number, happened = true): TimedOutcome => ({ time, happened });
const noSamples = !process.env['EBBLINE_SAMPLES'];

describe('time to an event', () => {
  it('of seven people is .750 .625 .500 .333 .000 as printed (S-clinical-K9)', () => {
    const people = [
      outcome(1),
      outcome(1),
      outcome(4),
      outcome(5),
      outcome(6, false),
      outcome(9),
      outcome(9, false),
      outcome(22),
    ];
    const steps = orThrow(kaplanMeier(people)).filter((step) => step.events > 0);
    expect(steps.map((step) => step.survival.toFixed(3))).toEqual([
      '0.750',
      '0.625',
      '0.500',
      '0.333',
      '0.000',
    ]);
  });

  it('of the classic remission data is .8571 .8067 .7529 .6902 .6275 .5378 .4482 (S-clinical-K10)', () => {
    const had = [6, 6, 6, 7, 10, 13, 16, 22, 23].map((time) => outcome(time));
    const not = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35].map((time) => outcome(time, false));
    const steps = orThrow(kaplanMeier([...had, ...not])).filter((step) => step.events > 0);
    expect(steps.map((step) => step.survival.toFixed(4))).toEqual([
      '0.8571',
      '0.8067',
      '0.7529',
      '0.6902',
      '0.6275',
      '0.5378',
      '0.4482',
    ]);
  });

  it('does not depend on the order of the people, and never rises', () => {
    const people = [5, 3, 9, 3, 7, 7, 1].map((time, index) => outcome(time, index % 3 !== 0));
    const forwards = orThrow(kaplanMeier(people));
    expect(orThrow(kaplanMeier([...people].reverse()))).toEqual(forwards);
    for (const [index, step] of forwards.entries())
      if (index > 0) expect(step.survival).toBeLessThanOrEqual(forwards[index - 1]?.survival ?? 0);
  });

  it('is refused without people or with a time that is none', () => {
    expect(isRefusal(kaplanMeier([]))).toBe(true);
    expect(isRefusal(kaplanMeier([outcome(Number.NaN)]))).toBe(true);
    expect(isRefusal(logRank([[outcome(1)]]))).toBe(true);
  });
});

describe.skipIf(noSamples)('time to an event, 228 people (EBBLINE_SAMPLES names the data)', () => {
  let people: (TimedOutcome & { sex: number; covariate: number })[] = [];
  const sex = (which: number): TimedOutcome[] => people.filter((person) => person.sex === which);
  beforeAll(async () => {
    const rows = (await sampleRows('lung.csv')) ?? [];
    people = rows.map((row) => ({
      time: Number(row[0]),
      happened: row[1] === '2',
      sex: Number(row[3]),
      covariate: Number(row[3]),
    }));
  });

  it.each([
    ['log', 'log'],
    ['log-log', 'logLog'],
    ['plain', 'plain'],
  ] as const)('has the curve and %s interval of the reference', (kind, name) => {
    const steps = orThrow(kaplanMeier(people, kind as SurvivalIntervalKind));
    for (const row of expected[name]) {
      const got = survivalAt(steps, row.time);
      expect(got.atRisk).toBe(row.atRisk);
      expectWithin(got.survival, row.survival, one, `${kind} ${row.time}`);
      expectWithin(got.standardError, row.standardError, one, `error ${row.time}`);
      expectWithin(got.low, row.low, one, `low ${row.time}`);
      expectWithin(got.high, row.high, one, `high ${row.time}`);
    }
  });

  it('has the curve of the reference at every time', async () => {
    const steps = orThrow(kaplanMeier(people));
    const rows = (await sampleRows('lung-km-curve.csv')) ?? [];
    expect(steps.length).toBe(rows.length);
    for (const [index, row] of rows.entries()) {
      const step = steps[index];
      const got = [
        step?.time,
        step?.atRisk,
        step?.events,
        step?.censored,
        step?.survival,
        step?.logStandardError,
        step?.low,
        step?.high,
      ];
      for (const [place, cell] of row.entries())
        expectWithin(got[place], Number(cell), one, `row ${index + 1} column ${place + 1}`);
    }
  });

  it('has the curves of men and women', () => {
    for (const [which, rows] of [
      [1, expected.male],
      [2, expected.female],
    ] as const) {
      const steps = orThrow(kaplanMeier(sex(which)));
      for (const row of rows) {
        const got = survivalAt(steps, row.time);
        for (const name of ['survival', 'standardError', 'low', 'high'] as const)
          expectWithin(got[name], row[name], one, `${which} ${row.time} ${name}`);
      }
    }
  });

  it('has the medians and restricted means', () => {
    for (const [group, row] of [
      [people, expected.median],
      [sex(1), expected.medianMale],
      [sex(2), expected.medianFemale],
    ] as const) {
      const steps = orThrow(kaplanMeier(group));
      expect(medianTime(steps)).toEqual({ median: row.median, low: row.low, high: row.high });
      // The reference extends both sexes to the longest time of all, 1022 days.
      const whole = restrictedMean(steps, 1022);
      expectWithin(whole.mean, row.mean, one, 'mean');
      expectWithin(whole.standardError, row.meanError, one, 'error of the mean');
    }
    const year = restrictedMean(orThrow(kaplanMeier(people)), 365);
    expectWithin(year.mean, expected.restrictedTo365.mean, one, 'mean to 365');
    expectWithin(year.standardError, expected.restrictedTo365.standardError, one, 'its error');
  });

  it('differs by sex as the log-rank and the hazard ratio say', () => {
    const got = orThrow(logRank([sex(1), sex(2)]));
    expectWithin(got.chiSquared, expected.logRank.chiSquared, one, 'chi-squared');
    expectWithin(got.p, expected.logRank.p, one, 'p');
    expect(got.observed).toEqual(expected.logRank.observed);
    for (const [index, count] of expected.logRank.expected.entries())
      expectWithin(got.expected[index], count, one, 'expected');
    const efron = orThrow(coxOneCovariate(people));
    expectWithin(efron.coefficient, expected.coxEfron.coefficient, one, 'coefficient');
    expectWithin(efron.standardError, expected.coxEfron.standardError, one, 'error');
    expectWithin(efron.hazardRatio, expected.coxEfron.hazardRatio, one, 'ratio');
    expectWithin(efron.low, expected.coxEfron.interval[0] as number, one, 'low');
    expectWithin(efron.high, expected.coxEfron.interval[1] as number, one, 'high');
    for (const place of [0, 1] as const)
      expectWithin(
        efron.logLikelihood[place],
        expected.coxEfron.logLikelihood[place] as number,
        one,
        'likelihood',
      );
    const breslow = orThrow(coxOneCovariate(people, 'breslow'));
    expectWithin(breslow.coefficient, expected.coxBreslow.coefficient, one, 'Breslow');
    expectWithin(breslow.standardError, expected.coxBreslow.standardError, one, 'Breslow error');
  });
});

describe('competing endings', () => {
  it('of the published table give 0.0132 and 0.9802 (S-clinical-K11)', () => {
    // 305 people: one leaves before 10, one event at 10, 16, 23, 27, another ending at 18 and 26, with the risk sets as printed.
    const rows: [number, number, number][] = [
      [10, 304, 1],
      [16, 302, 1],
      [18, 301, 2],
      [23, 300, 1],
      [26, 298, 2],
      [27, 297, 1],
    ];
    const people: CompetingOutcome[] = rows.map(([time, , ending]) => ({ time, ending }));
    let left = 305;
    for (const [time, atRisk] of rows) {
      for (; left > atRisk; left -= 1) people.push({ time: time - 0.5, ending: 0 });
      left -= 1;
    }
    for (; left > 0; left -= 1) people.push({ time: 99, ending: 0 });
    const at = incidenceAt(orThrow(cumulativeIncidence(people, 2)), 30);
    expect(at?.incidence[0]?.toFixed(4)).toBe('0.0132');
    expect(at?.free.toFixed(4)).toBe('0.9802');
  });

  it('with one ending only is one less the product-limit curve', () => {
    const people = [4, 2, 9, 9, 5, 7].map((time, index) => ({ time, ending: index % 2 }));
    const steps = orThrow(cumulativeIncidence(people, 1));
    const curve = orThrow(
      kaplanMeier(people.map((one_) => ({ time: one_.time, happened: one_.ending === 1 }))),
    );
    for (const step of steps)
      expect(step.incidence[0]).toBeCloseTo(1 - survivalAt(curve, step.time).survival, 12);
  });

  it('are refused when an ending is not among those named', () => {
    expect(isRefusal(cumulativeIncidence([{ time: 1, ending: 3 }], 2))).toBe(true);
  });
});

describe.skipIf(noSamples)('competing endings, 1384 people (EBBLINE_SAMPLES names the data)', () => {
  let people: (CompetingOutcome & { sex: string })[] = [];
  beforeAll(async () => {
    const rows = (await sampleRows('mgus2.csv')) ?? [];
    people = rows.map((row) => ({ time: Number(row[3]), ending: Number(row[4]), sex: row[2] ?? '' }));
  });

  const held = (step: IncidenceStep | undefined): number[] => [
    step?.free ?? Number.NaN,
    ...(step?.incidence ?? []),
  ];
  const errors = (step: IncidenceStep | undefined): number[] => [
    step?.freeStandardError ?? Number.NaN,
    ...(step?.standardErrors ?? []),
  ];

  it('have the shares, errors and intervals of one reference and the variances of the other', () => {
    const steps = orThrow(cumulativeIncidence(people, 2));
    for (const [index, month] of competing.months.entries()) {
      const at = incidenceAt(steps, month);
      for (const place of [0, 1, 2]) {
        const [share, error] = [held(at)[place] as number, errors(at)[place] as number];
        expectWithin(share, competing.shares[index]?.[place] as number, one, `share ${month}`);
        expectWithin(error, competing.standardErrors[index]?.[place] as number, one, `error ${month}`);
        const interval = logScaleInterval(share, error);
        expectWithin(interval.low, competing.low[index]?.[place] as number, one, `low ${month}`);
        expectWithin(interval.high, competing.high[index]?.[place] as number, one, `high ${month}`);
      }
      for (const place of [0, 1]) {
        expectWithin(
          at?.incidence[place],
          competing.countingEstimates[place]?.[index] as number,
          one,
          `counting ${month}`,
        );
        expectWithin(
          at?.countingVariances[place],
          competing.countingVariances[place]?.[index] as number,
          one,
          `counting variance ${month}`,
        );
      }
    }
  });

  it('have the shares of women and men', () => {
    for (const [which, shares, errs] of [
      ['F', competing.bySex.female, competing.bySex.femaleErrors],
      ['M', competing.bySex.male, competing.bySex.maleErrors],
    ] as const) {
      const steps = orThrow(
        cumulativeIncidence(
          people.filter((person) => person.sex === which),
          2,
        ),
      );
      for (const [index, month] of competing.months.entries()) {
        const at = incidenceAt(steps, month);
        for (const place of [0, 1, 2]) {
          expectWithin(held(at)[place], shares[index]?.[place] as number, one, `${which} ${month}`);
          expectWithin(errors(at)[place], errs[index]?.[place] as number, one, `${which} error ${month}`);
        }
      }
    }
  });

  it('are overstated by one less the product-limit curve, as much as the reference says (S-clinical-K12)', () => {
    const curve = orThrow(
      kaplanMeier(people.map((person) => ({ time: person.time, happened: person.ending === 1 }))),
    );
    const steps = orThrow(cumulativeIncidence(people, 2));
    for (const [index, month] of competing.months.entries()) {
      const naive = 1 - survivalAt(curve, month).survival;
      expectWithin(naive, competing.naiveOneMinusKaplanMeier[index] as number, one, `naive ${month}`);
      expect(naive).toBeGreaterThan(incidenceAt(steps, month)?.incidence[0] ?? 1);
    }
  });
});
