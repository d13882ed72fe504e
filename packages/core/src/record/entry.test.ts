// Proves     checkEntry takes every good entry whole, and refuses every bad one whole: with what was found, what is allowed,
//            what to do and a stable code, and without a word about whose record it is
// Published  -
// Tolerance  exact
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, refusalSentence, type Refusal } from '../quantity/refusal.ts';
import { checkEntry, compareEntries, type Entry } from './entry.ts';
import { entryKinds, payloadShapes } from './kinds.ts';
import { practiceRecordOf } from './practice.ts';

const nowMs = Date.parse('2026-11-25T18:30:00+01:00');
const id = '019aa000-0000-7000-8000-000000000001';
const other = '019aa000-0000-7000-8000-000000000002';

const envelope = {
  id,
  organisation: 'selvoy-coast',
  patient: 'patient-knee',
  effectiveAt: '2026-11-25T18:20:00+01:00',
  timeQuality: 'exact',
  recordedAt: '2026-11-25T18:21:00+01:00',
  author: 'tove-wrenfield',
  madeOn: 'tablet-2',
};
const reading = {
  ...envelope,
  kind: 'reading',
  payload: { result: 'exact', volumeMl: 450, relation: 'no-void', doubts: [] },
};
const advice = {
  step: 'look-again',
  dueAt: '2026-11-25T20:00:00+01:00',
  ownerRole: 'nurse',
  why: 'Look again.',
  rowId: 'T-01',
  rowText: 'Look again in 90 min.',
  rowSourceId: 'unit choice',
  protocolId: 'test',
  protocolVersion: 1,
  protocolApproval: 'example-not-approved',
};
const withPayload = (kind: string, payload: unknown, more: object = {}): unknown => ({
  ...envelope,
  kind,
  payload,
  ...more,
});
const readingOf = (change: object): unknown => withPayload('reading', { ...reading.payload, ...change });

/** The refusal of a bad entry; the test fails when it is taken. */
function refused(value: unknown): Refusal {
  const answer = checkEntry(value, nowMs);
  if (!isRefusal(answer)) throw new Error(`taken, but should be refused: ${JSON.stringify(value)}`);
  return answer;
}

describe('a good entry', () => {
  it('is taken whole and unchanged', () => {
    expect(checkEntry(reading, nowMs)).toEqual(reading);
  });

  it('gets "exact" for its time when nothing is said about it', () => {
    const { timeQuality: _said, ...unsaid } = reading;
    expect(checkEntry(unsaid, nowMs)).toEqual(reading);
  });

  it('may be charted hours after it happened', () => {
    expect(isRefusal(checkEntry({ ...reading, effectiveAt: '2026-11-25T03:00:00+01:00' }, nowMs))).toBe(
      false,
    );
  });

  it('may be a minute ahead of this clock', () => {
    expect(isRefusal(checkEntry({ ...reading, effectiveAt: '2026-11-25T18:31:00+01:00' }, nowMs))).toBe(
      false,
    );
  });

  it('may be a look whose row gives a range', () => {
    const ranged = withPayload('step-advised', { ...advice, noLaterThanAt: '2026-11-25T21:00:00+01:00' });
    expect(isRefusal(checkEntry(ranged, nowMs))).toBe(false);
  });

  it('may be a void that was not measured, without a volume', () => {
    expect(isRefusal(checkEntry(withPayload('void', { how: 'not-measured' }), nowMs))).toBe(false);
  });

  it('may say that no reading was obtained, with a reason and without a volume', () => {
    expect(
      isRefusal(
        checkEntry(
          withPayload('reading', {
            result: 'not-obtained',
            reasonNotObtained: 'pain',
            relation: 'no-void',
            doubts: [],
          }),
          nowMs,
        ),
      ),
    ).toBe(false);
  });

  it('may be 0 mL', () => {
    expect(isRefusal(checkEntry(readingOf({ volumeMl: 0 }), nowMs))).toBe(false);
  });
});

