import type { Entry } from '@ebbline/core/record';
import { cast, type SceneOptions } from './scene.ts';

/** Readings not to be relied on (ascites), no estimate (irrigation), away in theatre, and a limit of her own. */
export function specialStories(options: SceneOptions): readonly Entry[] {
  return [...ascites(options), ...irrigation(options), ...inTheatre(options), ...ownLimit(options)];
}

function ascites(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, opened, owner, read } = cast(options, {
    patient: 'patient-ascites',
    bed: '20',
    owner: 'yusra-kellan',
    setting: 'after-surgery',
    reason: 'Liver disease, abdominal operation',
    person: { familyName: 'Zennick', givenName: 'Detlef', ageYears: 59, sex: 'male', number: 'EX-70620-Z' },
    openedAgo: 290,
    lastVoidAgo: 330,
    lastVoidMl: 240,
    weightKg: 78,
  });
  chart.add('caution', ago(288), owner, { caution: 'ascites', present: true });
  const step = chart.advise(opened, 'notReliable', {
    why: 'Ascites: do not rely on readings. Agree a plan with the clinician.',
  });
  const call = chart.add('call-made', ago(280), owner, {
    to: 'Dr Ivo Castellane',
    toRole: 'called-clinician',
    ask: 'Ascites, readings not to be relied on. What plan?',
    replyDueAt: instantAgo(265),
  });
  chart.add('call-answered', ago(272), owner, {
    call: call.id,
    by: 'Dr Ivo Castellane',
    order: 'Go by comfort and by what he passes. Drain at 6 hours if nothing is passed.',
    readBack: true,
  });
  chart.add('step-answered', ago(272), owner, { advised: step.id, answer: 'taken' });
  read(200, 640, { doubts: ['second-fluid'], note: 'Fluid around the bladder' });
  const passed = chart.add('void', ago(130), owner, { how: 'measured', volumeMl: 210, urge: true });
  const again = chart.advise(passed, 'notReliable');
  chart.add('step-answered', ago(128), owner, {
    advised: again.id,
    answer: 'departed',
    instead: 'Ask about comfort and what he passed',
    reason: 'Plan agreed with Dr Castellane: go by comfort',
    nextLookAt: instantAgo(-52),
  });
  return chart.entries;
}

function irrigation(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, tomorrow, opened, owner } = cast(options, {
    patient: 'patient-irrigation',
    bed: '23',
    owner: 'imke-dahlroos',
    setting: 'after-surgery',
    reason: 'Bladder operation, irrigation running',
    person: { familyName: 'Holmgate', givenName: 'Harald', ageYears: 73, sex: 'male', number: 'EX-70623-Q' },
    openedAgo: 340,
    weightKg: 80,
  });
  chart.add('caution', ago(339), owner, { caution: 'recent-urethral-or-bladder-surgery', present: true });
  chart.add('catheter-placed', ago(338), owner, {
    route: 'urethral',
    reason: 'surgery',
    sizeCh: 20,
    plannedRemovalAt: tomorrow('10:00'),
  });
  chart.advise(opened, 'reviewCatheter');
  chart.add('catheter-status', ago(336), owner, { status: 'irrigation-running' });
  chart.add('bag-read', ago(100), 'jory-unwin', { volumeMl: 2600, sinceAt: instantAgo(330), emptied: true });
  chart.add('catheter-status', ago(19), owner, {
    status: 'irrigation-running',
    note: 'Pink, draining',
  });
  return chart.entries;
}

function inTheatre(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, opened, owner, read } = cast(options, {
    patient: 'patient-theatre',
    bed: '26',
    owner: 'odile-marchetti',
    setting: 'after-surgery',
    reason: 'Wound washout, back to theatre',
    person: { familyName: 'Cawdrey', givenName: 'Lasse', ageYears: 45, sex: 'male', number: 'EX-70626-C' },
    openedAgo: 260,
    lastVoidAgo: 150,
    lastVoidMl: 330,
    weightKg: 90,
  });
  chart.advise(opened, 'firstLook');
  chart.advise(read(140, 60, { relation: 'after-void', sinceVoidMin: 10 }), 'nextVoid');
  chart.add('watch-paused', ago(72), owner, { reason: 'theatre', backBy: instantAgo(-48) });
  return chart.entries;
}

function ownLimit(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-own-limit',
    bed: '16',
    owner: 'tove-wrenfield',
    setting: 'after-surgery',
    reason: 'Ankle operation under spinal block',
    person: { familyName: 'Keldby', givenName: 'Dagny', ageYears: 51, sex: 'female', number: 'EX-70616-D' },
    openedAgo: 210,
    lastVoidAgo: 380,
    lastVoidMl: 420,
    weightKg: 72,
    scanner: 'scanner-c',
  });
  chart.add('context', ago(209), owner, {
    topic: 'own-capacity-ml',
    value: 720,
    note: 'Measured at home, three mornings',
  });
  chart.add('context', ago(208), owner, { topic: 'limit-ml', value: 700, limitSource: 'own-capacity' });
  chart.advise(opened, 'firstLook');
  chart.advise(read(200, 340), 'promote');
  chart.add('intake', ago(150), 'saskia-orrin', { volumeMl: 400, route: 'oral' });
  chart.advise(read(118, 420), 'promoteSoon');
  chart.advise(read(16, 510), 'promoteSoon');
  return chart.entries;
}
