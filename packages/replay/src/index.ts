export { changeBetween, type Answer, type Change } from './answer.ts';
export { episodesOf, type Episode, type Kept, type PastRequest } from './episodes.ts';
export { figureOf, type PairedFigure } from './paired.ts';
export {
  replayEpisodes,
  type EpisodesReplay,
  type EpisodesRequest,
  type PastFigureName,
  type ReplayedMoment,
} from './replay-episodes.ts';
export { hoursOverPast, type HoursOver, type PatientHours } from './real-hours.ts';
export {
  replaySimulated,
  type SimulatedFigureName,
  type SimulatedReplay,
  type SimulatedRequest,
} from './replay-simulated.ts';
export { entriesOfMadeLines, logOfMadeLines, madeZone } from './made-entries.ts';
export { toEnd, type Progress, type Work } from './progress.ts';
