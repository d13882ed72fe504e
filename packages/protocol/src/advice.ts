import { steps, type Advice, type Role, type Step } from '@ebbline/core/record';

export type { Advice, Role, Step };

/** Plain name of a step, as an instruction. */
export const stepNames: Readonly<Record<Step, string>> = {
  'watch-can-end': 'The watch can end',
  'look-again': 'Look again',
  'promote-voiding': 'Help to pass urine, then look again',
  'measure-residual': 'Measure what is left',
  'ask-and-examine': 'Ask and examine',
  'review-catheter': 'Review the catheter',
  'remove-catheter': 'Remove the catheter',
  'measure-again-now': 'Measure again now',
  'examine-now': 'Examine now',
  'check-catheter': 'Check the catheter',
  'drain-in-out': 'Drain with an in-out catheter',
  'leave-catheter-and-plan': 'Leave a catheter in, and plan its removal',
  'call-clinician': 'Call the clinician',
  emergency: 'Emergency: get help now',
};

/**
 * How soon and how strongly a step brings a person to the patient; a larger number is less gentle. Steps may be
 * equal: "examine now" and "call the clinician" are two ways to put the decision to a person at once, so that pain
 * added to a call, or a call added to pain, is neither gentler nor harsher. Proofs that "more volume, pain or a red
 * flag never gives a gentler step" use this order (unit choice, S-protocol-gentleness).
 */
export const gentleness: Readonly<Record<Step, number>> = {
  'watch-can-end': 0,
  'look-again': 1,
  'promote-voiding': 1,
  'review-catheter': 1,
  'remove-catheter': 1,
  'measure-residual': 2,
  'measure-again-now': 2,
  'ask-and-examine': 2,
  'check-catheter': 3,
  'drain-in-out': 3,
  'leave-catheter-and-plan': 3,
  'examine-now': 4,
  'call-clinician': 4,
  emergency: 5,
};

/** All steps, gentlest first. */
export const stepsByGentleness: readonly Step[] = [...steps].sort((a, b) => gentleness[a] - gentleness[b]);

/** Steps that let time pass before anyone measures or acts. */
export const waitingSteps: ReadonlySet<Step> = new Set([
  'watch-can-end',
  'look-again',
  'promote-voiding',
  'review-catheter',
  'remove-catheter',
]);

/** Steps that ask for a reading at a later time. */
export const lookSteps: ReadonlySet<Step> = new Set(['look-again', 'promote-voiding']);

/** Steps that pass a catheter. */
export const drainSteps: ReadonlySet<Step> = new Set(['drain-in-out', 'leave-catheter-and-plan']);
