import { instantInZone } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { admit, openStory, type StoryOptions } from './story.ts';

export const falseHighPatient = 'patient-false-high';

/**
 * Read much, drained little: 520, 610 and 585 mL in one look, 90 mL drained. A cyst was read as urine.
 *
 * Source    S-job-8b, second patient, after the pattern of S-clinical-L2; all values made up
 */
export function workedPatientFalseHigh(options: StoryOptions = {}): readonly Entry[] {
  const story = openStory('10:40', options);
  const { at, zone } = story;
  const chart = story.chart(falseHighPatient);
  const nurse = 'odile-marchetti';
  admit(
    chart,
    at('08:30'),
    nurse,
    { familyName: 'Saltby', givenName: 'Ragna', ageYears: 78, sex: 'female', number: 'EX-70112-C' },
    'ward-gull',
    '9',
  );
  chart.add('context', at('08:34'), nurse, { topic: 'weight-kg', value: 61 });
  const opened = chart.add('watch-opened', at('10:40'), nurse, {
    setting: 'after-surgery',
    reason: 'Restless after a hip operation, lives with dementia, nothing passed',
    lastVoidAt: instantInZone(at('06:15'), zone),
    owner: nurse,
  });
  chart.advise(opened, 'firstLook');
  const look = {
    relation: 'no-void',
    result: 'exact',
    look: 'look-1102',
    scanner: 'scanner-a',
    operator: nurse,
    position: 'supine',
    source: 'typed',
    method: 'automatic',
  } as const;
  chart.add('reading', at('11:02'), nurse, { ...look, volumeMl: 520, doubts: [] });
  chart.add('reading', at('11:04'), nurse, { ...look, volumeMl: 610, doubts: [] });
  const last = chart.add('reading', at('11:06'), nurse, {
    ...look,
    volumeMl: 585,
    doubts: ['repeats-differ'],
  });
  const drain = chart.advise(last, 'drain');
  const drained = chart.add('drained', at('11:20'), nurse, {
    route: 'in-out',
    volumeMl: 90,
    sizeCh: 12,
    difficulty: 'none',
    trauma: false,
    colour: 'yellow',
    operator: nurse,
  });
  chart.add('step-answered', at('11:20'), nurse, { advised: drain.id, answer: 'taken' });
  const stop = chart.advise(drained, 'doNotDrainAgain');
  const call = chart.add('call-made', at('11:31'), nurse, {
    to: 'Dr Lena Ashgrove',
    toRole: 'called-clinician',
    ask: 'Read 585 mL, drained 90 mL. Please examine and decide on imaging.',
    replyDueAt: instantInZone(at('11:46'), zone),
  });
  chart.add('call-answered', at('11:39'), nurse, {
    call: call.id,
    by: 'Dr Lena Ashgrove',
    order: 'Full pelvic ultrasound this afternoon. No further drain on a reading alone.',
    readBack: true,
  });
  chart.add('step-answered', at('11:40'), nurse, { advised: stop.id, answer: 'taken' });
  const cyst = chart.add('caution', at('12:50'), nurse, {
    caution: 'pelvic-mass',
    present: true,
    note: 'Cyst seen on imaging',
  });
  chart.advise(cyst, 'notReliable', {
    why: 'A cyst lies beside the bladder: do not rely on readings. Ask, examine, and go by what she passes.',
  });
  return chart.entries;
}
