/**
 * The angle of a point below the probe against the beam straight down, quick enough for every step of every ray.
 *
 * Units     mm in, radians out, positive towards +s
 * Domain    d ≥ 0, not both 0
 * Source    a polynomial for the arctangent within 1e-5 rad (S-imaging-arctangent): a thousandth of a beam
 */

function arctangent(share: number): number {
  const square = share * share;
  return (
    share *
    (0.999866 + square * (-0.3302995 + square * (0.180141 + square * (-0.085133 + square * 0.0208351))))
  );
}

export function angleFromDown(s: number, d: number): number {
  if (s < d && -s < d) return arctangent(s / d);
  const side = s < 0 ? -Math.PI / 2 : Math.PI / 2;
  return s === 0 ? 0 : side - arctangent(d / s);
}
