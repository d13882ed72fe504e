/** The invented unit of the simulation: two wards, people who act, one machine that sends patient messages. */
import { defaultSettings, type Directory, type Person } from '@ebbline/core/record';

export const organisation = 'saltmarsh';
export const startMs = Date.parse('2026-05-12T08:00:00Z');

const ward = (id: string, name: string, zone: string): Directory['wards'][number] => ({
  id,
  name,
  purpose: 'tests',
  hospital: 'Nowhere',
  zone,
  beds: ['1', '2', '3', '4'],
  settings: defaultSettings,
  shiftChanges: ['07:30', '19:30'],
});
const person = (id: string, role: Person['role']): Person => ({
  id,
  name: id,
  initials: 'AA',
  role,
  wards: ['harbour', 'dunes'],
});

export const directory: Directory = {
  organisation,
  wards: [ward('harbour', 'Harbour', 'Europe/Lisbon'), ward('dunes', 'Dunes', 'Asia/Kolkata')],
  people: [
    person('nurse-a', 'nurse'),
    person('nurse-b', 'nurse'),
    person('nurse-c', 'nurse'),
    person('charge', 'charge-nurse'),
    person('midwife', 'midwife'),
  ],
  scanners: [{ id: 'scanner-a', name: 'Scanner A', ward: 'harbour' }],
};
export const people = directory.people;
export const feedToken = 'feed';
