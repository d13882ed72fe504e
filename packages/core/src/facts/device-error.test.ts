// Proves     what a scanner's pairs teach counts the right pairs, is shrunk while they are few, and may raise caution only:
//            no reading is lowered, no look is put back, the protocol's reading stays as it was read.
// Published  the worked knee: read 560, drained 690 fourteen minutes later, filling 23 to 47 mL (S-job-8b): 14.5 % low
// Tolerance  exact; shrinkage itself is held to another program in statistics/shrunken-normal.test.ts
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { instantOfMs, minuteMs, seededRandom } from '../quantity/index.ts';
import { defaultSettings, type Entry } from '../record/index.ts';
import { evenly } from '../statistics/testing/within.ts';
import { deviceBook } from './device-book.ts';
import {
  deviceErrors,
  earlierMs,
  pairError,
  raisedMl,
  type DeviceError,
  type PatientAgreementPair,
} from './device-error.ts';
import { foldPatient } from './fold.ts';
import { read, watched, zone } from './testing/course.ts';
import { advised, maker, type Maker } from './testing/make.ts';

const pair = (
  readMl: number,
  drainedMl: number,
  more: Partial<PatientAgreementPair> = {},
): PatientAgreementPair => ({
  readingId: `r-${readMl}-${drainedMl}` as PatientAgreementPair['readingId'],
  drainId: `d-${readMl}-${drainedMl}` as PatientAgreementPair['drainId'],
  readMl,
  readAtLeast: false,
  drainedMl,
  apartMin: 14,
  fillingMl: { low: 0, high: 0 },
  operator: 'x',
  scanner: 'a',
  besideMl: [],
  readMuchDrainedLittle: false,
  patient: 'p',
  drainedAtMs: 0,
  ...more,
});
const many = (share: number, count: number, scatter = 0.05): readonly PatientAgreementPair[] => {
  const random = seededRandom(91);
  return Array.from({ length: count }, (_, index) => {
    const drainedMl = 400 + 10 * index;
    return pair(Math.round(drainedMl * (1 + share + scatter * random.normal())), drainedMl);
  });
};
const one = (pairs: readonly PatientAgreementPair[]): DeviceError => {
  const found = deviceErrors(pairs).get('a');
  if (found === undefined) throw new Error('nothing was learnt');
  return found;
};

describe('an error of a pair', () => {
  it('allows for the filling between the two', () => {
    expect(pairError(pair(560, 690, { fillingMl: { low: 23, high: 47 } }))).toBeCloseTo(-0.145, 3);
  });

  it('is not counted for a low bound, a small volume, or much read of which little was drained', () => {
    for (const more of [{ readAtLeast: true }, { drainedMl: 90 }, { readMuchDrainedLittle: true }])
      expect(pairError(pair(560, 690, more))).toBeUndefined();
    expect(deviceErrors([pair(500, 500, { readAtLeast: true })]).size).toBe(0);
  });
});

describe('what is known of a scanner', () => {
  it('says nothing of low or high before five pairs, however far off they are', () => {
    expect(one(many(-0.3, 4)).reads).toBe('as-drained');
    expect(one(many(-0.3, 5)).reads).toBe('low');
  });

  it('is drawn towards no error while pairs are few, and comes to the pairs as they grow', () => {
    const likely = [2, 8, 32, 128].map((count) => one(many(-0.1, count, 0)).bias.likely);
    expect(likely[0]).toBeGreaterThan(-0.03);
    for (const [index, value] of likely.entries())
      if (index > 0) expect(value).toBeLessThan(likely[index - 1] ?? 0);
    expect(likely[3]).toBeCloseTo(-0.1, 1);
  });

  it('keeps scanners apart, and leaves out readings of none', () => {
    const found = deviceErrors([
      ...many(-0.1, 20),
      ...many(0.1, 20).map((each) => ({ ...each, scanner: 'b' })),
      ...many(0.3, 20).map(({ scanner: _none, ...each }) => each),
    ]);
    expect([...found.keys()].toSorted()).toEqual(['a', 'b']);
    expect([found.get('a')?.reads, found.get('b')?.reads]).toEqual(['low', 'high']);
  });
});

