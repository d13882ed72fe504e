// Proves     measures come from the truth; means and their intervals; ours against the best rule along curves; the
//            figure says in words and shapes what it shows
// Published  mean of 0 and 1 over n patients: 95 % interval ± 1.96·√(p(1−p)/n)
// Tolerance  exact for hand sums; intervals by resampling within 15 % of the normal ones at n = 400
import { describe, expect, it } from 'vitest';
import { hourMs, minuteMs, orThrow } from '@ebbline/core/quantity';
import { measuresOf, type Measures, type PatientTruth } from '@ebbline/simulate';
import { figureOf } from './figure.ts';
import { resultOf, type PatientResult } from './measure.ts';
import { csvOf, sentencesOf, tableOf } from './said.ts';
import { strategyOf } from './strategies.ts';
import { compareCurves } from './curves.ts';
import { heightAt, summarise } from './summary.ts';

const plain: Measures = {
  hoursOverLimit: 1,
  worstMl: 600,
  looks: 6,
  catheterisations: 1,
  needless: 0,
  woken: 2,
};
const opensAtMs = Date.UTC(2026, 4, 12, 22);
const truth: PatientTruth = {
  patient: 'w1-P01',
  setting: 'stroke',
  opensAtMs,
  contentMl: [480, 505, 520, 0, 490],
  inflowMl: [25, 15, 0, 490],
  outflows: [
    { atMs: opensAtMs + 10 * minuteMs, kind: 'drained', volumeMl: 520, leftMl: 0, charting: 'measured' },
    { atMs: opensAtMs + 15 * minuteMs, kind: 'drained', volumeMl: 380, leftMl: 19, charting: 'measured' },
    { atMs: opensAtMs + 15 * minuteMs, kind: 'drained', volumeMl: 380, leftMl: 20, charting: 'measured' },
    { atMs: opensAtMs + 15 * minuteMs, kind: 'void', volumeMl: 10, leftMl: 0, charting: 'measured' },
  ],
  readings: [0, 0.99, 1, 7.99, 8].map((hours) => ({
    atMs: opensAtMs + hours * hourMs,
    trueMl: 100,
    shownMl: 100,
    bound: 'exact',
    operator: 'N1',
    device: 'S1',
  })),
  limitMl: 500,
  capacityMl: 600,
  sensation: 'ordinary',
  emptying: 'good',
};

describe('what a way of deciding did', () => {
  it('counts time over the limit, the worst, looks, drains, needless ones under four fifths of the limit, looks from 23 to 6', () => {
    expect(measuresOf(truth)).toEqual({
      hoursOverLimit: 10 / 60,
      worstMl: 520,
      looks: 5,
      catheterisations: 3,
      needless: 1,
      woken: 2,
    });
  });

  it('is the same when worked out again, with the same patients for every strategy', () => {
    const job = { generator: 'other', seed: 2, hours: 12, strategies: ['fixed-4h', 'ours-20', 'fixed-4h'] };
    const result = resultOf(job, 30);
    expect(result.patient).toBe('w2-P07');
    expect(resultOf(job, 30)).toEqual(result);
    expect(result.measures[2]).toEqual(result.measures[0]);
    expect(resultOf({ ...job, generator: 'own' }, 30).measures).not.toEqual(result.measures);
  });
});

const strategies = ['fixed-4h', 'ours-5', 'ours-20'].map((name) => orThrow(strategyOf(name)));
/** 4-hourly: 6 looks; ours 10 and 2 looks at 1 h and 3 h over the limit: 2 h at 6 looks, if the rule has 2 + shift. */
const made = (patients: number, shift: number): readonly PatientResult[] =>
  Array.from({ length: patients }, (_, index) => ({
    index,
    patient: `w1-P${index}`,
    measures: [
      { ...plain, hoursOverLimit: 2 + shift + (index % 2) },
      { ...plain, looks: 10, hoursOverLimit: 1 + (index % 2) },
      { ...plain, looks: 2, hoursOverLimit: 3 + (index % 2) },
    ],
  }));

describe('summing up', () => {
  it('reads the height of a broken line between its points, and nothing beyond its ends', () => {
    const line = [
      [4, 10],
      [0, 2],
      [8, 30],
    ] as const;
    expect([heightAt(line, 2), heightAt(line, 6), heightAt(line, 8)]).toEqual([6, 20, 30]);
    expect([heightAt(line, -0.1), heightAt(line, 8.1)]).toEqual([undefined, undefined]);
  });

  it('gives intervals as wide as the normal ones', () => {
    const summary = summarise(made(400, 0), strategies, 1);
    const { mean, low, high } = summary.strategies[0]?.measures.hoursOverLimit ?? {
      mean: 0,
      low: 0,
      high: 0,
    };
    expect(mean).toBe(2.5);
    const wide = (2 * 1.96 * 0.5) / Math.sqrt(400);
    expect((high - low) / wide).toBeGreaterThan(0.85);
    expect((high - low) / wide).toBeLessThan(1.15);
    expect(summary.strategies[0]?.measures.looks).toEqual({ mean: 6, low: 6, high: 6 });
  });

  it('does not depend on the order in which patients were done', () => {
    const results = resultsOfRun();
    expect(summarise([...results].reverse(), strategies, 1)).toEqual(summarise(results, strategies, 1));
  });
});

/** Looks and hours of each strategy, the same for every patient but for what all strategies share. */
const pairs = (patients: number, figures: readonly (readonly [looks: number, hours: number])[]) =>
  Array.from({ length: patients }, (_, index) => ({
    index,
    patient: `w1-P${index}`,
    measures: figures.map(([looks, hours]) => ({
      ...plain,
      looks,
      hoursOverLimit: hours * (1 + (index % 2)),
    })),
  }));