const badEntries: readonly (readonly [
  what: string,
  value: unknown,
  code: string,
  where: string | undefined,
  found: RegExp,
])[] = [
  ['4500 typed for 450', readingOf({ volumeMl: 4500 }), 'record/out-of-range', 'payload.volumeMl', /4500 mL/],
  ['a minus sign', readingOf({ volumeMl: -450 }), 'record/out-of-range', 'payload.volumeMl', /-450 mL/],
  ['half a millilitre', readingOf({ volumeMl: 450.5 }), 'record/not-whole', 'payload.volumeMl', /450\.5 mL/],
  ['a number as text', readingOf({ volumeMl: '450' }), 'record/not-a-number', 'payload.volumeMl', /"450"/],
  ['no number at all', readingOf({ volumeMl: Number.NaN }), 'record/not-a-number', 'payload.volumeMl', /NaN/],
  ['null for the volume', readingOf({ volumeMl: null }), 'record/not-a-number', 'payload.volumeMl', /null/],
  [
    'litres instead of millilitres',
    withPayload('reading', { result: 'exact', volumeL: 0.45, relation: 'no-void', doubts: [] }),
    'record/unknown-field',
    'payload',
    /volumeL/,
  ],
  [
    'ounces',
    withPayload('void', { how: 'measured', volumeOz: 12 }),
    'record/unknown-field',
    'payload',
    /volumeOz/,
  ],
  [
    'a time a day ahead',
    { ...reading, effectiveAt: '2026-11-26T18:20:00+01:00' },
    'record/in-the-future',
    'effectiveAt',
    /minutes ahead/,
  ],
  [
    'a time without its offset',
    { ...reading, effectiveAt: '2026-11-25T18:20:00' },
    'quantity/not-an-instant',
    'effectiveAt',
    /2026-11-25T18:20:00/,
  ],
  [
    'the thirtieth of February',
    { ...reading, effectiveAt: '2026-02-30T10:00:00Z' },
    'quantity/not-an-instant',
    'effectiveAt',
    /02-30/,
  ],
  ['an unknown kind', withPayload('photograph', {}), 'record/unknown-kind', 'kind', /photograph/],
  [
    'a kind that is a property of every object',
    withPayload('constructor', {}),
    'record/unknown-kind',
    'kind',
    /constructor/,
  ],
  ['half an object', { id, kind: 'reading' }, 'record/not-text', 'organisation', /nothing/],
  [
    'a payload cut short',
    withPayload('reading', { result: 'exact', volumeMl: 450 }),
    'record/missing-field',
    'payload',
    /no relation/,
  ],
  ['a payload that is null', withPayload('reading', null), 'record/not-an-object', 'payload', /null/],
  ['a field that nobody knows', { ...reading, bed: '4' }, 'record/unknown-field', undefined, /"bed"/],
  ['an id that is not one', { ...reading, id: '42' }, 'record/not-an-id', 'id', /"42"/],
  [
    'a random id of version 4',
    { ...reading, id: '9b2f0c1e-5a43-4d0e-9d7b-2c1f6a7e8b90' },
    'record/not-an-id',
    'id',
    /9b2f0c1e/,
  ],
  [
    '0 for a reading that was not obtained',
    readingOf({ result: 'not-obtained', volumeMl: 0, reasonNotObtained: 'pain' }),
    'record/inconsistent',
    'payload.volumeMl',
    /0 mL with "not obtained"/,
  ],
  [
    'no reason for a reading that was not obtained',
    withPayload('reading', { result: 'not-obtained', relation: 'no-void', doubts: [] }),
    'record/inconsistent',
    'payload.reasonNotObtained',
    /no reason/,
  ],
  [
    'a reading without its volume',
    withPayload('reading', { result: 'at-least', relation: 'no-void', doubts: [] }),
    'record/inconsistent',
    'payload.volumeMl',
    /no volume/,
  ],
  [
    'minutes since a void that did not happen',
    readingOf({ sinceVoidMin: 10 }),
    'record/inconsistent',
    'payload.sinceVoidMin',
    /minutes since a void/,
  ],
  [
    'bounds the wrong way round',
    readingOf({ lowMl: 500, highMl: 400 }),
    'record/inconsistent',
    'payload.lowMl',
    /500 to 400 mL/,
  ],
  [
    'a measured void without its volume',
    withPayload('void', { how: 'measured' }),
    'record/inconsistent',
    'payload.volumeMl',
    /no volume/,
  ],
  [
    'a volume for a void that was not measured',
    withPayload('void', { how: 'not-measured', volumeMl: 200 }),
    'record/inconsistent',
    'payload.volumeMl',
    /200 mL/,
  ],
  [
    'a weighed pad without its weight',
    withPayload('void', { how: 'pad-weighed' }),
    'record/inconsistent',
    'payload.padG',
    /no weight/,
  ],
  [
    'a weight in grams',
    withPayload('context', { topic: 'weight-kg', value: 74_000 }),
    'record/inconsistent',
    'payload.value',
    /74000 kg/,
  ],
  [
    'a correction of something that is no entry',
    { ...reading, corrects: 'the one before' },
    'record/not-an-id',
    'corrects',
    /the one before/,
  ],
  [
    'minutes since a void on a reading before the void',
    readingOf({ relation: 'before-void', sinceVoidMin: 10 }),
    'record/inconsistent',
    'payload.sinceVoidMin',
    /minutes since a void/,
  ],
  [
    'a pause that ends in the minute in which it begins',
    withPayload('watch-paused', { reason: 'theatre', backBy: envelope.effectiveAt }),
    'record/inconsistent',
    'payload.backBy',
    /before the pause/,
  ],
  [
    'a limit of 1601 mL',
    withPayload('context', { topic: 'limit-ml', value: 1601 }),
    'record/inconsistent',
    'payload.value',
    /1601 mL/,
  ],
  [
    'a limit of 6 mL',
    withPayload('context', { topic: 'limit-ml', value: 6 }),
    'record/inconsistent',
    'payload.value',
    /6 mL/,
  ],
  [
    'a limit without a number',
    withPayload('context', { topic: 'limit-ml' }),
    'record/inconsistent',
    'payload.value',
    /no value/,
  ],
  [
    'a pause without an end',
    withPayload('watch-paused', { reason: 'theatre' }),
    'record/missing-field',
    'payload',
    /no backBy/,
  ],
  [
    'a pause that ends before it begins',
    withPayload('watch-paused', { reason: 'theatre', backBy: '2026-11-25T17:00:00+01:00' }),
    'record/inconsistent',
    'payload.backBy',
    /before the pause/,
  ],
  [
    'a row’s range that ends before the look is due',
    withPayload('step-advised', { ...advice, noLaterThanAt: '2026-11-25T19:59:00+01:00' }),
    'record/inconsistent',
    'payload.noLaterThanAt',
    /before the due time/,
  ],
  [
    'a range of times for a step that is no look',
    withPayload('step-advised', {
      ...advice,
      step: 'measure-residual',
      noLaterThanAt: '2026-11-25T21:00:00+01:00',
    }),
    'record/inconsistent',
    'payload.noLaterThanAt',
    /no look/,
  ],
  [
    'a step not taken without a reason',
    withPayload('step-answered', { advised: other, answer: 'departed' }),
    'record/inconsistent',
    'payload.reason',
    /no reason/,
  ],
  [
    'a doubt that is no word of ours',
    readingOf({ doubts: ['blurry'] }),
    'record/not-a-choice',
    'payload.doubts[0]',
    /blurry/,
  ],
  [
    'a hidden control character',
    readingOf({ note: 'a\u0000b' }),
    'record/not-text',
    'payload.note',
    /characters/,
  ],
  [
    'a time quality that is no word of ours',
    { ...reading, timeQuality: 'roughly' },
    'record/not-a-choice',
    'timeQuality',
    /roughly/,
  ],
  [
    'a source that is no word of ours',
    { ...reading, copiedFrom: 'memory' },
    'record/not-a-choice',
    'copiedFrom',
    /memory/,
  ],
];

