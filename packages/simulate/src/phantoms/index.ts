export { phantom, phantomMix, type Phantom } from './phantom.ts';
export {
  drawRecipe,
  mixShares,
  phantomFeatures,
  type PhantomFeature,
  type PhantomRecipe,
  type ProbeKind,
} from './recipe.ts';
export type { PhantomTruth } from './truth.ts';
export type { Outline } from './outlines.ts';
