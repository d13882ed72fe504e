/**
 * How far the volume may be off: a 90 % interval, from what the outlines and their trace say of themselves.
 *
 *     spread = e^(c · features)      interval = volume − low · spread … volume + high · spread
 *
 * A larger body, a wall less surely placed, planes that fit together badly, an inside that is not dark, a part in shadow
 * or outside, a layout that assumes more: each widens it. The numbers are fitted on phantoms whose volume is known, on the
 * size of the error that was made; the two factors are the quantiles of error over spread that leave 1 in 20 on either side,
 * a little widened for having been fitted on a few hundred. The upper side is longer: haze and cuts hide urine more often
 * than anything is taken for urine.
 *
 * Units     mm, mL
 * Domain    volume above 0
 * Not for   an error that no picture shows: a wrong scale, a wrong layout, fat of another speed of sound
 * Source    S-imaging-interval
 */
import type { PlaneSetGeometry } from './plane-set.ts';

export interface SpreadOf {
  readonly layout: PlaneSetGeometry['layout'];
  readonly volumeMl: number;
  /** Standard deviation from the placing of the wall, and the change when the whole wall moves out by 1 mm. */
  readonly wallMl: number;
  readonly perMmMl: number;
  /** Root mean square distance of what the planes show from one closed surface. */
  readonly planesDisagreeMm: number;
  /** Share of the outlined area that is dark. */
  readonly darkShare: number;
  /** What lies in shadow and what outside the picture, of the volume. */
  readonly shadedMl: number;
  readonly outsideMl: number;
}

const fitted = {
  constant: -0.1217,
  logVolume: 0.2522,
  logWall: 0.3535,
  logPerMm: 0.2406,
  perDisagreeMm: 0.2845,
  perNotDark: 2.147,
  perShaded: 2.471,
  perOutside: 1.49,
};
const layoutTerm: Readonly<Record<PlaneSetGeometry['layout'], number>> = {
  rotational_fan: 0,
  two_orthogonal_planes: 0.1625,
  tilt_sweep: 0.1724,
  parallel_sweep: 0.2532,
};
const lowFactor = 2.208;
const highFactor = 3.648;
/** Beyond this the planes fit so badly that more would say nothing more. */
const mostDisagreeMm = 6;
const floorMl = 0.05;

/** Typical size of the error, mL. */
export function spreadMl(of: SpreadOf): number {
  return Math.exp(
    fitted.constant +
      fitted.logVolume * Math.log(of.volumeMl) +
      fitted.logWall * Math.log(of.wallMl + floorMl) +
      fitted.logPerMm * Math.log(of.perMmMl + floorMl) +
      fitted.perDisagreeMm * Math.min(mostDisagreeMm, of.planesDisagreeMm) +
      fitted.perNotDark * (1 - of.darkShare) +
      fitted.perShaded * (of.shadedMl / of.volumeMl) +
      fitted.perOutside * (of.outsideMl / of.volumeMl) +
      layoutTerm[of.layout],
  );
}

/** The 90 % interval. */
export function intervalMl(of: SpreadOf): { readonly loMl: number; readonly hiMl: number } {
  const spread = spreadMl(of);
  return { loMl: Math.max(0, of.volumeMl - lowFactor * spread), hiMl: of.volumeMl + highFactor * spread };
}
