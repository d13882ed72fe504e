/**
 * Volume from outlines on planes of a known layout.
 *
 *     rotational fan     V = Σ wᵢ ∫|s| dA     planes turned about the depth axis (Pappus), angles in [0, π)
 *     tilt sweep         V = Σ wᵢ ∫ d dA      planes tilted about the lateral axis through d = 0
 *     parallel sweep     V = Σ wᵢ ∫ dA        planes shifted along their normal
 *     two planes         V = π/6 · width · length · depth, or π/4 ∫ width(d) · length(d) dd
 *
 * wᵢ is the angle (or distance) that plane i stands for: half the gap to each neighbour; the fan closes on itself
 * at π; at the ends of a sweep the outer half equals the inner half.
 *
 * Frame     outlines as polygons of [s, d] in mm (polygon.ts); several polygons on a plane add up
 * Units     in mm and degrees; out mL
 * Domain    fan at least 3 planes, sweeps at least 3, two planes exactly 2; positions strictly ascending
 * Errors    geometry/too-few-planes, geometry/planes-not-in-order, geometry/outline-*, geometry/outline-behind-apex
 * Not for   planes whose true pose is unknown: the sum has no way to notice
 * Source    closed forms, README.md of this folder (S-geometry-closed-form); S-clinical-A14, S-clinical-A15
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import {
  absoluteMomentMm3,
  depthMomentMm3,
  polygonAreaMm2,
  polygonExtent,
  polygonRefusal,
  widthAtDepthMm,
  type Polygon,
} from './polygon.ts';
import type { Volume, VolumeMethod } from './volume.ts';

export interface PlaneOutlines {
  /** Turn, tilt (degrees) or shift (mm) of the plane. */
  readonly position: number;
  readonly polygons: readonly Polygon[];
}

export type SweepLayout = 'rotational_fan' | 'tilt_sweep' | 'parallel_sweep';

const methods: Readonly<Record<SweepLayout, VolumeMethod>> = {
  rotational_fan: 'rotational-fan',
  tilt_sweep: 'tilt-sweep',
  parallel_sweep: 'parallel-sweep',
};

/** What each plane stands for: radians for a fan or a tilt, mm for a parallel sweep. */
export function planeWeights(layout: SweepLayout, positions: readonly number[]): Float64Array | Refusal {
  const count = positions.length;
  if (count < 3) {
    return refuse('geometry/too-few-planes', {
      asked: 'Volume from planes',
      found: `${count} planes`,
      allowed: 'at least 3 planes, or two orthogonal planes as their own layout',
      todo: 'Record more planes, or choose the layout of two orthogonal planes.',
    });
  }
  const wrong = (found: string): Refusal =>
    refuse('geometry/planes-not-in-order', {
      asked: 'Volume from planes',
      found,
      allowed:
        layout === 'rotational_fan'
          ? 'turns ascending from each other, all within 180 degrees'
          : 'positions ascending from each other',
      todo: 'Give the angle or the offset of each plane.',
    });
  for (let index = 0; index < count; index += 1) {
    const here = positions[index] as number;
    if (!Number.isFinite(here)) return wrong('a plane without a position');
    if (index > 0 && here <= (positions[index - 1] as number))
      return wrong(`position ${here} after ${positions[index - 1]}`);
  }
  const span = (positions[count - 1] as number) - (positions[0] as number);
  if (layout === 'rotational_fan' && span >= 180) return wrong(`turns over ${span} degrees`);
  if (layout === 'tilt_sweep' && span >= 180) return wrong(`tilts over ${span} degrees`);
  const unit = layout === 'parallel_sweep' ? 1 : Math.PI / 180;
  const weights = new Float64Array(count);
  for (let index = 0; index < count; index += 1) {
    const here = positions[index] as number;
    let left = index > 0 ? here - (positions[index - 1] as number) : NaN;
    let right = index + 1 < count ? (positions[index + 1] as number) - here : NaN;
    if (layout === 'rotational_fan') {
      if (index === 0) left = 180 - span;
      if (index + 1 === count) right = 180 - span;
    }
    if (Number.isNaN(left)) left = right;
    if (Number.isNaN(right)) right = left;
    weights[index] = ((left + right) / 2) * unit;
  }
  return weights;
}

/** The moment of one polygon that a layout sums: mm³ per radian, or mm². */
function layoutMoment(layout: SweepLayout, polygon: Polygon): number {
  if (layout === 'rotational_fan') return absoluteMomentMm3(polygon);
  return layout === 'tilt_sweep' ? depthMomentMm3(polygon) : polygonAreaMm2(polygon);
}

