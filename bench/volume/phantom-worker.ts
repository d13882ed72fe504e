/** One worker of the coverage run: makes the phantom of each number it is sent, traces it, and sends what came out. */
import { parentPort } from 'node:worker_threads';
import { traceBladder } from '../../packages/imaging/src/index.ts';
import { phantomMix, type PhantomFeature } from '../../packages/simulate/src/phantoms/index.ts';
import { claimOf, type Scored } from './accuracy.ts';
import type { Layout } from '../../packages/imaging/src/index.ts';

export interface PhantomScored extends Scored {
  readonly index: number;
  readonly layout: Layout;
  readonly features: readonly PhantomFeature[];
}

parentPort?.on('message', (index: number) => {
  const { set, truth } = phantomMix(index);
  const scored: PhantomScored = {
    index,
    layout: set.geometry.layout,
    features: truth.features,
    truth: { volumeMl: truth.volumeMl, inViewMl: Math.min(truth.inPictureMl, truth.unshadowedMl) },
    claim: claimOf(traceBladder(set)),
  };
  parentPort?.postMessage(scored);
});
