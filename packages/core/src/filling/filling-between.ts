/**
 * How much a bladder fills between two instants at a stated range of rates.
 *
 * Units     ms, mL/h → mL
 * Domain    an interval the wrong way round counts as none
 * Source    100 to 200 mL/h after surgery: S-clinical-E10
 * @example  14 minutes at 100 to 200 mL/h: 23.3 to 46.7 mL
 */
import { hourMs } from '../quantity/index.ts';

export function fillingBetween(
  fromMs: number,
  toMs: number,
  lowMlPerH: number,
  highMlPerH: number,
): { readonly lowMl: number; readonly highMl: number } {
  const hours = Math.max(0, toMs - fromMs) / hourMs;
  return { lowMl: hours * lowMlPerH, highMl: hours * highMlPerH };
}
