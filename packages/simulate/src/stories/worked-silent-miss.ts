import { instantInZone, minuteMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { admit, openStory, type StoryOptions } from './story.ts';

export const silentMissPatient = 'patient-silent-miss';

/**
 * Birth with epidural at 06:10; "passed urine" twice, never measured; 1,180 mL drained 8 hours after the birth.
 * Unmeasured voids never stop the clock, so the look stays due at 6 hours and overdue after.
 *
 * Source    S-job-8b, third patient; all values made up
 */
export function workedPatientSilentMiss(options: StoryOptions = {}): readonly Entry[] {
  const story = openStory('06:10', options);
  const { at, zone } = story;
  const chart = story.chart(silentMissPatient);
  const birthMidwife = 'elsbeth-crane';
  const midwife = 'noor-vashti';
  admit(
    chart,
    at('01:20'),
    birthMidwife,
    { familyName: 'Merrin', givenName: 'Silje', ageYears: 31, sex: 'female', number: 'EX-70230-B' },
    'ward-birth',
    '3',
  );
  chart.add('context', at('02:05'), birthMidwife, {
    topic: 'regional-block',
    state: 'present',
    note: 'Epidural',
  });
  chart.add('caution', at('06:12'), birthMidwife, { caution: 'postpartum', present: true });
  chart.add('context', at('06:14'), birthMidwife, { topic: 'weight-kg', value: 71 });
  const opened = chart.add('watch-opened', at('06:10'), birthMidwife, {
    setting: 'after-birth',
    reason: 'Vaginal birth with epidural',
    lastVoidAt: instantInZone(at('03:30'), zone),
    owner: birthMidwife,
  });
  chart.advise(opened, 'birthLook');
  const offer = chart.add('ownership-offered', at('08:20'), birthMidwife, {
    toPerson: midwife,
    occasion: 'transfer',
    note: 'First measured void still to come; look by 12:10',
  });
  chart.add('transferred', at('08:30'), birthMidwife, {
    ward: 'ward-gull',
    bed: '22',
    reason: 'from-birth-suite',
  });
  chart.add('ownership-accepted', at('08:34'), midwife, {
    offer: offer.id,
    readBack: 'Look by 12:10 unless a void is measured',
  });
  chart.add(
    'void',
    at('09:25'),
    midwife,
    { how: 'not-measured', note: 'Says she passed urine' },
    { lateMin: 12, timeQuality: 'rounded' },
  );
  chart.add(
    'void',
    at('11:40'),
    midwife,
    { how: 'not-measured', note: 'Passed urine in the shower' },
    { lateMin: 25, timeQuality: 'rounded' },
  );
  chart.add('drained', at('14:10'), midwife, {
    route: 'left-in',
    volumeMl: 1180,
    sizeCh: 14,
    difficulty: 'none',
    trauma: false,
    colour: 'yellow',
    operator: midwife,
  });
  const placed = chart.add('catheter-placed', at('14:10'), midwife, {
    route: 'urethral',
    reason: 'overdistension-rest',
    sizeCh: 14,
    plannedRemovalAt: instantInZone(at('14:10') + 24 * 60 * minuteMs, zone),
  });
  chart.advise(placed, 'birthReviewCatheter');
  chart.add('told', at('14:22'), midwife, {
    who: 'Dr Hugo Ekdal',
    what: '1,180 mL drained 8 hours after birth; catheter left in until tomorrow',
  });
  return chart.entries;
}
