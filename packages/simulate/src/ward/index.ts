export * from './lines.ts';
export * from './course.ts';
export { bedsInWard, placeOf, simulateWard, type SimulatedWard, type WardRequest } from './ward.ts';
export { watchedPatient } from './watched-patient.ts';
export { otherPatient } from './other-physics/index.ts';
export { streamFor } from './streams.ts';
export { measureNames, measuresOf, type Measures } from './measures.ts';
export {
  madeSlips,
  startingSlips,
  withSlips,
  type MadeSlip,
  type SlipMade,
  type SlipSettings,
  type WardWithSlips,
} from './slips.ts';
export { fittedFigures } from './fitted-figures.ts';
