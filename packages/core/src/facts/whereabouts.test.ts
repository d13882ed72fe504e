// Proves     the ward of every minute follows registrations and transfers that stand, in any order of arrival; each mark
//            is given for its own reason and for no other
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { instantOfMs } from '../quantity/index.ts';
import type { Entry } from '../record/index.ts';
import { unusualAbout, whereaboutsOf } from './whereabouts.ts';

const startMs = Date.parse('2026-05-12T08:00:00Z');
const hour = (count: number): number => startMs + count * 3_600_000;
let count = 0;
const entry = (kind: Entry['kind'], atMs: number, payload: unknown, over: Partial<Entry> = {}): Entry =>
  ({
    id: `e-${(count += 1)}`,
    organisation: 'saltmarsh',
    patient: 'p1',
    effectiveAt: instantOfMs(atMs),
    recordedAt: instantOfMs(atMs),
    timeQuality: 'exact',
    author: 'nurse',
    madeOn: 'tablet-1',
    kind,
    payload,
    ...over,
  }) as Entry;
const registered = entry('patient-registered', hour(0), { ward: 'a', bed: '1' });
const toB = entry('transferred', hour(2), { ward: 'b', bed: '2' });
const toC = entry('transferred', hour(4), { ward: 'c', bed: '2' });
const undone = entry('withdrawn', hour(5), { of: toC.id, reason: 'typing' });
const closed = entry('watch-closed', hour(6), { outcome: 'left-hospital' });
const all = [closed, undone, toC, registered, toB];

describe('whereabouts', () => {
  it('are by the registrations and transfers that stand, whatever the order of arrival', () => {
    for (const entries of [all, all.toReversed()]) {
      const where = whereaboutsOf('p1', entries);
      expect([-1, 0, 1, 2, 5, 9].map((at) => where.wardAt(hour(at)))).toEqual([
        undefined,
        'a',
        'a',
        'b',
        'b',
        'b',
      ]);
      expect(where.wardsUntil(hour(3))).toEqual(['a', 'b']);
      expect([5, 6, 7].map((at) => where.watchOverAt(hour(at)))).toEqual([false, true, true]);
    }
  });

  it('end being over when another watch begins', () => {
    const opened = entry('watch-opened', hour(8), { setting: 'child', reason: 'again' });
    expect(whereaboutsOf('p1', [...all, opened]).watchOverAt(hour(9))).toBe(false);
  });
});

describe('what is out of the ordinary', () => {
  const where = whereaboutsOf('p1', all);
  const look = { person: 'nurse', atMs: hour(1), heardAtMs: hour(1), wards: ['a'] };

  it('is nothing for a person of the ward, or of no ward, at the time', () => {
    expect(unusualAbout(look, where)).toEqual([]);
    expect(unusualAbout({ ...look, wards: [] }, where)).toEqual([]);
    expect(unusualAbout(look, undefined)).toEqual([]);
  });

  it('is another ward, or a ward that the patient had left', () => {
    expect(unusualAbout({ ...look, wards: ['b'] }, where)).toEqual(['other-ward']);
    const later = { ...look, atMs: hour(3), heardAtMs: hour(3) };
    expect(unusualAbout(later, where)).toEqual(['had-left']);
    expect(unusualAbout({ ...later, wards: ['z'] }, where)).toEqual(['other-ward']);
  });

  it('is a record that this person had opened with a reason, as long as that held', () => {
    const opened = entry(
      'opened-with-reason',
      hour(1),
      { reason: 'cover', until: instantOfMs(hour(3)) },
      { author: 'far' },
    );
    const opens = whereaboutsOf('p1', [...all, opened]);
    const far = (at: number) => ({ person: 'far', atMs: hour(at), heardAtMs: hour(at), wards: ['z'] });
    expect(unusualAbout(far(2), opens)).toEqual(['other-ward', 'with-reason']);
    expect(unusualAbout(far(3), opens)).toEqual(['other-ward']);
    expect(unusualAbout({ ...far(2), person: 'nurse' }, opens)).toEqual(['other-ward']);
  });

  it('is a watch that was over, and what was told later or by somebody else', () => {
    expect(unusualAbout({ ...look, wards: ['b'], atMs: hour(7), heardAtMs: hour(7) }, where)).toEqual([
      'watch-over',
    ]);
    expect(unusualAbout({ ...look, heardAtMs: hour(1) + 11 * 60_000 }, where)).toEqual(['told-later']);
    expect(unusualAbout({ ...look, heardAtMs: hour(1) + 9 * 60_000, carriedBy: 'x' }, where)).toEqual([
      'carried',
    ]);
  });
});
