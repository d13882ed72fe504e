// Proves     rows of a paper form are recorded in the order in which they happened, each knowing the ones before it, marked as
//            copied, all or none; times in the future, unreadable, left out or shown twice are refused with what to do; what is
//            owned and due afterwards follows from them; what a person typed survives as a draft
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal, orThrow } from '@ebbline/core/quantity';
import { timelineRows } from '@ebbline/core/present';
import { adviseAfter } from '../../shared/bedside/advise.ts';
import { fakeRecord, openTablet, registered, startMs, type Tablet } from '../../shell/testing/fakes.ts';
import { emptyDraft } from './draft.ts';
import {
  draftOfRows,
  inEventOrder,
  instantOf,
  isBlank,
  nextRow,
  rowsOfDraft,
  type PaperRow,
} from './paper-rows.ts';
import { latestFirst, saidAlready, together, type NotTogether, type Together } from './together.ts';

const zone = 'Europe/Copenhagen';
let key = 0;
const row = (
  typed: string,
  form: string,
  values: Record<string, string>,
  more: Partial<PaperRow> = {},
): PaperRow => ({
  key: (key += 1),
  day: 0,
  typed,
  draft: { ...emptyDraft(form, 'p1'), values },
  ...more,
});
async function watched(): Promise<Tablet> {
  const tablet = await openTablet(fakeRecord());
  const { patient, payload } = registered('p1');
  orThrow(
    await tablet.replica.record([
      { patient, kind: 'patient-registered', payload: { ...(payload as object), ageYears: 61 } as never },
    ]),
  );
  orThrow(
    await tablet.replica.record([
      {
        patient: 'p1',
        kind: 'watch-opened',
        effectiveAt: '2026-05-14T10:00:00Z' as never,
        payload: { setting: 'after-surgery', reason: 'tests', owner: tablet.replica.me.id },
      },
    ]),
  );
  return tablet;
}
const writer = { author: 'ida-vell', nowMs: startMs, zone };
const all = (tablet: Tablet, rows: readonly PaperRow[]): Together | NotTogether => {
  const ordered = inEventOrder(rows, startMs, zone);
  return 'refusal' in ordered
    ? ordered
    : together(ordered, tablet.replica.factsOf('p1'), tablet.replica, writer);
};
const refused = (answer: Together | NotTogether): NotTogether => {
  if (!('refusal' in answer)) throw new Error('was taken');
  return answer;
};
const taken = (answer: Together | NotTogether): Together => {
  if ('refusal' in answer) throw new Error(answer.refusal.code);
  return answer;
};

describe('rows from paper', () => {
  it('[H5-event-order] are recorded by when they happened, whatever order they were keyed in', async () => {
    const tablet = await watched();
    const { recorded, prepared } = taken(
      all(tablet, [
        row('17:40', 'drained', { volumeMl: '420', route: 'in-out' }),
        row('1510', 'void', { volumeMl: '180' }),
        row('15.20', 'reading', { volumeMl: '310', relation: 'after-void' }),
      ]),
    );
    expect(prepared.map((one) => `${one.effectiveAt} ${one.kind}`)).toEqual([
      '2026-05-14T15:10:00+02:00 void',
      '2026-05-14T15:20:00+02:00 reading',
      '2026-05-14T17:40:00+02:00 drained',
    ]);
    // The reading knows of the void that stands above it on the same paper.
    expect(prepared[1]?.payload).toMatchObject({ relation: 'after-void', sinceVoidMin: 10 });
    expect(prepared.every((one) => one.copiedFrom === 'paper')).toBe(true);
    expect(prepared.every((one) => instantMs(one.recordedAt) === startMs)).toBe(true);
    const kept = orThrow(await tablet.replica.record(recorded));
    expect(kept.map(({ id }) => id)).toEqual(prepared.map(({ id }) => id));
    const facts = tablet.replica.factsOf('p1');
    expect([facts.voids.length, facts.readings.length, facts.drains.length]).toEqual([1, 1, 1]);
    expect(facts.owner).toEqual({ kind: 'person', person: 'ida-vell' });
    expect(facts.due.length).toBeGreaterThan(0);
    expect(timelineRows(facts, zone).find((one) => one.what.startsWith('Drained'))?.remark).toContain(
      'From paper. Keyed in 50 min later.',
    );
  });

  it('are all kept or none: one that can’t be recorded names its row, and nothing is', async () => {
    const tablet = await watched();
    const before = tablet.replica.entries().length;
    const good = row('15:10', 'void', { volumeMl: '180' });
    const bad = row('16:00', 'reading', { volumeMl: '4500', relation: 'no-void' });
    expect(refused(all(tablet, [good, bad])).row).toBe(bad.key);
    const open = row('16:00', 'reading', { volumeMl: '450' });
    expect(refused(all(tablet, [good, open])).refusal.code).toBe('entry/not-answered');
    const none = row('16:00', 'catheter-removed', { reason: 'planned' });
    expect(refused(all(tablet, [good, none])).refusal.code).toBe('entry/not-now');
    const placed = row('15:00', 'catheter-placed', { route: 'urethral', reason: 'acute-retention' });
    expect(taken(all(tablet, [good, none, placed])).prepared).toHaveLength(3);
    expect(tablet.replica.entries()).toHaveLength(before);
  });

  it('with a sum that fails are asked about, row by row', async () => {
    const tablet = await watched();
    const slip = row('15:40', 'drained', { volumeMl: '3100', route: 'in-out' });
    const { questions } = taken(
      all(tablet, [row('15:20', 'reading', { volumeMl: '310', relation: 'no-void' }), slip]),
    );
    expect(questions.map((one) => one.row)).toEqual([slip.key]);
  });

  it('that say nothing are left out', async () => {
    const tablet = await watched();
    const blank = nextRow('p1', [row('15:10', 'void', { volumeMl: '180' }, { day: -1 })], 'reading');
    expect(blank).toMatchObject({ day: -1, typed: '', draft: { form: 'void', values: {} } });
    expect(isBlank(blank)).toBe(true);
    expect(taken(all(tablet, [blank])).prepared).toEqual([]);
  });

  it('make a draft that is put back as it was', () => {
    const rows = [row('15:10', 'void', { volumeMl: '180' }), row('', 'reading', {})];
    expect(rowsOfDraft(draftOfRows('p1', rows))).toEqual(rows);
    expect(draftOfRows('p1', [row('', 'reading', {})]).values).toEqual({});
  });
});

