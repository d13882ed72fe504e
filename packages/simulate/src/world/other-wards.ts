import type { Entry } from '@ebbline/core/record';
import { cast, type SceneOptions } from './scene.ts';

/** A few patients on the other wards, so that every setting has somebody. */
export function otherWards(options: SceneOptions): readonly Entry[] {
  return [
    ...recovery(options),
    ...postnatal(options),
    ...child(options),
    ...stroke(options),
    ...spinal(options),
    ...voidTrial(options),
  ];
}

function recovery(options: SceneOptions): readonly Entry[] {
  const { chart, opened } = cast(options, {
    patient: 'patient-recovery',
    ward: 'ward-recovery',
    bed: 'R1',
    owner: 'dita-brook',
    setting: 'after-surgery',
    reason: 'Gallbladder operation',
    person: { familyName: 'Quenby', givenName: 'Clea', ageYears: 39, sex: 'female', number: 'EX-70701-A' },
    openedAgo: 4,
    lastVoidAgo: 260,
    lastVoidMl: 350,
    weightKg: 64,
  });
  chart.advise(opened, 'firstLook');
  return chart.entries;
}

function postnatal(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-postnatal',
    ward: 'ward-curlew',
    bed: '2',
    owner: 'elsbeth-crane',
    setting: 'after-birth',
    reason: 'Caesarean birth, catheter out',
    person: { familyName: 'Ulverby', givenName: 'Frida', ageYears: 28, sex: 'female', number: 'EX-70702-B' },
    openedAgo: 260,
    weightKg: 75,
  });
  chart.add('caution', ago(260), owner, { caution: 'postpartum', present: true });
  chart.advise(opened, 'birthLook');
  const passed = chart.add('void', ago(40), owner, { how: 'measured', volumeMl: 240, urge: true });
  chart.advise(passed, 'birthResidual');
  chart.advise(read(31, 90, { relation: 'after-void', sinceVoidMin: 9 }), 'birthNextVoid');
  return chart.entries;
}

/** Seven years: expected capacity 30 × (7 + 1) = 240 mL (S-clinical-C1). No adult row may answer. */
function child(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, owner, read } = cast(options, {
    patient: 'patient-child',
    ward: 'ward-puffin',
    bed: '1',
    owner: 'wilma-garrow',
    setting: 'child',
    reason: 'Appendix operation',
    person: { familyName: 'Irrick', givenName: 'Aila', ageYears: 7, sex: 'female', number: 'EX-70703-C' },
    openedAgo: 150,
    lastVoidAgo: 320,
    weightKg: 24,
  });
  chart.add('context', ago(149), owner, {
    topic: 'own-capacity-ml',
    value: 240,
    note: 'Expected for her age',
  });
  chart.add('context', ago(148), owner, { topic: 'limit-ml', value: 240, limitSource: 'prescriber' });
  const call = chart.add('call-made', ago(146), owner, {
    to: 'Dr Ivo Castellane',
    toRole: 'called-clinician',
    ask: 'A child: the adult rows do not answer. What plan?',
    replyDueAt: instantAgo(131),
  });
  chart.add('call-answered', ago(140), owner, {
    call: call.id,
    by: 'Dr Ivo Castellane',
    order: 'Look on arrival and every two hours; call at 200 mL.',
    readBack: true,
  });
  read(130, 120);
  return chart.entries;
}

function stroke(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-stroke',
    ward: 'ward-tern',
    bed: '3',
    owner: 'fenna-jessop',
    setting: 'stroke-or-rehabilitation',
    reason: 'New stroke, wet at night',
    person: { familyName: 'Yarwell', givenName: 'Brand', ageYears: 79, sex: 'male', number: 'EX-70704-D' },
    openedAgo: 1500,
    weightKg: 76,
  });
  chart.advise(opened, 'strokeFirst');
  chart.advise(read(1400, 260), 'strokePromote');
  chart.add('void', ago(700), owner, { how: 'pad-weighed', padG: 230 });
  chart.advise(read(690, 170, { relation: 'after-void', sinceVoidMin: 10 }), 'strokeResidualRaised');
  const passed = chart.add('void', ago(180), owner, { how: 'mixed', volumeMl: 150, lowMl: 120, highMl: 260 });
  chart.advise(passed, 'strokeResidual');
  chart.advise(read(170, 140, { relation: 'after-void', sinceVoidMin: 10 }), 'strokeResidualRaised');
  return chart.entries;
}

function spinal(options: SceneOptions): readonly Entry[] {
  const { chart, ago, owner } = cast(options, {
    patient: 'patient-spinal',
    ward: 'ward-petrel',
    bed: '4',
    owner: 'luc-nemeth',
    setting: 'spinal-cord',
    reason: 'Injury at T4, intermittent programme',
    person: { familyName: 'Skelding', givenName: 'Eskil', ageYears: 33, sex: 'male', number: 'EX-70705-E' },
    openedAgo: 2900,
    weightKg: 73,
  });
  chart.add('caution', ago(2899), owner, { caution: 'injury-at-or-above-t6', present: true });
  chart.add('context', ago(2898), owner, { topic: 'usual-systolic-mmhg', value: 96 });
  for (const [minutes, volumeMl] of [
    [1180, 420],
    [860, 380],
    [560, 440],
    [200, 410],
  ] as const) {
    const drained = chart.add('drained', ago(minutes), owner, {
      route: 'in-out',
      volumeMl,
      sizeCh: 12,
      difficulty: 'none',
      trauma: false,
      operator: owner,
    });
    chart.advise(drained, 'strokeAfterDrain');
  }
  return chart.entries;
}

function voidTrial(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-trial',
    ward: 'ward-teal',
    bed: '1',
    owner: 'cato-rook',
    setting: 'catheter-removed',
    reason: 'Void trial',
    person: { familyName: 'Ostervane', givenName: 'Klaas', ageYears: 70, sex: 'male', number: 'EX-70706-F' },
    openedAgo: 190,
    weightKg: 85,
  });
  chart.add('catheter-removed', ago(190), owner, { reason: 'void-trial' });
  chart.advise(opened, 'removedLook');
  const passed = chart.add('void', ago(62), owner, { how: 'measured', volumeMl: 170, urge: true });
  chart.advise(passed, 'removedResidual');
  chart.advise(read(41, 190, { relation: 'after-void', sinceVoidMin: 21 }), 'removedResidualRaised');
  return chart.entries;
}
