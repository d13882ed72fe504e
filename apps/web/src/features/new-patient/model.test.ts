// Proves     a patient is registered whole or not at all, once, with an age.
import { describe, expect, it } from 'vitest';
import type { Entry } from '@ebbline/core/record';
import { alreadyHere, emptyForm, freeBeds, registration } from './model.ts';

const whole = {
  ...emptyForm,
  familyName: 'Tarn',
  givenName: 'Rosa',
  ageYears: '72',
  sex: 'female',
  identifier: 'Q-4',
  bed: '4',
};
const today = '2026-05-14';

describe('registering a patient', () => {
  it('takes a whole form', () => {
    expect(registration(whole, 'six', 'urn:quern:mr', today)).toEqual({
      familyName: 'Tarn',
      givenName: 'Rosa',
      ageYears: 72,
      sex: 'female',
      identifierSystem: 'urn:quern:mr',
      identifierValue: 'Q-4',
      ward: 'six',
      bed: '4',
    });
  });
  it.each([
    ['no family name', { familyName: ' ' }, 'patient/missing'],
    ['no number of the wristband', { identifier: '' }, 'patient/missing'],
    ['no age and no birth date', { ageYears: '' }, 'patient/missing'],
    ['an age of 720', { ageYears: '720' }, 'patient/age'],
    ['a birth date of tomorrow', { ageYears: '', birthDate: '2026-05-15' }, 'patient/born-later'],
    ['no bed', { bed: '' }, 'patient/missing'],
  ])('refuses %s and says what to do', (_name, change, code) => {
    expect(registration({ ...whole, ...change }, 'six', 's', today)).toMatchObject({
      refused: true,
      code,
      todo: expect.stringMatching(/\w/),
    });
  });
  it('prefers the birth date to an age told beside it', () => {
    expect(registration({ ...whole, birthDate: '1954-01-02' }, 'six', 's', today)).not.toHaveProperty(
      'ageYears',
    );
  });
  it('finds who already has the number', () => {
    const entries = [
      {
        kind: 'patient-registered',
        patient: 'p-1',
        payload: { identifierSystem: 's', identifierValue: 'Q-4' },
      },
    ] as unknown as readonly Entry[];
    expect(alreadyHere(entries, 's', 'Q-4')).toBe('p-1');
    expect(alreadyHere(entries, 's', 'Q-5')).toBeUndefined();
  });
  it('offers only beds in which nobody lies', () => {
    expect(
      freeBeds(
        ['1', '2', '3'],
        [
          { bed: '2', ward: 'six', left: false },
          { bed: '3', ward: 'six', left: true },
          { bed: '1', ward: 'seven', left: false },
        ],
        'six',
      ),
    ).toEqual(['1', '3']);
  });
});
