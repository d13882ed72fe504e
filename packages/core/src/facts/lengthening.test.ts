// Proves     the forecast puts a look later only inside the range that the protocol's row gives, only where the unit has
//            signed, only while the limit stays unlikely; without any of these the protocol's time stands.
// Method     one worked course, then seeded random courses with and without ranges and signatures.
import { describe, expect, it } from 'vitest';
import { dayMs, instantOfMs, minuteMs, seededRandom } from '../quantity/index.ts';
import { defaultSettings, type Lengthening, type UnitSettings } from '../record/index.ts';
import type { DueItem, PatientFacts } from './types.ts';
import { at, read, watched } from './testing/course.ts';
import { advised, type Maker } from './testing/make.ts';

const signed: Lengthening = {
  signed: {
    person: 'nora',
    name: 'Nora Tideway',
    role: 'specialist-nurse',
    at: '2026-05-01T08:00:00+01:00',
  },
  within: 181,
  pairs: 200,
};
const on: Partial<UnitSettings> = { lengthening: signed };
const iso = (m: Maker, time: string): string => instantOfMs(m.at(time));
const time = (ms: number): string => new Date(ms + 60 * minuteMs).toISOString().slice(11, 16);

/** Two low readings with slow filling between them; the second look's row says by 11:00, and perhaps no later than `latest`. */
function slow(latest?: string, secondMl = 70): Maker {
  const m = watched();
  m.add('08:00', 'context', { topic: 'limit-ml', value: 800 });
  read(m, '08:30', 60);
  const second = read(m, '09:30', secondMl);
  m.add('09:30', 'step-advised', {
    ...advised('look-again', iso(m, '11:00'), second.id),
    ...(latest === undefined ? {} : { noLaterThanAt: iso(m, latest) }),
  });
  return m;
}
const settings = { ownLimitHighestMl: 800 };
const lookOf = (facts: PatientFacts): DueItem => facts.due[0] as DueItem;
const dueAt = (m: Maker, change: Partial<UnitSettings> = {}): string =>
  time(lookOf(at(m, '09:40', { ...settings, ...change })).dueAtMs);

describe('the switch that may lengthen an interval', () => {
  it('is off until somebody signs: the row’s ordinary time stands, whatever range it gives', () => {
    expect(dueAt(slow('12:00'))).toBe('11:00');
  });

  it('[H3-lengthen-signed] counts only while the signature stands, on figures that meet the unit’s bars', () => {
    const m = slow('12:00');
    expect(dueAt(m)).toBe('11:00');
    const now = '2026-05-14T09:35:00+01:00';
    for (const [name, lengthening] of [
      ['taken back', { ...signed, revoked: { ...signed.signed, at: now } }],
      ['signed later', { ...signed, signed: { ...signed.signed, at: '2026-05-14T10:00:00+01:00' } }],
      ['run out', { ...signed, signed: { ...signed.signed, at: '2026-02-01T08:00:00+01:00' } }],
      ['signed by another role', { ...signed, signed: { ...signed.signed, role: 'manager' as const } }],
      ['on too few pairs', { ...signed, within: 99, pairs: 99 }],
      ['on too many misses', { ...signed, within: 165 }],
    ] as const)
      expect(dueAt(m, { lengthening }), name).toBe('11:00');
    expect(dueAt(m, { lengthening: signed, lengthenPairsAtLeast: 201 })).toBe('11:00');
    expect(dueAt(m, { lengthening: signed })).toBe('12:00');
  });

  it('[H3-lengthen-in-range] never puts a look past the latest time of its row, and one time is no range', () => {
    expect(dueAt(slow('12:00'), on)).toBe('12:00');
    expect(dueAt(slow('11:30'), on)).toBe('11:30');
    expect(dueAt(slow(), on)).toBe('11:00');
  });

  it('ends where the chance of being over the limit reaches the tolerance, before the range does', () => {
    const m = slow('18:00', 250);
    const look = lookOf(at(m, '09:40', { ...settings, ...on }));
    expect(look.lengthened?.fromMs).toBe(m.at('11:00'));
    expect(look.dueAtMs).toBeGreaterThan(m.at('11:00'));
    expect(look.dueAtMs).toBeLessThan(m.at('18:00'));
    expect(lookOf(at(m, '09:40', { ...settings, ...on, overLimitTolerance: 0.2 })).dueAtMs).toBeGreaterThan(
      look.dueAtMs,
    );
  });

  it('still brings a look forward: the signature takes nothing from the caution', () => {
    const m = slow('12:00', 700);
    expect(lookOf(at(m, '09:40', { ...settings, ...on })).broughtForward).toBeDefined();
    expect(dueAt(m, on)).toBe(dueAt(m));
  });

  it('lets nothing wait on one informative entry, nor on an estimate that is not valid', () => {
    const m = watched();
    m.add('08:00', 'context', { topic: 'limit-ml', value: 800 });
    const only = read(m, '09:30', 70);
    m.add('09:30', 'step-advised', {
      ...advised('look-again', iso(m, '11:00'), only.id),
      noLaterThanAt: iso(m, '12:00'),
    });
    expect(dueAt(m, on)).toBe('11:00');
    const bowel = slow('12:00');
    bowel.add('09:31', 'caution', { caution: 'neobladder', present: true });
    expect(dueAt(bowel, on)).toBe('11:00');
  });

  it('counts a look at the lengthened time as done in time, and as late without the signature', () => {
    const m = slow('12:00');
    read(m, '11:55', 130);
    const outcome = (change: Partial<UnitSettings>): string | undefined =>
      at(m, '12:30', { ...settings, ...change }).pastLooks.at(-1)?.outcome;
    expect(outcome(on)).toBe('in-time');
    expect(outcome({})).toBe('late');
  });

  it('is overdue from the lengthened time on', () => {
    const m = slow('12:00');
    expect(lookOf(at(m, '11:30', { ...settings, ...on })).overdue).toBe(false);
    expect(lookOf(at(m, '12:15', { ...settings, ...on })).overdue).toBe(true);
  });
});