describe('a bad entry', () => {
  it.each(badEntries)('is refused: %s', (_what, value, code, where, found) => {
    const refusal = refused(value);
    expect(refusal.code).toBe(code);
    expect(refusal.where).toBe(where);
    expect(refusal.found).toMatch(found);
    for (const part of [refusal.asked, refusal.allowed, refusal.todo]) expect(part.length).toBeGreaterThan(2);
  });

  it.each([
    ['null', null],
    ['text', 'reading'],
    ['a number', 450],
    ['a list', [reading]],
    ['nothing', undefined],
  ])('is refused: %s instead of an entry', (_what, value) => {
    expect(refused(value).code).toBe('record/not-an-object');
  });

  it('never says whose record it is', () => {
    for (const [, value] of badEntries) {
      const sentence = refusalSentence(refused(value));
      expect(sentence).not.toContain('patient-knee');
      expect(sentence).not.toContain('tove-wrenfield');
    }
  });

  it('that hands a patient over to nobody is refused [H13-nobody]', () => {
    const refusal = refused(withPayload('ownership-offered', { occasion: 'shift' }));
    expect(refusal.code).toBe('record/nobody');
    expect(refusal.allowed).toBe('a person, or a role of a ward');
    expect(refusal.todo).toMatch(/keep it/);
  });

  it('that hands over to a person, or to a role, is taken', () => {
    expect(
      isRefusal(
        checkEntry(withPayload('ownership-offered', { occasion: 'shift', toPerson: 'bram-sorrel' }), nowMs),
      ),
    ).toBe(false);
    expect(
      isRefusal(
        checkEntry(
          withPayload('ownership-offered', { occasion: 'shift', toRole: 'nurse', toWard: 'ward-gull' }),
          nowMs,
        ),
      ),
    ).toBe(false);
  });

  it('that lies more than five minutes ahead of the clock is refused [H5-future]', () => {
    const refusal = refused({ ...reading, effectiveAt: '2026-11-25T18:41:00+01:00' });
    expect(refusal.code).toBe('record/in-the-future');
    expect(refusal.found).toBe('a time 11 minutes ahead of the clock');
    expect(refusal.todo).toMatch(/clock of the tablet/);
  });
});

