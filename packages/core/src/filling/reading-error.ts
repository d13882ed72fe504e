/**
 * Standard deviation taken for a reading that came without its own.
 *
 *     σ = √(fixed² + (share · volume)²), wider for each doubt
 *
 * Units     mL
 * Source    share 0.14: spread of the percentage error of practised users, S-clinical2-R20; fixed part and the
 *           factors for doubts S-made-filling-settings
 * @example  readingStandardDeviationMl(240, []) // 39.1 mL
 */
import { startingPriors } from './prior.ts';

/** How much each doubt widens the error. A doubt not listed here widens it by 1.5 as well: unknown is not harmless. */
const doubtFactor: Readonly<Record<string, number>> = {
  'second-fluid': 2,
  'unsure-aim': 1.7,
  'poor-contact': 1.5,
  moved: 1.5,
  'cut-below': 1.5,
};

export function readingStandardDeviationMl(
  volumeMl: number,
  doubts: readonly string[],
  error: { readonly readingSdMl: number; readonly readingShare: number } = startingPriors['resting'] as {
    readingSdMl: number;
    readingShare: number;
  },
): number {
  const base = Math.hypot(error.readingSdMl, error.readingShare * volumeMl);
  return doubts.reduce(
    (sd, doubt) => sd * (Object.hasOwn(doubtFactor, doubt) ? (doubtFactor[doubt] as number) : 1.5),
    base,
  );
}
