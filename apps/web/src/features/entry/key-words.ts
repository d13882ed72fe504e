/** What stands on the keys: a whole word or two for each stored word of the record. The meaning is in docs/glossary.md. */
import type { Caution, Doubt, PayloadOf, RedFlag, Role, WatchSetting } from '@ebbline/core/record';

type Words<Key extends string> = Readonly<Record<Key, string>>;
/** Pairs of stored word and key label, in the order in which the keys stand. */
export type Options = readonly (readonly [value: string, label: string])[];
export const optionsOf = (words: Readonly<Record<string, string>>): Options => Object.entries(words);

export const relationWords: Words<PayloadOf<'reading'>['relation']> = {
  'before-void': 'Before a void',
  'after-void': 'After a void',
  'no-void': 'Cannot pass',
};

/** The six commonest stand first; the rest behind "More doubts". */
export const doubtWords: Words<Doubt> = {
  'cut-below': 'Edge behind the pubic bone',
  'edge-outside': 'Edge outside the picture',
  'wall-faint': 'Wall too faint',
  'second-fluid': 'Two dark areas',
  moved: 'Moved or was in pain',
  'repeats-differ': 'Repeats differ',
  'poor-contact': 'Poor contact',
  'unsure-aim': 'Not sure of the aim',
  shadow: 'A shadow in the way',
  'near-empty': 'Nearly empty',
  'catheter-in-view': 'A catheter in view',
};

/** Doubts that show only a part of the bladder: the figure is then the least it can be (S-clinical-L1, S-clinical-L2). */
export const doubtsThatBoundBelow: readonly Doubt[] = ['cut-below', 'edge-outside'];

export const notObtainedWords: Words<NonNullable<PayloadOf<'reading'>['reasonNotObtained']>> = {
  'none-seen': 'No bladder seen',
  'no-window': 'No view to be had',
  pain: 'Too painful',
  declined: 'Declined',
  'scanner-missing': 'No scanner to hand',
  other: 'Another reason',
};

export const positionWords = {
  supine: 'Lying flat',
  'head-up': 'Head up',
  side: 'On the side',
  sitting: 'Sitting',
  other: 'Another way',
} as const;

export const voidWords: Words<PayloadOf<'void'>['how']> = {
  measured: 'Measured',
  'not-measured': 'Not measured',
  'pad-weighed': 'Pad, weighed in g',
  mixed: 'Mixed with stool',
  lost: 'Lost or spilt',
};
export const sizeWords = { small: 'Small', medium: 'Medium', large: 'Large' } as const;
export const colourWords: Words<NonNullable<PayloadOf<'void'>['colour']>> = {
  clear: 'Clear',
  yellow: 'Yellow',
  dark: 'Dark',
  pink: 'Pink',
  red: 'Red',
  clots: 'With clots',
  cloudy: 'Cloudy',
};

