import type { Entry } from '@ebbline/core/record';
import { drainedStories } from './ward-drained.ts';
import { unsettledStories } from './ward-unsettled.ts';
import { specialStories } from './ward-special.ts';
import type { SceneOptions } from './scene.ts';

/** The made-up ward this evening, beside the worked patients: fourteen more people at every stage of a watch. */
export function wardEvening(options: SceneOptions): readonly Entry[] {
  return [...drainedStories(options), ...unsettledStories(options), ...specialStories(options)];
}
