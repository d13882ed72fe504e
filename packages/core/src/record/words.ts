/**
 * The closed lists of the record: the trade's words in the form that is stored. What a person reads stands in
 * present/; the meaning of each in docs/glossary.md.
 */
export const settings = [
  'after-surgery',
  'catheter-removed',
  'after-birth',
  'stroke-or-rehabilitation',
  'spinal-cord',
  'intermittent-programme',
  'child',
  'comfort',
] as const;
export type WatchSetting = (typeof settings)[number];

export const sexes = ['female', 'male', 'other', 'unknown'] as const;
export const transferReasons = ['transfer', 'bed-change', 'from-recovery', 'from-birth-suite'] as const;
/** Why somebody opened a patient of another ward. */
export const openReasons = ['covering', 'asked-to-help', 'emergency', 'other'] as const;
export const pauseReasons = ['theatre', 'imaging', 'dialysis', 'leave', 'other'] as const;
export const watchOutcomes = [
  'emptying',
  'catheter-left-in',
  'intermittent-programme',
  'discharged',
  'transferred-out',
  'declined',
  'comfort-plan',
  'died',
  'opened-in-error',
] as const;
export const voidRelations = ['before-void', 'after-void', 'no-void'] as const;
export const repeatRules = ['largest', 'mean', 'median', 'last', 'chosen'] as const;
export const positions = ['supine', 'head-up', 'side', 'sitting', 'other'] as const;
/** Reasons to doubt a reading. */
export const doubts = [
  'cut-below',
  'edge-outside',
  'wall-faint',
  'second-fluid',
  'moved',
  'repeats-differ',
  'poor-contact',
  'unsure-aim',
  'shadow',
  'near-empty',
  'catheter-in-view',
] as const;
export type Doubt = (typeof doubts)[number];
export const readingMethods = ['automatic', 'calipers', 'traced-from-images', 'known-volume'] as const;
/** How the planes of a look lie to each other. */
export const planeLayouts = [
  'rotational_fan',
  'tilt_sweep',
  'parallel_sweep',
  'two_orthogonal_planes',
  'three_diameters',
] as const;
/** Where scale or layout of images came from. */
export const givenFrom = ['file', 'hand'] as const;
export const drawnBy = ['program', 'person', 'both'] as const;
export const imageAnswers = ['volume', 'at-least', 'none-seen', 'refused'] as const;
export const notObtainedReasons = [
  'no-window',
  'pain',
  'declined',
  'scanner-missing',
  'none-seen',
  'other',
] as const;
export const voidKinds = ['measured', 'not-measured', 'pad-weighed', 'mixed', 'lost'] as const;
export const colours = ['clear', 'yellow', 'dark', 'pink', 'red', 'clots', 'cloudy'] as const;
/** Reasons for an indwelling catheter (S-clinical-I11), and two that a unit uses while it decides. */
export const catheterReasons = [
  'acute-retention',
  'obstruction',
  'strict-output',
  'surgery',
  'wound-healing',
  'immobilisation',
  'comfort',
  'overdistension-rest',
  'other',
] as const;
export const removalReasons = [
  'planned',
  'no-longer-needed',
  'void-trial',
  'blocked',
  'fell-out',
  'patient-asked',
  'other',
] as const;
export const symptoms = [
  'urge-cannot-pass',
  'lower-belly-pain',
  'restless',
  'tried-nothing-passed',
  'leaking',
  'comfortable',
] as const;
export const redFlags = [
  'dysreflexia-signs',
  'clots-or-blocked',
  'fever-or-rigors',
  'new-leg-weakness',
  'trauma',
  'anuria-or-high-potassium',
] as const;
export type RedFlag = (typeof redFlags)[number];
export const cautions = [
  'ascites',
  'pelvic-mass',
  'pregnancy',
  'postpartum',
  'recent-urethral-or-bladder-surgery',
  'stricture',
  'neobladder',
  'urostomy',
  'injury-at-or-above-t6',
  'injury-below-t6',
  'latex-allergy',
  'anaesthetic-gel-allergy',
  'obesity',
  'wound',
  'prolapse',
  'peritoneal-dialysis',
  'large-uterus',
] as const;
export type Caution = (typeof cautions)[number];
export const contextTopics = [
  'weight-kg',
  'own-capacity-ml',
  'limit-ml',
  'loop-diuretic',
  'opioid',
  'anticholinergic',
  'regional-block',
  'anticoagulant',
  'creatinine-umol-per-l',
  'potassium-mmol-per-l',
  'dialysis',
  'usual-systolic-mmhg',
] as const;
export const contextStates = ['present', 'worn-off', 'given', 'stopped', 'little-or-no-urine'] as const;
export const limitSources = ['own-capacity', 'unit', 'prescriber'] as const;
export const consentTopics = ['bladder-ultrasound', 'catheter', 'images-kept', 'waking-at-night'] as const;
export const handoverOccasions = ['shift', 'transfer', 'break', 'escalation', 'return'] as const;
export const correctionReasons = [
  'typing',
  'wrong-patient',
  'duplicate',
  'wrong-time',
  'not-done',
  'clock-wrong',
  'other',
] as const;

/** Practice on simulated pictures: what was asked, how hard it was, how an outline was begun. */
export const practiceExercises = ['trace', 'judge'] as const;
export type PracticeExercise = (typeof practiceExercises)[number];
export const practiceLevels = [
  'plain-view',
  'cut-by-edge',
  'shadowed',
  'look-alikes',
  'nothing-there',
] as const;
export type PracticeLevel = (typeof practiceLevels)[number];
export const practiceQuestions = ['bladder-there', 'whole-in-view', 'what-hides', 'other-fluid'] as const;
export type PracticeQuestion = (typeof practiceQuestions)[number];
export const practiceStarts = ['from-nothing', 'from-the-program'] as const;

/** Steps that a protocol can advise. Which is gentler than which is the protocol room's to say. */
export const steps = [
  'watch-can-end',
  'look-again',
  'promote-voiding',
  'measure-residual',
  'ask-and-examine',
  'review-catheter',
  'remove-catheter',
  'measure-again-now',
  'examine-now',
  'check-catheter',
  'drain-in-out',
  'leave-catheter-and-plan',
  'call-clinician',
  'emergency',
] as const;
export type Step = (typeof steps)[number];

export const roles = [
  'aide',
  'nurse',
  'midwife',
  'charge-nurse',
  'specialist-nurse',
  'called-clinician',
  'assessor',
  'clinical-engineer',
  'manager',
  'privacy-officer',
  'analyst',
  'integration',
  'administrator',
] as const;
export type Role = (typeof roles)[number];
