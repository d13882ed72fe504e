/**
 * One plane while it is being traced: its rays, what they show of the wall, and where the wall is taken to lie so far.
 *
 * Units     mm
 * Source    shares made here (S-imaging-tuning)
 */
import { outlinePosterior, temperOdds, type RayPosterior } from './outline-posterior.ts';
import { mostRadii, radiusStepMm, rayCount, type RayField } from './ray-field.ts';
import type { ShadowBeams } from './shadow-beams.ts';
import { middleState, stateCount, wallOdds, wallView, type WallNet, type WallView } from './wall-model.ts';

export interface PlaneTrace {
  readonly field: RayField;
  readonly view: WallView;
  /** First radius index of each ray's states. */
  readonly starts: Int32Array;
  /** Tempered likelihood of each of them. */
  readonly likelihood: Float64Array;
  readonly referenceMm: Float64Array;
  readonly posterior: RayPosterior;
  /** Rays that end in shadow: what they show is not the wall. */
  readonly blind?: Uint8Array;
}

/** How far the outline may stray from the surface through all planes, mm. */
const strayFromBodyMm = 1.6;
/** A window of states that has come this far from the reference is laid anew. */
const staleSteps = 8;
const ringOrder = 5;

/** A first look at a plane: the wall near `radii`, its neighbours on the ring the only help. */
export function firstLook(field: RayField, model: WallNet, radii: Int32Array): PlaneTrace {
  const view = wallView(field);
  const starts = Int32Array.from(radii, startAt);
  const likelihood = likelihoodFrom(field, view, model, starts);
  const referenceMm = smoothRing(radii);
  return {
    field,
    view,
    starts,
    likelihood,
    referenceMm,
    posterior: outlinePosterior(likelihood, starts, field, referenceMm, Infinity),
  };
}

/** The same plane looked at again, near the outline that the other planes lead one to expect. */
export function lookAgain(
  trace: PlaneTrace,
  model: WallNet,
  referenceMm: Float64Array,
  blind?: Uint8Array,
): PlaneTrace {
  const { field, view } = trace;
  const starts = Int32Array.from(trace.starts);
  let { likelihood } = trace;
  for (let ray = 0; ray < rayCount; ray += 1) {
    const wanted = startAt(Math.round((referenceMm[ray] as number) / radiusStepMm - 0.5));
    if (Math.abs(wanted - (starts[ray] as number)) <= staleSteps) continue;
    if (likelihood === trace.likelihood) likelihood = Float64Array.from(likelihood);
    starts[ray] = wanted;
    wallOdds(model, field, view, ray, wanted, likelihood, ray * stateCount);
    temperOdds(likelihood, ray * stateCount);
  }
  return {
    field,
    view,
    starts,
    likelihood,
    referenceMm,
    posterior: outlinePosterior(likelihood, starts, field, referenceMm, strayFromBodyMm, blind),
    ...(blind ? { blind } : {}),
  };
}

const startAt = (radius: number): number => Math.max(0, Math.min(mostRadii - 1, radius) - middleState);

function likelihoodFrom(field: RayField, view: WallView, model: WallNet, starts: Int32Array): Float64Array {
  const likelihood = new Float64Array(rayCount * stateCount);
  for (let ray = 0; ray < rayCount; ray += 1) {
    wallOdds(model, field, view, ray, starts[ray] as number, likelihood, ray * stateCount);
    temperOdds(likelihood, ray * stateCount);
  }
  return likelihood;
}

/** Radii in mm with only their slow change round the ring. */
function smoothRing(radii: Int32Array): Float64Array {
  const out = new Float64Array(rayCount);
  for (let order = 0; order <= ringOrder; order += 1) {
    let even = 0;
    let odd = 0;
    for (let ray = 0; ray < rayCount; ray += 1) {
      const angle = (2 * Math.PI * order * ray) / rayCount;
      const radiusMm = ((radii[ray] as number) + 0.5) * radiusStepMm;
      even += radiusMm * Math.cos(angle);
      odd += radiusMm * Math.sin(angle);
    }
    const scale = (order === 0 ? 1 : 2) / rayCount;
    for (let ray = 0; ray < rayCount; ray += 1) {
      const angle = (2 * Math.PI * order * ray) / rayCount;
      out[ray] = (out[ray] as number) + scale * (even * Math.cos(angle) + odd * Math.sin(angle));
    }
  }
  return out;
}

/** Which rays of a plane end in a shadow, with the wall at `radiiMm`. */
export function raysInShadow(
  field: RayField,
  radiiMm: Float64Array,
  shadows: readonly ShadowBeams[],
): Uint8Array | undefined {
  const own = shadows.filter((shadow) => shadow.plane === field.plane);
  if (own.length === 0) return undefined;
  return Uint8Array.from(radiiMm, (radiusMm, ray) => {
    const angle = Math.atan2(
      (field.seedMm[0] as number) + radiusMm * (field.cosine[ray] as number),
      (field.seedMm[1] as number) + radiusMm * (field.sine[ray] as number),
    );
    return own.some((shadow) => angle >= shadow.fromRad && angle <= shadow.toRad) ? 1 : 0;
  });
}

/** Share of darkness just inside the edge of the picture above which the region runs on past it. */
const darkAtEdge = 0.15;
const edgeBand = 6;
const nearEdgeSteps = 8;
/** This close to the edge a wall can't be told from the edge itself. */
const atEdgeSteps = 5;

/** Does the region run past the edge of the picture on this ray? */
export function wallRunsOut(field: RayField, posterior: RayPosterior, ray: number): boolean {
  const exit = field.exit[ray] as number;
  if (exit >= mostRadii || exit < edgeBand) return false;
  const meanMm = posterior.meanMm[ray] as number;
  if (meanMm < (exit - nearEdgeSteps) * radiusStepMm) return false;
  if (meanMm > (exit - atEdgeSteps) * radiusStepMm) return true;
  let sum = 0;
  for (let near = 1; near <= edgeBand; near += 1) sum += field.dark[ray * mostRadii + exit - near] as number;
  return sum / edgeBand > darkAtEdge || (posterior.beyond[ray] as number) > 0.5;
}
