// Proves     the living estimate on a worked patient, its limits, and that nothing shown is negative or no number.
// Published  inflow 100-200 mL/h after surgery (S-clinical-E10), worked line 250 mL at 150 mL/h → 500 mL in 100 min
//            (S-clinical-E10), time to a volume (S-clinical-O1); the worked patient is invented.
// Tolerance  minutes as stated in each test.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hourMs, instantMs, isRefusal, minuteMs, orThrow } from '../quantity/index.ts';
import { plainCrossing } from './crossing.ts';
import { estimateAt, estimateTrack, type FillingEstimate } from './estimate.ts';
import type { FillingObservation } from './observation.ts';
import { followPerson } from './person.ts';
import { priorFor, startingPriors } from './prior.ts';
import { inOrder, pointsOf } from './weighted.ts';

const at = (clock: string): number => instantMs(`2026-10-22T${clock}:00+02:00`);
const z95 = 1.6448536;

/** 240 mL at 13:10 with a band of 190 to 290 mL; own capacity 620 mL, limit 600 mL. */
const arrival: FillingObservation = {
  kind: 'reading',
  atMs: at('13:10'),
  volumeMl: 240,
  bound: 'exact',
  doubts: [],
  standardDeviationMl: 50 / z95,
};
const ask = (
  observations: readonly FillingObservation[],
  clock: string,
  more: Partial<Parameters<typeof estimateAt>[0]> = {},
): FillingEstimate =>
  orThrow(
    estimateAt({
      observations,
      prior: priorFor('after-surgery', { capacityMl: 620 }),
      atMs: at(clock),
      limitMl: 600,
      horizonMin: 960,
      ...more,
    }),
  );

describe('the worked patient after surgery', () => {
  it('passes 600 mL between 14:58 and 16:46 by plain arithmetic from 240 mL at 13:10', () => {
    const plain = orThrow(
      plainCrossing({ volumeMl: 240, atMs: at('13:10'), limitMl: 600, lowMlPerH: 100, highMlPerH: 200 }),
    );
    expect(plain.earliestAtMs).toBe(at('14:58'));
    expect(plain.latestAtMs).toBe(at('16:46'));
    expect(plain.alreadyOver).toBe(false);
  });

  it('passes 500 mL in 100 min from 250 mL at 150 mL/h', () => {
    const plain = orThrow(
      plainCrossing({ volumeMl: 250, atMs: 0, limitMl: 500, lowMlPerH: 150, highMlPerH: 150 }),
    );
    expect(plain.earliestAtMs / minuteMs).toBeCloseTo(100, 9);
  });

  it('is at the limit now when the reading is the limit, and not yet over it', () => {
    const plain = orThrow(
      plainCrossing({ volumeMl: 500, atMs: 0, limitMl: 500, lowMlPerH: 100, highMlPerH: 200 }),
    );
    expect(plain).toEqual({ earliestAtMs: 0, latestAtMs: 0, alreadyOver: false });
  });

  it('may pass 600 mL as early as about 14:45, no later than the 14:58 of plain arithmetic', () => {
    const { crossing } = ask([arrival], '13:10');
    expect(crossing.earliestAtMs).toBeLessThanOrEqual(at('14:58'));
    expect(Math.abs((crossing.earliestAtMs ?? 0) - at('14:45')) / minuteMs).toBeLessThanOrEqual(8);
    expect(crossing.likelyAtMs).toBeGreaterThan(at('14:58'));
    expect(crossing.likelyAtMs).toBeLessThan(at('16:46'));
    expect(crossing.latestAtMs ?? Number.POSITIVE_INFINITY).toBeGreaterThan(at('16:46'));
  });

  it('is surer of being over after 560 mL is read at 15:56, and is nearly empty once 690 mL is drained', () => {
    const before: FillingObservation[] = [
      arrival,
      { kind: 'void', atMs: at('15:20'), measured: true, volumeMl: 80 },
    ];
    const read: FillingObservation[] = [
      ...before,
      { kind: 'reading', atMs: at('15:56'), volumeMl: 560, bound: 'exact', doubts: [] },
    ];
    const unread = ask(before, '16:09').overLimitProbability;
    expect(ask(read, '16:09').overLimitProbability).toBeGreaterThan(2 * unread);
    const drained = ask(
      [...read, { kind: 'drained', atMs: at('16:10'), volumeMl: 690, thenIn: 'out' }],
      '16:10',
    );
    expect(drained.content.p95Ml).toBeLessThan(60);
    expect(drained.overLimitProbability).toBe(0);
    expect(drained.informativeEntries).toBe(4);
  });

  it('does not take 80 mL passed as an emptied bladder', () => {
    const passed: FillingObservation = { kind: 'void', atMs: at('15:20'), measured: true, volumeMl: 80 };
    expect(ask([arrival, passed], '15:20').content.p50Ml).toBeGreaterThan(150);
  });

  it('does not look at what comes after the instant', () => {
    const later: FillingObservation = { kind: 'drained', atMs: at('16:10'), volumeMl: 690, thenIn: 'out' };
    expect(ask([arrival, later], '15:00')).toEqual(ask([arrival], '15:00'));
  });

  it('does not depend on the order in which observations arrive', () => {
    const all: FillingObservation[] = [
      arrival,
      { kind: 'reading', atMs: at('13:10'), volumeMl: 265, bound: 'exact', doubts: ['moved'] },
      { kind: 'void', atMs: at('15:20'), measured: true, volumeMl: 80 },
      { kind: 'reading', atMs: at('15:52'), volumeMl: 430, bound: 'at-least', doubts: ['cut-below'] },
    ];
    expect(ask([...all].reverse(), '16:00')).toEqual(ask(all, '16:00'));
  });

  it('grows wider as information ages', () => {
    const wide = (clock: string): number => {
      const { content } = ask([arrival], clock);
      return content.p95Ml - content.p05Ml;
    };
    expect(wide('15:10')).toBeGreaterThan(wide('13:40'));
    expect(wide('13:40')).toBeGreaterThan(wide('13:10'));
  });
});