const rules = ['fixed-4h', 'fixed-2h', 'line@1', 'line@0.5', 'ours-5', 'ours-20'].map((name) =>
  orThrow(strategyOf(name)),
);
const day = { seed: 1, hours: 24 };

describe('ours against the best simple rule', () => {
  // Means, 1.5 times these hours: fixed 4 h at 6 looks, 2 h at 12; line 3.2 h at 4, 2 h at 10; ours 3 h at 4, 1 h at 12.
  const results = pairs(60, [
    [6, 4],
    [12, 2],
    [4, 3.2],
    [10, 2],
    [12, 1],
    [4, 3],
  ]);
  const found = compareCurves(results, rules, day);

  it('reads every rule along its own curve, and takes the lowest of the simple ones', () => {
    const at8 = found.find((one) => one.looks === 8);
    expect(at8?.best).toBe('line');
    expect(at8?.bestHours).toBeCloseTo(1.5 * 2.4, 9);
    expect(at8?.oursHours).toBeCloseTo(1.5 * 2, 9);
    expect(at8?.fewerHours.mean).toBeCloseTo(100 * (1 - 2 / 2.4), 9);
    // At 2.4 h, ours lies 0.6 h of 2 h down from 4 looks to 12: at 6.4 looks.
    expect(at8?.atEqualHours?.bestLooks).toBeCloseTo(8, 9);
    expect(at8?.atEqualHours?.oursLooks).toBeCloseTo(6.4, 9);
    expect(at8?.atEqualHours?.fewerLooks.mean).toBeCloseTo(20, 9);
    // Beyond the line's end, the fixed interval is what is left: 2 h at 12 looks.
    expect(found.find((one) => one.looks === 12)?.best).toBe('fixed');
  });

  it('compares the same patients: what all rules share falls out of the interval', () => {
    const { fewerHours } = found.find((one) => one.looks === 8) ?? {};
    expect((fewerHours?.high ?? 9) - (fewerHours?.low ?? 0)).toBeLessThan(1e-9);
  });

  it('says so when ours loses', () => {
    const [worse] = compareCurves(
      pairs(20, [
        [6, 1],
        [12, 0.5],
        [4, 3.2],
        [10, 2],
        [12, 1],
        [4, 3],
      ]),
      rules,
      day,
    ).filter((one) => one.looks === 8);
    expect(worse?.fewerHours.mean).toBeLessThan(0);
    expect(sentencesOf(worse === undefined ? [] : [worse])).toContain('fewer hours -');
  });

  it('says nothing where ours or every simple rule does not reach, nor where half of the resamples do not', () => {
    expect(found.map((one) => one.looks)).toEqual([5, 6, 7, 8, 10, 12]);
    const short = pairs(20, [
      [6, 4],
      [12, 2],
      [4, 3.2],
      [10, 2],
      [7, 1],
      [4, 3],
    ]).map((one, index) => ({
      ...one,
      measures: one.measures.map((measures, place) =>
        place === 4 ? { ...measures, looks: 6 + 2 * (index % 2) } : measures,
      ),
    }));
    expect(compareCurves(short, rules, day).map((one) => one.looks)).toEqual([5, 6]);
  });
});

function resultsOfRun(): readonly PatientResult[] {
  const job = { generator: 'own', seed: 4, hours: 6, strategies: strategies.map((one) => one.name) };
  return [0, 1, 2].map((index) => resultOf(job, index));
}

describe('what is shown', () => {
  const summary = summarise(made(20, 0.5), strategies, 1);

  it('is a table with an interval in every cell and columns of one width', () => {
    const rows = tableOf(summary).split('\n');
    expect(rows).toHaveLength(4);
    expect(new Set(rows.map((row) => row.length)).size).toBe(1);
    expect(rows[1]).toContain('6.0 (6.0 to 6.0)');
  });

  it('is a row of CSV for each patient and strategy', () => {
    const job = { generator: 'own', seed: 4, hours: 6, strategies: strategies.map((one) => one.name) };
    const rows = csvOf(job, made(3, 0.5)).trim().split('\n');
    expect(rows).toHaveLength(1 + 9);
    expect(rows[1]).toBe('own,4,w1-P0,fixed-4h,2.5,600,6,1,0,2');
  });

  it('is a figure with title and description, every family by name, marks told apart by shape', () => {
    const svg = figureOf(summary, { generator: 'own', hours: 24 });
    expect(svg).toContain('role="img" aria-labelledby="title desc"');
    expect(svg).toMatch(/<desc id="desc">.*fixed-4h: 6 looks, 3 h; ours-5: 10 looks, 1.5 h.*<\/desc>/);
    for (const family of ['every so many hours', 'ours']) expect(svg).toContain(`>${family}</text>`);
    // Each point, and each family's in the list at the side.
    expect(svg.match(/<circle /g)).toHaveLength(2 + 1);
    expect(svg.match(/<g class="mark" /g)).toHaveLength(1 + 1);
    expect(svg).not.toMatch(/NaN|undefined|Infinity/);
    const xs = [...svg.matchAll(/<circle class="ours" cx="(\d+)" cy="(\d+)"/g)].map((one) => [
      Number(one[1]),
      Number(one[2]),
    ]);
    // Fewer looks further left, more hours higher up.
    expect(xs[0]?.[0]).toBeLessThan(xs[1]?.[0] ?? 0);
    expect(xs[0]?.[1]).toBeLessThan(xs[1]?.[1] ?? 0);
  });
});
