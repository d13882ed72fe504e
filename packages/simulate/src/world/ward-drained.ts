import type { Entry } from '@ebbline/core/record';
import { cast, type SceneOptions } from './scene.ts';

const drainedOnce = { sizeCh: 12, difficulty: 'none', trauma: false, colour: 'yellow' } as const;

/** Drained once and now passing; passed and ended; drained twice and left in; read low by a clipped view, then 900 mL. */
export function drainedStories(options: SceneOptions): readonly Entry[] {
  return [
    ...drainedThenPassing(options),
    ...passedAndEnded(options),
    ...twiceThenLeftIn(options),
    ...readLowThenMuch(options),
  ];
}

function drainedThenPassing(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-in-out-once',
    bed: '2',
    owner: 'odile-marchetti',
    setting: 'after-surgery',
    reason: 'Hip replacement under spinal block',
    person: { familyName: 'Lindmoor', givenName: 'Karin', ageYears: 69, sex: 'female', number: 'EX-70401-L' },
    openedAgo: 430,
    lastVoidAgo: 640,
    lastVoidMl: 220,
    weightKg: 70,
    scanner: 'scanner-b',
  });
  chart.advise(opened, 'firstLook');
  chart.advise(read(422, 330), 'promote');
  const drain = chart.advise(read(305, 520), 'drain');
  const drained = chart.add('drained', ago(292), owner, {
    route: 'in-out',
    volumeMl: 580,
    operator: owner,
    ...drainedOnce,
  });
  chart.add('step-answered', ago(292), owner, { advised: drain.id, answer: 'taken' });
  chart.advise(drained, 'lookAfterDrain');
  chart.advise(read(130, 240), 'lookSoon');
  const passed = chart.add('void', ago(74), 'milo-fenwarden', { how: 'measured', volumeMl: 290, urge: true });
  chart.advise(passed, 'residual');
  chart.advise(read(66, 85, { relation: 'after-void', sinceVoidMin: 8 }), 'nextVoid');
  return chart.entries;
}

function passedAndEnded(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-pass',
    bed: '17',
    owner: 'piet-lorring',
    setting: 'catheter-removed',
    reason: 'Catheter out this morning',
    person: { familyName: 'Rushmere', givenName: 'Folke', ageYears: 61, sex: 'male', number: 'EX-70417-F' },
    openedAgo: 460,
    weightKg: 84,
  });
  chart.add('catheter-removed', ago(460), owner, { reason: 'void-trial' });
  chart.advise(opened, 'removedLook');
  const first = chart.add('void', ago(250), owner, { how: 'measured', volumeMl: 260, urge: true });
  chart.advise(first, 'removedResidual');
  chart.advise(read(241, 70, { relation: 'after-void', sinceVoidMin: 9 }), 'removedNextVoid');
  const second = chart.add('void', ago(48), 'saskia-orrin', { how: 'measured', volumeMl: 310, urge: true });
  chart.advise(second, 'removedResidual');
  const end = chart.advise(read(39, 40, { relation: 'after-void', sinceVoidMin: 9 }), 'removedEnd');
  chart.add('step-answered', ago(22), owner, { advised: end.id, answer: 'taken' });
  chart.add('watch-closed', ago(22), owner, { outcome: 'emptying', residualMl: 40 });
  return chart.entries;
}

function twiceThenLeftIn(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, tomorrow, opened, owner, read } = cast(options, {
    patient: 'patient-left-in',
    bed: '15',
    owner: 'yusra-kellan',
    setting: 'after-surgery',
    reason: 'Bowel operation',
    person: { familyName: 'Thornvik', givenName: 'Aksel', ageYears: 76, sex: 'male', number: 'EX-70415-T' },
    openedAgo: 880,
    lastVoidAgo: 1080,
    weightKg: 81,
    scanner: 'scanner-c',
  });
  chart.advise(opened, 'firstLook');
  const firstDrain = chart.advise(read(872, 590), 'drain');
  const first = chart.add('drained', ago(858), owner, {
    route: 'in-out',
    volumeMl: 540,
    operator: owner,
    ...drainedOnce,
  });
  chart.add('step-answered', ago(858), owner, { advised: firstDrain.id, answer: 'taken' });
  chart.advise(first, 'lookAfterDrain');
  const secondDrain = chart.advise(read(690, 560), 'drain');
  const second = chart.add('drained', ago(676), owner, {
    route: 'in-out',
    volumeMl: 510,
    operator: owner,
    ...drainedOnce,
  });
  chart.add('step-answered', ago(676), owner, { advised: secondDrain.id, answer: 'taken' });
  chart.advise(second, 'lookAfterDrain');
  const call = chart.add('call-made', ago(508), owner, {
    to: 'Dr Ivo Castellane',
    toRole: 'called-clinician',
    ask: 'Drained twice, 540 and 510 mL, nothing passed. Leave a catheter?',
    replyDueAt: instantAgo(493),
  });
  chart.add('call-answered', ago(500), owner, {
    call: call.id,
    by: 'Dr Ivo Castellane',
    order: 'Leave it in, out tomorrow morning, then a void trial.',
    readBack: true,
  });
  const third = read(496, 430);
  const plan = chart.advise(third, 'thirdDrain');
  chart.add('drained', ago(484), owner, {
    route: 'left-in',
    volumeMl: 395,
    operator: owner,
    ...drainedOnce,
    sizeCh: 14,
  });
  const placed = chart.add('catheter-placed', ago(484), owner, {
    route: 'urethral',
    reason: 'acute-retention',
    sizeCh: 14,
    plannedRemovalAt: tomorrow('09:00'),
  });
  chart.add('step-answered', ago(484), owner, { advised: plan.id, answer: 'taken' });
  chart.advise(placed, 'reviewCatheter');
  chart.add('bag-read', ago(120), 'milo-fenwarden', {
    volumeMl: 540,
    sinceAt: instantAgo(484),
    emptied: true,
  });
  return chart.entries;
}

function readLowThenMuch(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-false-low',
    bed: '19',
    owner: 'bram-sorrel',
    setting: 'after-surgery',
    reason: 'Hip fracture repair',
    person: { familyName: 'Gannick', givenName: 'Gudrun', ageYears: 83, sex: 'female', number: 'EX-70419-G' },
    openedAgo: 380,
    lastVoidAgo: 600,
    weightKg: 92,
    scanner: 'scanner-b',
  });
  chart.add('caution', ago(378), owner, { caution: 'obesity', present: true });
  chart.advise(opened, 'firstLook');
  chart.advise(read(300, 310), 'promote');
  const pain = chart.add('symptom', ago(168), owner, { symptom: 'lower-belly-pain', severity: 2 });
  chart.advise(pain, 'examine');
  chart.advise(
    read(164, 360, {
      result: 'at-least',
      doubts: ['cut-below', 'shadow'],
      note: 'Lower part hidden by the bone',
    }),
    'drain',
  );
  const drained = chart.add('drained', ago(150), owner, {
    route: 'in-out',
    volumeMl: 900,
    operator: owner,
    ...drainedOnce,
  });
  chart.add('symptom', ago(146), owner, { symptom: 'comfortable' });
  chart.advise(drained, 'lookAfterDrain');
  return chart.entries;
}