describe('bounds, catheters and things that make it not valid', () => {
  it('[at-least-is-a-bound] takes "at least 430 mL" as 430 mL or more, so that 600 mL stays likely', () => {
    const filled: FillingObservation[] = [arrival];
    const bound = ask(
      [
        ...filled,
        { kind: 'reading', atMs: at('15:52'), volumeMl: 430, bound: 'at-least', doubts: ['cut-below'] },
      ],
      '15:52',
    );
    const exact = ask(
      [...filled, { kind: 'reading', atMs: at('15:52'), volumeMl: 430, bound: 'exact', doubts: [] }],
      '15:52',
    );
    expect(bound.content.p50Ml).toBeGreaterThan(exact.content.p50Ml);
    expect(bound.overLimitProbability).toBeGreaterThan(0.1);
    expect(bound.overLimitProbability).toBeGreaterThan(4 * exact.overLimitProbability);
    // The bound has the error of a reading, 63 mL: five in a hundred lie more than 1.645 of it below.
    expect(bound.content.p05Ml).toBeGreaterThan(430 - z95 * 63.4);
  });

  it('lies 80 mL above the same reading taken as exact, over clouds with other chances', () => {
    const middle = (bound: 'exact' | 'at-least', doubts: readonly string[], run: number): number => {
      const question = {
        prior: priorFor('after-surgery', { capacityMl: 620 }),
        limitMl: 600,
        nowMs: at('15:52'),
        clockAheadMs: 0,
        run,
      };
      const reading = { kind: 'reading', atMs: at('15:52'), volumeMl: 430, bound, doubts } as const;
      const { cloud } = followPerson([arrival, reading], question, at('15:52'));
      const { values, weight } = pointsOf(cloud.contentMl, cloud.contentVariance, cloud.weight);
      return inOrder(values, weight).quantile(0.5) ?? 0;
    };
    const runs = Array.from({ length: 48 }, (_, run) => run + 1);
    const apart = runs.map((run) => middle('at-least', ['cut-below'], run) - middle('exact', [], run));
    expect(apart.reduce((sum, one) => sum + one, 0) / runs.length).toBeGreaterThan(80);
  });

  it('[estimate-not-valid] says so under irrigation, with a neobladder and with a urostomy', () => {
    for (const name of ['irrigation', 'neobladder', 'urostomy'] as const) {
      const { validity } = ask(
        [arrival, { kind: 'covariate', atMs: at('13:30'), name, state: 'present' }],
        '14:00',
      );
      expect(validity.valid, name).toBe(false);
    }
    const ended = ask(
      [
        arrival,
        { kind: 'covariate', atMs: at('13:30'), name: 'irrigation', state: 'present' },
        { kind: 'covariate', atMs: at('13:50'), name: 'irrigation', state: 'ended' },
      ],
      '14:00',
    );
    expect(ended.validity.valid).toBe(true);
  });

  it('holds the bladder nearly empty while a catheter drains, and lets it fill when that is blocked', () => {
    const inPlace: FillingObservation[] = [{ kind: 'catheter', atMs: at('13:10'), state: 'in' }];
    const drained = ask(inPlace, '18:00');
    expect(drained.content.p95Ml).toBeLessThan(50);
    expect(drained.crossing.earliestAtMs).toBeUndefined();
    const blocked = ask([...inPlace, { kind: 'catheter', atMs: at('14:00'), state: 'blocked' }], '18:00');
    expect(blocked.content.p50Ml).toBeGreaterThan(300);
  });

  it('[filled-despite-catheter] takes a catheter as blocked when 400 mL is read beside it, not when 40 mL is', () => {
    const inPlace: FillingObservation[] = [{ kind: 'catheter', atMs: at('13:10'), state: 'in' }];
    const look = (volumeMl: number, bound: 'exact' | 'at-least' = 'exact'): FillingEstimate =>
      ask([...inPlace, { kind: 'reading', atMs: at('15:00'), volumeMl, bound, doubts: [] }], '15:10');
    expect(look(400).catheter).toBe('blocked');
    expect(look(400).content.p50Ml).toBeGreaterThan(300);
    expect(look(400).crossing.earliestAtMs).toBeDefined();
    expect(look(400, 'at-least').catheter).toBe('blocked');
    expect(look(40).catheter).toBe('in');
    expect(look(40).content.p95Ml).toBeLessThan(60);
    const flushed = ask(
      [
        ...inPlace,
        { kind: 'reading', atMs: at('15:00'), volumeMl: 400, bound: 'exact', doubts: [] },
        { kind: 'catheter', atMs: at('15:05'), state: 'flushed' },
      ],
      '15:10',
    );
    expect(flushed.catheter).toBe('in');
  });

  it('takes a catheter that a reading put in doubt as draining once its bag goes on gathering', () => {
    const doubted: FillingObservation[] = [
      { kind: 'catheter', atMs: at('08:00'), state: 'in' },
      { kind: 'bag', fromMs: at('08:00'), atMs: at('10:00'), volumeMl: 150 },
      { kind: 'reading', atMs: at('10:30'), volumeMl: 400, bound: 'exact', doubts: [] },
    ];
    const bag = (volumeMl: number): FillingObservation => ({
      kind: 'bag',
      fromMs: at('08:00'),
      atMs: at('12:00'),
      volumeMl,
    });
    expect(ask([...doubted, bag(160)], '12:10').catheter).toBe('blocked');
    expect(ask([...doubted, bag(300)], '12:10').catheter).toBe('in');
  });

  it('takes the catheter as still in when a bag goes on gathering after a drain', () => {
    const drained: FillingObservation[] = [
      { kind: 'catheter', atMs: at('08:00'), state: 'in' },
      { kind: 'drained', atMs: at('11:00'), volumeMl: 375, thenIn: 'out' },
    ];
    expect(ask(drained, '12:30').catheter).toBe('none');
    expect(
      ask([...drained, { kind: 'bag', fromMs: at('08:00'), atMs: at('12:00'), volumeMl: 250 }], '12:30')
        .catheter,
    ).toBe('in');
    expect(
      ask([...drained, { kind: 'bag', fromMs: at('08:00'), atMs: at('11:05'), volumeMl: 250 }], '12:30')
        .catheter,
    ).toBe('none');
  });

  it('learns the inflow from a bag', () => {
    const bag: FillingObservation[] = [
      { kind: 'catheter', atMs: at('08:00'), state: 'in' },
      { kind: 'bag', fromMs: at('08:00'), atMs: at('12:00'), volumeMl: 1200 },
    ];
    expect(ask(bag, '12:00').rateMlPerH.p50).toBeGreaterThan(
      ask(bag.slice(0, 1), '12:00').rateMlPerH.p50 + 50,
    );
  });

  it('passes the limit sooner after a loop diuretic and hardly ever with little or no urine', () => {
    const plain = ask([arrival], '13:20').crossing.likelyAtMs ?? Number.POSITIVE_INFINITY;
    const diuretic = ask(
      [arrival, { kind: 'covariate', atMs: at('13:15'), name: 'loop-diuretic', state: 'iv' }],
      '13:20',
    ).crossing.likelyAtMs;
    expect(diuretic ?? Number.POSITIVE_INFINITY).toBeLessThan(plain);
    const little = ask(
      [arrival, { kind: 'covariate', atMs: at('13:15'), name: 'little-or-no-urine', state: 'present' }],
      '13:20',
      { horizonMin: 480 },
    );
    expect(little.crossing.likelyAtMs).toBeUndefined();
  });

  it('takes a measured void as proof that at least that much was in', () => {
    const void_: FillingObservation = { kind: 'void', atMs: at('14:00'), measured: true, volumeMl: 500 };
    const small: FillingObservation = { kind: 'void', atMs: at('14:00'), measured: true, volumeMl: 20 };
    expect(ask([arrival, void_], '14:00').content.p95Ml).toBeLessThan(250);
    expect(ask([arrival, small], '14:00').content.p50Ml).toBeGreaterThan(
      ask([arrival, void_], '14:00').content.p50Ml,
    );
  });
});

