/**
 * The closed outline around a seed that best parts dark from bright: the globally best path over rays and radii.
 *
 * For ray φ and radius r the gain is the darkness summed from the seed to r (so that every dark stretch inside and
 * every bright stretch outside counts) plus the step in darkness at r. Once a ray has crossed more bright than a wall
 * is thick, it can't come back: the next dark region is another one. Neighbouring rays pay for a difference in radius.
 * The best closed path is found by dynamic programming over one turn and a half, of which the middle turn is kept.
 *
 * Frame     rays of ray-field.ts
 * Units     mm; darkness −1 … +1
 * Source    dynamic programming (S-imaging-dynamic-programming); weights made here (S-imaging-tuning)
 */
import { mostRadii, radiusStepMm, rayCount, type RayField } from './ray-field.ts';

const leastRadiusMm = 1.5;
const edgeBandMm = 2.5;
const edgeWeightMm = 5;
/** Towards the probe haze may look like a wall, so more bright is let pass. */
const nearWallBudgetMm = 5;
const wallBudgetMm = 2.5;
const bendWeight = 0.35;
const stepReach = 9;
const forbidden = 1e6;
/** Rays walked before and after the turn that is kept, so that its ends meet. */
const lead = rayCount / 4;

/** Reused arrays; one per tracer call, never per plane. */
export interface PathRoom {
  readonly gain: Float32Array;
  readonly best: Float64Array;
  readonly from: Int16Array;
  /** One past the last radius each ray may end at. */
  readonly limit: Int32Array;
}

export function pathRoom(): PathRoom {
  const cells = rayCount * mostRadii;
  return {
    gain: new Float32Array(cells),
    best: new Float64Array(cells + 2 * lead * mostRadii),
    from: new Int16Array(cells + 2 * lead * mostRadii),
    limit: new Int32Array(rayCount),
  };
}

/** The gain of ending at each radius. */
export function darknessGain(room: PathRoom, field: RayField): void {
  const band = Math.round(edgeBandMm / radiusStepMm);
  const { dark, exit: exits } = field;
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * mostRadii;
    const exit = exits[ray] as number;
    let sum = 0;
    let top = 0;
    let limit = 1;
    let closed = false;
    const budgetMm = (field.sine[ray] as number) < -0.3 ? nearWallBudgetMm : wallBudgetMm;
    for (let radius = 0; radius < mostRadii; radius += 1) {
      if (radius >= exit || closed || (radius + 0.5) * radiusStepMm < leastRadiusMm) {
        if (radius < exit && !closed) {
          sum += (dark[row + radius] as number) * radiusStepMm;
          top = Math.max(top, sum);
        }
        room.gain[row + radius] = -forbidden;
        continue;
      }
      let inside = 0;
      let outside = 0;
      for (let near = 0; near < band; near += 1) {
        inside += dark[row + Math.max(0, radius - near)] as number;
        const beyond = radius + 1 + near;
        outside += beyond < exit ? (dark[row + beyond] as number) : (dark[row + exit - 1] as number);
      }
      limit = radius + 1;
      sum += (dark[row + radius] as number) * radiusStepMm;
      room.gain[row + radius] = sum + (edgeWeightMm * (inside - outside)) / (2 * band);
      top = Math.max(top, sum);
      if (sum < top - budgetMm) closed = true;
    }
    room.limit[ray] = limit;
  }
}

/** The best closed path through the room's gain; `radii` gets the radius index of every ray. */
export function bestClosedPath(room: PathRoom, radii: Int32Array): void {
  const { gain, best, from } = room;
  const steps = rayCount + 2 * lead;
  const angle = (2 * Math.PI) / rayCount;
  for (let step = 0; step < steps; step += 1) {
    const ray = step % rayCount;
    const row = step * mostRadii;
    const before = row - mostRadii;
    const limit = room.limit[ray] as number;
    const limitBefore = room.limit[(ray + rayCount - 1) % rayCount] as number;
    for (let radius = 0; radius < limit; radius += 1) {
      const value = gain[ray * mostRadii + radius] as number;
      if (step === 0) {
        best[row + radius] = value;
        continue;
      }
      const bend =
        (bendWeight * radiusStepMm * radiusStepMm) / Math.max(1, (radius + 0.5) * radiusStepMm * angle);
      // Past the neighbour's limit the step is as far as it must be.
      const low = Math.min(limitBefore - 1, Math.max(0, radius - stepReach));
      const high = Math.min(limitBefore - 1, radius + stepReach);
      let top = -Infinity;
      let origin = low;
      for (let other = low; other <= high; other += 1) {
        const reached = (best[before + other] as number) - bend * (radius - other) * (radius - other);
        if (reached > top) {
          top = reached;
          origin = other;
        }
      }
      best[row + radius] = top + value;
      from[row + radius] = origin;
    }
  }
  const lastRow = (steps - 1) * mostRadii;
  const lastRay = (steps - 1) % rayCount;
  let at = 0;
  for (let radius = 1; radius < (room.limit[lastRay] as number); radius += 1) {
    if ((best[lastRow + radius] as number) > (best[lastRow + at] as number)) at = radius;
  }
  for (let step = steps - 1; step >= lead; step -= 1) {
    if (step < lead + rayCount) radii[step % rayCount] = at;
    at = from[step * mostRadii + at] as number;
  }
}
