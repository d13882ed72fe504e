// Proves     of the worked patients, only what a story tells as wrong is asked about before it is saved: the 90 mL drained
//            after readings of 520 to 610, and the 1,180 mL that nobody foresaw, found after a silent miss. The 45 for 450
//            in the wrong bed is not: nothing stood in that chart before it
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { liveEntries, questionOf, resolveEntries } from '@ebbline/core/facts';
import { clockTime, instantMs } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import { coastZone } from '../world/places.ts';
import { workedPatientFalseHigh } from './worked-false-high.ts';
import { workedPatientKnee } from './worked-knee.ts';
import { workedPatientSilentMiss } from './worked-silent-miss.ts';
import { workedPatientWrongBed } from './worked-wrong-bed.ts';

/** What would have been asked, entry by entry in the order of recording. */
function asked(story: readonly Entry[]): readonly string[] {
  const order = story.toSorted((a, b) => instantMs(a.recordedAt) - instantMs(b.recordedAt));
  const live = (count: number, patient: string): readonly Entry[] =>
    liveEntries(resolveEntries(order.slice(0, count)), patient, Number.POSITIVE_INFINITY);
  return order.flatMap((entry, index) => {
    const question = questionOf({
      before: live(index, entry.patient),
      after: live(index + 1, entry.patient),
      fresh: new Set([entry.id]),
      settings: defaultSettings,
      zone: coastZone,
    });
    const at = clockTime(instantMs(entry.effectiveAt), coastZone);
    return question === undefined ? [] : [`${at} ${entry.kind}: ${question.because}`];
  });
}

describe('the worked patients', () => {
  it('are asked about only where something was wrong', () => {
    expect(asked(workedPatientKnee())).toEqual([]);
    expect(asked(workedPatientFalseHigh())).toEqual(['11:20 drained: mass-balance']);
    expect(asked(workedPatientWrongBed())).toEqual([]);
    expect(asked(workedPatientSilentMiss())).toEqual(['14:10 drained: slip']);
  });
});