describe('checkEntry', () => {
  it('answers anything with an entry or a refusal, and never throws', () => {
    fc.assert(
      fc.property(fc.anything(), (value) => {
        const answer = checkEntry(value, nowMs);
        return isRefusal(answer) || typeof answer.id === 'string';
      }),
      { seed: 20_261_125, numRuns: 500 },
    );
  });

  it('answers a spoilt field of a good entry with a refusal that names a place', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(
          'id',
          'organisation',
          'patient',
          'kind',
          'effectiveAt',
          'recordedAt',
          'author',
          'madeOn',
          'payload',
        ),
        fc.constantFrom(null, 0, '', [], {}),
        (name, spoilt) => {
          const answer = checkEntry({ ...reading, [name]: spoilt }, nowMs);
          return isRefusal(answer) && (answer.where ?? '').startsWith(name);
        },
      ),
      { seed: 20_261_125, numRuns: 200 },
    );
  });

  it('knows a shape for every kind', () => {
    expect(entryKinds.length).toBeGreaterThan(25);
    for (const kind of entryKinds) expect(payloadShapes[kind].jsonSchema['additionalProperties']).toBe(false);
  });
});

describe('practice', () => {
  const practised = (more: object = {}): unknown => ({
    ...(withPayload('practised', {
      exercise: 'trace',
      level: 'cut-by-edge',
      seed: 41,
      trueMl: 312,
      start: 'from-nothing',
      outlinedMl: 287,
      offMm: 2.4,
    }) as object),
    author: 'nurse-a',
    patient: practiceRecordOf('nurse-a'),
    ...more,
  });
  it('stands in the record of who practised', () => {
    expect(checkEntry(practised(), nowMs)).toMatchObject({ kind: 'practised', patient: 'practice:nurse-a' });
  });
  it.each([
    ['of a patient', practised({ patient: 'p-4' }), 'patient'],
    ['of somebody else', practised({ patient: practiceRecordOf('nurse-b') }), 'patient'],
    ['as a correction', practised({ corrects: other }), 'corrects'],
    [
      'that is a void',
      { ...(withPayload('void', { how: 'not-measured' }) as object), patient: practiceRecordOf('nurse-a') },
      'patient',
    ],
  ])('is refused in the record %s', (_what, value, where) => {
    expect(checkEntry(value, nowMs)).toMatchObject({ code: 'record/inconsistent', where });
  });
});

describe('the order of entries', () => {
  it('is by when they happened, then by when they were written, then by id', () => {
    const at = (effectiveAt: string, recordedAt: string, entryId: string): Entry =>
      ({ ...reading, effectiveAt, recordedAt, id: entryId }) as Entry;
    const first = at('2026-11-25T18:00:00+01:00', '2026-11-25T18:30:00+01:00', other);
    const second = at('2026-11-25T17:10:00Z', '2026-11-25T17:11:00Z', other);
    const third = at('2026-11-25T18:10:00+01:00', '2026-11-25T18:12:00+01:00', id);
    const fourth = at('2026-11-25T18:10:00+01:00', '2026-11-25T18:12:00+01:00', other);
    expect([fourth, third, second, first].sort(compareEntries)).toEqual([first, second, third, fourth]);
  });
});
