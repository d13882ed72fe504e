/**
 * What stands on the keys: a whole word or two for each stored word of the record. Lists that the sentences use too
 * come from core/present; the meaning of each word is in docs/glossary.md.
 */
import { publishedCoefficients } from '../geometry/index.ts';
import * as labels from './labels.ts';
import type { Doubt, PayloadOf, Role } from '../record/index.ts';

type Words<Key extends string> = Readonly<Record<Key, string>>;
/** Pairs of stored word and key label, in the order in which the keys stand. */
export type Options = readonly (readonly [value: string, label: string])[];
export const optionsOf = (words: Readonly<Record<string, string>>): Options => Object.entries(words);

export const relationWords: Words<PayloadOf<'reading'>['relation']> = {
  'before-void': 'Before a void',
  'after-void': 'After a void',
  'no-void': 'No void',
};

/** Keys beside the number of a reading. */
export const readingKeyWords = { atLeast: 'at least', noneSeen: 'None seen', repeat: 'Repeat' } as const;
export const scannerWord = 'Scanner';
/** Of a time that nobody read off a clock. */
export const aboutThatTime = 'About that time';

/** The six commonest stand first; the rest behind "More doubts". */
export const doubtWords = labels.doubts;

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

export const routeWords = labels.drainRoutes;
export const difficultyWords = {
  none: 'Went in easily',
  some: 'Some difficulty',
  failed: 'Could not be passed',
} as const;
export const catheterRouteWords = { urethral: 'By the urethra', suprapubic: 'Above the pubic bone' } as const;
export const catheterReasonWords = labels.catheterReasons;
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
export const symptomWords = labels.symptoms;
export const redFlagWords = labels.redFlags;
export const cautionWords = labels.cautions;
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
export const settingWords = labels.settings;
export const pauseWords = labels.pauseReasons;
export const outcomeWords = labels.watchOutcomes;
export const roleWords: Partial<Record<Role, string>> = {
  'charge-nurse': 'Charge nurse',
  'called-clinician': 'Doctor on call',
  'specialist-nurse': 'Specialist nurse',
  nurse: 'Nurse',
  midwife: 'Midwife',
};

export const drugTopicWords = {
  'loop-diuretic': 'Loop diuretic',
  opioid: 'Opioid',
  anticholinergic: 'Anticholinergic',
  'regional-block': 'Regional block',
  anticoagulant: 'Anticoagulant',
  dialysis: 'Dialysis',
} as const;
export const drugStateWords = {
  given: 'Given',
  present: 'Present',
  'worn-off': 'Worn off',
  stopped: 'Stopped',
  'little-or-no-urine': 'Little or no urine',
} as const;
/** With the unit in which the number is written down. */
export const measureTopicWords = {
  'weight-kg': 'Weight, kg',
  'creatinine-umol-per-l': 'Creatinine, µmol/L',
  'potassium-mmol-per-l': 'Potassium, mmol/L',
  'usual-systolic-mmhg': 'Usual systolic pressure, mmHg',
} as const;

/** Published coefficients with the people they come from; a shape's name alone is never turned into a figure. */
export const coefficientWords: Options = publishedCoefficients
  .filter((one) => one.grade === 'verified')
  .map((one) => [
    one.id,
    `${one.coefficient.toFixed(3).replace(/0+$/, '')}: ${one.shape === undefined ? '' : `${one.shape.replace('-', ' ')}, `}${one.population}`,
  ]);
