// Proves     the unit's figures by a ward small enough to count by hand: the paired figure, looks, catheter-days, days on watch.
// Published  a catheter-day is one per indwelling urethral catheter at the same time each day; in-and-out and suprapubic don't
//            count (S-clinical-I3). Wilson interval of a share: S-clinical-K13.
import { describe, expect, it } from 'vitest';
import { defaultSettings, type Entry } from '../record/index.ts';
import { catheterDays } from './catheter.ts';
import { unitFigures } from './unit.ts';
import { advised, maker } from './testing/make.ts';

const zone = 'Europe/London';

function patient(id: string, act: (m: ReturnType<typeof maker>) => void): readonly Entry[] {
  const m = maker(id);
  // Ids are made from the time and a counter; a patient's own byte keeps them apart.
  const add = m.add;
  const apart = id
    .charCodeAt(id.length - 1)
    .toString(16)
    .padStart(2, '0');
  m.add = (at, kind, payload, extra) => {
    const entry = add(at, kind, payload, { patient: id, ...extra });
    (entry as { id: string }).id = entry.id.slice(0, -2) + apart;
    return entry;
  };
  m.add('06:00', 'patient-registered', {
    familyName: 'X',
    givenName: id,
    ageYears: 60,
    sex: 'male',
    identifierSystem: 's',
    identifierValue: id,
    ward: 'six',
    bed: id,
  });
  act(m);
  return m.entries;
}

describe('the figures of a ward counted by hand', () => {
  const entries = [
    // a: measured, looked at in time, no catheter.
    ...patient('p-a', (m) => {
      m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
      m.add('08:00', 'step-advised', advised('look-again', '2026-05-14T09:00:00+01:00'));
      m.add('09:05', 'reading', { result: 'exact', volumeMl: 200, relation: 'no-void', doubts: [] });
      m.add('09:05', 'step-advised', advised('watch-can-end', '2026-05-14T10:05:00+01:00'));
      m.add('10:00', 'watch-closed', { outcome: 'emptying' });
    }),
    // b: looked at 40 minutes late, found over the limit, drained.
    ...patient('p-b', (m) => {
      m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
      m.add('08:00', 'step-advised', advised('look-again', '2026-05-14T09:00:00+01:00'));
      m.add('09:40', 'reading', { result: 'exact', volumeMl: 620, relation: 'no-void', doubts: [] });
      m.add('09:50', 'drained', { route: 'in-out', volumeMl: 640 });
    }),
    // c: never looked at; a void that nobody measured.
    ...patient('p-c', (m) => {
      m.add('08:00', 'watch-opened', { setting: 'after-birth', reason: 'x' });
      m.add('08:00', 'step-advised', advised('look-again', '2026-05-14T12:00:00+01:00'));
      m.add('09:00', 'void', { how: 'not-measured' });
    }),
    // d: an indwelling catheter over three mornings, then out.
    ...patient('p-d', (m) => {
      m.add('2026-05-14T20:00:00+01:00', 'catheter-placed', { route: 'urethral', reason: 'acute-retention' });
      m.add('2026-05-17T07:00:00+01:00', 'catheter-removed', { reason: 'planned' });
    }),
  ];
  const figures = unitFigures({
    entries,
    ward: 'six',
    fromMs: Date.parse('2026-05-14T00:00:00+01:00'),
    toMs: Date.parse('2026-05-18T00:00:00+01:00'),
    settings: defaultSettings,
    zone,
  });

  it('show avoided catheters and late detections together, each with the entries behind it', () => {
    expect(figures.watches).toBe(3);
    expect(figures.paired.cathetersAvoided).toMatchObject({ count: 1, of: 2, behind: [{ patient: 'p-a' }] });
    expect(figures.paired.lateDetections).toMatchObject({ count: 1, of: 2, behind: [{ patient: 'p-b' }] });
    // Wilson, 1 of 2: 0.0945 to 0.9055 by the closed form.
    expect(figures.paired.lateDetections.intervalPercent?.low).toBeCloseTo(9.4531, 3);
  });
  it('count looks in time, late and missed', () => {
    expect([figures.looks.inTime.count, figures.looks.late.count, figures.looks.missed.count]).toEqual([
      1, 1, 1,
    ]);
  });
  it("count catheter-days at the unit's hour: 15, 16 and 17 May", () => {
    expect(figures.catheterDays).toBe(3);
    expect(figures.inOuts).toBe(1);
    expect(figures.voids).toEqual({ all: 1, unmeasured: 1 });
  });
  it('count days on watch or with a catheter at the same hour', () => {
    // b and c stay on watch: 15, 16, 17 May each; d has the catheter on those three; a's watch ended before any count.
    expect(figures.watchedDays).toBe(9);
  });
});

describe('catheter-days', () => {
  const stay = (route: 'urethral' | 'suprapubic', day: string, from: string, to: string) => {
    const m = maker('p', day, '+01:00');
    m.add(from, 'catheter-placed', { route, reason: 'surgery' });
    m.add(to, 'catheter-removed', { reason: 'planned' });
    return m.entries;
  };
  it('give 5 + 6 + 4 = 15 for three stays, as in the printed example', () => {
    // S-clinical-I3, worked example 5 + 6 + 4.
    const days = [
      ['2026-05-01T10:00:00+01:00', '2026-05-06T10:00:00+01:00'],
      ['2026-05-01T10:00:00+01:00', '2026-05-07T10:00:00+01:00'],
      ['2026-05-01T10:00:00+01:00', '2026-05-05T10:00:00+01:00'],
    ].map(([from, to]) =>
      catheterDays(
        stay('urethral', '2026-05-01', from as string, to as string),
        Date.parse('2026-06-01T00:00:00Z'),
        6,
        zone,
      ),
    );
    expect(days).toEqual([5, 6, 4]);
  });
  it('do not count a suprapubic catheter', () => {
    expect(
      catheterDays(
        stay('suprapubic', '2026-05-01', '2026-05-01T10:00:00+01:00', '2026-05-06T10:00:00+01:00'),
        Date.parse('2026-06-01T00:00:00Z'),
        6,
        zone,
      ),
    ).toBe(0);
  });
  it('count each morning once over the nights on which the clock changes', () => {
    expect(
      catheterDays(
        stay('urethral', '2026-10-24', '2026-10-24T10:00:00+01:00', '2026-10-27T10:00:00+00:00'),
        Date.parse('2026-11-01T00:00:00Z'),
        1,
        zone,
      ),
    ).toBe(3);
    expect(
      catheterDays(
        stay('urethral', '2026-03-28', '2026-03-28T10:00:00+00:00', '2026-03-31T10:00:00+01:00'),
        Date.parse('2026-04-01T00:00:00Z'),
        1,
        zone,
      ),
    ).toBe(3);
  });
});
