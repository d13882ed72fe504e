// The worked patient of the job map, as entries: knee replacement under a spinal block, one clipped reading, one
// drain that came late. All values are invented; times are in UTC so that sums are easy to follow.
import { uuidOfText } from '@ebbline/core/quantity';
import { starterFor } from '@ebbline/protocol';
import { defaultSettings, type Entry, type EntryKind, type PayloadOf } from '@ebbline/core/record';

// An episode keeps the version that it began with: here the one that ships.
const shipped = starterFor('after-surgery');
export const starter = { protocolId: shipped?.id ?? '', protocolVersion: shipped?.version ?? 0 };

export const zone = 'Etc/UTC';
export const at = (clock: string): number => Date.parse(`2026-05-14T${clock}:00Z`);

export function entry<Kind extends EntryKind>(
  clock: string,
  kind: Kind,
  payload: PayloadOf<Kind>,
  author = 'kl',
): Entry {
  const time = `2026-05-14T${clock}:00Z`;
  return {
    id: uuidOfText(`${clock} ${kind} ${JSON.stringify(payload)}`),
    organisation: 'coast',
    patient: 'p-4',
    effectiveAt: time,
    timeQuality: 'exact',
    recordedAt: time,
    author,
    madeOn: 'tablet-1',
    kind,
    payload,
  } as Entry;
}

const drip = entry('13:05', 'intake', { volumeMl: 1500, route: 'iv', overMin: 120 }, 'da');
export const workedEntries: readonly Entry[] = [
  entry(
    '13:04',
    'patient-registered',
    {
      familyName: 'Tamsel',
      givenName: 'Runa',
      ageYears: 72,
      sex: 'female',
      identifierSystem: 'urn:coast',
      identifierValue: 'X-0004',
      ward: 'ward-six',
      bed: '4',
    },
    'da',
  ),
  entry('13:05', 'context', { topic: 'own-capacity-ml', value: 620 }, 'da'),
  entry('13:05', 'context', { topic: 'limit-ml', value: 600, limitSource: 'own-capacity' }, 'da'),
  entry(
    '13:05',
    'watch-opened',
    {
      setting: 'after-surgery',
      reason: 'knee replacement, spinal block',
      lastVoidAt: '2026-05-14T07:30:00Z',
      lastVoidMl: 250,
      owner: 'da',
    },
    'da',
  ),
  entry('13:05', 'context', { topic: 'regional-block', state: 'present' }, 'da'),
  drip,
  entry(
    '13:10',
    'reading',
    {
      result: 'exact',
      volumeMl: 240,
      relation: 'before-void',
      doubts: [],
      scanner: 'b',
      method: 'automatic',
    },
    'da',
  ),
  entry(
    '13:11',
    'step-advised',
    {
      step: 'look-again',
      dueAt: '2026-05-14T14:40:00Z',
      ownerRole: 'nurse',
      why: 'Under the limit.',
      rowId: 'S-04',
      rowText: 'Under 300 mL and comfortable: look again within 90 minutes.',
      rowSourceId: 'S-clinical-E14',
      ...starter,
      protocolApproval: 'example-not-approved',
    },
    'da',
  ),
  entry('15:05', 'intake', { volumeMl: 150, route: 'oral' }),
  entry('15:20', 'void', { how: 'measured', volumeMl: 80 }, 'so'),
  entry('15:52', 'reading', {
    result: 'at-least',
    volumeMl: 430,
    relation: 'after-void',
    sinceVoidMin: 32,
    doubts: ['cut-below'],
    scanner: 'b',
    method: 'automatic',
  }),
  entry('15:56', 'reading', {
    result: 'exact',
    volumeMl: 560,
    relation: 'after-void',
    sinceVoidMin: 36,
    doubts: [],
    scanner: 'b',
    method: 'automatic',
  }),
  entry('16:10', 'drained', { route: 'in-out', volumeMl: 690, sizeCh: 12, colour: 'yellow' }),
  entry('16:11', 'step-advised', {
    step: 'look-again',
    dueAt: '2026-05-14T18:55:00Z',
    ownerRole: 'nurse',
    why: 'Drained 690 mL.',
    rowId: 'S-11',
    rowText: 'After an in-out of 500 mL or more, look again before the earliest crossing, and within 3 h.',
    rowSourceId: 'S-clinical-E14',
    ...starter,
    protocolApproval: 'example-not-approved',
  }),
  entry('17:10', 'intake', { volumeMl: 200, route: 'oral' }),
];
export const request = {
  patient: 'p-4',
  entries: workedEntries,
  nowMs: at('18:30'),
  settings: defaultSettings,
  zone,
};
