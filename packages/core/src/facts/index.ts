export * from './types.ts';
export { resolveEntries, entriesByPatient, knownAt, type Resolution } from './resolve.ts';
export {
  foldPatient,
  estimateInputsOf,
  foldWard,
  wardFactsOf,
  liveEntries,
  estimateTrackOf,
  compareByDue,
  patientsIn,
  type FoldRequest,
  type WardRequest,
} from './fold.ts';
export {
  countsFromMs,
  observationsOf,
  priorOf,
  toleranceReachedMs,
  whyNotValid,
  type EstimateInputs,
} from './estimate.ts';
export { followingKinds, followingOf, type Follower, type Following } from './following.ts';
export { ownershipOf, sameOwner, type Ownership } from './ownership.ts';
export { worklists, isLookStep } from './due.ts';
export { catheterDays, catheterStays, countingInstants } from './catheter.ts';
export { minutesOver } from './late.ts';
export { voidingEfficiencyPercent, unreliableCautions } from './volumes.ts';
export { unitFigures, type UnitFigures } from './unit.ts';
export { lookBackAt, type LookBack } from './looking-back.ts';
export {
  anythingMeanwhile,
  cameLateMin,
  longestMeanwhileMs,
  meanwhileOf,
  type CameLate,
  type Meanwhile,
} from './meanwhile.ts';
export {
  deviceErrors,
  pairError,
  raisedMl,
  type DeviceError,
  type PatientAgreementPair,
} from './device-error.ts';
export { deviceBook, type DeviceBook } from './device-book.ts';
export { anotherReading, openReading, type AnotherReading } from './another-reading.ts';
export {
  expectedRange,
  hitPairsOf,
  hitRateBook,
  hitRateOf,
  type HitPair,
  type HitRate,
  type HitRateBook,
  type WardRules,
} from './hit-rate.ts';
export {
  chartedBefore,
  chartedBeforeWords,
  clockDoubt,
  questionBetween,
  questionOf,
  questionsOnAdding,
  surpriseWords,
  voidTold,
  type Question,
  type QuestionInputs,
} from './question.ts';
export {
  unusualAbout,
  unusualMarks,
  whereaboutsOf,
  type Look,
  type UnusualMark,
  type Whereabouts,
} from './whereabouts.ts';
