// Proves     would the error matter, carrying back, mass balance, filling between two instants, the error of a reading.
// Published  23 to 47 mL in 14 min at 100-200 mL/h (S-clinical-E10, arithmetic); rate between two looks 140 mL/h
//            (S-clinical-O2); normal table Φ(1) = 0.8413 (S-abramowitz-stegun); error of practised users 14 % (S-clinical2-R20)
// Tolerance  half the last printed digit.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, minuteMs, orThrow } from '../quantity/index.ts';
import { carryBack } from './carry-back.ts';
import { fillingBetween } from './filling-between.ts';
import { massBalance } from './mass-balance.ts';
import type { FillingObservation } from './observation.ts';
import { readingStandardDeviationMl } from './reading-error.ts';
import { wouldErrorMatter } from './would-error-matter.ts';

const reading = (minute: number, volumeMl: number, more: object = {}): FillingObservation => ({
  kind: 'reading',
  atMs: minute * minuteMs,
  volumeMl,
  bound: 'exact',
  doubts: [],
  ...more,
});

describe('filling between two instants', () => {
  it('is 23 to 47 mL in 14 minutes at 100 to 200 mL/h', () => {
    const { lowMl, highMl } = fillingBetween(0, 14 * minuteMs, 100, 200);
    expect([Math.round(lowMl), Math.round(highMl)]).toEqual([23, 47]);
  });

  it('is nothing when the times are the wrong way round', () => {
    expect(fillingBetween(minuteMs, 0, 100, 200)).toEqual({ lowMl: 0, highMl: 0 });
  });
});

describe('would the error matter', () => {
  const matter = (volumeMl: number, standardDeviationMl: number, lineMl: number) =>
    orThrow(wouldErrorMatter({ volumeMl, standardDeviationMl, lineMl }));

  it('is 1 − Φ(1) = 0.1587 one standard deviation from the line, from either side', () => {
    expect(matter(500, 100, 400).otherSideProbability).toBeCloseTo(0.1587, 4);
    expect(matter(300, 100, 400).otherSideProbability).toBeCloseTo(0.1587, 4);
    expect(matter(500, 100, 400).side).toBe('at-or-above');
    expect(matter(300, 100, 400).side).toBe('below');
    expect(matter(400, 100, 400).side).toBe('at-or-above');
  });

  it('is clear far away, either way nearer, a toss-up at the line', () => {
    expect(matter(600, 80, 400).verdict).toBe('clear');
    expect(matter(500, 80, 400).verdict).toBe('either-way');
    expect(matter(420, 80, 400).verdict).toBe('toss-up');
    expect(matter(400, 80, 400).otherSideProbability).toBeCloseTo(0.5, 12);
  });

  it('goes by the unit’s thresholds', () => {
    const verdict = orThrow(
      wouldErrorMatter(
        { volumeMl: 500, standardDeviationMl: 80, lineMl: 400 },
        { clearBelow: 0.01, tossUpFrom: 0.1 },
      ),
    ).verdict;
    expect(verdict).toBe('toss-up');
  });

  it('[at-least-is-a-bound] is always a toss-up for "at least 430 mL" below a line at 600 mL', () => {
    const got = orThrow(
      wouldErrorMatter({ volumeMl: 430, standardDeviationMl: 50, lineMl: 600, bound: 'at-least' }),
    );
    expect(got.verdict).toBe('toss-up');
    expect(
      orThrow(wouldErrorMatter({ volumeMl: 650, standardDeviationMl: 50, lineMl: 600, bound: 'at-least' }))
        .verdict,
    ).toBe('clear');
  });

  it('is refused without an error', () => {
    expect(isRefusal(wouldErrorMatter({ volumeMl: 430, standardDeviationMl: 0, lineMl: 600 }))).toBe(true);
    expect(isRefusal(wouldErrorMatter({ volumeMl: Number.NaN, standardDeviationMl: 10, lineMl: 600 }))).toBe(
      true,
    );
  });
});

