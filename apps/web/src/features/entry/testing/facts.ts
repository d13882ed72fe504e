// Facts of one made-up patient for tests of this room and of the tide chart: the least that a screen needs.
import type { PatientFacts } from '@ebbline/core/facts';
import { defaultSettings } from '@ebbline/core/record';

export const zone = 'Etc/UTC';
export const at = (clock: string): number => Date.parse(`2026-05-14T${clock}:00Z`);

export function factsForTest(more: Partial<PatientFacts> = {}): PatientFacts {
  return {
    patient: 'p-1',
    nowMs: at('15:52'),
    initials: 'R.T.',
    ward: 'ward-six',
    bed: '4',
    watch: {
      state: 'open',
      setting: 'after-surgery',
      reason: 'knee replacement, spinal block',
      openedAtMs: at('13:05'),
    },
    limitMl: 600,
    limitSource: 'own-capacity',
    ownCapacityMl: 620,
    cautions: [],
    redFlags: [],
    discomfort: false,
    declined: [],
    context: {},
    timeline: [],
    readings: [],
    voids: [],
    drains: [],
    residuals: [],
    pairs: [],
    catheter: { inPlace: false, catheterDays: 0 },
    totals: { intakeMl: 0, voidedMl: 0, drainedMl: 0, bagMl: 0, unmeasuredVoids: 0, balanceMl: 0 },
    due: [],
    pastLooks: [],
    calls: [],
    owner: { kind: 'person', person: 'kl' },
    ownership: [],
    offers: [],
    lateDetections: [],
    toReview: [],
    possibleDuplicates: [],
    estimate: { notValid: 'nothing recorded yet' },
    lowResidualsInARow: 0,
    settings: defaultSettings,
    ...more,
  };
}
