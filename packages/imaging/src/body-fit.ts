/**
 * One closed surface through the outlines of all planes while they are being traced: it carries what one plane shows to
 * the others, and goes on where the wall lies outside the picture.
 *
 * Units     mm
 * Source    least squares on spherical harmonics (S-imaging-harmonics), reweighted against stray points
 *           (S-imaging-reweighted); widths made here (S-imaging-tuning)
 */
import type { PlaneSetGeometry, Vector } from './plane-set.ts';
import { wallRunsOut, type PlaneTrace } from './plane-trace.ts';
import { mostRadii, radiusStepMm, rayCount, type RayField } from './ray-field.ts';
import { radialDistanceMm, surfaceFitter, type Surface } from './surface.ts';

/** Stiffer than a surface through finished outlines: stretches that nobody sees must not follow what lies beside them. */
const stiffness = 0.03;
/** What the harmonics of the surface can't follow, mm. */
const roughnessMm = 0.8;
/** A ray whose own odds are spread further than this says little, however sure its neighbours made it. */
const clearSpreadMm = 1.5;
/** Unclear rays err alike over a whole stretch (haze, a layer of the belly wall), so they count for still less. */
const unclearWeight = 2;
const leastCrossingMm = 4;
const radiusToleranceMm = 0.05;
/** A ray that meets the surface flatter than this is stepped as if it met it so. */
const leastSlope = 0.2;

/** A point of a plane in the frame of the set. */
export function pointOf(geometry: PlaneSetGeometry, plane: number, sMm: number, dMm: number): Vector {
  const pose = geometry.planes[plane];
  if (!pose) return [0, 0, 0];
  return [
    pose.originMm[0] + sMm * pose.lateral[0] + dMm * pose.axial[0],
    pose.originMm[1] + sMm * pose.lateral[1] + dMm * pose.axial[1],
    pose.originMm[2] + sMm * pose.lateral[2] + dMm * pose.axial[2],
  ];
}

const onRay = (geometry: PlaneSetGeometry, field: RayField, ray: number, radiusMm: number): Vector =>
  pointOf(
    geometry,
    field.plane,
    (field.seedMm[0] as number) + radiusMm * (field.cosine[ray] as number),
    (field.seedMm[1] as number) + radiusMm * (field.sine[ray] as number),
  );

/** The surface through all traces; undefined when they don't make it definite. */
export function bodyThroughTraces(
  geometry: PlaneSetGeometry,
  traces: readonly PlaneTrace[],
  centreMm: Vector,
  degree: number,
): Surface | undefined {
  // Neighbouring rays say nearly the same, so a part of them will do when there are planes enough.
  const every = traces.length >= 9 ? 4 : traces.length >= 5 ? 2 : 1;
  const most = Math.ceil((traces.length * rayCount) / every);
  const pointsMm = new Float64Array(most * 3);
  const sdMm = new Float64Array(most);
  const base = new Float64Array(most);
  // A wall past the edge of the picture is known only to lie further out than that.
  const past = new Uint8Array(most);
  let count = 0;
  let beyond = 0;
  for (const [index, { field, posterior, blind }] of traces.entries()) {
    for (let ray = index % every; ray < rayCount; ray += every) {
      if (blind?.[ray] === 1) continue;
      const out = wallRunsOut(field, posterior, ray);
      const radiusMm = out ? (field.exit[ray] as number) * radiusStepMm : (posterior.meanMm[ray] as number);
      const point = onRay(geometry, field, ray, radiusMm);
      pointsMm.set(point, 3 * count);
      base[count] = Math.hypot(
        roughnessMm,
        posterior.sdMm[ray] as number,
        unclearWeight * Math.max(0, (posterior.ownSdMm[ray] as number) - clearSpreadMm),
      );
      past[count] = out ? 1 : 0;
      beyond += out ? 1 : 0;
      sdMm[count] = out ? farSdMm : (base[count] as number);
      count += 1;
    }
  }
  const fitter = surfaceFitter({ pointsMm, count }, centreMm, degree, stiffness);
  if (!fitter) return undefined;
  let surface = fitter.fit(sdMm);
  const turns = beyond > 0 ? 4 : 2;
  for (let turn = 0; turn < turns && surface; turn += 1) {
    for (let index = 0; index < count; index += 1) {
      const awayMm = fitter.distanceMm(surface, index);
      const own = base[index] as number;
      if (past[index] === 1) sdMm[index] = awayMm > 0 ? edgeSdMm : farSdMm;
      else sdMm[index] = own * Math.sqrt(Math.max(1, Math.abs(awayMm) / own / 1.5));
    }
    surface = fitter.fit(sdMm) ?? surface;
  }
  return surface;
}

