import type { Role, Step } from '@ebbline/core/record';

/** One row of an example protocol, as the made-up record quotes it. Example, not approved. */
export interface ExampleRow {
  readonly step: Step;
  readonly dueInMin: number;
  readonly ownerRole: Role;
  readonly why: string;
  readonly tell?: string;
  readonly rowId: string;
  readonly rowText: string;
  readonly rowSourceId: string;
  readonly protocolId: string;
}

const surgery = 'example-after-surgery';
const removed = 'example-catheter-removed';
const birth = 'example-after-birth';

/**
 * Rows that the stories quote when no protocol engine is given. Each names its source; the minutes are an
 * example unit's choice (S-unit-choice) unless the source states them.
 */
export const exampleRows = {
  firstLook: {
    step: 'look-again',
    dueInMin: 0,
    ownerRole: 'nurse',
    why: 'First look on arrival: a bladder may already be full after surgery, and spinal block hides it.',
    rowId: 'S-01',
    rowText: 'No reading yet, after surgery: look on arrival.',
    rowSourceId: 'S-clinical-E8',
    protocolId: surgery,
  },
  lookSoon: {
    step: 'look-again',
    dueInMin: 90,
    ownerRole: 'nurse',
    why: 'Below the limit now. After surgery a bladder fills by 100 to 200 mL an hour.',
    rowId: 'S-02',
    rowText: 'Below 250 mL, no discomfort: look again in 90 minutes.',
    rowSourceId: 'S-clinical-E10',
    protocolId: surgery,
  },
  promote: {
    step: 'promote-voiding',
    dueInMin: 120,
    ownerRole: 'nurse',
    why: 'Between 100 and 400 mL and comfortable: help to pass urine, then look again.',
    rowId: 'S-03',
    rowText: '100 to 399 mL, comfortable: promote voiding, look again in 2 hours.',
    rowSourceId: 'S-clinical-E14',
    protocolId: surgery,
  },
  residual: {
    step: 'measure-residual',
    dueInMin: 15,
    ownerRole: 'nurse',
    why: 'Urine was passed: measure what is left while it still is what was left.',
    rowId: 'S-04',
    rowText: 'Passed urine: measure the residual within 15 minutes.',
    rowSourceId: 'S-clinical-D7',
    protocolId: surgery,
  },
  repeatNow: {
    step: 'measure-again-now',
    dueInMin: 5,
    ownerRole: 'nurse',
    why: 'The reading is a low bound only and its doubt matters: measure again now.',
    rowId: 'S-05',
    rowText: 'At least, or a doubt that matters: measure again now.',
    rowSourceId: 'S-clinical-M6',
    protocolId: surgery,
  },
  drain: {
    step: 'drain-in-out',
    dueInMin: 15,
    ownerRole: 'nurse',
    why: 'Over the limit either way: drain once, in and out, and record the volume.',
    rowId: 'S-06',
    rowText: '400 to 600 mL and not able to pass urine: drain in and out.',
    rowSourceId: 'S-clinical-E14',
    protocolId: surgery,
  },
  lookAfterDrain: {
    step: 'look-again',
    dueInMin: 165,
    ownerRole: 'nurse',
    why: 'Drained once. Look again within 3 hours.',
    rowId: 'S-07',
    rowText: 'After a drain: look again within 3 hours.',
    rowSourceId: 'S-clinical-E9',
    protocolId: surgery,
  },
  leaveIn: {
    step: 'leave-catheter-and-plan',
    dueInMin: 20,
    ownerRole: 'nurse',
    tell: 'The responsible clinician',
    why: 'Drained twice without passing urine: agree with the clinician whether to leave a catheter, with a planned removal.',
    rowId: 'S-08',
    rowText: 'Two drains without passing urine: discuss an indwelling catheter or scheduled drains.',
    rowSourceId: 'S-clinical-E14',
    protocolId: surgery,
  },
  nextVoid: {
    step: 'measure-residual',
    dueInMin: 403,
    ownerRole: 'nurse',
    why: 'One low residual. Measure after the next void; two in a row may end the watch.',
    rowId: 'S-09',
    rowText: 'Residual under 100 mL once: measure after the next void.',
    rowSourceId: 'S-clinical-E14b',
    protocolId: surgery,
  },
  end: {
    step: 'watch-can-end',
    dueInMin: 30,
    ownerRole: 'nurse',
    why: 'Two residuals under 100 mL in a row: the watch can end.',
    rowId: 'S-10',
    rowText: 'Two residuals under 100 mL in a row: the watch can end.',
    rowSourceId: 'S-clinical-E14b',
    protocolId: surgery,
  },
  examine: {
    step: 'examine-now',
    dueInMin: 0,
    ownerRole: 'nurse',
    why: 'Discomfort and unable to pass urine: go and examine now, whatever the number.',
    rowId: 'S-11',
    rowText: 'Any discomfort: examine now.',
    rowSourceId: 'S-clinical-Q4',
    protocolId: surgery,
  },
  doNotDrainAgain: {
    step: 'ask-and-examine',
    dueInMin: 30,
    ownerRole: 'nurse',
    tell: 'The responsible clinician',
    why: 'Read much, drained little. Check that the catheter is in the bladder and draining; then do not drain again on this number alone: examine, ask for imaging.',
    rowId: 'S-12',
    rowText: 'Drained under half of what was read: check the catheter, examine, ask for imaging.',
    rowSourceId: 'S-clinical-L2',
    protocolId: surgery,
  },
  call: {
    step: 'call-clinician',
    dueInMin: 10,
    ownerRole: 'nurse',
    tell: 'The clinician on call',
    why: 'The unit leaves this to a person: call, and say what is known.',
    rowId: 'S-13',
    rowText: 'Refusal, reading not to be relied on, or a forbidding caution: call the clinician.',
    rowSourceId: 'S-clinical-Q14',
    protocolId: surgery,
  },
  reviewCatheter: {
    step: 'review-catheter',
    dueInMin: 1440,
    ownerRole: 'nurse',
    why: 'A catheter is in. Is its reason still there?',
    rowId: 'S-14',
    rowText: 'Indwelling catheter: review every day, remove early.',
    rowSourceId: 'S-clinical-I11',
    protocolId: surgery,
  },
  checkCatheter: {
    step: 'check-catheter',
    dueInMin: 30,
    ownerRole: 'nurse',
    why: 'Irrigation runs: count output less inflow, and see that it drains.',
    rowId: 'S-15',
    rowText: 'Irrigation running: check drainage every 30 minutes.',
    rowSourceId: 'S-unit-choice',
    protocolId: surgery,
  },
  lookAfterRemoval: {
    step: 'look-again',
    dueInMin: 240,
    ownerRole: 'nurse',
    why: 'Catheter out. Look if nothing is passed in 4 hours.',
    rowId: 'R-01',
    rowText: 'Catheter removed, nothing passed: look at 4 hours.',
    rowSourceId: 'S-clinical-E14b',
    protocolId: removed,
  },
  lookAfterBirth: {
    step: 'look-again',
    dueInMin: 360,
    ownerRole: 'midwife',
    why: 'Look by 6 hours after birth unless a void has been measured.',
    rowId: 'B-01',
    rowText: 'No measured void within 6 hours of birth: look.',
    rowSourceId: 'S-clinical-E17',
    protocolId: birth,
  },
  largeAfterBirth: {
    step: 'leave-catheter-and-plan',
    dueInMin: 15,
    ownerRole: 'midwife',
    tell: 'The obstetric clinician',
    why: 'A large volume was drained: agree whether the catheter stays, and plan its removal.',
    rowId: 'B-02',
    rowText: 'Over 600 mL drained: leave the catheter and plan its removal.',
    rowSourceId: 'S-clinical-E14',
    protocolId: birth,
  },
} as const satisfies Record<string, ExampleRow>;

export type ExampleRowName = keyof typeof exampleRows;
