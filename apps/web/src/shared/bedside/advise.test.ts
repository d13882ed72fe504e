// Proves     a bedside entry of an open watch brings the protocol's step, tied to that entry; nothing is advised outside a watch.
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import { foldPatient } from '@ebbline/core/facts';
import { instantMs, isRefusal } from '@ebbline/core/quantity';
import { defaultSettings, type Entry, type PayloadOf } from '@ebbline/core/record';
import { entry, workedEntries, zone, at } from '../../features/patient/testing/worked-patient.ts';
import { adviseAfter } from './advise.ts';

const before = workedEntries.filter((one) => instantMs(one.effectiveAt) < at('15:50'));
const advised = async (
  more: readonly Entry[],
  clock: string,
): Promise<PayloadOf<'step-advised'> | undefined> => {
  const facts = foldPatient({
    patient: 'p-4',
    entries: [...before, ...more],
    nowMs: at(clock),
    settings: defaultSettings,
    zone,
  });
  const answer = await adviseAfter(facts, more, zone, []);
  if (isRefusal(answer)) throw new Error(answer.code);
  return answer;
};

describe('the step that comes with an entry', () => {
  it('names the entry that led to it, its row and its protocol, and says that nobody approved it', async () => {
    const reading = entry('15:56', 'reading', {
      result: 'exact',
      volumeMl: 560,
      relation: 'after-void',
      doubts: [],
    });
    const step = await advised([reading], '15:56');
    expect(step?.becauseOf).toBe(reading.id);
    expect(step?.rowText.length).toBeGreaterThan(0);
    expect(step?.protocolApproval).toBe('example-not-approved');
  });

  it('is another one in pain than without, for the same 320 mL', async () => {
    const reading = entry('15:56', 'reading', {
      result: 'exact',
      volumeMl: 320,
      relation: 'before-void',
      doubts: [],
    });
    const pain = entry('15:55', 'symptom', { symptom: 'lower-belly-pain' });
    const [calm, hurting] = [await advised([reading], '15:56'), await advised([reading, pain], '15:56')];
    expect(calm?.rowId).not.toBe(hurting?.rowId);
  });

  it('is not asked for a drink', async () => {
    expect(
      await advised([entry('15:55', 'intake', { volumeMl: 200, route: 'oral' })], '15:56'),
    ).toBeUndefined();
  });

  it('is not asked for when nobody is on watch', async () => {
    const reading = entry('15:56', 'reading', {
      result: 'exact',
      volumeMl: 560,
      relation: 'after-void',
      doubts: [],
    });
    const facts = foldPatient({
      patient: 'p-4',
      entries: [reading],
      nowMs: at('15:56'),
      settings: defaultSettings,
      zone,
    });
    expect(await adviseAfter(facts, [reading], zone, [])).toBeUndefined();
  });
});
