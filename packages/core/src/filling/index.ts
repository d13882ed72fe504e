export * from './observation.ts';
export * from './prior.ts';
export * from './state.ts';
export { wholeMinute, type CatheterState } from './person.ts';
export { plainCrossing, type Crossing } from './crossing.ts';
export * from './estimate.ts';
export {
  reconstruct,
  type ContentThen,
  type LikelyRange,
  type Reconstruction,
  type ReconstructQuestion,
} from './reconstruct.ts';
export { foundOver, stretchAbout, type FoundOver, type Stretch } from './stretch.ts';
export * from './surprise.ts';
export * from './slips.ts';
export * from './again.ts';
export * from './reading-error.ts';
export * from './filling-between.ts';
export * from './would-error-matter.ts';
export * from './read-again.ts';
export * from './carry-back.ts';
export * from './mass-balance.ts';
export * from './series.ts';
export * from './chance-ahead.ts';
export * from './fit-prior.ts';