describe('caution', () => {
  const [low, high, alike] = [one(many(-0.12, 30)), one(many(0.12, 30)), one(many(0, 30))];

  it('[learnt-bias-only-raises] never lowers a reading, whatever the pairs are', () => {
    fc.assert(
      fc.property(
        evenly(-0.5, 0.5),
        fc.integer({ min: 0, max: 40 }),
        evenly(0, 1500),
        (share, count, volumeMl) => {
          const device = deviceErrors(many(share, count)).get('a');
          return raisedMl(volumeMl, device) >= volumeMl;
        },
      ),
      { seed: 92, numRuns: 300 },
    );
    expect(raisedMl(600, high)).toBe(600);
    expect(raisedMl(600, alike)).toBe(600);
    expect(raisedMl(440, low)).toBeGreaterThan(475);
  });

  it('[learnt-bias-only-raises] takes the earlier of two times', () => {
    expect(earlierMs(100, 200)).toBe(100);
    expect(earlierMs(200, 100)).toBe(100);
    expect(earlierMs(100, undefined)).toBe(100);
    expect(earlierMs(undefined, undefined)).toBeUndefined();
  });

  function course(scanner: string): Maker {
    const m = watched('08:00');
    m.add('08:01', 'context', { topic: 'limit-ml', value: 500, limitSource: 'prescriber' });
    read(m, '09:00', 330, { scanner });
    m.add('09:00', 'step-advised', advised('look-again', instantOfMs(m.at('12:30'))));
    return m;
  }
  const facts = (devices: ReadonlyMap<string, DeviceError> | undefined) => {
    const m = course('a');
    return foldPatient({
      patient: 'p-4',
      entries: m.entries,
      nowMs: m.at('09:01'),
      settings: defaultSettings,
      zone,
      ...(devices === undefined ? {} : { devices }),
    });
  };

  it('brings a look forward for a scanner that reads low, and leaves the reading as it was read', () => {
    const plain = facts(undefined);
    const careful = facts(new Map([['a', low]]));
    expect(careful.due[0]?.dueAtMs).toBeLessThan((plain.due[0]?.dueAtMs ?? 0) - 2 * minuteMs);
    expect(careful.readings).toEqual(plain.readings);
    expect(careful.estimate).toEqual(plain.estimate);
  });

  it('[learnt-bias-only-raises] puts no look back for a scanner that reads high, or another one', () => {
    const plain = facts(undefined);
    for (const devices of [new Map([['a', high]]), new Map([['b', low]])])
      expect(facts(devices).due).toEqual(plain.due);
  });
});

describe('the book of scanners', () => {
  const drainedOnce = (patient: string, readMl: number, drainedMl: number): readonly Entry[] => {
    const m = maker(patient);
    m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    read(m, '10:00', readMl, { scanner: 'a' });
    m.add('10:05', 'drained', { route: 'in-out', volumeMl: drainedMl });
    return m.entries;
  };

  it('gathers the pairs of all patients, and again only when an entry comes', () => {
    const book = deviceBook();
    const groups = new Map(
      Array.from(
        { length: 6 },
        (_, index) => [`p-${index}`, drainedOnce(`p-${index}`, 400 + index, 520)] as const,
      ),
    );
    const first = book.of(groups, []).get('a');
    expect(first?.pairs).toHaveLength(6);
    expect(first?.reads).toBe('low');
    expect(first?.pairs[0]).toMatchObject({ patient: 'p-0', readMl: 400, drainedMl: 520 });
    expect(first?.pairs[0]?.drainedAtMs).toBe(maker().at('10:05'));
    groups.set('p-9', drainedOnce('p-9', 410, 520));
    expect(book.of(groups, []).get('a')?.pairs).toHaveLength(7);
  });

  it('does not count a reading that was doubted', () => {
    const doubted = maker('p-1');
    doubted.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    read(doubted, '10:00', 300, { scanner: 'a', doubts: ['moved'] });
    doubted.add('10:05', 'drained', { route: 'in-out', volumeMl: 520 });
    expect(deviceBook().of([['p-1', doubted.entries]], []).size).toBe(0);
  });
});