describe('refusals', () => {
  it.each([
    ['a limit of 0 mL', { limitMl: 0 }, 'filling/limit-out-of-range'],
    ['no time', { atMs: Number.NaN }, 'filling/no-time'],
    ['a horizon of 0', { horizonMin: 0 }, 'filling/horizon-out-of-range'],
    [
      'a volume that is no number',
      { observations: [{ ...arrival, volumeMl: Number.NaN }] },
      'filling/not-a-volume',
    ],
    ['a negative volume', { observations: [{ ...arrival, volumeMl: -1 }] }, 'filling/not-a-volume'],
    ['an error of 0', { observations: [{ ...arrival, standardDeviationMl: 0 }] }, 'filling/not-a-volume'],
  ] as const)('name what was found: %s', (_, more, code) => {
    const got = estimateAt({
      observations: [arrival],
      prior: priorFor('after-surgery'),
      atMs: at('14:00'),
      limitMl: 600,
      horizonMin: 480,
      ...(more as object),
    });
    expect(isRefusal(got) && got.code).toBe(code);
  });

  it('come for a rate that cannot be', () => {
    expect(
      isRefusal(plainCrossing({ volumeMl: 240, atMs: 0, limitMl: 600, lowMlPerH: 200, highMlPerH: 100 })),
    ).toBe(true);
    expect(
      isRefusal(
        plainCrossing({ volumeMl: Number.NaN, atMs: 0, limitMl: 600, lowMlPerH: 100, highMlPerH: 200 }),
      ),
    ).toBe(true);
  });
});

