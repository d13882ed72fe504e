/** What a person reads for each word of the closed lists. English; another language replaces this file's values. */
import type {
  Caution,
  Doubt,
  EntryKind,
  PayloadOf,
  RedFlag,
  Role,
  Step,
  WatchSetting,
} from '../record/index.ts';
import type { DueKind } from '../facts/index.ts';

export const steps: Readonly<Record<Step, string>> = {
  'watch-can-end': 'The watch can end',
  'look-again': 'Look again',
  'promote-voiding': 'Help to pass urine, then look',
  'measure-residual': 'Measure the residual',
  'ask-and-examine': 'Ask and examine',
  'review-catheter': 'Review the catheter',
  'remove-catheter': 'Take the catheter out',
  'measure-again-now': 'Measure again now',
  'examine-now': 'Examine now',
  'check-catheter': 'Check the catheter',
  'drain-in-out': 'Drain, in and out',
  'leave-catheter-and-plan': 'Catheter stays: write the plan',
  'call-clinician': 'Call the clinician',
  emergency: 'Emergency: call for help now',
};

export const settings: Readonly<Record<WatchSetting, string>> = {
  'after-surgery': 'After surgery',
  'catheter-removed': 'Catheter removed, void trial',
  'after-birth': 'After birth',
  'stroke-or-rehabilitation': 'Stroke or rehabilitation',
  'spinal-cord': 'Spinal cord injury',
  'intermittent-programme': 'Intermittent catheter programme',
  child: 'Child',
  comfort: 'Comfort care, looks have ended',
};

export const roles: Readonly<Record<Role, string>> = {
  aide: 'Health-care assistant',
  nurse: 'Nurse',
  midwife: 'Midwife',
  'charge-nurse': 'Charge nurse',
  'specialist-nurse': 'Specialist nurse',
  'called-clinician': 'Clinician on call',
  assessor: 'Assessor',
  'clinical-engineer': 'Clinical engineer',
  manager: 'Unit manager',
  'privacy-officer': 'Privacy officer',
  analyst: 'Analyst',
  integration: 'Machine account',
  administrator: 'Administrator',
};

export const doubts: Readonly<Record<Doubt, string>> = {
  'cut-below': 'Lower edge behind the pubic bone',
  'edge-outside': 'Edge outside the picture',
  'wall-faint': 'Wall too faint',
  'second-fluid': 'Two dark areas',
  moved: 'Moved, or in pain',
  'repeats-differ': 'Repeats differ',
  'poor-contact': 'Poor contact',
  'unsure-aim': 'Not sure of the aim',
  shadow: 'Part in shadow',
  'near-empty': 'Nearly empty',
  'catheter-in-view': 'Catheter in view',
};

export const redFlags: Readonly<Record<RedFlag, string>> = {
  'dysreflexia-signs': 'Headache, sweating or a rise in pressure, with a spinal injury',
  'clots-or-blocked': 'Clots, or a catheter that does not drain',
  'fever-or-rigors': 'Fever or rigors',
  'new-leg-weakness': 'New leg weakness or saddle numbness',
  trauma: 'Injury to the pelvis or urethra',
  'anuria-or-high-potassium': 'No urine, or high potassium',
};

export const cautions: Readonly<Record<Caution, string>> = {
  ascites: 'Ascites',
  'pelvic-mass': 'Pelvic cyst or mass',
  pregnancy: 'Pregnant',
  postpartum: 'Recently given birth',
  'recent-urethral-or-bladder-surgery': 'Recent surgery of urethra, prostate or bladder',
  stricture: 'Stricture or artificial sphincter',
  neobladder: 'Bladder made of bowel',
  urostomy: 'Urostomy',
  'injury-at-or-above-t6': 'Spinal injury at T6 or above',
  'injury-below-t6': 'Spinal injury below T6',
  'latex-allergy': 'Latex allergy',
  'anaesthetic-gel-allergy': 'Allergy to anaesthetic gel',
  obesity: 'Obesity',
  wound: 'Wound or dressing over the bladder',
  prolapse: 'Prolapse',
  'peritoneal-dialysis': 'Peritoneal dialysis',
  'large-uterus': 'Large uterus',
};

export const dueKinds: Readonly<Record<DueKind, string>> = {
  look: 'Look',
  residual: 'Residual',
  step: 'Step',
  'call-reply': 'Call back',
  'catheter-review': 'Catheter review',
  'catheter-removal': 'Catheter out',
  return: 'Back from pause',
  'consent-again': 'Offer again',
};

export const voidKinds: Readonly<
  Record<'measured' | 'not-measured' | 'pad-weighed' | 'mixed' | 'lost', string>
