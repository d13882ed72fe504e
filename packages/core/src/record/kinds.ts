/**
 * What can be recorded: one shape a kind. A kind's payload carries its units in its names. Adding a kind:
 * README.md in this folder.
 */
import * as s from '../quantity/shape.ts';
import type { ValueOf } from '../quantity/shape.ts';
import { imageEvidence } from './image-evidence.ts';
import { settings as watchSettings } from './words.ts';
import * as words from './words.ts';

const largestVolumeMl = 4000; // Largest of 18 injury claims was 3,800 mL (S-job-V4); beyond it a digit is likelier wrong.

const volume = () =>
  s.whole({
    min: 0,
    max: largestVolumeMl,
    unit: 'mL',
    todo: 'Check for a digit too many, a minus sign or another unit, and enter it again in mL.',
  });
const bound = () => s.whole({ min: 0, max: largestVolumeMl, unit: 'mL' });
const gauge = () => s.whole({ min: 6, max: 26, unit: 'Ch' });
const minutes = (max = 14_400) => s.whole({ min: 0, max, unit: 'min' });
const personId = () => s.text(80);
const note = () => s.maybe(s.text(600));

export const payloadShapes = {
  /** Who the patient is. Initials and bed are what screens show; the rest is for identifying. */
  'patient-registered': s.shape({
    familyName: s.text(80),
    givenName: s.text(80),
    birthDate: s.maybe(s.text(10)),
    ageYears: s.maybe(s.whole({ min: 0, max: 125, unit: 'years' })),
    sex: s.choice(words.sexes),
    identifierSystem: s.text(120),
    identifierValue: s.text(60),
    ward: s.text(80),
    bed: s.text(20),
  }),
  /** The patient goes to another ward or bed. Clocks run on. */
  transferred: s.shape({
    ward: s.text(80),
    bed: s.text(20),
    reason: s.maybe(s.choice(words.transferReasons)),
    note: note(),
  }),

  /** Somebody of another ward opened this record for a while, and says why. Decides nothing about the patient. */
  'opened-with-reason': s.shape({
    reason: s.choice(words.openReasons),
    until: s.instant(),
    note: note(),
  }),

  'watch-opened': s.shape({
    setting: s.choice(watchSettings),
    reason: s.text(200),
    lastVoidAt: s.maybe(s.instant()),
    lastVoidMl: s.maybe(volume()),
    protocolId: s.maybe(s.text(80)),
    protocolVersion: s.maybe(s.whole({ min: 1, max: 100_000, unit: '' })),
    owner: s.maybe(personId()),
    note: note(),
  }),
  'watch-paused': s.shape({ reason: s.choice(words.pauseReasons), backBy: s.instant(), note: note() }),
  'watch-resumed': s.shape({ note: note() }),
  'watch-closed': s.shape({
    outcome: s.choice(words.watchOutcomes),
    residualMl: s.maybe(volume()),
    note: note(),
  }),

  reading: s.shape({
    result: s.choice(['exact', 'at-least', 'not-obtained']),
    volumeMl: s.maybe(volume()),
    relation: s.choice(words.voidRelations),
    sinceVoidMin: s.maybe(minutes()),
    repeatsMl: s.maybe(s.list(volume(), 10)),
    repeatRule: s.maybe(s.choice(words.repeatRules)),
    look: s.maybe(s.text(60)),
    scanner: s.maybe(s.text(80)),
    operator: s.maybe(personId()),
    position: s.maybe(s.choice(words.positions)),
    doubts: s.list(s.choice(words.doubts), 12),
    method: s.maybe(s.choice(words.readingMethods)),
    coefficient: s.maybe(s.decimal({ min: 0.3, max: 1.2, unit: '' })),
    coefficientSource: s.maybe(s.text(80)),
    widthMm: s.maybe(s.decimal({ min: 1, max: 300, unit: 'mm' })),
    heightMm: s.maybe(s.decimal({ min: 1, max: 300, unit: 'mm' })),
    depthMm: s.maybe(s.decimal({ min: 1, max: 300, unit: 'mm' })),
    lowMl: s.maybe(bound()),
    highMl: s.maybe(bound()),
    reasonNotObtained: s.maybe(s.choice(words.notObtainedReasons)),
    source: s.maybe(s.choice(['typed', 'device', 'images'])),
    evidence: s.maybe(imageEvidence),
    deviceClockAt: s.maybe(s.instant()),
    note: note(),
  }),
  void: s.shape({
    how: s.choice(words.voidKinds),
    volumeMl: s.maybe(volume()),
    padG: s.maybe(s.whole({ min: 0, max: 4000, unit: 'g' })),
    lowMl: s.maybe(bound()),
    highMl: s.maybe(bound()),
    size: s.maybe(s.choice(['small', 'medium', 'large'])),
    sinceAt: s.maybe(s.instant()),
    urge: s.maybe(s.flag()),
    colour: s.maybe(s.choice(words.colours)),
    note: note(),
  }),
  drained: s.shape({
    route: s.choice(['in-out', 'left-in', 'from-catheter']),
    volumeMl: s.maybe(volume()),
    sizeCh: s.maybe(gauge()),
    difficulty: s.maybe(s.choice(['none', 'some', 'failed'])),
    trauma: s.maybe(s.flag()),
    colour: s.maybe(s.choice(words.colours)),
    operator: s.maybe(personId()),
    note: note(),
  }),
  'catheter-placed': s.shape({
    route: s.choice(['urethral', 'suprapubic']),
    reason: s.choice(words.catheterReasons),
    sizeCh: s.maybe(gauge()),
    plannedRemovalAt: s.maybe(s.instant()),
    note: note(),
  }),
  'catheter-removed': s.shape({ reason: s.choice(words.removalReasons), note: note() }),
  'catheter-reviewed': s.shape({
    keep: s.flag(),
    reason: s.maybe(s.choice(words.catheterReasons)),
    plannedRemovalAt: s.maybe(s.instant()),
    note: note(),
  }),
  'catheter-status': s.shape({
    status: s.choice([
      'draining',
      'blocked',
      'flushed',
      'clamped',
      'unclamped',
      'irrigation-running',
      'irrigation-stopped',
    ]),
    note: note(),
  }),
  /** Fluid put into the emptied bladder through the catheter before it comes out: the start of a void trial by backfill. */
  instilled: s.shape({ volumeMl: s.whole({ min: 1, max: 1000, unit: 'mL' }), note: note() }),
  'bag-read': s.shape({ volumeMl: volume(), sinceAt: s.instant(), emptied: s.flag() }),

  told: s.shape({ who: s.text(80), what: s.text(400) }),
  intake: s.shape({
    volumeMl: s.whole({ min: 0, max: 6000, unit: 'mL' }),
    route: s.choice(['oral', 'iv']),
    overMin: s.maybe(s.whole({ min: 1, max: 1440, unit: 'min' })),
  }),
  symptom: s.shape({
    symptom: s.choice(words.symptoms),
    severity: s.maybe(s.whole({ min: 1, max: 3, unit: '' })),
    note: note(),
  }),
  'red-flag': s.shape({ flag: s.choice(words.redFlags), note: note() }),
  caution: s.shape({ caution: s.choice(words.cautions), present: s.flag(), note: note() }),
  context: s.shape({
    topic: s.choice(words.contextTopics),
    state: s.maybe(s.choice(words.contextStates)),
    value: s.maybe(s.decimal({ min: 0, max: 100_000, unit: 'in the unit of the topic' })),
    limitSource: s.maybe(s.choice(words.limitSources)),
    route: s.maybe(s.choice(['oral', 'iv'])),
    note: note(),
  }),
  consent: s.shape({
    to: s.choice(words.consentTopics),
    answer: s.choice(['given', 'declined', 'cannot-consent']),
    offerAgainAt: s.maybe(s.instant()),
    note: note(),
  }),

  /** The answer of the protocol, kept as an entry: due items and owners fold from it like everything else. */
  'step-advised': s.shape({
    step: s.choice(words.steps),
    dueAt: s.instant(),
    /** The latest that the row allows, where it gives a range and not one time. */
    noLaterThanAt: s.maybe(s.instant()),
    ownerRole: s.choice(words.roles),
    why: s.text(600),
    tell: s.maybe(s.text(200)),
    rowId: s.text(40),
    rowText: s.text(600),
    rowSourceId: s.text(80),
    protocolId: s.text(80),
    protocolVersion: s.whole({ min: 1, max: 100_000, unit: '' }),
    protocolApproval: s.choice(['example-not-approved', 'signed']),
    /** The entry that led to it, so that a corrected entry shows which advice relied on it. */
    becauseOf: s.maybe(s.entryId()),
  }),
  /** From now on this watch goes by another version of the protocol; what was advised before stays as it was. */
  'protocol-moved': s.shape({
    protocolId: s.text(80),
    protocolVersion: s.whole({ min: 1, max: 100_000, unit: '' }),
    note: note(),
  }),
  'step-answered': s.shape({
    advised: s.entryId(),
    answer: s.choice(['taken', 'departed']),
    instead: s.maybe(s.text(200)),
    reason: s.maybe(s.text(300)),
    nextLookAt: s.maybe(s.instant()),
  }),

  'call-made': s.shape({
    to: s.text(80),
    toRole: s.choice(words.roles),
    ask: s.text(400),
    replyDueAt: s.instant(),
  }),
  'call-answered': s.shape({ call: s.entryId(), by: s.text(80), order: s.text(400), readBack: s.flag() }),

  'ownership-offered': s.shape({
    toPerson: s.maybe(personId()),
    toRole: s.maybe(s.choice(words.roles)),
    toWard: s.maybe(s.text(80)),
    occasion: s.choice(words.handoverOccasions),
    returnAt: s.maybe(s.instant()),
    note: note(),
  }),
  'ownership-accepted': s.shape({ offer: s.entryId(), readBack: s.text(400) }),
  'overdue-acknowledged': s.shape({ item: s.text(120), note: note() }),

  /** The named entry never happened, or not so. It stays visible, struck through. */
  withdrawn: s.shape({ of: s.entryId(), reason: s.choice(words.correctionReasons), note: note() }),
  /** The named entry belongs to another patient's record. */
  'moved-to-patient': s.shape({
    of: s.entryId(),
    toPatient: s.text(80),
    reason: s.maybe(s.choice(words.correctionReasons)),
    note: note(),
  }),

  /**
   * One exercise on simulated pictures, in the person's own record (practice.ts): what was asked, and how far off the
   * answer was. `trueMl` is known exactly: what perfect outlines of the part in the pictures give, or for a judgement
   * what the phantom holds. The same exercise comes back from level and seed.
   */
  practised: s.shape({
    exercise: s.choice(words.practiceExercises),
    level: s.choice(words.practiceLevels),
    seed: s.whole({ min: 0, max: 2_147_483_647, unit: '' }),
    trueMl: volume(),
    start: s.maybe(s.choice(words.practiceStarts)),
    outlinedMl: s.maybe(volume()),
    /** Mean distance of the outlines from the true ones, over the planes that have both. */
    offMm: s.maybe(s.decimal({ min: 0, max: 300, unit: 'mm' })),
    /** Planes that show the bladder and were left without an outline, and the reverse. */
    planesMissed: s.maybe(s.whole({ min: 0, max: 200, unit: '' })),
    planesTooMany: s.maybe(s.whole({ min: 0, max: 200, unit: '' })),
    judgedRight: s.maybe(s.list(s.choice(words.practiceQuestions), 8)),
    judgedWrong: s.maybe(s.list(s.choice(words.practiceQuestions), 8)),
  }),
} as const;

export type EntryKind = keyof typeof payloadShapes;
export const entryKinds = Object.keys(payloadShapes) as readonly EntryKind[];
export type PayloadOf<Kind extends EntryKind> = ValueOf<(typeof payloadShapes)[Kind]>;
