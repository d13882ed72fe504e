/**
 * Who may record and see what: the one table. The server enforces it, screens follow it.
 *
 * A row lists the kinds of entry a role may write; `views` what it may open.
 */
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

// `step-advised` is the protocol's answer to what was recorded, not a decision of its author: whoever records may file it.
interface Permission {
  readonly views: readonly View[];
  readonly writes: readonly EntryKind[];
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

export const permissions: Readonly<Record<Role, Permission>> = {
  aide: { views: ['board', 'patient', 'practice'], writes: [...seen, ...own, 'withdrawn', 'step-advised'] },
  nurse: { views: bedsideViews, writes: [...bedside, ...own] },
  midwife: { views: bedsideViews, writes: [...bedside, ...own] },
  'charge-nurse': { views: bedsideViews, writes: [...bedside, ...own] },
  'specialist-nurse': { views: [...bedsideViews, 'settings'], writes: [...bedside, ...own] },
  'called-clinician': {
    views: ['board', 'patient', 'images', 'practice', 'protocol'],
    writes: [...own, 'call-answered', 'context', 'caution', 'red-flag', 'told'],
  },
  assessor: { views: ['board', 'unit', 'images', 'practice', 'protocol'], writes: [] },
  'clinical-engineer': { views: ['unit'], writes: [] },
  manager: { views: ['board', 'unit', 'protocol'], writes: [] },
  'privacy-officer': { views: ['audit'], writes: [] },
  analyst: { views: ['unit', 'export'], writes: [] },
  integration: { views: ['export', 'import', 'patient'], writes: [...bedside] },
  administrator: { views: ['people', 'settings', 'operations'], writes: [] },
};

/** Who owns a ward's protocols: signs, publishes and retires them. Common practice (S-common-practice). */
export const protocolSigners: readonly Role[] = ['specialist-nurse', 'charge-nurse'];

export function mayWrite(role: Role, kind: EntryKind): boolean {
  return permissions[role].writes.includes(kind);
}

export function mayView(role: Role, view: View): boolean {
  return permissions[role].views.includes(view);
}
