import {
  defaultSettings,
  type Directory,
  type Person,
  type Role,
  type Scanner,
  type Ward,
} from '@ebbline/core/record';

/** The made-up network. Names, people and places exist nowhere. */
export const organisation = 'selvoy-coast';
/** Zone of the made-up coast: one that changes its clocks. */
export const coastZone = 'Europe/Copenhagen';
export const liveWard = 'ward-gull';

const harbour = 'Selvoy Harbour Hospital';
const point = 'Brannoch Point Hospital';
const bay = 'Ostrel Bay Hospital';
const numbered = (count: number, from = 1): readonly string[] =>
  Array.from({ length: count }, (_, index) => String(from + index));

const wardRows: readonly (readonly [
  id: string,
  name: string,
  purpose: string,
  hospital: string,
  beds: readonly string[],
])[] = [
  [liveWard, 'Gull Ward', 'Surgery, and women after birth', harbour, numbered(28)],
  ['ward-recovery', 'Harbour Recovery', 'Recovery after operations', harbour, ['R1', 'R2', 'R3', 'R4']],
  ['ward-birth', 'Birth Suite', 'Births', harbour, numbered(4)],
  ['ward-curlew', 'Curlew Ward', 'Women and babies after birth', harbour, numbered(6)],
  ['ward-heron', 'Heron Ward', 'General medicine', harbour, numbered(6)],
  ['ward-puffin', 'Puffin Ward', 'Children', harbour, numbered(4)],
  ['ward-plover', 'Plover Ward', 'Bones and joints', point, numbered(6)],
  ['ward-tern', 'Tern Ward', 'Stroke and rehabilitation', point, numbered(6)],
  ['ward-petrel', 'Petrel Ward', 'Spinal cord injury', point, numbered(4)],
  ['ward-skerry', 'Point Recovery', 'Recovery after operations', point, ['R1', 'R2']],
  ['ward-dunlin', 'Dunlin Ward', 'General surgery', bay, numbered(6)],
  ['ward-avocet', 'Avocet Ward', 'Care of older people', bay, numbered(6)],
  ['ward-sandpiper', 'Sandpiper Unit', 'Short stay', bay, numbered(4)],
  ['ward-teal', 'Teal Clinic', 'Void trials', bay, numbered(4)],
];

const wards: readonly Ward[] = wardRows.map(([id, name, purpose, hospital, beds]) => ({
  id,
  name,
  purpose,
  hospital,
  beds,
  zone: coastZone,
  settings: defaultSettings,
  shiftChanges: ['07:00', '15:00', '23:00'],
}));

const peopleRows: readonly (readonly [name: string, role: Role, wards: readonly string[]])[] = [
  ['Tove Wrenfield', 'nurse', [liveWard]],
  ['Odile Marchetti', 'nurse', [liveWard]],
  ['Bram Sorrel', 'nurse', [liveWard]],
  ['Imke Dahlroos', 'nurse', [liveWard]],
  ['Yusra Kellan', 'nurse', [liveWard]],
  ['Piet Lorring', 'nurse', [liveWard]],
  ['Ana Quillon', 'charge-nurse', [liveWard]],
  ['Rune Haskett', 'charge-nurse', [liveWard]],
  ['Noor Vashti', 'midwife', [liveWard, 'ward-curlew']],
  ['Elsbeth Crane', 'midwife', ['ward-birth', 'ward-curlew']],
  ['Milo Fenwarden', 'aide', [liveWard]],
  ['Saskia Orrin', 'aide', [liveWard]],
  ['Jory Unwin', 'aide', [liveWard, 'ward-heron']],
  ['Greta Zellin', 'specialist-nurse', [liveWard, 'ward-teal', 'ward-tern']],
  ['Ivo Castellane', 'called-clinician', [liveWard, 'ward-recovery', 'ward-heron']],
  ['Lena Ashgrove', 'called-clinician', [liveWard, 'ward-plover']],
  ['Hugo Ekdal', 'called-clinician', [liveWard, 'ward-birth', 'ward-curlew']],
  ['Dita Brook', 'nurse', ['ward-recovery']],
  ['Kaspar Thane', 'nurse', ['ward-recovery', 'ward-skerry']],
  ['Wilma Garrow', 'nurse', ['ward-heron', 'ward-puffin']],
  ['Arlo Penning', 'nurse', ['ward-plover']],
  ['Fenna Jessop', 'nurse', ['ward-tern']],
  ['Luc Nemeth', 'nurse', ['ward-petrel']],
  ['Vera Ixworth', 'nurse', ['ward-dunlin', 'ward-sandpiper']],
  ['Cato Rook', 'nurse', ['ward-avocet', 'ward-teal']],
  ['Mads Oakley', 'assessor', [liveWard]],
  ['Bea Xanders', 'clinical-engineer', [liveWard]],
  ['Ulla Perrin', 'manager', [liveWard]],
  ['Zora Tilney', 'privacy-officer', [liveWard]],
  ['Nils Abery', 'analyst', [liveWard]],
  ['Inga Selwyn', 'integration', [liveWard]],
  ['Hale Dorrin', 'administrator', [liveWard]],
];

const people: readonly Person[] = peopleRows.map(([name, role, at]) => ({
  id: name.toLowerCase().replaceAll(' ', '-'),
  name,
  initials: name
    .split(' ')
    .map((part) => part[0])
    .join(''),
  role,
  wards: at,
}));

const scanners: readonly Scanner[] = [
  { id: 'scanner-a', name: 'Scanner A', ward: liveWard },
  { id: 'scanner-b', name: 'Scanner B', ward: liveWard },
  { id: 'scanner-c', name: 'Scanner C', ward: liveWard },
];

/** What each scanner of the made-up ward does to a reading; C is the one that an agreement chart should find. */
export const scannerBias: Readonly<Record<string, number>> = {
  'scanner-a': 0.01,
  'scanner-b': -0.05,
  'scanner-c': 0.12,
};

/** The directory of the made-up coast: three hospitals, fourteen wards, people in every role. */
export function coastDirectory(): Directory {
  return { organisation, wards, people, scanners };
}