> = {
  measured: 'Passed, measured',
  'not-measured': 'Passed, not measured',
  'pad-weighed': 'Pad weighed',
  mixed: 'Mixed with stool',
  lost: 'Lost in bed or shower',
};

export const drainRoutes: Readonly<Record<'in-out' | 'left-in' | 'from-catheter', string>> = {
  'in-out': 'In and out',
  'left-in': 'Catheter left in',
  'from-catheter': 'From the catheter',
};

export const voidRelations: Readonly<Record<'before-void' | 'after-void' | 'no-void', string>> = {
  'before-void': 'Before a void',
  'after-void': 'After a void',
  'no-void': 'No void',
};

export const catheterReasons: Readonly<Record<string, string>> = {
  'acute-retention': 'Acute retention',
  obstruction: 'Outlet obstruction',
  'strict-output': 'Strict output',
  surgery: 'Surgery',
  'wound-healing': 'Wound healing',
  immobilisation: 'Prolonged immobilisation',
  comfort: 'Comfort at end of life',
  'overdistension-rest': 'Rest after overdistension',
  other: 'Other',
};

export const symptoms: Readonly<Record<string, string>> = {
  'urge-cannot-pass': 'Urge, cannot pass',
  'lower-belly-pain': 'Lower belly pain',
  restless: 'Restless',
  'tried-nothing-passed': 'Tried, nothing passed',
  leaking: 'Leaking',
  comfortable: 'Comfortable',
};

export const pauseReasons: Readonly<Record<string, string>> = {
  theatre: 'Theatre',
  imaging: 'Imaging',
  dialysis: 'Dialysis',
  leave: 'Leave',
  other: 'Away',
};

export const openReasons: Readonly<Record<string, string>> = {
  covering: 'I cover this ward',
  'asked-to-help': 'I was asked to help',
  emergency: 'Emergency',
  other: 'Another reason',
};

export const watchOutcomes: Readonly<Record<string, string>> = {
  emptying: 'Emptying by themselves',
  'catheter-left-in': 'Catheter left in',
  'intermittent-programme': 'Intermittent programme',
  discharged: 'Discharged',
  'transferred-out': 'Transferred out',
  declined: 'Declined',
  'comfort-plan': 'Comfort plan',
  died: 'Died',
  'opened-in-error': 'Opened in error',
};

/** Why an entry is taken back. */
export const correctionReasons: Readonly<Record<PayloadOf<'withdrawn'>['reason'], string>> = {
  typing: 'Typing slip',
  'wrong-patient': 'Wrong patient',
  duplicate: 'Charted twice',
  'wrong-time': 'Wrong time',
  'not-done': 'It was not done',
  'clock-wrong': 'The clock was wrong',
  other: 'Another reason',
};

/** Why an estimate gives no number, in words. */
export const notValid: Readonly<Record<string, string>> = {
  irrigation: 'No estimate while irrigation runs. Count what comes out less what goes in.',
  neobladder: 'No estimate: this bladder was made of bowel. Empty by the clock and by the plan.',
  urostomy: 'No bladder watch: urine does not gather in a bladder.',
  ascites: 'Ascites: do not rely on readings. Go by comfort, by what is passed, and by the plan.',
  'pelvic-mass': 'Pelvic cyst or mass: a reading may measure the wrong space. Examine, and ask for imaging.',
  'peritoneal-dialysis': 'Fluid in the belly: do not rely on readings until it is drained.',
  'not-watched': 'Nobody watches this bladder. Open a watch with a reason, a last void and a limit.',
};

/** What an entry of a kind is called. */
export const kinds: Readonly<Record<EntryKind, string>> = {
  'patient-registered': 'Patient registered',
  transferred: 'Moved to another bed or ward',
  'watch-opened': 'Watch opened',
  'watch-paused': 'Watch paused',
  'watch-resumed': 'Watch resumed',
  'watch-closed': 'Watch ended',
  reading: 'Bladder ultrasound reading',
  void: 'Urine passed',
  drained: 'Urine drained',
  instilled: 'Fluid put into the bladder',
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
  'protocol-moved': 'Moved to another version of the protocol',
  'opened-with-reason': 'Opened from another ward',
  'call-made': 'Call made',
  'call-answered': 'Call answered',
  'ownership-offered': 'Offered at handover',
  'ownership-accepted': 'Accepted at handover',
  'overdue-acknowledged': 'Overdue look seen',
  practised: 'Practised on simulated pictures',
  withdrawn: 'Withdrawn',
  'moved-to-patient': 'Moved to another patient',
};
