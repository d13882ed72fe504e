// Proves     a pair is what was said before a measurement from what was on record by then, against what was measured;
//            one look counts once; a miss is a miss; the share carries its exact interval.
// Published  exact 95 % interval of 41 of 47: 74.3 to 95.2 % (S-clopper-pearson, by the beta quantiles)
// Method     worked courses; joined spreads against 90,000 seeded draws.
import { describe, expect, it } from 'vitest';
import { instantMs, seededRandom } from '../quantity/index.ts';
import { normalQuantile } from '../statistics/index.ts';
import { defaultSettings, type Entry } from '../record/index.ts';
import { estimateInputsOf } from './fold.ts';
import { estimateOf } from './estimate.ts';
import { expectedRange, hitPairsOf, hitRateBook, hitRateOf } from './hit-rate.ts';
import { passed, read, watched, zone } from './testing/course.ts';
import type { Maker } from './testing/make.ts';

const rules = { settings: defaultSettings, zone };
const wardOf = () => rules;
const pairsOf = (entries: readonly Entry[]) => hitPairsOf({ patient: 'p-4', entries, wardOf });

/** Read at 09:00 and again at 10:00. */
const two = (secondMl = 300): Maker => {
  const m = watched();
  read(m, '09:00', 200);
  read(m, '10:00', secondMl);
  return m;
};

describe('pairs of what was said and what was measured', () => {
  it('begin with the second measurement: before the first nothing was known', () => {
    expect(pairsOf(two().entries).map((one) => [one.measuredMl, one.kind])).toEqual([[300, 'reading']]);
  });

  it('hold a reading near what was to be expected and miss one far off, at the same range', () => {
    const [near] = pairsOf(two(300).entries);
    const [far] = pairsOf(two(1400).entries);
    expect(near?.within).toBe(true);
    expect(far?.within).toBe(false);
    expect([far?.saidLowMl, far?.saidHighMl]).toEqual([near?.saidLowMl, near?.saidHighMl]);
  });

  it('join the content’s own range with the error of a reading, and nothing more', () => {
    const m = two();
    const known = m.entries.slice(0, 2);
    const said = estimateOf(estimateInputsOf(known, rules), m.at('10:00'));
    if ('notValid' in said) throw new Error(said.notValid);
    const [pair] = pairsOf(m.entries);
    const { p05Ml, p50Ml, p95Ml } = said.content;
    const error = 1.6448536269514722 * Math.hypot(20, 0.14 * p50Ml);
    expect(pair?.saidLowMl).toBeCloseTo(Math.max(0, p50Ml - Math.hypot(p50Ml - p05Ml, error)), 6);
    expect(pair?.saidHighMl).toBeCloseTo(p50Ml + Math.hypot(p95Ml - p50Ml, error), 6);
  });

  it('know nothing that was written down later, though it had happened before', () => {
    const m = two();
    const before = pairsOf(m.entries)[0];
    m.add('09:30', 'void', { how: 'measured', volumeMl: 180 }, { recordedAt: '2026-05-14T11:00:00+01:00' });
    expect(pairsOf(m.entries)[0]).toEqual(before);
    const written = two();
    passed(written, '09:30', 180);
    expect(pairsOf(written.entries)[0]?.saidHighMl).toBeLessThan(before?.saidHighMl ?? 0);
  });

  it('rest on an entry as it stood then, also when it was put right afterwards', () => {
    const m = two();
    const [before] = pairsOf(m.entries);
    const first = m.entries.find((one) => one.kind === 'reading') as Entry;
    m.add(
      '09:00',
      'reading',
      { result: 'exact', volumeMl: 20, relation: 'no-void', doubts: [] },
      { corrects: first.id, recordedAt: '2026-05-14T12:00:00+01:00' },
    );
    expect(pairsOf(m.entries)).toEqual([before]);
  });

  it('measure what was put right against what was known before it was first written', () => {
    const m = two(30);
    const slip = m.entries.at(-1) as Entry;
    m.add(
      '10:00',
      'reading',
      { result: 'exact', volumeMl: 300, relation: 'no-void', doubts: [] },
      { corrects: slip.id, recordedAt: '2026-05-14T12:00:00+01:00' },
    );
    const [said] = pairsOf(two().entries);
    expect(pairsOf(m.entries)).toMatchObject([{ measuredMl: 300, saidHighMl: said?.saidHighMl }]);
  });

  it('leave out a measurement that was withdrawn', () => {
    const m = two();
    m.add('10:05', 'withdrawn', { of: (m.entries.at(-1) as Entry).id, reason: 'not-done' });
    expect(pairsOf(m.entries)).toEqual([]);
  });

  it('leave out what was doubted, cut short or tried in vain, and what a catheter gave', () => {
    const m = watched();
    read(m, '09:00', 200);
    read(m, '10:00', 300, { doubts: ['poor-contact'] });
    read(m, '11:00', 300, { result: 'at-least' });
    m.add('11:10', 'drained', { route: 'in-out', volumeMl: 0, difficulty: 'failed' });
    m.add('11:20', 'drained', { route: 'left-in' });
    m.add('11:30', 'drained', { route: 'from-catheter', volumeMl: 200 });
    read(m, '12:00', 30);
    expect(pairsOf(m.entries)).toEqual([]);
  });

  it('count repeats of one look once, as their mean', () => {
    const m = watched();
    read(m, '09:00', 200);
    read(m, '10:00', 290, { look: 'look-1' });
    read(m, '10:08', 330, { look: 'look-1' });
    expect(pairsOf(m.entries).map((one) => one.measuredMl)).toEqual([310]);
  });

  it('count two readings within the unit’s minutes once, unless something left in between', () => {
    const m = watched();
    read(m, '09:00', 200);
    read(m, '10:00', 300);
    read(m, '10:04', 304);
    expect(pairsOf(m.entries)).toHaveLength(1);
    const emptied = watched();
    read(emptied, '09:00', 200);
    read(emptied, '10:00', 300);
    passed(emptied, '10:02', 250);
    read(emptied, '10:04', 60);
    expect(pairsOf(emptied.entries)).toHaveLength(2);
  });

  it('expect of a drain the content less what stays behind', () => {
    const m = watched();
    read(m, '09:00', 400);
    m.add('09:05', 'drained', { route: 'in-out', volumeMl: 400 });
    const [pair] = pairsOf(m.entries);
    expect(pair).toMatchObject({ kind: 'drained', measuredMl: 400, within: true });
    const said = estimateOf(estimateInputsOf(m.entries.slice(0, 2), rules), m.at('09:05'));
    if ('notValid' in said) throw new Error(said.notValid);
    const spread = (pair?.saidHighMl ?? 0) - (said.content.p50Ml - 15);
    expect(spread).toBeGreaterThan(said.content.p95Ml - said.content.p50Ml);
    expect(spread).toBeLessThan(2 * (said.content.p95Ml - said.content.p50Ml));
  });

  it('need a watch, and an estimate that is valid', () => {
    const m = two();
    m.add('08:30', 'caution', { caution: 'neobladder', present: true });
    expect(pairsOf(m.entries)).toEqual([]);
    const unwatched = two();
    expect(pairsOf(unwatched.entries.filter((one) => one.kind !== 'watch-opened'))).toEqual([]);
  });

  it('stand under the ward in which it was measured', () => {
    const m = watched();
    read(m, '09:00', 200);
    m.add('09:10', 'transferred', { ward: 'gull', bed: '3' });
    read(m, '10:00', 300);
    m.add('11:00', 'transferred', { ward: 'tern', bed: '1' });
    expect(pairsOf(m.entries).map((one) => one.ward)).toEqual(['gull']);
  });

  it('do not depend on the order in which the entries arrive', () => {
    const m = two();
    passed(m, '10:30', 250);
    read(m, '11:00', 80);
    expect(pairsOf(m.entries.toReversed())).toEqual(pairsOf(m.entries));
  });
});

