/**
 * Who may record and see what, and where: the one table. The server enforces it, screens follow it.
 *
 * A row lists the kinds of entry a role may write; `views` what it may open; `sees` and `records` how far: on the wards
 * of the person, in the hospitals of those wards, or everywhere. Tablets hold the patients of the person's own wards,
 * whatever the role; further ones are opened one by one.
 */
import type { Directory, Person } from './directory.ts';
import type { EntryKind } from './kinds.ts';
import type { Role } from './words.ts';

export const views = [
  'board',
  'patient',
  'handover',
  'unit',
  'images',
  'practice',
  'protocol',
  'people',
  'audit',
  'export',
  'import',
  'settings',
  'operations',
] as const;
export type View = (typeof views)[number];

/** How far a role reaches. Which role reaches how far is common practice (S-common-practice); a ward's people are its own choice. */
export const extents = ['own-wards', 'own-hospitals', 'organisation'] as const;
export type Extent = (typeof extents)[number];

// `step-advised` is the protocol's answer to what was recorded, not a decision of its author: whoever records may file it.
interface Permission {
  readonly views: readonly View[];
  readonly writes: readonly EntryKind[];
  readonly sees: Extent;
  readonly records: Extent;
}

const seen: readonly EntryKind[] = ['void', 'intake', 'symptom', 'bag-read', 'told'];
const bedside: readonly EntryKind[] = [
  ...seen,
  'reading',
  'drained',
  'instilled',
  'catheter-placed',
  'catheter-removed',
  'catheter-reviewed',
  'catheter-status',
  'red-flag',
  'caution',
  'context',
  'consent',
  'step-advised',
  'step-answered',
  'protocol-moved',
  'call-made',
  'call-answered',
  'ownership-offered',
  'ownership-accepted',
  'overdue-acknowledged',
  'withdrawn',
  'moved-to-patient',
  'watch-opened',
  'watch-paused',
  'watch-resumed',
  'watch-closed',
  'transferred',
  'patient-registered',
  'opened-with-reason',
];
const bedsideViews: readonly View[] = [
  'board',
  'patient',
  'handover',
  'images',
  'practice',
  'protocol',
  'unit',
];
/** What bedside staff record about themselves; no system does it for them. */
const own: readonly EntryKind[] = ['practised'];

type Reaching = Pick<Permission, 'sees' | 'records'>;
const onOwnWards: Reaching = { sees: 'own-wards', records: 'own-wards' };
const seesOwnHospitals: Reaching = { sees: 'own-hospitals', records: 'own-wards' };
const inOwnHospitals: Reaching = { sees: 'own-hospitals', records: 'own-hospitals' };
const seesAll: Reaching = { sees: 'organisation', records: 'own-wards' };

export const permissions: Readonly<Record<Role, Permission>> = {
  aide: {
    views: ['board', 'patient', 'practice'],
    writes: [...seen, ...own, 'withdrawn', 'step-advised'],
    ...onOwnWards,
  },
  nurse: { views: bedsideViews, writes: [...bedside, ...own], ...onOwnWards },
  midwife: { views: bedsideViews, writes: [...bedside, ...own], ...onOwnWards },
  'charge-nurse': { views: bedsideViews, writes: [...bedside, ...own], ...seesOwnHospitals },
  'specialist-nurse': {
    views: [...bedsideViews, 'settings'],
    writes: [...bedside, ...own],
    ...inOwnHospitals,
  },
  'called-clinician': {
    views: ['board', 'patient', 'images', 'practice', 'protocol'],
    writes: [...own, 'call-answered', 'context', 'caution', 'red-flag', 'told', 'opened-with-reason'],
    ...inOwnHospitals,
  },
  assessor: { views: ['board', 'unit', 'images', 'practice', 'protocol'], writes: [], ...onOwnWards },
  'clinical-engineer': { views: ['unit'], writes: [], ...seesOwnHospitals },
  manager: { views: ['board', 'unit', 'protocol'], writes: [], ...seesOwnHospitals },
  'privacy-officer': { views: ['audit'], writes: [], ...seesAll },
  analyst: { views: ['unit', 'export'], writes: [], ...seesAll },
  integration: {
    views: ['export', 'import', 'patient'],
    writes: bedside.filter((kind) => kind !== 'opened-with-reason'),
    sees: 'organisation',
    records: 'organisation',
  },
  administrator: { views: ['people', 'settings', 'operations'], writes: [], ...seesAll },
};

/** Who owns a ward's protocols: signs, publishes and retires them. Common practice (S-common-practice). */
export const protocolSigners: readonly Role[] = ['specialist-nurse', 'charge-nurse'];

export function mayWrite(role: Role, kind: EntryKind): boolean {
  return permissions[role].writes.includes(kind);
}

export function mayView(role: Role, view: View): boolean {
  return permissions[role].views.includes(view);
}

/** Ids of the wards on which somebody sees, or records; `everywhere` also what lies on no ward of the directory. */
export function wardsWithin(
  extent: Extent,
  person: Pick<Person, 'wards'>,
  directory: Pick<Directory, 'wards'>,
): ReadonlySet<string> | 'everywhere' {
  if (extent === 'organisation') return 'everywhere';
  const own = directory.wards.filter(({ id }) => person.wards.includes(id));
  if (extent === 'own-wards') return new Set(own.map(({ id }) => id));
  const hospitals = new Set(own.map(({ hospital }) => hospital));
  return new Set(directory.wards.filter(({ hospital }) => hospitals.has(hospital)).map(({ id }) => id));
}
