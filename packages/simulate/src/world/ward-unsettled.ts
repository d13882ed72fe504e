import type { Entry } from '@ebbline/core/record';
import { cast, type SceneOptions } from './scene.ts';

/** A call without an answer, a handover not yet accepted, a refusal, a downtime keyed back, a low bound, an overdue look. */
export function unsettledStories(options: SceneOptions): readonly Entry[] {
  return [
    ...calledNoAnswer(options),
    ...onTheWay(options),
    ...declined(options),
    ...keyedFromPaper(options),
    ...lowBound(options),
    ...overdue(options),
  ];
}

function calledNoAnswer(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, opened, owner, read } = cast(options, {
    patient: 'patient-no-answer',
    bed: '11',
    owner: 'tove-wrenfield',
    setting: 'after-surgery',
    reason: 'Prostate operation, catheter out',
    person: { familyName: 'Norrish', givenName: 'Colm', ageYears: 71, sex: 'male', number: 'EX-70511-N' },
    openedAgo: 310,
    lastVoidAgo: 420,
    weightKg: 77,
  });
  chart.add('caution', ago(308), owner, { caution: 'recent-urethral-or-bladder-surgery', present: true });
  chart.add('context', ago(306), owner, { topic: 'opioid', state: 'given', route: 'oral' });
  chart.advise(opened, 'firstLook');
  chart.advise(read(180, 260), 'promote');
  const urge = chart.add('symptom', ago(27), owner, { symptom: 'urge-cannot-pass', severity: 3 });
  chart.advise(urge, 'examine');
  const step = chart.advise(read(24, 470), 'personDecides');
  chart.add('call-made', ago(18), owner, {
    to: 'Dr Ivo Castellane',
    toRole: 'called-clinician',
    ask: '470 mL, strong urge, cannot pass, prostate operation yesterday. Please come.',
    replyDueAt: instantAgo(3),
  });
  chart.add('step-answered', ago(18), owner, {
    advised: step.id,
    answer: 'taken',
    nextLookAt: instantAgo(-12),
  });
  return chart.entries;
}

function onTheWay(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner, read } = cast(options, {
    patient: 'patient-on-the-way',
    ward: 'ward-recovery',
    bed: 'R3',
    owner: 'kaspar-thane',
    setting: 'after-surgery',
    reason: 'Shoulder operation, general anaesthetic',
    person: { familyName: 'Pellow', givenName: 'Ivar', ageYears: 54, sex: 'male', number: 'EX-70525-V' },
    openedAgo: 75,
    lastVoidAgo: 290,
    lastVoidMl: 300,
    weightKg: 86,
  });
  chart.advise(opened, 'firstLook');
  chart.advise(read(68, 190), 'lookSoon');
  chart.add('ownership-offered', ago(12), owner, {
    toPerson: 'piet-lorring',
    occasion: 'transfer',
    note: '190 mL on arrival in recovery; next look due soon',
  });
  chart.add('transferred', ago(8), owner, { ward: 'ward-gull', bed: '25', reason: 'from-recovery' });
  return chart.entries;
}

function declined(options: SceneOptions): readonly Entry[] {
  const { chart, ago, instantAgo, opened, owner, read } = cast(options, {
    patient: 'patient-declined',
    bed: '14',
    owner: 'yusra-kellan',
    setting: 'after-surgery',
    reason: 'Hysterectomy',
    person: { familyName: 'Vannick', givenName: 'Isolde', ageYears: 47, sex: 'female', number: 'EX-70514-I' },
    openedAgo: 240,
    lastVoidAgo: 400,
    weightKg: 66,
  });
  chart.advise(opened, 'firstLook');
  chart.advise(read(232, 210), 'lookSoon');
  const no = chart.add('consent', ago(96), owner, {
    to: 'bladder-ultrasound',
    answer: 'declined',
    offerAgainAt: instantAgo(-24),
    note: 'Tired; would like to try by herself first',
  });
  const step = chart.advise(no, 'personDecides');
  chart.add('step-answered', ago(90), owner, {
    advised: step.id,
    answer: 'taken',
    nextLookAt: instantAgo(-24),
  });
  const call = chart.add('call-made', ago(90), owner, {
    to: 'Dr Lena Ashgrove',
    toRole: 'called-clinician',
    ask: 'She declines another look for now.',
    replyDueAt: instantAgo(75),
  });
  chart.add('call-answered', ago(84), owner, {
    call: call.id,
    by: 'Dr Lena Ashgrove',
    order: 'Let her try. Offer again within two hours.',
    readBack: true,
  });
  return chart.entries;
}