describe('the range to be expected', () => {
  it('holds nine in ten of what is drawn from it, narrow content or wide', () => {
    const random = seededRandom(7);
    const z = normalQuantile(0.95);
    for (const [middle, spread] of [
      [500, 10],
      [450, 80],
      [400, 150],
    ] as const) {
      const error = Math.hypot(20, 0.14 * middle);
      const { lowMl, highMl } = expectedRange(
        { p05Ml: middle - z * spread, p50Ml: middle, p95Ml: middle + z * spread },
        error,
      );
      let inside = 0;
      const draws = 30_000;
      for (let draw = 0; draw < draws; draw += 1) {
        const content = Math.max(0, middle + spread * random.normal());
        const got = content + Math.hypot(20, 0.14 * content) * random.normal();
        if (got >= lowMl && got <= highMl) inside += 1;
      }
      expect(inside / draws, `${middle} ± ${spread}`).toBeGreaterThan(0.885);
      expect(inside / draws, `${middle} ± ${spread}`).toBeLessThan(0.915);
    }
  });
});

describe('the hit rate', () => {
  const pairs = (within: number, of: number) =>
    Array.from({ length: of }, (_, index) => ({ within: index < within }));

  it('is a share with its exact interval', () => {
    const rate = hitRateOf(pairs(41, 47));
    expect([rate.within, rate.of]).toEqual([41, 47]);
    expect(rate.percent?.share).toBeCloseTo(87.23, 2);
    expect(rate.percent?.low).toBeCloseTo(74.26, 2);
    expect(rate.percent?.high).toBeCloseTo(95.17, 2);
  });

  it('of nothing is no share at all', () => {
    expect(hitRateOf([])).toEqual({ within: 0, of: 0 });
  });

  it('is worked out again only when an entry has come', () => {
    const book = hitRateBook();
    const m = two();
    const request = { patient: 'p-4', entries: [...m.entries], wardOf };
    const first = book.pairsOf(request);
    expect(book.pairsOf({ ...request, entries: [...m.entries] })).toBe(first);
    read(m, '11:00', 380);
    const next = book.pairsOf({ ...request, entries: [...m.entries] });
    expect(next).not.toBe(first);
    expect(next).toHaveLength(2);
    expect(instantMs((m.entries.at(-1) as Entry).effectiveAt)).toBe(next.at(-1)?.atMs);
  });
});