describe('the track', () => {
  const observations: FillingObservation[] = [
    arrival,
    { kind: 'void', atMs: at('15:20'), measured: true, volumeMl: 80 },
    { kind: 'reading', atMs: at('15:56'), volumeMl: 560, bound: 'exact', doubts: [] },
  ];
  const track = orThrow(
    estimateTrack({
      observations,
      prior: priorFor('after-surgery'),
      limitMl: 600,
      horizonMin: 240,
      fromMs: at('13:00'),
      toMs: at('18:00'),
      everyMin: 20,
      nowMs: at('16:00'),
    }),
  );

  it('is, up to now, about what an estimate at that time says', () => {
    for (const point of track.filter((one) => !one.forecast)) {
      const alone = orThrow(
        estimateAt({
          observations: observations.filter((one) => one.atMs <= point.atMs),
          prior: priorFor('after-surgery'),
          atMs: point.atMs,
          limitMl: 600,
          horizonMin: 240,
        }),
      );
      // What has been charted by now of the time before a point is known to the track and wasn't known then; and the
      // two draw their chance for steps of other lengths.
      const width = alone.content.p95Ml - alone.content.p05Ml;
      expect(Math.abs(point.content.p50Ml - alone.content.p50Ml)).toBeLessThan(5 + 0.2 * width);
      expect(Math.abs(point.content.p95Ml - alone.content.p95Ml)).toBeLessThan(5 + 0.4 * width);
    }
    expect(track.length).toBe(16);
    expect(track.filter((one) => one.forecast).length).toBe(6);
  });

  it('only rises after now, since nothing leaves in the forecast', () => {
    const ahead = track.filter((one) => one.atMs >= at('16:00'));
    for (const [index, point] of ahead.entries())
      if (index > 0)
        expect(point.overLimitProbability).toBeGreaterThanOrEqual(
          (ahead[index - 1]?.overLimitProbability ?? 0) - 1e-9,
        );
  });
});

