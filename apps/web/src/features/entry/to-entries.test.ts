// Proves     what a draft is recorded as, and that the record refuses what cannot be, in words that help.
// Published  refusals of 4500, −5 and tomorrow: limits of the record (largest volume S-job-V4).
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import { isRefusal, instantInZone, orThrow, uuidV7, type Refusal } from '@ebbline/core/quantity';
import { checkEntry, type Entry } from '@ebbline/core/record';
import { choose, emptyDraft, isAtLeast, keepRepeat, pressKey, toggle, write, type Draft } from './draft.ts';
import { forms } from '@ebbline/core/present';
import type { PadKey } from './keypad.ts';
import { at, factsForTest, zone } from './testing/facts.ts';
import { recordedAs } from './to-entries.ts';

const facts = factsForTest({
  voids: [{ id: 'v', atMs: at('15:20'), how: 'measured', volumeMl: 80, lowMl: 80, highMl: 80 }],
});
const writer = { author: 'kl', nowMs: at('15:52'), zone };

const typed = (draft: Draft, digits: string): Draft =>
  [...digits].reduce((one, key) => pressKey(one, 'volumeMl', key as PadKey), draft);

/** Everything that a save would keep, checked by the record as the replica does it. */
function kept(draft: Draft): readonly Entry[] | Refusal {
  const recorded = recordedAs(draft, facts, writer);
  if (isRefusal(recorded)) return recorded;
  const entries: Entry[] = [];
  for (const [index, one] of recorded.entries()) {
    const entry = checkEntry(
      {
        id: uuidV7(writer.nowMs + index, new Uint8Array(10)),
        organisation: 'o',
        author: 'kl',
        madeOn: 'tablet',
        recordedAt: instantInZone(writer.nowMs, zone),
        effectiveAt: instantInZone(writer.nowMs, zone),
        ...one,
      },
      writer.nowMs,
    );
    if (isRefusal(entry)) return entry;
    entries.push(entry);
  }
  return entries;
}
const refusalOf = (draft: Draft): Refusal => {
  const result = kept(draft);
  if (!isRefusal(result)) throw new Error('was recorded');
  return result;
};
const reading = (digits: string): Draft => typed(emptyDraft('reading', 'p-1'), digits);

describe('a reading', () => {
  it('is refused until somebody has said whether it was before or after a void', () => {
    expect(refusalOf(reading('430')).asked).toBe('Before or after a void?');
  });

  it('keeps the minutes since the last void when it was after one', () => {
    const [entry] = orThrow(kept(choose(reading('430'), 'relation', 'after-void')));
    expect(entry).toMatchObject({
      kind: 'reading',
      payload: {
        result: 'exact',
        volumeMl: 430,
        relation: 'after-void',
        sinceVoidMin: 32,
        doubts: [],
        operator: 'kl',
      },
    });
  });

  it('is "at least" as soon as a doubt shows only part of the bladder [H2-doubt-before-number]', () => {
    const draft = toggle(choose(reading('430'), 'relation', 'after-void'), 'doubts', 'cut-below');
    expect(isAtLeast(draft)).toBe(true);
    expect(orThrow(kept(draft))[0]).toMatchObject({
      payload: { result: 'at-least', volumeMl: 430, doubts: ['cut-below'] },
    });
  });

  it('of 4500 mL is refused with what was found, what is allowed and what to do', () => {
    const refusal = refusalOf(choose(reading('4500'), 'relation', 'no-void'));
    expect(refusal).toMatchObject({
      code: 'record/out-of-range',
      found: '4500 mL',
      where: 'payload.volumeMl',
    });
    expect(refusal.allowed).toContain('4000 mL');
    expect(refusal.todo).not.toMatch(/450\b/);
  });

  it('of −5 mL is refused', () => {
    expect(refusalOf(choose(reading('-5'), 'relation', 'no-void')).found).toBe('-5 mL');
  });

  it('of tomorrow is refused', () => {
    expect(
      refusalOf({ ...choose(reading('430'), 'relation', 'no-void'), atMs: writer.nowMs + 86_400_000 }).code,
    ).toBe('record/in-the-future');
  });

  it('that was not obtained needs a reason and carries no nought', () => {
    const draft = write(
      choose(emptyDraft('reading', 'p-1'), 'relation', 'before-void'),
      'notObtained',
      'yes',
    );
    expect(refusalOf(draft).asked).toBe('Why is there no reading?');
    const [entry] = orThrow(kept(choose(draft, 'reasonNotObtained', 'none-seen')));
    expect(entry?.payload).not.toHaveProperty('volumeMl');
  });

  it('keeps earlier readings of the same look beside the last one', () => {
    const first = keepRepeat(reading('520')) as Draft;
    const second = keepRepeat(typed(first, '610')) as Draft;
    expect(orThrow(kept(choose(typed(second, '585'), 'relation', 'no-void')))[0]).toMatchObject({
      payload: { volumeMl: 585, repeatsMl: [520, 610, 585], repeatRule: 'last' },
    });
  });

  it('starts with no number and no answer, whatever the estimate is [H8-estimate-never-charted]', () => {
    const draft = emptyDraft('reading', 'p-1', { scanner: 'b', volumeMl: '385', relation: 'before-void' });
    expect(draft.values).toEqual({ scanner: 'b' });
    expect(refusalOf(choose(draft, 'relation', 'no-void')).code).toBe('entry/no-reading');
  });
});

