import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';
import { roles, steps } from '@ebbline/core/record';
import { drainSteps, gentleness, lookSteps, waitingSteps, type Step } from './advice.ts';
import type { InputName, ProtocolInput } from './dictionary.ts';

/** What a table said, before it is believed. */
export interface RawAdvice {
  readonly step: unknown;
  readonly dueInMin: unknown;
  readonly ownerRole: unknown;
  readonly why: unknown;
  /** The end of the row's range; absent or null when the row gives one time. */
  readonly noLaterThanMin?: unknown;
}

export interface SafetyLaw {
  /** Name of the hazard control. */
  readonly id: string;
  readonly allowed: string;
  /** The inputs it asks for; the proof tries no others. */
  readonly asks: readonly InputName[];
  readonly broken: (input: ProtocolInput, step: Step, dueInMin: number) => boolean;
}

/** Two days: an answer that far away has no owner any more (S-protocol-latest-due). */
export const latestDueMin = 2880;
/** "Now", at the latest: discomfort and red flags wait no longer for a person (S-protocol-at-once). */
export const latestAtOnceMin = 15;
/** A look that is due may still be fitted in this far away; later would be putting it off (S-protocol-due-look). */
export const latestDueLookMin = 60;

/**
 * The one declared exception: under a signed comfort plan looks end, so that "the watch can end" is no wait over a
 * limit and no look through a catheter. Discomfort and red flags reach a person there as everywhere
 * (S-clinical-I11, S-protocol-comfort).
 */
const looksHaveEnded = (input: ProtocolInput, step: Step): boolean =>
  input.setting === 'comfort' && step === 'watch-can-end';

const throughCatheter: ReadonlySet<Step> = new Set([
  'look-again',
  'promote-voiding',
  'measure-residual',
  'measure-again-now',
  'watch-can-end',
  'drain-in-out',
]);

/**
 * What no protocol may answer, whoever wrote and signed it. The starter tables keep these by themselves; this is
 * the second lock.
 *
 * Source    S-clinical-Q4 (discomfort), S-clinical-Q6 (dysreflexia), S-clinical-Q5 S-clinical-Q7 S-clinical-Q8
 *           S-clinical-Q9 S-clinical-Q14 (a person at once), S-clinical-Q14 S-clinical-L1 S-clinical-L2 (no catheter
 *           without a person), S-clinical-L10 (catheter in place), S-clinical-Q13 (no catheter without a number)
 */
export const safetyLaws: readonly SafetyLaw[] = [
  {
    id: 'no-wait-over-limit',
    allowed: 'no waiting step at or above the limit',
    asks: ['setting', 'overLimit'],
    broken: (input, step) =>
      input.overLimit === 'yes' && waitingSteps.has(step) && !looksHaveEnded(input, step),
  },
  {
    id: 'discomfort-is-examined',
    allowed: `discomfort is examined now, within ${latestAtOnceMin} minutes, whatever the volume`,
    asks: ['discomfort'],
    broken: (input, step, dueInMin) =>
      input.discomfort && (gentleness[step] < gentleness['examine-now'] || dueInMin > latestAtOnceMin),
  },
  {
    id: 'red-flag-reaches-person',
    allowed: `a red flag reaches the emergency row or a clinician within ${latestAtOnceMin} minutes; signs of dysreflexia always the emergency row`,
    asks: ['redFlag'],
    broken: (input, step, dueInMin) =>
      input.redFlag !== 'none' &&
      (dueInMin > latestAtOnceMin ||
        (step !== 'emergency' && (step !== 'call-clinician' || input.redFlag === 'dysreflexia-signs'))),
  },
  {
    id: 'do-not-drain',
    allowed:
      'no drain while there is a reason against a catheter or the reading is unreliable; a person decides',
    asks: ['doNotDrain', 'trust'],
    broken: (input, step) =>
      drainSteps.has(step) && (input.doNotDrain !== 'none' || input.trust === 'unreliable'),
  },
  {
    id: 'drain-needs-reading',
    allowed: 'no drain without a volume that was read',
    asks: ['volumeMl'],
    broken: (input, step) => drainSteps.has(step) && input.volumeMl === undefined,
  },
  {
    id: 'no-look-through-catheter',
    allowed: 'with a catheter in place no look and no drain, but a check of the catheter',
    asks: ['setting', 'catheterInPlace'],
    broken: (input, step) =>
      input.catheterInPlace && throughCatheter.has(step) && !looksHaveEnded(input, step),
  },
  {
    id: 'due-look-is-done',
    allowed: `a look that is due is done within ${latestDueLookMin} minutes, not put off again`,
    asks: ['trigger'],
    broken: (input, step, dueInMin) =>
      input.trigger === 'time' && lookSteps.has(step) && dueInMin > latestDueLookMin,
  },
];