describe('whatever happens', () => {
  const observation: fc.Arbitrary<FillingObservation> = fc
    .integer({ min: 0, max: 36 * 60 })
    .chain((minute) => {
      const atMs = at('06:00') + minute * minuteMs;
      const volumeMl = fc.integer({ min: 0, max: 2500 });
      return fc.oneof(
        fc.record({
          kind: fc.constant('reading' as const),
          atMs: fc.constant(atMs),
          volumeMl,
          bound: fc.constantFrom('exact' as const, 'at-least' as const),
          doubts: fc.constantFrom([], ['cut-below'], ['moved', 'second-fluid']),
        }),
        fc.record({
          kind: fc.constant('void' as const),
          atMs: fc.constant(atMs),
          measured: fc.constant(true as const),
          volumeMl,
        }),
        volumeMl.map((low) => ({
          kind: 'void' as const,
          atMs,
          measured: false as const,
          lowMl: low,
          highMl: low + 300,
        })),
        fc.record({
          kind: fc.constant('drained' as const),
          atMs: fc.constant(atMs),
          volumeMl,
          thenIn: fc.constantFrom('out' as const, 'left-in' as const),
        }),
        fc.record({
          kind: fc.constant('catheter' as const),
          atMs: fc.constant(atMs),
          state: fc.constantFrom('in' as const, 'out' as const, 'blocked' as const, 'flushed' as const),
        }),
        volumeMl.map((ml) => ({ kind: 'bag' as const, fromMs: atMs - 3 * hourMs, atMs, volumeMl: ml })),
        fc
          .constantFrom(
            'loop-diuretic' as const,
            'little-or-no-urine' as const,
            'regional-block' as const,
            'cannot-pass' as const,
          )
          .map((name) => ({ kind: 'covariate' as const, atMs, name, state: 'present' })),
      );
    });

  it('never shows a negative number or none, and keeps its order', () => {
    fc.assert(
      fc.property(
        fc.array(observation, { maxLength: 25 }),
        fc.constantFrom(...Object.keys(startingPriors)),
        fc.integer({ min: 0, max: 40 * 60 }),
        (observations, setting, minute) => {
          const got = orThrow(
            estimateAt({
              observations,
              prior: priorFor(setting, { weightKg: 62 }),
              atMs: at('06:00') + minute * minuteMs,
              limitMl: 500,
              horizonMin: 300,
            }),
          );
          const shown = [...Object.values(got.content), ...Object.values(got.rateMlPerH)];
          const { p05Ml, p25Ml, p50Ml, p75Ml, p95Ml } = got.content;
          const {
            earliestAtMs = 0,
            likelyAtMs = Number.POSITIVE_INFINITY,
            latestAtMs = Number.POSITIVE_INFINITY,
          } = got.crossing;
          return (
            shown.every((value) => Number.isFinite(value) && value >= 0) &&
            got.overLimitProbability >= 0 &&
            got.overLimitProbability <= 1 &&
            p05Ml <= p25Ml &&
            p25Ml <= p50Ml &&
            p50Ml <= p75Ml &&
            p75Ml <= p95Ml &&
            earliestAtMs <= likelyAtMs &&
            likelyAtMs <= latestAtMs
          );
        },
      ),
      { seed: 47, numRuns: process.env['EBBLINE_LONG'] === '1' ? 10_000 : 400 },
    );
  }, 300_000);
});
