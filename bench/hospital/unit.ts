/** The made-up hospital of the load bench: wards, one nurse and some beds each; entries as its tablets would send them. */
import { instantOfMs, seededRandom, uuidV7 } from '../../packages/core/src/quantity/index.ts';
import { defaultSettings, type Directory, type Entry } from '../../packages/core/src/record/index.ts';

export const organisation = 'saltmarsh';
export const wardName = (index: number): string => `ward-${index}`;
export const nurseOf = (ward: number): string => `nurse-${ward}`;
export const patientOf = (ward: number, bed: number): string => `patient-${ward}-${bed}`;

export function unitOf(wards: number, beds: number): Directory {
  const all = Array.from({ length: wards }, (_, index) => index);
  return {
    organisation,
    wards: all.map((ward) => ({
      id: wardName(ward),
      name: wardName(ward),
      purpose: 'after surgery',
      hospital: 'Saltmarsh General',
      zone: 'Europe/Lisbon',
      beds: Array.from({ length: beds }, (_, bed) => String(bed)),
      settings: { ...defaultSettings, lockAfterS: 3_600 },
      shiftChanges: ['07:30'],
    })),
    people: [
      { id: 'administrator', name: 'Administrator', initials: 'AD', role: 'administrator', wards: [] },
      ...all.map((ward) => ({
        id: nurseOf(ward),
        name: nurseOf(ward),
        initials: 'AN',
        role: 'nurse' as const,
        wards: [wardName(ward)],
      })),
    ],
    scanners: [],
  };
}

const random = seededRandom(20_261_128);
const envelope = (ward: number, bed: number, nowMs: number) => ({
  id: uuidV7(
    nowMs,
    Array.from({ length: 10 }, () => random.below(256)),
  ),
  organisation,
  patient: patientOf(ward, bed),
  effectiveAt: instantOfMs(nowMs),
  timeQuality: 'exact' as const,
  recordedAt: instantOfMs(nowMs),
  author: nurseOf(ward),
  madeOn: `tablet-${ward}`,
});

export const registered = (ward: number, bed: number, nowMs: number): Entry => ({
  ...envelope(ward, bed, nowMs),
  kind: 'patient-registered',
  payload: {
    familyName: 'Ostrander',
    givenName: 'Wilma',
    sex: 'female',
    identifierSystem: 'urn:made-up',
    identifierValue: patientOf(ward, bed),
    ward: wardName(ward),
    bed: String(bed),
  },
});

export const voided = (ward: number, bed: number, nowMs: number): Entry => ({
  ...envelope(ward, bed, nowMs),
  kind: 'void',
  payload: { how: 'measured', volumeMl: 10 * random.below(40) },
});

export const quantile = (values: readonly number[], part: number): number => {
  const sorted = values.toSorted((one, other) => one - other);
  return sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))] ?? Number.NaN;
};
