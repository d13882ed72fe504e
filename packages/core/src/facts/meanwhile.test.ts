// Proves     what reached the record long after it happened is told with every decision that the record could not have told it to,
//            and with no other; what became due or went over in the hours is there, what lies outside is not
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { instantOfMs, minuteMs } from '../quantity/index.ts';
import { defaultSettings, type Entry, type KeptEntry } from '../record/index.ts';
import { foldPatient } from './fold.ts';
import { anythingMeanwhile, meanwhileOf, type Meanwhile } from './meanwhile.ts';
import { advised, type Maker } from './testing/make.ts';
import { passed, read, watched, zone } from './testing/course.ts';

/** Received at once, unless a later time is said for the id. */
const keptOf = (m: Maker, later: Readonly<Record<string, string>> = {}): readonly KeptEntry[] =>
  m.entries.map((entry, index) => ({
    entry,
    receivedAt:
      later[entry.id] === undefined ? entry.recordedAt : instantOfMs(m.at(later[entry.id] as string)),
    sequence: index + 1,
  }));
const facts = (entries: readonly Entry[], nowMs: number) =>
  foldPatient({ patient: 'p-4', entries, nowMs, settings: defaultSettings, zone });
const told = (
  m: Maker,
  from: string,
  now: string,
  later: Readonly<Record<string, string>> = {},
  withThen = false,
): Meanwhile => {
  const kept = keptOf(m, later);
  const before = kept.filter((one) => Date.parse(one.receivedAt) <= m.at(from)).map(({ entry }) => entry);
  return meanwhileOf({
    kept,
    facts: facts(m.entries, m.at(now)),
    ...(withThen ? { before: facts(before, m.at(from)) } : {}),
    fromMs: m.at(from),
    toMs: m.at(now),
  });
};
const other = { madeOn: 'tablet-2', author: 'nurse-bs' };

describe('what came in late', () => {
  it('[H5-late-told] is told with the decisions that the record could not have told it to', () => {
    const m = watched();
    const drained = m.add('12:00', 'drained', { route: 'in-out', volumeMl: 500 }, other);
    const look = read(m, '13:00', 200);
    const step = m.add('13:00', 'step-advised', advised('look-again', '2026-05-14T17:00:00+01:00', look.id));
    // The tablet with the drain was away until 14:00; a call at 14:30 could know it.
    m.add('14:30', 'call-made', {
      to: 'Dr Wynn',
      toRole: 'called-clinician',
      ask: 'Please come',
      replyDueAt: '2026-05-14T14:45:00+01:00',
    });
    const { came } = told(m, '11:30', '15:00', { [drained.id]: '14:00' });
    expect(came.map(({ entry, lateMin }) => [entry.kind, lateMin])).toEqual([['drained', 120]]);
    expect(came[0]?.withoutIt.map(({ id }) => id)).toEqual([step.id]);
  });

  it('was known on the tablet that wrote it, and to decisions made before it happened nothing is held', () => {
    const m = watched();
    const early = m.add('11:00', 'step-advised', advised('look-again', '2026-05-14T15:00:00+01:00'));
    const void1 = m.add('12:00', 'void', { how: 'measured', volumeMl: 300 }, other);
    m.add('12:10', 'step-advised', advised('look-again', '2026-05-14T16:00:00+01:00', void1.id), other);
    const { came } = told(m, '10:00', '15:00', { [void1.id]: '14:00' });
    expect(came).toHaveLength(1);
    expect(came[0]?.withoutIt).toEqual([]);
    expect(early.kind).toBe('step-advised');
  });

  it('is told once it is half an hour late, within the hours alone, and not what was set aside', () => {
    const m = watched();
    const near = passed(m, '12:00', 100);
    const late = passed(m, '12:05', 110);
    const gone = passed(m, '12:10', 120);
    const before = passed(m, '08:10', 130);
    m.add('13:30', 'withdrawn', { of: gone.id, reason: 'typing' });
    const { came } = told(m, '12:00', '15:00', {
      [near.id]: '12:29',
      [late.id]: '12:35',
      [gone.id]: '13:00',
      [before.id]: '11:00',
    });
    expect(came.map(({ entry }) => entry.id)).toEqual([late.id]);
  });

  it('from paper, keyed in together, is no decision without knowing: rows of one sheet knew each other', () => {
    const m = watched();
    const at = (time: string) => ({ recordedAt: `2026-05-14T${time}:00+01:00` });
    m.add('12:00', 'void', { how: 'measured', volumeMl: 300 }, at('15:00'));
    m.add('12:30', 'drained', { route: 'in-out', volumeMl: 400 }, at('15:00'));
    const { came } = told(m, '11:00', '16:00');
    expect(came.map(({ entry }) => entry.kind)).toEqual(['void', 'drained']);
    expect(came.flatMap(({ withoutIt }) => withoutIt)).toEqual([]);
  });
});

describe('what became due or went over meanwhile', () => {
  it('is told when it lies in the hours', () => {
    const m = watched();
    const look = read(m, '09:00', 250);
    m.add('09:00', 'step-advised', advised('look-again', '2026-05-14T12:00:00+01:00', look.id));
    const open = told(m, '09:10', '13:00');
    // The forecast may bring the look forward, never put it back.
    expect(open.due).toHaveLength(1);
    expect(open.due[0]?.dueAtMs).toBeLessThanOrEqual(m.at('12:00'));
    expect(open.missed.map(({ outcome }) => outcome)).toEqual(['missed']);
    expect(told(m, '12:30', '13:00').due).toEqual([]);
    const late = m.add('13:30', 'drained', { route: 'in-out', volumeMl: 700 }, other);
    const over = told(m, '13:00', '15:00', { [late.id]: '14:30' });
    expect(over.over.map(({ byEntry }) => byEntry)).toEqual([late.id]);
    expect(over.missed).toEqual([]);
  });

  it('by what was known when the hours began, the limit could be reached in them', () => {
    const m = watched();
    passed(m, '08:05', 300);
    read(m, '09:00', 150);
    read(m, '11:00', 200);
    const { expectedOverMs } = told(m, '11:10', '18:00', {}, true);
    expect(expectedOverMs?.earliest).toBeGreaterThan(m.at('11:10'));
    expect(expectedOverMs?.earliest).toBeLessThan(m.at('17:00'));
    expect(told(m, '11:10', '11:12', {}, true).expectedOverMs).toBeUndefined();
  });

  it('is nothing when nothing was', () => {
    const m = watched();
    passed(m, '08:05', 300);
    expect(anythingMeanwhile(told(m, '08:10', '08:20'))).toBe(false);
    expect(m.at('08:00') + 5 * minuteMs).toBe(m.at('08:05'));
  });
});
