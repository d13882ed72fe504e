// Proves     a patient who moved to another ward stays on the giver's list until somebody there accepts, so that none is dropped on the way.
// Published  none; the ward and its people are made up
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { foldPatient } from '@ebbline/core/facts';
import { instantMs } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import { entry, workedEntries } from '../../features/patient/testing/worked-patient.ts';
import { stillMine } from './still-mine.ts';

const moved = entry('18:10', 'transferred', { ward: 'ward-seven', bed: '2', reason: 'transfer' });
const namesOf = (entries: readonly Entry[], person: string): readonly string[] =>
  stillMine(entries, 'ward-six', person, (patient) =>
    foldPatient({
      patient,
      entries,
      nowMs: instantMs('2026-05-14T18:30:00Z'),
      settings: defaultSettings,
      zone: 'Etc/UTC',
    }),
  ).map((facts) => facts.bed);

describe('patients who moved and whom nobody there has accepted', () => {
  it('stay with the one who had them', () => {
    expect(namesOf([...workedEntries, moved], 'da')).toEqual(['2']);
  });
  it('are on nobody else’s list, nor is a patient who did not move', () => {
    expect(namesOf([...workedEntries, moved], 'kl')).toEqual([]);
    expect(namesOf(workedEntries, 'da')).toEqual([]);
  });
  it('leave the list when they are accepted there', () => {
    const offer = entry('18:10', 'ownership-offered', { toPerson: 'kl', occasion: 'transfer' }, 'da');
    const accepted = entry(
      '18:20',
      'ownership-accepted',
      { offer: offer.id, readBack: 'Look by 18:55' },
      'kl',
    );
    expect(namesOf([...workedEntries, moved, offer, accepted], 'da')).toEqual([]);
  });
});