export const routeWords: Words<PayloadOf<'drained'>['route']> = {
  'in-out': 'In and out',
  'left-in': 'Left in',
  'from-catheter': 'From the catheter in place',
};
export const difficultyWords = {
  none: 'Went in easily',
  some: 'Some difficulty',
  failed: 'Could not be passed',
} as const;
export const catheterRouteWords = { urethral: 'By the urethra', suprapubic: 'Above the pubic bone' } as const;
export const catheterReasonWords: Words<PayloadOf<'catheter-placed'>['reason']> = {
  'acute-retention': 'Retention',
  obstruction: 'Obstruction',
  'strict-output': 'Strict output count',
  surgery: 'Surgery',
  'wound-healing': 'Wound to be kept dry',
  immobilisation: 'Must lie still',
  comfort: 'Comfort at the end of life',
  'overdistension-rest': 'Rest after overfilling',
  other: 'Another reason',
};
export const removalWords: Words<PayloadOf<'catheter-removed'>['reason']> = {
  planned: 'As planned',
  'no-longer-needed': 'No longer needed',
  'void-trial': 'For a void trial',
  blocked: 'Blocked',
  'fell-out': 'Fell out',
  'patient-asked': 'Asked for by the patient',
  other: 'Another reason',
};
export const statusWords: Words<PayloadOf<'catheter-status'>['status']> = {
  draining: 'Draining',
  blocked: 'Blocked',
  flushed: 'Flushed',
  clamped: 'Clamped',
  unclamped: 'Unclamped',
  'irrigation-running': 'Irrigation running',
  'irrigation-stopped': 'Irrigation stopped',
};
export const symptomWords: Words<PayloadOf<'symptom'>['symptom']> = {
  'urge-cannot-pass': 'Urge, cannot pass',
  'lower-belly-pain': 'Lower belly pain',
  restless: 'Restless',
  'tried-nothing-passed': 'Tried, nothing passed',
  leaking: 'Leaking',
  comfortable: 'Comfortable',
};
export const redFlagWords: Words<RedFlag> = {
  'dysreflexia-signs': 'Injury at T6 or above with headache, sweating, flushing or a rise in blood pressure',
  'clots-or-blocked': 'Visible blood with clots, or a catheter that does not drain',
  'fever-or-rigors': 'Fever, rigors or flank pain',
  'new-leg-weakness': 'New leg weakness, saddle numbness or loss of bowel control',
  trauma: 'Injury of the pelvis or urethra',
  'anuria-or-high-potassium': 'No urine made, or high potassium',
};
export const cautionWords: Words<Caution> = {
  ascites: 'Ascites',
  'pelvic-mass': 'Pelvic mass',
  pregnancy: 'Pregnancy',
  postpartum: 'After birth',
  'recent-urethral-or-bladder-surgery': 'Recent urethral or bladder surgery',
  stricture: 'Stricture',
  neobladder: 'Neobladder',
  urostomy: 'Urostomy',
  'injury-at-or-above-t6': 'Spinal injury at T6 or above',
  'injury-below-t6': 'Spinal injury below T6',
  'latex-allergy': 'Latex allergy',
  'anaesthetic-gel-allergy': 'Allergy to anaesthetic gel',
  obesity: 'Obesity',
  wound: 'Wound or dressing',
  prolapse: 'Prolapse',
  'peritoneal-dialysis': 'Peritoneal dialysis',
  'large-uterus': 'Large uterus',
};
export const consentWords: Words<PayloadOf<'consent'>['to']> = {
  'bladder-ultrasound': 'Bladder ultrasound',
  catheter: 'Catheter',
  'images-kept': 'Keeping the images',
  'waking-at-night': 'Being woken at night',
};
export const answerWords: Words<PayloadOf<'consent'>['answer']> = {
  given: 'Agrees',
  declined: 'Declines',
  'cannot-consent': 'Cannot decide now',
};
export const settingWords: Words<WatchSetting> = {
  'after-surgery': 'After surgery',
  'catheter-removed': 'Catheter removed',
  'after-birth': 'After birth',
  'stroke-or-rehabilitation': 'Stroke or rehabilitation',
  'spinal-cord': 'Spinal cord',
  'intermittent-programme': 'Intermittent programme',
  child: 'Child',
  comfort: 'Comfort plan',
};
export const pauseWords: Words<PayloadOf<'watch-paused'>['reason']> = {
  theatre: 'Theatre',
  imaging: 'Imaging',
  dialysis: 'Dialysis',
  leave: 'Leave',
  other: 'Another reason',
};
export const outcomeWords: Words<PayloadOf<'watch-closed'>['outcome']> = {
  emptying: 'Empties well by the unit’s rule',
  'catheter-left-in': 'Catheter left in',
  'intermittent-programme': 'Intermittent programme',
  discharged: 'Went home',
  'transferred-out': 'Went elsewhere',
  declined: 'Declined',
  'comfort-plan': 'Comfort plan',
  died: 'Died',
  'opened-in-error': 'Opened in error',
};
export const roleWords: Partial<Record<Role, string>> = {
  'charge-nurse': 'Charge nurse',
  'called-clinician': 'Doctor on call',
  'specialist-nurse': 'Specialist nurse',
  nurse: 'Nurse',
  midwife: 'Midwife',
};
export const correctionWords: Words<PayloadOf<'withdrawn'>['reason']> = {
  typing: 'Typing slip',
  'wrong-patient': 'Wrong patient',
  duplicate: 'Charted twice',
  'wrong-time': 'Wrong time',
  'not-done': 'It was not done',
  'clock-wrong': 'The clock was wrong',
  other: 'Another reason',
};