const farSdMm = 1e4;
const edgeSdMm = 1.5;

/** Root mean square distance of what the planes show by themselves from the surface, mm. */
export function distanceFromBodyMm(
  surface: Surface,
  geometry: PlaneSetGeometry,
  traces: readonly PlaneTrace[],
): number {
  let squares = 0;
  let count = 0;
  for (const { field, posterior, blind } of traces) {
    for (let ray = 0; ray < rayCount; ray += 2) {
      if (blind?.[ray] === 1 || wallRunsOut(field, posterior, ray) || (posterior.sdMm[ray] as number) > 2)
        continue;
      const [x, y, z] = onRay(geometry, field, ray, posterior.meanMm[ray] as number);
      squares += radialDistanceMm(surface, x, y, z) ** 2;
      count += 1;
    }
  }
  return count > 0 ? Math.sqrt(squares / count) : 0;
}

/** Radius in mm at which each ray leaves the surface; undefined when the seed lies outside it. */
export function radiiOfBody(
  surface: Surface | undefined,
  geometry: PlaneSetGeometry,
  field: RayField,
): Float64Array | undefined {
  if (!surface) return undefined;
  const insideBy = (ray: number, radiusMm: number): number => {
    const [x, y, z] = onRay(geometry, field, ray, radiusMm);
    return radialDistanceMm(surface, x, y, z);
  };
  if (insideBy(0, 0) >= 0) return undefined;
  const out = new Float64Array(rayCount);
  for (let ray = 0; ray < rayCount; ray += 1) {
    // Straight-line steps from the neighbour's radius, halving the bracket where a step would leave it.
    let low = 0;
    let high = mostRadii * radiusStepMm;
    let at = ray > 0 ? (out[ray - 1] as number) : high / 2;
    let slope = 1;
    let before = Number.NaN;
    let beforeBy = 0;
    while (high - low > radiusToleranceMm) {
      const by = insideBy(ray, at);
      if (Math.abs(by) < radiusToleranceMm / 2) break;
      if (by < 0) low = at;
      else high = at;
      const steep = (by - beforeBy) / (at - before);
      if (steep > leastSlope) slope = steep;
      before = at;
      beforeBy = by;
      at -= by / slope;
      if (!(at > low && at < high)) at = (low + high) / 2;
    }
    out[ray] = at;
  }
  return out;
}

/** Where the body found on the other planes crosses a plane on which no fluid was found by itself. */
export function crossingOf(
  surface: Surface,
  geometry: PlaneSetGeometry,
  plane: number,
): { s: number; d: number } | undefined {
  const pose = geometry.planes[plane];
  if (!pose) return undefined;
  let s = 0;
  let d = 0;
  for (let axis = 0; axis < 3; axis += 1) {
    const from = (surface.centreMm[axis] as number) - (pose.originMm[axis] as number);
    s += from * (pose.lateral[axis] as number);
    d += from * (pose.axial[axis] as number);
  }
  const [x, y, z] = pointOf(geometry, plane, s, d);
  return radialDistanceMm(surface, x, y, z) < -leastCrossingMm ? { s, d } : undefined;
}