describe('over random courses', () => {
  it('no look is ever due later than the protocol allows, and without a signature never later than its ordinary time', () => {
    const random = seededRandom(20_260_514);
    let lengthened = 0;
    let forward = 0;
    const courses = process.env['EBBLINE_LONG'] === '1' ? 10_000 : 1000;
    for (let course = 0; course < courses; course += 1) {
      const m = watched();
      const clock = (minute: number): string => instantOfMs(m.at('08:00') + minute * minuteMs);
      let minute = 5;
      let volumeMl = random.below(300);
      const steps: { dueMs: number; latestMs: number; fromMinute: number }[] = [];
      for (let step = 0; step < 2 + random.below(4); step += 1) {
        const entry =
          random.below(4) === 0
            ? m.add(clock(minute), 'void', { how: 'measured', volumeMl: 50 + random.below(400) })
            : read(m, clock(minute), volumeMl, {
                ...(random.below(5) === 0 ? { result: 'at-least' } : {}),
                doubts: random.below(5) === 0 ? ['unsure-aim'] : [],
              });
        const inMin = 15 + random.below(240);
        const moreMin = random.below(2) === 0 ? undefined : random.below(180);
        m.add(clock(minute), 'step-advised', {
          ...advised('look-again', clock(minute + inMin), entry.id),
          ...(moreMin === undefined ? {} : { noLaterThanAt: clock(minute + inMin + moreMin) }),
        });
        const dueMs = m.at('08:00') + (minute + inMin) * minuteMs;
        steps.push({ dueMs, latestMs: dueMs + (moreMin ?? 0) * minuteMs, fromMinute: minute });
        minute += 20 + random.below(200);
        volumeMl = random.below(650);
      }
      const last = steps.at(-1) as (typeof steps)[number];
      const nowAt = clock(last.fromMinute + random.below(12) * 10);
      const pairs = 60 + random.below(200);
      const may: Lengthening = {
        signed: { ...signed.signed, at: instantOfMs(m.at('08:00') - random.below(120) * dayMs) },
        pairs,
        within: Math.round(pairs * (0.8 + 0.2 * random.next())),
      };
      const without = lookOf(at(m, nowAt));
      const withIt = lookOf(at(m, nowAt, { lengthening: may }));
      expect(without.dueAtMs).toBeLessThanOrEqual(last.dueMs);
      expect(withIt.dueAtMs).toBeLessThanOrEqual(last.latestMs);
      expect(withIt.dueAtMs).toBeGreaterThanOrEqual(without.dueAtMs);
      expect(withIt.protocolDueAtMs).toBe(last.dueMs);
      if (withIt.lengthened) lengthened += 1;
      if (withIt.broughtForward) forward += 1;
    }
    // Both ways were taken often enough for the bounds to have been tried.
    expect(lengthened).toBeGreaterThan(10);
    expect(forward).toBeGreaterThan(50);
  }, 300_000);
});

describe('default settings', () => {
  it('ask for 100 pairs, 80 % and hold for 90 days, unsigned', () => {
    expect(defaultSettings).toMatchObject({
      lengthenPairsAtLeast: 100,
      lengthenHitsAtLeast: 0.8,
      lengthenForDays: 90,
    });
    expect('lengthening' in defaultSettings).toBe(false);
  });
});
