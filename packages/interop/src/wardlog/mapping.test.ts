// Proves     each line of a ward log becomes the entry that means the same: kinds of void, routes, settings, sources of
//            the limit, and what a line takes with it when it is replaced by one of another kind or withdrawn.
// Published  none; the format is S-wardlog-1
// Tolerance  none
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { resolveEntries } from '@ebbline/core/facts';
import type { Entry } from '@ebbline/core/record';
import { entriesOfWardLog } from './entries.ts';
import { readWardLine } from './line.ts';
import { readWardLog } from './read.ts';

const origin = { organisation: 'org', ward: 'w', zone: 'Europe/Vienna' };
const line = (id: string, kind: string, hour: number, more: object): object => ({
  id,
  kind,
  patient: 'w-P01',
  at: `2026-05-12T${String(hour).padStart(2, '0')}:00:00+02:00`,
  atQuality: 'exact',
  recordedAt: `2026-05-12T${String(hour).padStart(2, '0')}:01:00+02:00`,
  source: 'typed',
  ...more,
});
const watch = (more: object = {}): object =>
  line('w-1', 'watch', 8, {
    setting: 'after-surgery',
    ageY: 72,
    sex: 'female',
    weightKg: 70.5,
    limitMl: 600,
    cautions: [],
    catheterInPlace: false,
    ...more,
  });
const entriesOf = (...lines: readonly object[]): readonly Entry[] =>
  entriesOfWardLog(orThrow(readWardLog(lines.map((one) => JSON.stringify(one)).join('\n'))), origin).entries;
const payloadsOf = (entries: readonly Entry[], kind: Entry['kind']): unknown[] =>
  entries.filter((one) => one.kind === kind).map((one) => one.payload);

describe('a watch line', () => {
  it.each([
    ['after-surgery', 'after-surgery'],
    ['catheter-removed', 'catheter-removed'],
    ['after-birth', 'after-birth'],
    ['stroke', 'stroke-or-rehabilitation'],
    ['spinal-cord', 'spinal-cord'],
  ])('of the setting %s opens a watch of %s', (setting, opened) => {
    expect(payloadsOf(entriesOf(watch({ setting })), 'watch-opened')).toMatchObject([{ setting: opened }]);
  });
  it("has the person's own capacity for the source of a limit that is the same, else the unit", () => {
    const sourceOf = (ownCapacityMl: number): unknown =>
      payloadsOf(entriesOf(watch({ ownCapacityMl })), 'context').find(
        (one) => (one as { topic: string }).topic === 'limit-ml',
      );
    expect(sourceOf(600)).toMatchObject({ value: 600, limitSource: 'own-capacity' });
    expect(sourceOf(650)).toMatchObject({ value: 600, limitSource: 'unit' });
  });
  it('that follows another line corrects the registration with age and sex', () => {
    const entries = entriesOf(line('w-0', 'symptom', 7, { symptom: 'restless' }), watch());
    const registrations = resolveEntries(entries)
      .byPatient.get('w-P01')
      ?.filter((one) => one.entry.kind === 'patient-registered')
      .map((one) => [one.standing.state, (one.entry.payload as { ageYears?: number }).ageYears]);
    expect(registrations).toEqual([
      ['corrected', undefined],
      ['live', 72],
    ]);
  });
});

describe('a void line', () => {
  it.each([
    [
      { measured: true, class: 'jug', volumeMl: 250 },
      { how: 'measured', volumeMl: 250 },
    ],
    [
      { measured: true, class: 'mixed-stool', volumeMl: 250 },
      { how: 'mixed', volumeMl: 250 },
    ],
    [
      { measured: false, class: 'pad', padG: 180 },
      { how: 'pad-weighed', padG: 180 },
    ],
    [
      { measured: false, class: 'bed', size: 'large' },
      { how: 'lost', size: 'large' },
    ],
    [
      { measured: false, class: 'toilet', size: 'small' },
      { how: 'not-measured', size: 'small' },
    ],
  ])('%o is the void %o', (given, meant) => {
    expect(payloadsOf(entriesOf(line('w-2', 'void', 9, given)), 'void')).toEqual([meant]);
  });
});

describe('a drained line', () => {
  it.each([
    ['in-out', 'in-out'],
    ['indwelling', 'left-in'],
  ])('by %s is the route %s', (route, meant) => {
    expect(
      payloadsOf(entriesOf(line('w-2', 'drained', 9, { measured: true, route, volumeMl: 400 })), 'drained'),
    ).toEqual([{ route: meant, volumeMl: 400 }]);
  });
});

describe('a line that replaces one of another kind', () => {
  it('takes the old entry back, and stands in its place', () => {
    const entries = entriesOf(line('w-2', 'void', 9, { measured: true, class: 'jug', volumeMl: 400 }), {
      ...line('w-3', 'drained', 9, { measured: true, route: 'in-out', volumeMl: 400 }),
      recordedAt: '2026-05-12T10:00:00+02:00',
      replaces: 'w-2',
      reason: 'typing',
    });
    const states = resolveEntries(entries)
      .byPatient.get('w-P01')
      ?.filter((one) => one.entry.kind === 'void' || one.entry.kind === 'drained')
      .map((one) => [one.entry.kind, one.standing.state]);
    expect(states).toEqual([
      ['void', 'withdrawn'],
      ['drained', 'live'],
    ]);
  });
});

describe('a line that is refused', () => {
  it.each([
    [
      'a withdrawal that carries a volume',
      { withdrawn: true, replaces: 'w-1', reason: 'typing', volumeMl: 4 },
      'wardlog/withdrawn-with-volume',
    ],
    ['a withdrawal of nothing', { withdrawn: true, reason: 'typing' }, 'wardlog/missing-field'],
    [
      'a drain said to be measured, without its volume',
      { measured: true, route: 'in-out' },
      'wardlog/missing-field',
    ],
    ['a route of elsewhere', { measured: false, route: 'kidney' }, 'wardlog/bad-value'],
  ])('is %s', (_name, more, code) => {
    const answer = readWardLine(JSON.stringify(line('w-2', 'drained', 9, more)), 1);
    expect(isRefusal(answer) && answer.code).toBe(code);
  });
  it('is a watch with a limit of 0 mL', () => {
    expect(readWardLine(JSON.stringify(watch({ limitMl: 0 })), 7)).toMatchObject({
      code: 'wardlog/bad-value',
      where: 'line 7',
    });
  });
});
