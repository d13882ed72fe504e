/** From a filled-in form to the entry that registers a patient, with refusals that say what to do. */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { Entry, PayloadOf } from '@ebbline/core/record';

export interface NewPatientForm {
  readonly familyName: string;
  readonly givenName: string;
  readonly birthDate: string;
  readonly ageYears: string;
  readonly sex: string;
  readonly identifier: string;
  readonly bed: string;
}

export const emptyForm: NewPatientForm = {
  familyName: '',
  givenName: '',
  birthDate: '',
  ageYears: '',
  sex: '',
  identifier: '',
  bed: '',
};

const missing = (where: keyof NewPatientForm, allowed: string, todo: string): Refusal =>
  refuse('patient/missing', { asked: 'Patient', found: 'nothing', allowed, todo, where });

/** Beds of the ward in which nobody registered lies now. */
export function freeBeds(
  beds: readonly string[],
  patients: readonly { readonly bed: string; readonly ward: string; readonly left: boolean }[],
  ward: string,
): readonly string[] {
  const taken = new Set(patients.filter((one) => one.ward === ward && !one.left).map((one) => one.bed));
  return beds.filter((bed) => !taken.has(bed));
}

/** The patient who already has this identifier, if any: one person is never registered twice. */
export function alreadyHere(entries: readonly Entry[], system: string, value: string): string | undefined {
  return entries.find(
    (one) =>
      one.kind === 'patient-registered' &&
      one.payload.identifierSystem === system &&
      one.payload.identifierValue === value,
  )?.patient;
}

/**
 * The payload, or what is missing. An age or a birth date is needed, since no adult rule is used without one.
 *
 * @param today `YYYY-MM-DD` of the ward, so that nobody is born tomorrow
 */
export function registration(
  form: NewPatientForm,
  ward: string,
  identifierSystem: string,
  today: string,
): PayloadOf<'patient-registered'> | Refusal {
  const familyName = form.familyName.trim();
  const givenName = form.givenName.trim();
  const identifierValue = form.identifier.trim();
  // In the order in which the form asks.
  if (identifierValue === '')
    return missing('identifier', 'the number on the wristband', 'Read or write the number on the wristband.');
  if (form.bed === '') return missing('bed', 'a bed of this ward', 'Choose the bed.');
  if (familyName === '') return missing('familyName', 'the family name', 'Write the family name.');
  if (givenName === '') return missing('givenName', 'the given name', 'Write the given name.');
  if (form.birthDate === '' && form.ageYears === '')
    return missing(
      'ageYears',
      'an age, or a birth date',
      'Give the age: adult limits are never used without it.',
    );
  if (form.birthDate !== '' && form.birthDate > today)
    return refuse('patient/born-later', {
      asked: 'Birth date',
      found: form.birthDate,
      allowed: `a day up to ${today}`,
      todo: 'Check the year.',
      where: 'birthDate',
    });
  const age = Number(form.ageYears);
  if (form.ageYears !== '' && !(Number.isInteger(age) && age >= 0 && age <= 125))
    return refuse('patient/age', {
      asked: 'Age',
      found: form.ageYears.slice(0, 12),
      allowed: 'whole years from 0 to 125',
      todo: 'Check the age.',
      where: 'ageYears',
    });
  if (form.sex !== 'female' && form.sex !== 'male' && form.sex !== 'other' && form.sex !== 'unknown')
    return missing('sex', 'female, male, other, unknown', 'Choose one.');
  return {
    familyName,
    givenName,
    ...(form.birthDate === '' ? {} : { birthDate: form.birthDate }),
    ...(form.birthDate !== '' || form.ageYears === '' ? {} : { ageYears: age }),
    sex: form.sex,
    identifierSystem,
    identifierValue,
    ward,
    bed: form.bed,
  };
}
