export { demoWorld, type World, type WorldOptions } from './world/demo-world.ts';
export {
  loadWard,
  loadYears,
  loadWardId,
  type LoadOptions,
  type LoadYearsOptions,
} from './world/load-ward.ts';
export { coastDirectory, coastZone, liveWard, organisation, scannerBias } from './world/places.ts';
export { lastRepeatedHour } from './world/clock-change-night.ts';
export { watchEpisode, type EpisodeOptions, type EpisodeSetting } from './world/episode.ts';
export { kneePatient, workedPatientKnee } from './stories/worked-knee.ts';
export { falseHighPatient, workedPatientFalseHigh } from './stories/worked-false-high.ts';
export { silentMissPatient, workedPatientSilentMiss } from './stories/worked-silent-miss.ts';
export { rightBedPatient, workedPatientWrongBed, wrongBedPatient } from './stories/worked-wrong-bed.ts';
export { exampleRows, type ExampleRow, type ExampleRowName } from './stories/example-rows.ts';
export type { StoryOptions } from './stories/story.ts';
export type { Advise, AdvisedStep } from './writing/chart.ts';
export { drawPatient, type VirtualPatient } from './patient/virtual-patient.ts';
export { openBladder, type Bladder, type TrueVoid } from './patient/bladder.ts';
export {
  chartingDelayMin,
  readVolume,
  typedVolume,
  type GrossError,
  type ReaderBias,
  type SimulatedReading,
} from './patient/reading-error.ts';
export {
  drawRecipe,
  mixShares,
  phantom,
  phantomFeatures,
  phantomMix,
  type Outline,
  type Phantom,
  type PhantomFeature,
  type PhantomRecipe,
  type PhantomTruth,
  type ProbeKind,
} from './phantoms/index.ts';
export {
  hiders,
  practiceSet,
  type Hider,
  type OtherFluidKind,
  type PictureEdge,
  type PracticeSet,
  type PracticeTruth,
} from './practice/exercise.ts';
export {
  bedsInWard,
  gridMin,
  measureNames,
  measuresOf,
  otherPatient,
  placeOf,
  simulateWard,
  streamFor,
  fittedFigures,
  watchedPatient,
  type PatientCourse,
  type PatientGenerator,
  type PatientRequest,
  type PatientTruth,
  type SimulatedLine,
  type SimulatedWard,
  type Staff,
  type StaffView,
  type TrueOutflow,
  type TrueReading,
  type WardRequest,
  madeSlips,
  startingSlips,
  withSlips,
  type Measures,
  type MadeSlip,
  type SlipMade,
  type SlipSettings,
  type WardWithSlips,
} from './ward/index.ts';
