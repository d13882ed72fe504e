// Proves     nobody who was added is lost from the board: those not yet on watch and those whose watch ended today are listed.
// Published  none; the day is made here (S-web-ended-watch)
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { foldPatient } from '@ebbline/core/facts';
import { hourMs, instantMs } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import { entry, workedEntries } from '../patient/testing/worked-patient.ts';
import { notWatched } from './not-watched.ts';

const ward = 'ward-six';
const nowMs = instantMs('2026-05-14T18:30:00Z');
const added = (patient: string, bed: string, to = ward): Entry =>
  ({
    ...entry('12:00', 'patient-registered', {
      familyName: 'Brandt',
      givenName: 'Ole',
      ageYears: 78,
      sex: 'male',
      identifierSystem: 'urn:coast',
      identifierValue: `X-${patient}`,
      ward: to,
      bed,
    }),
    patient,
  }) as Entry;
const closed = (time: string): Entry => entry(time, 'watch-closed', { outcome: 'emptying' });

const at = (entries: readonly Entry[], when = nowMs) => {
  const found = notWatched(entries, ward, when, (patient) =>
    foldPatient({
      patient,
      entries: entries.filter((one) => one.patient === patient),
      nowMs: when,
      settings: defaultSettings,
      zone: 'Etc/UTC',
    }),
  );
  return { added: found.added.map((one) => one.bed), ended: found.ended.map((one) => one.bed) };
};

describe('patients of a ward whom nobody watches', () => {
  it('are those added without a watch, by bed as a number', () => {
    expect(at([...workedEntries, added('p-a', '12'), added('p-b', '6')])).toEqual({
      added: ['6', '12'],
      ended: [],
    });
  });
  it('are not those of another ward', () => {
    expect(at([added('p-a', '12', 'ward-seven')])).toEqual({ added: [], ended: [] });
  });
  it('are those whose watch ended within a day, and no longer', () => {
    const entries = [...workedEntries, closed('18:20')];
    expect(at(entries).ended).toHaveLength(1);
    expect(at(entries, nowMs + 24 * hourMs).ended).toEqual([]);
  });
  it('are those whose start of a watch was taken back', () => {
    const opening = workedEntries.find((one) => one.kind === 'watch-opened');
    const back = entry('18:25', 'withdrawn', { of: opening?.id ?? '', reason: 'typing' } as never);
    expect(at([...workedEntries, back]).added).toHaveLength(1);
  });
});
