import { instantInZone } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { admit, openStory, type StoryOptions } from './story.ts';

/** In bed 12: the reading was written here by mistake. */
export const wrongBedPatient = 'patient-wrong-bed';
/** In bed 6: whose reading it was. */
export const rightBedPatient = 'patient-right-bed';

/**
 * 45 typed for 450 and in the wrong record: corrected at 21:08, moved to the right patient at 21:10. The step advised and
 * taken on 45 mL stays visible and has to be reviewed.
 *
 * Source    S-job-8b, fourth patient; all values made up
 */
export function workedPatientWrongBed(options: StoryOptions = {}): readonly Entry[] {
  const story = openStory('19:30', options);
  const { at, zone } = story;
  const wrong = story.chart(wrongBedPatient);
  const right = story.chart(rightBedPatient);
  const nurse = 'imke-dahlroos';
  const scanner = {
    scanner: 'scanner-c',
    operator: nurse,
    position: 'supine',
    source: 'typed',
    method: 'automatic',
  } as const;

  admit(
    wrong,
    at('15:00'),
    nurse,
    { familyName: 'Oakhaven', givenName: 'Dirk', ageYears: 58, sex: 'male', number: 'EX-70318-W' },
    'ward-gull',
    '12',
  );
  wrong.add('context', at('15:05'), nurse, { topic: 'weight-kg', value: 88 });
  const openedWrong = wrong.add('watch-opened', at('19:30'), nurse, {
    setting: 'after-surgery',
    reason: 'Hernia repair',
    lastVoidAt: instantInZone(at('18:50'), zone),
    lastVoidMl: 280,
    owner: nurse,
  });
  wrong.advise(openedWrong, 'lookSoon');
  admit(
    right,
    at('14:30'),
    nurse,
    { familyName: 'Oakham', givenName: 'Derk', ageYears: 64, sex: 'male', number: 'EX-70327-R' },
    'ward-gull',
    '6',
  );
  right.add('context', at('14:36'), nurse, { topic: 'weight-kg', value: 79 });
  const openedRight = right.add('watch-opened', at('19:35'), nurse, {
    setting: 'after-surgery',
    reason: 'Bowel operation, catheter out this morning',
    lastVoidAt: instantInZone(at('17:20'), zone),
    lastVoidMl: 190,
    owner: nurse,
  });
  right.advise(openedRight, 'lookSoon');

  const typed = wrong.add('reading', at('20:40'), nurse, {
    result: 'exact',
    volumeMl: 45,
    relation: 'no-void',
    doubts: [],
    ...scanner,
  });
  const promoted = wrong.advise(typed, 'lookSoon');
  wrong.add('step-answered', at('20:42'), nurse, { advised: promoted.id, answer: 'taken' });
  const corrected = wrong.add(
    'reading',
    at('20:40'),
    nurse,
    { result: 'exact', volumeMl: 450, relation: 'no-void', doubts: [], ...scanner },
    { lateMin: 28, corrects: typed.id },
  );
  const moved = wrong.add('moved-to-patient', at('21:10'), nurse, {
    of: corrected.id,
    toPatient: rightBedPatient,
    reason: 'wrong-patient',
    note: 'It was taken in bed 6',
  });
  wrong.advise(moved, 'firstLook', {
    why: 'The reading belongs to another patient: nothing is known here since the last void. Look now.',
  });
  right.advise(moved, 'promoteSoon');
  return [...wrong.entries, ...right.entries];
}
