// One made-up patient with at least one entry of every kind that the record knows. Tests fail when a kind is missing.
import { addMinutes, uuidOfText } from '@ebbline/core/quantity';
import { entryKinds, type Entry, type EntryKind, type PayloadOf } from '@ebbline/core/record';

export const everyKindPatient = 'patient-every-kind';
const begins = '2026-05-14T08:00:00+02:00';

export function everyKind(): readonly Entry[] {
  const entries: Entry[] = [];
  const id = (name: string): string => uuidOfText(`every-kind/${name}`);
  const add = <Kind extends EntryKind>(
    name: string,
    minutes: number,
    kind: Kind,
    payload: PayloadOf<Kind>,
    more: { corrects?: string; timeQuality?: 'rounded' | 'unknown'; patient?: string } = {},
  ): void => {
    const at = addMinutes(begins, minutes);
    entries.push({
      id: id(name),
      organisation: 'selvoy-coast',
      patient: everyKindPatient,
      kind,
      effectiveAt: at,
      timeQuality: 'exact',
      recordedAt: at,
      author: 'imke-dahlroos',
      madeOn: 'tablet-1',
      ...more,
      payload,
    } as Entry);
  };
  add('registered', 0, 'patient-registered', {
    familyName: 'Żółć',
    givenName: 'Ελένη',
    birthDate: '1950-02-03',
    sex: 'female',
    identifierSystem: 'urn:example:selvoy-coast:record-number',
    identifierValue: 'EX-1',
    ward: 'ward-gull',
    bed: '4',
  });
  add('watch', 5, 'watch-opened', {
    setting: 'after-surgery',
    reason: 'Spinal block',
    lastVoidAt: begins,
    lastVoidMl: 250,
    protocolId: 'after-surgery',
    protocolVersion: 3,
  });
  add('weight', 6, 'context', { topic: 'weight-kg', value: 68.5 });
  add('limit', 6, 'context', { topic: 'limit-ml', value: 600, limitSource: 'prescriber' });
  add('creatinine', 6, 'context', { topic: 'creatinine-umol-per-l', value: 88 });
  add('potassium', 6, 'context', { topic: 'potassium-mmol-per-l', value: 4.2 });
  add('systolic', 6, 'context', { topic: 'usual-systolic-mmhg', value: 118 });
  add('block', 7, 'context', { topic: 'regional-block', state: 'present' });
  add('caution', 8, 'caution', { caution: 'obesity', present: true });
  add('caution-gone', 9, 'caution', { caution: 'wound', present: false });
  add('flag', 10, 'red-flag', { flag: 'fever-or-rigors' });
  add('consent', 11, 'consent', { to: 'bladder-ultrasound', answer: 'given' });
  add('told', 12, 'told', { who: 'Daughter', what: 'She usually goes every four hours.' });
  add('intake', 20, 'intake', { volumeMl: 200, route: 'oral' });
  add('infusion', 21, 'intake', { volumeMl: 1000, route: 'iv', overMin: 180 });
  add('reading', 60, 'reading', {
    result: 'exact',
    volumeMl: 240,
    relation: 'before-void',
    doubts: [],
    scanner: 'scanner-c',
    method: 'calipers',
    coefficient: 0.52,
    coefficientSource: 'S-clinical-A1',
    widthMm: 80.4,
    heightMm: 70,
    depthMm: 82,
    lowMl: 190,
    highMl: 290,
    repeatsMl: [230, 240],
    repeatRule: 'largest',
    position: 'supine',
  });
  add('none', 61, 'reading', {
    result: 'not-obtained',
    relation: 'no-void',
    doubts: [],
    reasonNotObtained: 'no-window',
  });
  add('advice', 62, 'step-advised', {
    step: 'look-again',
    dueAt: addMinutes(begins, 150),
    ownerRole: 'nurse',
    why: 'Under the limit.',
    rowId: 'S-02',
    rowText: 'Below the limit: look again',
    rowSourceId: 'S-clinical-E6',
    protocolId: 'after-surgery',
    protocolVersion: 3,
    protocolApproval: 'example-not-approved',
    becauseOf: id('reading'),
  });
  add('answer', 63, 'step-answered', {
    advised: id('advice'),
    answer: 'departed',
    instead: 'Look in one hour',
    reason: 'Restless',
  });
  add('instilled', 90, 'instilled', { volumeMl: 300 });
  add('moved-version', 95, 'protocol-moved', { protocolId: 'after-surgery', protocolVersion: 4 });
  add('opened', 96, 'opened-with-reason', { reason: 'covering', until: addMinutes(begins, 156) });
  add('symptom', 100, 'symptom', { symptom: 'lower-belly-pain', severity: 2 }, { timeQuality: 'rounded' });
  add('void', 120, 'void', { how: 'measured', volumeMl: 80, urge: true, colour: 'yellow' });
  add('void-unmeasured', 121, 'void', { how: 'not-measured', size: 'small' }, { timeQuality: 'unknown' });
  add('void-bounds', 122, 'void', { how: 'not-measured', lowMl: 100, highMl: 300 });
  add('void-lost', 123, 'void', { how: 'lost' });
  add('pad', 124, 'void', { how: 'pad-weighed', padG: 85, sinceAt: addMinutes(begins, 60) });
  add('residual', 128, 'reading', {
    result: 'at-least',
    volumeMl: 430,
    relation: 'after-void',
    sinceVoidMin: 4,
    doubts: ['cut-below', 'shadow'],
    scanner: 'scanner-c',
  });
  add('typed', 129, 'reading', { result: 'exact', volumeMl: 5, relation: 'no-void', doubts: [] });
  add(
    'retyped',
    131,
    'reading',
    { result: 'exact', volumeMl: 560, relation: 'no-void', doubts: [] },
    { corrects: id('typed') },
  );
  add('elsewhere', 132, 'reading', { result: 'exact', volumeMl: 90, relation: 'no-void', doubts: [] });
  add('moved', 133, 'moved-to-patient', {
    of: id('elsewhere'),
    toPatient: 'patient-next-bed',
    reason: 'wrong-patient',
  });
  add('twice', 134, 'drained', { route: 'in-out', volumeMl: 690 });
  add('withdrawn', 135, 'withdrawn', { of: id('twice'), reason: 'duplicate' });
  add('drained', 140, 'drained', {
    route: 'in-out',
    volumeMl: 690,
    sizeCh: 12,
    difficulty: 'some',
    colour: 'clear',
    operator: 'imke-dahlroos',
  });
  add('failed', 141, 'drained', { route: 'in-out', difficulty: 'failed', trauma: true });
  add('placed', 150, 'catheter-placed', {
    route: 'urethral',
    reason: 'acute-retention',
    sizeCh: 14,
    plannedRemovalAt: addMinutes(begins, 1440),
  });
  add('from-catheter', 155, 'drained', { route: 'from-catheter', volumeMl: 300 });
  add('status', 160, 'catheter-status', { status: 'draining' });
  add('bag', 180, 'bag-read', { volumeMl: 250, sinceAt: addMinutes(begins, 150), emptied: true });
  add('reviewed', 190, 'catheter-reviewed', { keep: false });
  add('removed', 200, 'catheter-removed', { reason: 'no-longer-needed' });
  add('call', 210, 'call-made', {
    to: 'Dr Aldous Venn',
    toRole: 'called-clinician',
    ask: 'Over the limit again: what next?',
    replyDueAt: addMinutes(begins, 225),
  });
  add('reply', 218, 'call-answered', {
    call: id('call'),
    by: 'Dr Aldous Venn',
    order: 'In and out once more',
    readBack: true,
  });
  add('paused', 230, 'watch-paused', { reason: 'imaging', backBy: addMinutes(begins, 290) });
  add('resumed', 250, 'watch-resumed', {});
  add('offer', 260, 'ownership-offered', { toRole: 'nurse', toWard: 'ward-gull', occasion: 'shift' });
  add('accepted', 262, 'ownership-accepted', { offer: id('offer'), readBack: 'Look at 13:00, limit 600.' });
  add('seen', 265, 'overdue-acknowledged', { item: 'look' });
  add('bed', 270, 'transferred', { ward: 'ward-gull', bed: '6', reason: 'bed-change' });
  add('closed', 300, 'watch-closed', { outcome: 'emptying', residualMl: 40 });
  // Practice is about no patient: no bundle ever holds it.
  const missing = entryKinds.filter(
    (kind) => kind !== 'practised' && !entries.some((one) => one.kind === kind),
  );
  if (missing.length > 0) throw new Error(`no entry of kind ${missing.join(', ')}`);
  return entries;
}
