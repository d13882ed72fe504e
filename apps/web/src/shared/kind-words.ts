import type { EntryKind } from '@ebbline/core/record';

const words: Readonly<Record<EntryKind, string>> = {
  'patient-registered': 'Patient registered',
  transferred: 'Moved to another bed or ward',
  'watch-opened': 'Watch opened',
  'watch-paused': 'Watch paused',
  'watch-resumed': 'Watch resumed',
  'watch-closed': 'Watch ended',
  reading: 'Bladder ultrasound reading',
  void: 'Urine passed',
  drained: 'Urine drained',
  'catheter-placed': 'Catheter placed',
  'catheter-removed': 'Catheter removed',
  'catheter-reviewed': 'Catheter reviewed',
  'catheter-status': 'Catheter checked',
  'bag-read': 'Bag read',
  told: 'Told',
  intake: 'Fluid given',
  symptom: 'How the person feels',
  'red-flag': 'Warning sign',
  caution: 'Caution',
  context: 'Context',
  consent: 'Consent',
  'step-advised': 'Step advised',
  'step-answered': 'Step answered',
  'call-made': 'Call made',
  'call-answered': 'Call answered',
  'ownership-offered': 'Offered at handover',
  'ownership-accepted': 'Accepted at handover',
  'overdue-acknowledged': 'Overdue look seen',
  practised: 'Practised on simulated pictures',
  withdrawn: 'Withdrawn',
  'moved-to-patient': 'Moved to another patient',
};

/** What an entry of this kind is called on a screen. */
export const labelOfKind = (kind: EntryKind): string => words[kind];
