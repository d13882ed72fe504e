/**
 * A traced volume as a reading: the bound when only a part was seen, the doubts in the record's words, the interval,
 * the coefficient, and where it came from. The pictures stay where they are.
 *
 * Errors    `images/nothing-to-keep` when the tracer refused or the interval is no use
 */
import { labels, whole } from '@ebbline/core/present';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { Doubt, PayloadOf } from '@ebbline/core/record';
import type { ReasonCode, VolumeResult } from '@ebbline/imaging';

/** The tracer's reasons in the words of the record; a reason without a word there is said in the note. */
const doubtOf: Partial<Record<ReasonCode, Doubt>> = {
  'near-empty': 'near-empty',
  'outside-picture': 'edge-outside',
  'lower-wall-shadow': 'cut-below',
  'wall-shadow': 'shadow',
  'faint-wall': 'wall-faint',
  'planes-disagree': 'moved',
  'more-than-one-region': 'second-fluid',
  'off-centre': 'unsure-aim',
};

export function doubtsFrom(result: VolumeResult): readonly Doubt[] {
  return [...new Set(result.reasons.flatMap((one) => doubtOf[one.code] ?? []))];
}

/** `at least 412 mL`, `540 mL, between 430 and 690`. */
export function resultWords(result: VolumeResult): string {
  if (result.answer === 'none-seen') return 'no bladder seen';
  if (result.answer === 'refused' || result.volumeMl === undefined) return 'no volume';
  const interval = result.interval
    ? `, nine times in ten between ${whole(result.interval.loMl)} and ${whole(result.interval.hiMl)} mL`
    : '';
  return result.answer === 'at-least'
    ? `at least ${whole(result.boundMl ?? 0)} mL`
    : `${whole(result.volumeMl)} mL${interval}`;
}

export function readingFrom(
  result: VolumeResult,
  relation: PayloadOf<'reading'>['relation'],
  operator: string,
  planes: number,
): PayloadOf<'reading'> | Refusal {
  const shared = { relation, operator, source: 'images' as const, doubts: doubtsFrom(result) };
  if (result.answer === 'none-seen')
    return { ...shared, result: 'not-obtained', reasonNotObtained: 'none-seen' };
  const volumeMl = result.answer === 'at-least' ? result.boundMl : result.volumeMl;
  if (result.answer === 'refused' || volumeMl === undefined) {
    return refuse('images/nothing-to-keep', {
      asked: 'Reading',
      found: 'no volume from these images',
      allowed: 'a volume, a lower bound, or "none seen"',
      todo: 'Measure again, or type the volume.',
    });
  }
  const reasons = result.reasons.map((one) => one.words).join('; ');
  const note = `Traced from ${planes} planes by the program${result.method === undefined ? '' : `, ${result.method}`}. ${reasons === '' ? 'No reason to doubt it was found.' : `Reasons to doubt it: ${reasons}.`}`;
  return {
    ...shared,
    result: result.answer === 'at-least' ? 'at-least' : 'exact',
    volumeMl: Math.round(volumeMl),
    method: 'traced-from-images',
    ...(result.interval
      ? { lowMl: Math.max(0, Math.round(result.interval.loMl)), highMl: Math.round(result.interval.hiMl) }
      : {}),
    ...(result.coefficient === undefined ? {} : { coefficient: result.coefficient }),
    ...(result.coefficientSource === undefined ? {} : { coefficientSource: result.coefficientSource }),
    note: note.slice(0, 600),
  };
}

export const relations = Object.entries(labels.voidRelations) as readonly (readonly [
  PayloadOf<'reading'>['relation'],
  string,
])[];