describe('a void', () => {
  const passed = emptyDraft('void', 'p-1');
  it('with a number is measured, without one it is not measured', () => {
    expect(orThrow(kept(typed(passed, '80')))[0]).toMatchObject({
      payload: { how: 'measured', volumeMl: 80 },
    });
    expect(orThrow(kept(passed))[0]).toMatchObject({ payload: { how: 'not-measured' } });
  });

  it('by a weighed pad keeps grams as grams', () => {
    const [entry] = orThrow(kept(choose(typed(passed, '120'), 'how', 'pad-weighed')));
    expect(entry).toMatchObject({ payload: { how: 'pad-weighed', padG: 120 } });
    expect(entry?.payload).not.toHaveProperty('volumeMl');
  });

  it('that was not measured can carry no number', () => {
    expect(refusalOf(choose(typed(passed, '80'), 'how', 'not-measured')).code).toBe(
      'entry/number-with-unmeasured',
    );
  });
});

describe('the other forms', () => {
  it('a drain asks how it was drained', () => {
    expect(refusalOf(typed(emptyDraft('drained', 'p-1'), '690')).asked).toBe('How was it drained?');
    expect(
      orThrow(kept(choose(typed(emptyDraft('drained', 'p-1'), '690'), 'route', 'in-out')))[0],
    ).toMatchObject({ payload: { route: 'in-out', volumeMl: 690 } });
  });

  it('a watch that starts with its own limit makes two entries, the limit first', () => {
    const draft = write(
      write(
        choose(emptyDraft('watch-opened', 'p-1'), 'setting', 'after-surgery'),
        'reason',
        'knee replacement',
      ),
      'limitMl',
      '600',
    );
    expect(orThrow(kept(draft)).map((entry) => entry.kind)).toEqual(['context', 'watch-opened']);
  });

  it('a pause without a latest return is refused', () => {
    expect(refusalOf(choose(emptyDraft('watch-paused', 'p-1'), 'reason', 'theatre')).asked).toBe(
      'Back at the latest by',
    );
  });

  it('a call is answered for within the unit’s time', () => {
    const draft = write(
      write(choose(emptyDraft('call-made', 'p-1'), 'toRole', 'called-clinician'), 'to', 'M.O.'),
      'ask',
      'come and examine',
    );
    expect(orThrow(kept(draft))[0]).toMatchObject({ payload: { replyDueAt: '2026-05-14T16:07:00+00:00' } });
  });

  it('three diameters give 291 mL with the coefficient 0.52, which stays with the reading', () => {
    // 10 × 8 × 7 cm × 0.52 = 291.2 mL: the worked example of S-clinical-A11.
    const of = (depth: string): Draft =>
      choose(
        choose(
          write(
            write(write(emptyDraft('calipers', 'p-1'), 'widthMm', '100'), 'heightMm', '80'),
            'depthMm',
            depth,
          ),
          'coefficientId',
          'A11',
        ),
        'relation',
        'no-void',
      );
    expect(orThrow(kept(of('70')))[0]).toMatchObject({
      kind: 'reading',
      payload: {
        volumeMl: 291,
        method: 'calipers',
        coefficient: 0.52,
        coefficientSource: 'S-clinical-A11',
        widthMm: 100,
      },
    });
    expect(refusalOf(of('0')).allowed).toContain('at most 300 mm');
    expect(refusalOf(write(emptyDraft('calipers', 'p-1'), 'widthMm', '100')).code).toBe('entry/not-answered');
  });

  it('a weight and a potassium are kept as numbers, with a comma or a point', () => {
    const of = (topic: string, value: string): Draft =>
      write(choose(emptyDraft('measure', 'p-1'), 'topic', topic), 'value', value);
    expect(orThrow(kept(of('potassium-mmol-per-l', '5,9')))[0]).toMatchObject({
      payload: { topic: 'potassium-mmol-per-l', value: 5.9 },
    });
    expect(orThrow(kept(of('weight-kg', '74')))[0]).toMatchObject({ payload: { value: 74 } });
    expect(refusalOf(of('weight-kg', '74 kg')).code).toBe('entry/not-a-number');
    expect(refusalOf(of('weight-kg', '740')).allowed).toContain('400 kg');
  });

  it('a drug asks how it stands, and a diuretic by which way', () => {
    const diuretic = choose(choose(emptyDraft('drug', 'p-1'), 'topic', 'loop-diuretic'), 'state', 'given');
    expect(refusalOf(diuretic).asked).toBe('By which way');
    expect(orThrow(kept(choose(diuretic, 'route', 'iv')))[0]).toMatchObject({
      kind: 'context',
      payload: { route: 'iv' },
    });
  });

  it('a move to another ward offers the watch to a nurse there; one to another bed does not', () => {
    const move = (ward: string): Draft =>
      write(choose(emptyDraft('transferred', 'p-1'), 'ward', ward), 'bed', '12');
    const [moved, offered] = orThrow(kept(move('ward-nine')));
    expect(moved).toMatchObject({ kind: 'transferred' });
    expect(offered).toMatchObject({
      kind: 'ownership-offered',
      payload: { toRole: 'nurse', toWard: 'ward-nine', occasion: 'transfer' },
    });
    expect(orThrow(kept(move('ward-six')))).toHaveLength(1);
  });

  it('each has a title, a main key and names of its own', () => {
    expect(new Set(forms.map((form) => form.id)).size).toBe(forms.length);
    for (const form of forms) expect(form.title.length * form.save.length).toBeGreaterThan(0);
  });
});
