/**
 * What must fit together within one entry, after each field has passed its own shape: a volume and what was obtained,
 * a void and how it was measured, a number and the topic that it belongs to.
 *
 * Errors    record/inconsistent, record/nobody
 */
import { controlIsOn } from '../quantity/control.ts';
import { instantMs } from '../quantity/instant.ts';
import { refuse, type Refusal } from '../quantity/refusal.ts';
import type { Entry } from './entry.ts';
import type { PayloadOf } from './kinds.ts';
import { isPracticeRecord, practiceRecordOf } from './practice.ts';

const inconsistent = (where: string, found: string, allowed: string, todo: string): Refusal =>
  refuse('record/inconsistent', { asked: 'Entry', found, allowed, todo, where });

function boundsRefusal({
  lowMl,
  highMl,
}: {
  readonly lowMl?: number;
  readonly highMl?: number;
}): Refusal | undefined {
  return lowMl !== undefined && highMl !== undefined && lowMl > highMl
    ? inconsistent(
        'payload.lowMl',
        `from ${lowMl} to ${highMl} mL`,
        'the lower bound first',
        'Swap the two bounds.',
      )
    : undefined;
}

function readingRefusal(payload: PayloadOf<'reading'>): Refusal | undefined {
  const { result, volumeMl, reasonNotObtained, relation, sinceVoidMin } = payload;
  if (result === 'not-obtained' && volumeMl !== undefined)
    return inconsistent(
      'payload.volumeMl',
      `${volumeMl} mL with "not obtained"`,
      'a volume, or "not obtained" with its reason',
      'Never write 0 for a reading that was not obtained.',
    );
  if (result === 'not-obtained' && reasonNotObtained === undefined)
    return inconsistent(
      'payload.reasonNotObtained',
      'no reason',
      'a reason when no reading was obtained',
      'Say why no reading was obtained.',
    );
  if (result !== 'not-obtained' && volumeMl === undefined)
    return inconsistent(
      'payload.volumeMl',
      'no volume',
      'a volume in mL',
      'Enter the volume, or "not obtained".',
    );
  if (relation !== 'after-void' && sinceVoidMin !== undefined)
    return inconsistent(
      'payload.sinceVoidMin',
      'minutes since a void',
      'minutes only for a reading after a void',
      'Say "after a void", or leave the minutes out.',
    );
  return boundsRefusal(payload);
}

function voidRefusal(payload: PayloadOf<'void'>): Refusal | undefined {
  const { how, volumeMl, padG } = payload;
  if ((how === 'measured' || how === 'mixed') && volumeMl === undefined)
    return inconsistent(
      'payload.volumeMl',
      'no volume',
      'a volume in mL for a measured void',
      'Enter the volume, or choose "not measured".',
    );
  if (how === 'pad-weighed' && padG === undefined)
    return inconsistent(
      'payload.padG',
      'no weight',
      'the net weight in g for a weighed pad',
      'Enter the weight, or choose "not measured".',
    );
  if ((how === 'not-measured' || how === 'lost') && volumeMl !== undefined)
    return inconsistent(
      'payload.volumeMl',
      `${volumeMl} mL with "${how}"`,
      'no volume for a void that was not measured',
      'Choose "measured", or leave the volume out.',
    );
  return boundsRefusal(payload);
}

/** Lowest and highest number of a topic, against slips of the keyboard and of the unit. Common practice (S-common-practice). */
const topicBounds: Readonly<Record<string, readonly [low: number, high: number, unit: string]>> = {
  'weight-kg': [0.4, 400, 'kg'],
  'limit-ml': [20, 1600, 'mL'],
  'own-capacity-ml': [20, 3000, 'mL'],
};

function contextRefusal({ topic, value }: PayloadOf<'context'>): Refusal | undefined {
  const bounds = topicBounds[topic];
  if (!bounds) return undefined;
  const [low, high, unit] = bounds;
  return value === undefined || value < low || value > high
    ? inconsistent(
        'payload.value',
        value === undefined ? 'no value' : `${value} ${unit}`,
        `${low} to ${high} ${unit}`,
        'Check the number and the unit.',
      )
    : undefined;
}

function offerRefusal({ toPerson, toRole }: PayloadOf<'ownership-offered'>): Refusal | undefined {
  return toPerson === undefined && toRole === undefined && controlIsOn('H13-nobody')
    ? refuse('record/nobody', {
        asked: 'Handover',
        found: 'nobody to hand over to',
        allowed: 'a person, or a role of a ward',
        todo: 'Name who takes it, or keep it.',
        where: 'payload.toPerson',
      })
    : undefined;
}

function adviceRefusal({ step, dueAt, noLaterThanAt }: PayloadOf<'step-advised'>): Refusal | undefined {
  if (noLaterThanAt === undefined) return undefined;
  if (step !== 'look-again')
    return inconsistent(
      'payload.noLaterThanAt',
      'a range of times for a step that is no look',
      'a range only for "look again"',
      'Leave the latest time out.',
    );
  return instantMs(noLaterThanAt) < instantMs(dueAt)
    ? inconsistent(
        'payload.noLaterThanAt',
        'a latest time before the due time',
        'the latest time at or after the due time',
        'Check the two times of the row.',
      )
    : undefined;
}

/** Practice stands in the record of who practised; nothing else stands there. */
function practiceRefusal(entry: Entry): Refusal | undefined {
  if (entry.kind !== 'practised') {
    return isPracticeRecord(entry.patient)
      ? inconsistent('patient', 'a record of practice', "a patient's record", 'Choose the patient again.')
      : undefined;
  }
  if (entry.patient !== practiceRecordOf(entry.author))
    return inconsistent(
      'patient',
      'another record',
      'the record of practice of who practised',
      'Record it from the practice page.',
    );
  return entry.corrects === undefined
    ? undefined
    : inconsistent(
        'corrects',
        'a correction',
        'a result that stands as it was',
        'Do the exercise again instead.',
      );
}

/** The first thing in an entry that does not fit the rest of it. */
export function checkTogether(entry: Entry): Refusal | undefined {
  const practice = practiceRefusal(entry);
  if (practice) return practice;
  switch (entry.kind) {
    case 'reading':
      return readingRefusal(entry.payload);
    case 'void':
      return voidRefusal(entry.payload);
    case 'context':
      return contextRefusal(entry.payload);
    case 'ownership-offered':
      return offerRefusal(entry.payload);
    case 'step-advised':
      return adviceRefusal(entry.payload);
    case 'opened-with-reason':
      if (entry.payload.reason === 'other' && entry.payload.note === undefined)
        return inconsistent('payload.note', 'no words', 'a few words why', 'Say why in a few words.');
      return instantMs(entry.payload.until) <= instantMs(entry.effectiveAt)
        ? inconsistent('payload.until', 'an end before the beginning', 'an end after it', 'Open it again.')
        : undefined;
    case 'watch-paused':
      return instantMs(entry.payload.backBy) <= instantMs(entry.effectiveAt)
        ? inconsistent(
            'payload.backBy',
            'a return before the pause',
            'a latest return after the pause begins',
            'Give the latest time of return; a pause is never open-ended.',
          )
        : undefined;
    case 'step-answered':
      return entry.payload.answer === 'departed' && entry.payload.reason === undefined
        ? inconsistent(
            'payload.reason',
            'no reason',
            'a reason when the advised step is not taken',
            'Say why in a few words.',
          )
        : undefined;
    default:
      return undefined;
  }
}