/** Of whom a protocol that is for children and for adults gives each the other's rows. */
export const adultRowsLaw =
  'adult rows never answer a child: a protocol is for children, or for adults [adult-rows-only]';

/** True when a child would be answered by rows that answer adults too. */
export const mixesChildren = (ageBands: readonly string[]): boolean =>
  ageBands.includes('child') && ageBands.length > 1;

const unsafe = (found: string, allowed: string, rowId: string): Refusal =>
  refuse('protocol/unsafe-answer', {
    asked: 'Protocol answer',
    found: `row ${rowId} answers ${found}`,
    allowed,
    todo: 'Decide without the protocol now, and tell its owner about this row.',
    where: rowId,
  });

function rangeIsSound(step: Step, { dueInMin, noLaterThanMin }: RawAdvice): boolean {
  if (noLaterThanMin === undefined || noLaterThanMin === null) return true;
  return (
    step === 'look-again' &&
    typeof noLaterThanMin === 'number' &&
    noLaterThanMin >= Number(dueInMin) &&
    noLaterThanMin <= latestDueMin
  );
}

/** What a last table says, as it stands in its row. */
export const rawOf = (values: Readonly<Record<string, unknown>>): RawAdvice => ({
  step: values['step'],
  dueInMin: values['dueInMin'],
  ownerRole: values['ownerRole'],
  why: values['why'],
  noLaterThanMin: values['noLaterThanMin'],
});

/** The first law that an answer breaks, as a refusal; undefined when it keeps them all. */
export function brokenLaw(input: ProtocolInput, raw: RawAdvice, rowId: string): Refusal | undefined {
  const misshapen = unsoundAnswer(raw, rowId);
  if (misshapen) return misshapen;
  const step = raw.step as Step;
  const law = safetyLaws.find((one) => controlIsOn(one.id) && one.broken(input, step, Number(raw.dueInMin)));
  return law === undefined ? undefined : unsafe(`"${step}"`, lawInWords(law), rowId);
}

export const lawInWords = (law: SafetyLaw): string => `${law.allowed} [${law.id}]`;

/** What is wrong with an answer whoever the patient: no such step, no due time, no owner, no reason. */
export function unsoundAnswer(raw: RawAdvice, rowId: string): Refusal | undefined {
  const step = steps.find((one) => one === raw.step);
  if (step === undefined) return unsafe(`the step ${JSON.stringify(raw.step)}`, steps.join(', '), rowId);
  if (controlIsOn('owner-and-due')) {
    const dueIsSound =
      typeof raw.dueInMin === 'number' &&
      Number.isFinite(raw.dueInMin) &&
      raw.dueInMin >= 0 &&
      raw.dueInMin <= latestDueMin;
    if (!dueIsSound)
      return unsafe(
        `due in ${String(raw.dueInMin)} min`,
        `a due time from 0 to ${latestDueMin} min [owner-and-due]`,
        rowId,
      );
    if (!rangeIsSound(step, raw))
      return unsafe(
        `no later than ${String(raw.noLaterThanMin)} min`,
        `a range only for "look-again", from the due time to ${latestDueMin} min [owner-and-due]`,
        rowId,
      );
    if (!roles.some((role) => role === raw.ownerRole))
      return unsafe(
        `the owner ${JSON.stringify(raw.ownerRole)}`,
        `an owner: ${roles.join(', ')} [owner-and-due]`,
        rowId,
      );
    if (typeof raw.why !== 'string' || raw.why.trim() === '')
      return unsafe('without a reason', 'a reason in words [owner-and-due]', rowId);
  }
  return undefined;
}
