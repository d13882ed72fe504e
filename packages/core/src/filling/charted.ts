/**
 * How likely it is that something which happened so long ago has not been charted yet: most is charted within the hour,
 * some at the end of the shift, and a part never.
 *
 * Units     ms in, a share from 0 to 1 out
 * Source    constants in prior.ts
 */
import { hourMs, minuteMs } from '../quantity/index.ts';
import type { FillingPrior } from './prior.ts';

export function voidNotCharted(prior: FillingPrior, agoMs: number): number {
  const yetToCome =
    prior.voidsChartedSoonShare * Math.exp(-agoMs / minuteMs / prior.voidsChartedSoonMin) +
    prior.voidsChartedLateShare * Math.exp(-agoMs / hourMs / prior.voidsChartedLateH);
  return prior.voidsNeverChartedShare + (1 - prior.voidsNeverChartedShare) * yetToCome;
}

export const drainNotCharted = (prior: FillingPrior, agoMs: number): number =>
  prior.drainsNeverChartedShare +
  (1 - prior.drainsNeverChartedShare) * Math.exp(-agoMs / minuteMs / prior.drainsChartedMin);
