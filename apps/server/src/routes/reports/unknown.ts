import { refuse, type Refusal } from '@ebbline/core/quantity';

export const unknownPatient = (): Refusal =>
  refuse('server/unknown-patient', {
    asked: 'Record',
    found: 'a patient who is not registered here',
    allowed: 'a registered patient',
    todo: 'Open the patient from the board.',
    where: 'patient',
  });

export const unknownWard = (): Refusal =>
  refuse('server/unknown-ward', {
    asked: 'Report',
    found: 'a ward that is not in the directory',
    allowed: 'wards of the directory',
    todo: 'Choose a ward from the list.',
    where: 'ward',
  });

export const unknownPerson = (): Refusal =>
  refuse('server/unknown-person', {
    asked: 'Audit',
    found: 'a person who is not in the directory, or nobody',
    allowed: 'one patient, or one person of the directory',
    todo: 'Choose one patient or one person.',
    where: 'person',
  });