/** Three hours on paper while the network and the tablets were down; keyed back in one go. */
function keyedFromPaper(options: SceneOptions): readonly Entry[] {
  const { chart, ago, opened, owner } = cast(options, {
    patient: 'patient-downtime',
    bed: '8',
    owner: 'bram-sorrel',
    setting: 'catheter-removed',
    reason: 'Catheter out after bowel operation',
    person: { familyName: 'Farholm', givenName: 'Elva', ageYears: 66, sex: 'female', number: 'EX-70508-E' },
    openedAgo: 400,
    weightKg: 63,
  });
  chart.add('catheter-removed', ago(400), owner, { reason: 'planned' });
  chart.advise(opened, 'removedLook');
  const paper = (lateMin: number) => ({ lateMin, madeOn: 'paper-form', timeQuality: 'rounded' }) as const;
  chart.add('void', ago(215), owner, { how: 'measured', volumeMl: 180, urge: true }, paper(165));
  chart.add(
    'reading',
    ago(205),
    owner,
    {
      result: 'exact',
      volumeMl: 150,
      relation: 'after-void',
      sinceVoidMin: 10,
      doubts: [],
      scanner: 'scanner-a',
      operator: owner,
      position: 'supine',
      source: 'typed',
    },
    paper(156),
  );
  chart.add('void', ago(110), owner, { how: 'not-measured', note: 'In the shower' }, paper(62));
  const last = chart.add(
    'reading',
    ago(100),
    owner,
    {
      result: 'exact',
      volumeMl: 120,
      relation: 'after-void',
      sinceVoidMin: 10,
      doubts: [],
      scanner: 'scanner-a',
      operator: owner,
      position: 'supine',
      source: 'typed',
    },
    paper(53),
  );
  chart.advise(last, 'removedResidualRaised');
  return chart.entries;
}

function lowBound(options: SceneOptions): readonly Entry[] {
  const { chart, opened, read } = cast(options, {
    patient: 'patient-at-least',
    bed: '10',
    owner: 'imke-dahlroos',
    setting: 'after-surgery',
    reason: 'Knee replacement under spinal block',
    person: { familyName: 'Ellerwick', givenName: 'Joris', ageYears: 68, sex: 'male', number: 'EX-70510-J' },
    openedAgo: 200,
    lastVoidAgo: 380,
    lastVoidMl: 260,
    weightKg: 97,
    scanner: 'scanner-b',
  });
  chart.advise(opened, 'firstLook');
  chart.advise(read(192, 180), 'lookSoon');
  chart.advise(read(98, 290), 'promote');
  chart.advise(
    read(3, 412, { result: 'at-least', doubts: ['cut-below'], note: 'Part lies behind the bone' }),
    'repeatNow',
  );
  return chart.entries;
}

function overdue(options: SceneOptions): readonly Entry[] {
  const { chart, opened, read } = cast(options, {
    patient: 'patient-overdue',
    bed: '3',
    owner: 'piet-lorring',
    setting: 'after-surgery',
    reason: 'Hip replacement under spinal block',
    person: {
      familyName: 'Barrowby',
      givenName: 'Henrike',
      ageYears: 74,
      sex: 'female',
      number: 'EX-70503-H',
    },
    openedAgo: 420,
    lastVoidAgo: 560,
    weightKg: 68,
  });
  chart.advise(opened, 'firstLook');
  chart.advise(read(405, 90), 'lookSoon');
  chart.advise(read(304, 130), 'lookSoon');
  chart.advise(read(206, 170), 'lookSoon');
  chart.advise(read(132, 205), 'lookSoon');
  return chart.entries;
}
