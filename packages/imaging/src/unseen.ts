/**
 * What of a body the set did not show: beams in shadow, and what lies past the ends of a sweep.
 *
 * Units     mm, mL
 * Source    closed forms of the layouts (S-geometry-closed-form); widths made here (S-imaging-tuning)
 */
import { absoluteMomentMm3, depthMomentMm3, planeWeights, polygonAreaMm2 } from '@ebbline/core/geometry';
import { isRefusal } from '@ebbline/core/quantity';
import { clipToBeams } from './clip.ts';
import type { PlaneOutline } from './outline.ts';
import type { PlanePose, PlaneSetGeometry, Vector } from './plane-set.ts';
import type { ShadowBeams } from './shadow-beams.ts';
import { fitSurface, radialDistanceMm, surfaceVolumeWhereMl, type Surface } from './surface.ts';

/** The part of the sum that lies in beams behind which nothing comes back, mL. */
export function shadowMl(
  geometry: PlaneSetGeometry,
  byPlane: readonly (readonly Float64Array[])[],
  shadows: readonly ShadowBeams[],
): number {
  if (shadows.length === 0) return 0;
  const weights =
    geometry.layout === 'two_orthogonal_planes'
      ? undefined
      : planeWeights(
          geometry.layout,
          geometry.planes.map((plane) => plane.position),
        );
  if (weights && isRefusal(weights)) return 0;
  let sum = 0;
  for (const shadow of shadows) {
    for (const polygon of byPlane[shadow.plane] ?? []) {
      const part = clipToBeams(polygon, shadow.fromRad, shadow.toRad);
      if (part.length < 6) continue;
      if (weights) sum += ((weights[shadow.plane] as number) * planeMoment(geometry.layout, part)) / 1000;
    }
  }
  return sum;
}

const planeMoment = (layout: PlaneSetGeometry['layout'], polygon: Float64Array): number =>
  layout === 'rotational_fan'
    ? absoluteMomentMm3(polygon)
    : layout === 'tilt_sweep'
      ? depthMomentMm3(polygon)
      : polygonAreaMm2(polygon);

const mostPoints = 300;

/** One smooth closed surface through the wall points that were seen, and how far they lie from it; undefined when there are too few. */
export function bodyThrough(
  geometry: PlaneSetGeometry,
  outlines: readonly PlaneOutline[],
): { surface: Surface; awayMm: number } | undefined {
  let room = 0;
  for (const outline of outlines) room += outline.vertices.length;
  const pointsMm = new Float64Array(3 * room);
  const sdMm = new Float64Array(room);
  let count = 0;
  const middle = [0, 0, 0];
  // A part of the vertices will do for a surface this smooth, and an edit must not wait.
  const every = Math.max(1, Math.floor(room / mostPoints));
  for (const outline of outlines) {
    const pose = geometry.planes[outline.plane];
    if (!pose) continue;
    for (const [index, vertex] of outline.vertices.entries()) {
      if (vertex.seenAs === 'cut' || index % every !== 0) continue;
      for (let axis = 0; axis < 3; axis += 1) {
        const value =
          (pose.originMm[axis] as number) +
          vertex.sMm * (pose.lateral[axis] as number) +
          vertex.dMm * (pose.axial[axis] as number);
        pointsMm[3 * count + axis] = value;
        middle[axis] = (middle[axis] as number) + value;
      }
      sdMm[count] = Math.hypot(0.8, vertex.sdMm);
      count += 1;
    }
  }
  if (count < 60) return undefined;
  const centreMm: Vector = [
    (middle[0] as number) / count,
    (middle[1] as number) / count,
    (middle[2] as number) / count,
  ];
  const surface = fitSurface(
    { pointsMm, sdMm, count },
    centreMm,
    geometry.layout === 'two_orthogonal_planes' ? 4 : 6,
  );
  if (!surface) return undefined;
  let squares = 0;
  for (let index = 0; index < count; index += 1) {
    squares +=
      radialDistanceMm(
        surface,
        pointsMm[3 * index] as number,
        pointsMm[3 * index + 1] as number,
        pointsMm[3 * index + 2] as number,
      ) ** 2;
  }
  return { surface, awayMm: Math.sqrt(squares / count) };
}

/**
 * What of the body lies past the first or last plane of a sweep, mL: each plane stands for half a step to either side,
 * and the rest of the closed surface was never passed over.
 */
export function pastSweepMl(
  geometry: PlaneSetGeometry,
  surface: Surface | undefined,
  outlines: readonly PlaneOutline[],
): number {
  if (!surface || (geometry.layout !== 'tilt_sweep' && geometry.layout !== 'parallel_sweep')) return 0;
  const last = geometry.planes.length - 1;
  const ends = [0, last].map((plane) => outlines.some((outline) => outline.plane === plane));
  if (!ends[0] && !ends[1]) return 0;
  const at = (plane: number): number => geometry.planes[plane]?.position ?? 0;
  const low = at(0) - (at(1) - at(0)) / 2;
  const high = at(last) + (at(last) - at(last - 1)) / 2;
  // The sign of a position against y comes from the poses themselves.
  const tilt = geometry.layout === 'tilt_sweep';
  const along = (pose: PlanePose | undefined): number =>
    pose === undefined
      ? 0
      : tilt
        ? (Math.atan2(pose.axial[1], pose.axial[2]) * 180) / Math.PI
        : pose.originMm[1];
  const way = along(geometry.planes[last]) >= along(geometry.planes[0]) ? 1 : -1;
  const origin = geometry.planes[0]?.originMm ?? [0, 0, 0];
  const middle = along(geometry.planes[0]) - way * at(0);
  return surfaceVolumeWhereMl(surface, (_x, y, z) => {
    const place = tilt ? (Math.atan2(y - origin[1], z - origin[2]) * 180) / Math.PI : y;
    const position = way * (place - middle);
    return (ends[0] === true && position < low) || (ends[1] === true && position > high);
  });
}
