/** The simulated plane sets of another maker with their true volumes, each read once. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { orThrow } from '../../packages/core/src/quantity/index.ts';
import type { PlaneSet } from '../../packages/imaging/src/index.ts';
import { readPlaneSet } from '../../packages/interop/src/planeset/index.ts';
import type { Truth } from './accuracy.ts';

export interface SampleSet {
  readonly name: string;
  readonly group: string;
  readonly folder: string;
  readonly set: PlaneSet;
  readonly truth: Truth;
}

/** The sets under `<samples>/ultrasound/{public,practice}`; none when there is no such folder. */
export async function readSamples(samples: string): Promise<readonly SampleSet[]> {
  const found: SampleSet[] = [];
  for (const group of ['public', 'practice']) {
    const root = join(samples, 'ultrasound', group);
    if (!existsSync(root)) continue;
    for (const name of readdirSync(root).toSorted()) {
      const folder = join(root, name);
      const known = join(folder, 'truth.json');
      if (!existsSync(known)) continue;
      const truth = JSON.parse(readFileSync(known, 'utf8')) as {
        volume_ml: number;
        visible_volume_ml: number;
        unshadowed_volume_ml: number;
      };
      const set = await readPlaneSet((file) => {
        const path = join(folder, file);
        return existsSync(path) ? new Uint8Array(readFileSync(path)) : undefined;
      });
      found.push({
        name,
        group,
        folder,
        set: orThrow(set),
        truth: {
          volumeMl: truth.volume_ml,
          inViewMl: Math.min(truth.visible_volume_ml, truth.unshadowed_volume_ml),
        },
      });
    }
  }
  return found;
}
