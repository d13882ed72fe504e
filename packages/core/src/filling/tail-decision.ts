/**
 * Is the chance of holding more than a volume at least a share? Answers exactly as comparing `contentAbove` does, most
 * of the time without computing it: the rough tail (rough-tail.ts) decides unless the answer is closer than its error.
 *
 * Units     mL
 * Errors    none beyond those of `contentAbove`: within 1e-6 of the share the full tail areas are taken
 */
import { contentAbove, type WeightedState } from './mixture.ts';
import { roughDensity, roughUpperTail } from './rough-tail.ts';

/** More than ten times the error of the polynomial. */
const undecided = 1e-6;

/** The same as `contentAbove(parts, volumeMl) >= share`. */
export function isAboveWith(parts: readonly WeightedState[], volumeMl: number, share: number): boolean {
  let sum = 0;
  for (const { weight, state } of parts) {
    const z = (volumeMl - state.contentMl) / Math.sqrt(Math.max(1e-12, state.contentVariance));
    sum += weight * roughUpperTail(z, roughDensity(z));
  }
  if (sum > share + undecided) return true;
  if (sum < share - undecided) return false;
  return contentAbove(parts, volumeMl) >= share;
}
