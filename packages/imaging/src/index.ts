export * from './plane-set.ts';
export * from './outline.ts';
export * from './reasons.ts';
export { volumeFromOutlines, type Answer, type Findings, type VolumeResult } from './outline-volume.ts';
export { traceBladder, type TraceOptions } from './trace.ts';
export { bodyMeasures, bodyOf, bodySides, type Body, type BodyMeasures, type BodySide } from './body.ts';
export { flatView, flatViews, type FlatView, type FlatViewName } from './body-views.ts';
export {
  compareOutlines,
  outlineSides,
  type OutlineComparison,
  type OutlineSample,
  type OutlineSide,
} from './outline-compare.ts';
export { scoreOutlines, type OutlineScore, type PlaneScore } from './outline-score.ts';
export {
  levelContours,
  levelMoments,
  type LevelContour,
  type LevelContours,
  type LevelMoments,
  type ScalarField,
} from './level-contour.ts';
