import type { RandomSource } from '@ebbline/core/quantity';
import type { PlaneSetGeometry } from '@ebbline/imaging';
import type { Outline } from './outlines.ts';

/** Three diameters as an operator would set them: within the pictures, about 2 mm off. */
export function operatorCalipers(
  outlines: readonly (readonly Outline[])[],
  geometry: PlaneSetGeometry,
  random: RandomSource,
): Pick<PlaneSetGeometry, 'calipersMm'> {
  const slope = Math.tan((geometry.sector.halfAngleDeg * Math.PI) / 180);
  const extent = (plane: number, axis: 0 | 1): number => {
    const seen = (outlines[plane] ?? [])
      .flat()
      .filter(([s, d]) => Math.abs(s) <= slope * d && Math.hypot(s, d) <= geometry.sector.rMaxMm)
      .map((point) => point[axis]);
    return seen.length === 0 ? 0 : Math.max(...seen) - Math.min(...seen);
  };
  const slip = (): number => 2 * random.normal();
  const across = extent(0, 0);
  const along = extent(1, 0);
  const deep = Math.max(extent(0, 1), extent(1, 1));
  if (Math.min(across, along, deep) < 4) return {};
  return {
    calipersMm: {
      width: Math.max(2, across + slip()),
      length: Math.max(2, along + slip()),
      depth: Math.max(2, deep + slip()),
    },
  };
}
