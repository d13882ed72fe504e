/**
 * The upper tail of the standard normal by a short polynomial: for deciding and for a first guess, never to be shown.
 *
 *     Q(z) ≈ φ(z)(b₁t + … + b₅t⁵), t = 1/(1 + 0.2316419 z)
 *
 * Errors    off by less than 7.5e-8
 * Source    S-abramowitz-stegun 26.2.17
 */
const perRootTwoPi = 0.3989422804014327; // 1/√(2π) (S-arithmetic)

export const roughDensity = (z: number): number => perRootTwoPi * Math.exp(-0.5 * z * z);

/** @param density `roughDensity(z)`, which the caller often needs as well */
export function roughUpperTail(z: number, density: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    density *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z < 0 ? 1 - tail : tail;
}