describe('a time on paper', () => {
  const at = (typed: string, more: Partial<PaperRow> = {}, nowMs = startMs, inZone = zone) =>
    instantOf(row(typed, 'void', {}, more), nowMs, inZone);
  const code = (value: number | ReturnType<typeof at>): string => (isRefusal(value) ? value.code : 'taken');

  it('is read with or without its colon, on the day that was said', () => {
    expect(at('0510')).toBe(Date.parse('2026-05-14T03:10:00Z'));
    expect(at('23:50', { day: -1 })).toBe(Date.parse('2026-05-13T21:50:00Z'));
    for (const typed of ['', '25:00', '12', 'ten']) expect(code(at(typed))).toBe('entry/no-time');
  });

  it('of the future is refused: yesterday has to be said', async () => {
    const tablet = await watched();
    expect(refused(all(tablet, [row('23:50', 'void', { volumeMl: '90' })])).refusal.code).toBe(
      'record/in-the-future',
    );
    expect(taken(all(tablet, [row('23:50', 'void', { volumeMl: '90' }, { day: -1 })])).prepared).toHaveLength(
      1,
    );
  });

  it('that the clock left out, or showed twice, is asked about', () => {
    const spring = Date.parse('2026-03-29T10:00:00Z');
    expect(code(at('02:30', {}, spring))).toBe('entry/no-such-time');
    const autumn = Date.parse('2026-10-25T10:00:00Z');
    expect(code(at('02:30', {}, autumn))).toBe('entry/time-twice');
    expect(at('02:30', { second: false }, autumn)).toBe(Date.parse('2026-10-25T00:30:00Z'));
    expect(at('02:30', { second: true }, autumn)).toBe(Date.parse('2026-10-25T01:30:00Z'));
  });
});

describe('the step afterwards', () => {
  it('is asked about what happened last, and not said twice', async () => {
    const tablet = await watched();
    const first = taken(
      all(tablet, [
        row('16:20', 'void', { volumeMl: '200' }),
        row('15:20', 'reading', { volumeMl: '310', relation: 'no-void' }),
        row('16:25', 'reading', { volumeMl: '120', relation: 'after-void' }),
      ]),
    );
    const advised = await adviseAfter(first.facts, latestFirst(first.facts), zone, []);
    if (advised === undefined || isRefusal(advised)) throw new Error('nothing advised');
    expect(advised.becauseOf).toBe(first.prepared[2]?.id);
    expect(saidAlready(first.facts, advised)).toBe(false);
    const effectiveAt = first.prepared[2]?.effectiveAt as never;
    orThrow(
      await tablet.replica.record([
        ...first.recorded,
        { patient: 'p1', kind: 'step-advised', payload: advised, effectiveAt },
      ]),
    );
    expect(tablet.replica.factsOf('p1').due[0]?.row?.id).toBe(advised.rowId);
    // A drink that was forgotten changes nothing of it.
    const more = taken(all(tablet, [row('14:00', 'intake', { volumeMl: '200', route: 'oral' })]));
    const again = await adviseAfter(more.facts, latestFirst(more.facts), zone, []);
    expect(again !== undefined && !isRefusal(again) && saidAlready(more.facts, again)).toBe(true);
    // A drain that was forgotten, after the reading, does.
    const late = taken(all(tablet, [row('17:00', 'drained', { volumeMl: '150', route: 'in-out' })]));
    const anew = await adviseAfter(late.facts, latestFirst(late.facts), zone, []);
    expect(anew !== undefined && !isRefusal(anew) && saidAlready(late.facts, anew)).toBe(false);
  });
});
