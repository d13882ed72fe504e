import { instantInZone } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { admit, openStory, type StoryOptions } from './story.ts';

/** Patient id of the worked knee patient. */
export const kneePatient = 'patient-knee';

/**
 * Knee replacement under spinal block, 72 years, own capacity 620 mL, limit 600 mL: from recovery at 13:05 to the first
 * low residual at 19:47. The look due at 14:40 is not done; 690 mL are drained at 16:10; the look due at 18:55 is missed.
 *
 * Source    S-job-8b, first patient; all values made up
 */
export function workedPatientKnee(options: StoryOptions = {}): readonly Entry[] {
  const story = openStory('13:05', options);
  const { at, zone } = story;
  const chart = story.chart(kneePatient);
  const recovery = 'dita-brook';
  const nurse = 'tove-wrenfield';
  const evening = 'bram-sorrel';
  const scannerB = {
    scanner: 'scanner-b',
    operator: nurse,
    position: 'supine',
    source: 'typed',
    method: 'automatic',
  } as const;

  admit(
    chart,
    at('09:10'),
    recovery,
    { familyName: 'Tidewell', givenName: 'Hanne', ageYears: 72, sex: 'female', number: 'EX-70041-K' },
    'ward-recovery',
    'R2',
  );
  chart.add('context', at('09:12'), recovery, {
    topic: 'own-capacity-ml',
    value: 620,
    note: 'Measured at home',
  });
  chart.add('context', at('09:13'), recovery, { topic: 'limit-ml', value: 600, limitSource: 'own-capacity' });
  chart.add('context', at('09:14'), recovery, { topic: 'weight-kg', value: 74 });
  chart.add('context', at('10:20'), recovery, { topic: 'regional-block', state: 'present', note: 'Spinal' });
  chart.add('intake', at('10:20'), recovery, { volumeMl: 1500, route: 'iv', overMin: 165 }, { lateMin: 165 });

  const opened = chart.add('watch-opened', at('13:05'), recovery, {
    setting: 'after-surgery',
    reason: 'Knee replacement under spinal block',
    lastVoidAt: instantInZone(at('07:30'), zone),
    lastVoidMl: 250,
    owner: recovery,
  });
  chart.advise(opened, 'firstLook');
  const first = chart.add('reading', at('13:10'), recovery, {
    result: 'exact',
    volumeMl: 240,
    relation: 'no-void',
    doubts: [],
    scanner: 'scanner-a',
    operator: recovery,
    position: 'supine',
    source: 'typed',
    method: 'automatic',
  });
  chart.advise(first, 'lookSoon');

  const offer = chart.add('ownership-offered', at('13:56'), recovery, {
    toPerson: nurse,
    occasion: 'transfer',
    note: '240 mL at 13:10; next look 14:40',
  });
  chart.add('transferred', at('14:00'), recovery, { ward: 'ward-gull', bed: '4', reason: 'from-recovery' });
  chart.add('ownership-accepted', at('14:00'), nurse, {
    offer: offer.id,
    readBack: 'Look by 14:40, limit 600 mL',
  });

  const tried = chart.add('void', at('15:20'), nurse, {
    how: 'measured',
    volumeMl: 80,
    urge: false,
    colour: 'yellow',
  });
  chart.advise(tried, 'residual');
  const cut = chart.add('reading', at('15:52'), nurse, {
    result: 'at-least',
    volumeMl: 430,
    relation: 'after-void',
    sinceVoidMin: 32,
    doubts: ['cut-below'],
    look: 'look-1552',
    ...scannerB,
    note: 'Lower edge behind the bone',
  });
  chart.advise(cut, 'repeatNow');
  const repeat = chart.add('reading', at('15:56'), nurse, {
    result: 'exact',
    volumeMl: 560,
    relation: 'after-void',
    sinceVoidMin: 36,
    doubts: [],
    look: 'look-1552',
    ...scannerB,
  });
  const drain = chart.advise(repeat, 'drain');
  const drained = chart.add('drained', at('16:10'), nurse, {
    route: 'in-out',
    volumeMl: 690,
    sizeCh: 12,
    difficulty: 'none',
    trauma: false,
    colour: 'clear',
    operator: nurse,
  });
  chart.add('step-answered', at('16:10'), nurse, { advised: drain.id, answer: 'taken' });
  chart.advise(drained, 'lookAfterDrain');
  chart.add('told', at('16:14'), nurse, {
    who: 'the patient',
    what: 'Ring when you feel the need, or any pain',
  });

  const shift = chart.add('ownership-offered', at('19:15'), nurse, {
    toPerson: evening,
    occasion: 'shift',
    note: 'The look due 18:55 was missed',
  });
  chart.add('ownership-accepted', at('19:18'), evening, {
    offer: shift.id,
    readBack: 'Look missed at 18:55, drained 690 mL at 16:10, limit 600 mL',
  });
  const passed = chart.add('void', at('19:40'), evening, {
    how: 'measured',
    volumeMl: 310,
    urge: true,
    colour: 'yellow',
  });
  chart.advise(passed, 'residual');
  const residual = chart.add('reading', at('19:47'), evening, {
    result: 'exact',
    volumeMl: 60,
    relation: 'after-void',
    sinceVoidMin: 7,
    doubts: [],
    ...scannerB,
    operator: evening,
  });
  const next = chart.advise(residual, 'nextVoid');
  chart.add('step-answered', at('19:50'), evening, {
    advised: next.id,
    answer: 'departed',
    instead: 'Measure after the next void; without one, look at 02:30',
    reason: 'Passed 310 mL, 60 mL left, and she wants to sleep',
    nextLookAt: instantInZone(at('02:30', 1), zone),
  });
  return chart.entries;
}