describe('a residual carried back', () => {
  it('of 120 mL half an hour late at 100 to 200 mL/h is 45 mL, and the raw value stays', () => {
    const got = orThrow(
      carryBack({
        residualMl: 120,
        standardDeviationMl: 26,
        sinceVoidMin: 30,
        lowMlPerH: 100,
        highMlPerH: 200,
      }),
    );
    expect(got.rawMl).toBe(120);
    expect(got.likelyMl).toBeCloseTo(45, 9);
    expect(got.lowMl).toBe(0);
    // 1.645 · √(26² + (0.5 · 30.4)²) = 49.5
    expect(got.highMl).toBeCloseTo(94.5, 1);
  });

  it('at once is the reading with its own error, and never negative however late', () => {
    const now = orThrow(
      carryBack({
        residualMl: 120,
        standardDeviationMl: 26,
        sinceVoidMin: 0,
        lowMlPerH: 100,
        highMlPerH: 200,
      }),
    );
    expect(now.likelyMl).toBe(120);
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 900 }),
        fc.integer({ min: 0, max: 1440 }),
        (residualMl, sinceVoidMin) => {
          const got = orThrow(
            carryBack({ residualMl, standardDeviationMl: 30, sinceVoidMin, lowMlPerH: 50, highMlPerH: 150 }),
          );
          return (
            got.lowMl >= 0 &&
            got.lowMl <= got.likelyMl &&
            got.likelyMl <= got.highMl &&
            got.likelyMl <= residualMl
          );
        },
      ),
      { seed: 48, numRuns: 100 },
    );
  });

  it('is refused when the void comes after the reading', () => {
    expect(
      isRefusal(
        carryBack({
          residualMl: 120,
          standardDeviationMl: 26,
          sinceVoidMin: -5,
          lowMlPerH: 100,
          highMlPerH: 200,
        }),
      ),
    ).toBe(true);
  });
});

describe('mass balance', () => {
  it('finds 140 mL/h between 150 mL and 330 mL two hours later with 100 mL passed (S-clinical-O2)', () => {
    const [span] = orThrow(
      massBalance([
        reading(0, 150),
        { kind: 'void', atMs: 60 * minuteMs, measured: true, volumeMl: 100 },
        reading(120, 330),
      ]),
    );
    expect(span?.impliedMlPerH?.middle).toBeCloseTo(140, 9);
    expect(span?.finding).toBeUndefined();
  });

  it('[impossible-sum-questioned] questions 650 mL ten minutes after 500 mL was drained, and names the sum', () => {
    const spans = orThrow(
      massBalance([{ kind: 'drained', atMs: 0, volumeMl: 500, thenIn: 'out' }, reading(10, 650)]),
    );
    expect(spans[0]?.finding?.code).toBe('too-much');
    expect(spans[0]?.finding?.sum).toContain('500 mL');
    expect(spans[0]?.finding?.sum).toContain('650 mL read 10 min later');
    expect(spans[0]?.finding?.sum).toContain('at most 167 mL');
  });

  it('[impossible-sum-questioned] questions 600 mL that are gone with nothing charted', () => {
    const spans = orThrow(massBalance([reading(0, 700), reading(30, 60)]));
    expect(spans[0]?.finding?.code).toBe('too-little');
    const charted = orThrow(
      massBalance([
        reading(0, 700),
        { kind: 'void', atMs: 10 * minuteMs, measured: true, volumeMl: 620 },
        reading(30, 90),
      ]),
    );
    expect(charted[0]?.finding).toBeUndefined();
  });

  it('does not question what a reading’s error explains', () => {
    expect(orThrow(massBalance([reading(0, 300), reading(5, 350)]))[0]?.finding).toBeUndefined();
    expect(orThrow(massBalance([reading(0, 350), reading(5, 300)]))[0]?.finding).toBeUndefined();
  });

  it('[at-least-is-a-bound] does not miss urine that "at least" leaves open', () => {
    const spans = orThrow(massBalance([reading(0, 200, { bound: 'at-least' }), reading(10, 700)]));
    expect(spans[0]?.finding).toBeUndefined();
    expect(orThrow(massBalance([reading(0, 200), reading(10, 700)]))[0]?.finding?.code).toBe('too-much');
  });

  it('judges nothing while a catheter stays in', () => {
    const spans = orThrow(
      massBalance([{ kind: 'drained', atMs: 0, volumeMl: 500, thenIn: 'left-in' }, reading(10, 650)]),
    );
    expect(spans).toEqual([]);
  });

  it('refuses a volume that is none', () => {
    expect(isRefusal(massBalance([reading(0, Number.NaN)]))).toBe(true);
  });
});

describe('error of a reading', () => {
  it('is 14 % of a large volume and no less than 20 mL on an empty bladder', () => {
    expect(readingStandardDeviationMl(0, [])).toBe(20);
    expect(readingStandardDeviationMl(1000, []) / 1000).toBeCloseTo(0.141, 3);
  });

  it('grows with every doubt, known or not', () => {
    const plain = readingStandardDeviationMl(300, []);
    for (const doubt of ['cut-below', 'second-fluid', 'unsure-aim', 'poor-contact', 'moved', 'something-new'])
      expect(readingStandardDeviationMl(300, [doubt])).toBeGreaterThan(plain);
  });
});