function outlinesRefusal(
  planes: readonly PlaneOutlines[],
  depthMustBePositive: boolean,
): Refusal | undefined {
  for (const [index, plane] of planes.entries()) {
    for (const polygon of plane.polygons) {
      const refused = polygonRefusal(polygon, `plane ${index + 1}`);
      if (refused) return refused;
      if (depthMustBePositive && polygonExtent(polygon).minD < 0) {
        return refuse('geometry/outline-behind-apex', {
          asked: 'Outline',
          found: 'a point behind the apex of the fan',
          allowed: 'depth 0 mm or more',
          todo: 'Move the point into the picture.',
          where: `plane ${index + 1}`,
        });
      }
    }
  }
  return undefined;
}

/** Volume of a fan or a sweep. */
export function sweepVolume(layout: SweepLayout, planes: readonly PlaneOutlines[]): Volume | Refusal {
  const weights = planeWeights(
    layout,
    planes.map((plane) => plane.position),
  );
  if ('refused' in weights) return weights;
  const refused = outlinesRefusal(planes, layout === 'tilt_sweep');
  if (refused) return refused;
  let cubicMm = 0;
  for (const [index, plane] of planes.entries()) {
    for (const polygon of plane.polygons)
      cubicMm += (weights[index] as number) * layoutMoment(layout, polygon);
  }
  return {
    volumeMl: cubicMm / 1000,
    method: methods[layout],
    coefficient: 1,
    coefficientSource: 'S-geometry-closed-form',
  };
}

const crossedPlanesRefusal = (transverse: Polygon, sagittal: Polygon): Refusal | undefined =>
  outlinesRefusal(
    [
      { position: 0, polygons: [transverse] },
      { position: 90, polygons: [sagittal] },
    ],
    false,
  );

/** Volume of two orthogonal planes from their largest extents; depth is read on the second (sagittal) plane. */
export function twoPlanesDiameterVolume(transverse: Polygon, sagittal: Polygon): Volume | Refusal {
  const refused = crossedPlanesRefusal(transverse, sagittal);
  if (refused) return refused;
  const across = polygonExtent(transverse);
  const along = polygonExtent(sagittal);
  const product = (across.maxS - across.minS) * (along.maxS - along.minS) * (along.maxD - along.minD);
  return {
    volumeMl: ((Math.PI / 6) * product) / 1000,
    method: 'two-planes-diameters',
    coefficient: Math.PI / 6,
    coefficientSource: 'S-clinical-A1',
  };
}

/**
 * Volume of two orthogonal planes as a stack of elliptical slices, each as wide as plane 1 and as long as plane 2 at
 * that depth. Exact for an ellipsoid; follows flattened and triangular shapes that a single product can't. The depth
 * ranges of the two outlines are laid on each other end to end, since tilt and noise make them differ a little.
 */
export function twoPlanesDiscVolume(transverse: Polygon, sagittal: Polygon): Volume | Refusal {
  const refused = crossedPlanesRefusal(transverse, sagittal);
  if (refused) return refused;
  const across = polygonExtent(transverse);
  const along = polygonExtent(sagittal);
  const slices = 400;
  const height = (across.maxD - across.minD + along.maxD - along.minD) / 2;
  let sum = 0;
  for (let slice = 0; slice < slices; slice += 1) {
    const share = (slice + 0.5) / slices;
    sum +=
      widthAtDepthMm([transverse], across.minD + share * (across.maxD - across.minD)) *
      widthAtDepthMm([sagittal], along.minD + share * (along.maxD - along.minD));
  }
  return {
    volumeMl: ((Math.PI / 4) * sum * (height / slices)) / 1000,
    method: 'two-planes-discs',
    coefficient: Math.PI / 4,
    coefficientSource: 'S-geometry-closed-form',
  };
}

/** Disc summation: areas of parallel slices of one thickness. Source S-clinical-A14. */
export function discsVolume(areasMm2: readonly number[], thicknessMm: number): Volume | Refusal {
  if (
    !(thicknessMm > 0 && thicknessMm <= 50) ||
    areasMm2.length === 0 ||
    !areasMm2.every((area) => area >= 0 && area <= 90_000)
  ) {
    return refuse('geometry/slices-out-of-range', {
      asked: 'Volume from slices',
      found: `${areasMm2.length} slices of ${thicknessMm} mm`,
      allowed: 'at least 1 slice, thickness above 0 and at most 50 mm, areas from 0 to 90000 mm²',
      todo: 'Give the area of every slice and the distance between slices.',
    });
  }
  let sum = 0;
  for (const area of areasMm2) sum += area;
  return {
    volumeMl: (sum * thicknessMm) / 1000,
    method: 'discs',
    coefficient: 1,
    coefficientSource: 'S-clinical-A14',
  };
}
