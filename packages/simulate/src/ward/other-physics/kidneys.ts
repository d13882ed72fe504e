import { gridMin } from '../course.ts';
import { streamFor } from '../streams.ts';
import type { OtherPerson } from './person.ts';

export interface Gulp {
  readonly step: number;
  readonly volumeMl: number;
  readonly charted: boolean;
}

/**
 * Inflow in steps: it stands still for an hour or several, then jumps to another level; and a great deal drunk at
 * once comes out as one block an hour later.
 *
 * Units     mL for each grid step
 * Source    S-made-other-physics
 */
export function otherInflow(
  seed: number,
  patient: string,
  person: OtherPerson,
  steps: number,
): { readonly stepMl: readonly number[]; readonly gulps: readonly Gulp[] } {
  const random = streamFor(seed, patient, 'kidneys');
  const stepMl: number[] = [];
  while (stepMl.length < steps) {
    const factor = random.pick([0.3, 0.6, 0.8, 1, 1, 1.4, 2.2]);
    const lasts = 6 + Math.floor(-30 * Math.log(1 - random.next()));
    for (let step = 0; step < lasts && stepMl.length < steps; step += 1)
      stepMl.push((person.baseMlPerH * factor * gridMin) / 60);
  }
  const gulps: Gulp[] = [];
  for (let step = random.below(72); step < steps; step += 60 + random.below(110)) {
    const volumeMl = 400 + 50 * random.below(11);
    gulps.push({ step, volumeMl, charted: random.next() < 0.5 });
    for (let later = step + 9; later < Math.min(steps, step + 24); later += 1)
      stepMl[later] = (stepMl[later] ?? 0) + (0.5 * volumeMl) / 15;
  }
  return { stepMl, gulps };
}
