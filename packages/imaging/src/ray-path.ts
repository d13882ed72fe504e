/**
 * The closed outline around a seed that best parts dark from bright: the globally best path over rays and radii.
 *
 * For ray φ and radius r the gain is the darkness summed from the seed to r (so that every dark stretch inside and
 * every bright stretch outside counts) plus the step in darkness at r. Once a ray has crossed more bright than a wall
 * is thick, it can't come back: the next dark region is another one. Neighbouring rays pay for a difference in radius.
 * The best closed path is found by dynamic programming over two turns, of which the middle one is kept.
 *
 * Frame     s, d in mm from the apex; ray 0 points to +s and turns towards +d
 * Units     mm; darkness −1 … +1
 * Source    dynamic programming (S-imaging-dynamic-programming); weights made here (S-imaging-tuning)
 */
import type { PolarGrid } from './polar-grid.ts';

export const rayCount = 96;
export const radiusStepMm = 0.5;
export const mostRadii = 240;

const leastRadiusMm = 1.5;
const edgeBandMm = 2.5;
const edgeWeightMm = 5;
const wallBudgetMm = 5;
const bendWeight = 0.35;
const stepReach = 9;
const forbidden = 1e6;

/** Reused arrays; one per tracer call, never per plane. */
export interface RayRoom {
  readonly gain: Float32Array;
  readonly darkAlong: Float32Array;
  readonly hiddenAlong: Uint8Array;
  readonly exit: Int32Array;
  readonly best: Float64Array;
  readonly from: Int16Array;
  readonly sine: Float64Array;
  readonly cosine: Float64Array;
}

export function rayRoom(): RayRoom {
  const cells = rayCount * mostRadii;
  const sine = new Float64Array(rayCount);
  const cosine = new Float64Array(rayCount);
  for (let ray = 0; ray < rayCount; ray += 1) {
    sine[ray] = Math.sin((2 * Math.PI * ray) / rayCount);
    cosine[ray] = Math.cos((2 * Math.PI * ray) / rayCount);
  }
  return {
    gain: new Float32Array(cells),
    darkAlong: new Float32Array(cells),
    hiddenAlong: new Uint8Array(cells),
    exit: new Int32Array(rayCount),
    best: new Float64Array(2 * cells),
    from: new Int16Array(2 * cells),
    sine,
    cosine,
  };
}

/** Reads the darkness along every ray from a seed, and works out the gain of ending at each radius. */
export function readRays(
  room: RayRoom,
  grid: PolarGrid,
  darkness: Float32Array,
  hiddenFrom: Int32Array,
  plane: number,
  seedS: number,
  seedD: number,
): void {
  const { beams, samples, halfAngle, stepAngle, rMinMm, stepMm } = grid;
  const base = plane * beams * samples;
  const band = Math.round(edgeBandMm / radiusStepMm);
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * mostRadii;
    let exit = mostRadii;
    for (let radius = 0; radius < mostRadii; radius += 1) {
      const length = (radius + 0.5) * radiusStepMm;
      const s = seedS + length * (room.cosine[ray] as number);
      const d = seedD + length * (room.sine[ray] as number);
      const beam = (Math.atan2(s, d) + halfAngle) / stepAngle - 0.5;
      const sample = (Math.sqrt(s * s + d * d) - rMinMm) / stepMm - 0.5;
      if (beam < -0.5 || beam > beams - 0.5 || sample < -0.5 || sample > samples - 0.5 || d < 0) {
        exit = radius;
        break;
      }
      const beam0 = Math.max(0, Math.min(beams - 2, Math.floor(beam)));
      const sample0 = Math.max(0, Math.min(samples - 2, Math.floor(sample)));
      const fb = Math.max(0, Math.min(1, beam - beam0));
      const fs = Math.max(0, Math.min(1, sample - sample0));
      const at = base + beam0 * samples + sample0;
      room.darkAlong[row + radius] =
        ((darkness[at] as number) * (1 - fs) + (darkness[at + 1] as number) * fs) * (1 - fb) +
        ((darkness[at + samples] as number) * (1 - fs) + (darkness[at + samples + 1] as number) * fs) * fb;
      const nearBeam = fb < 0.5 ? beam0 : beam0 + 1;
      room.hiddenAlong[row + radius] =
        sample >= (hiddenFrom[plane * beams + nearBeam] as number) - 0.5 ? 1 : 0;
    }
    room.exit[ray] = exit;
    let sum = 0;
    let top = 0;
    let closed = false;
    for (let radius = 0; radius < mostRadii; radius += 1) {
      if (radius >= exit || closed || (radius + 0.5) * radiusStepMm < leastRadiusMm) {
        if (radius < exit && !closed) {
          sum += (room.darkAlong[row + radius] as number) * radiusStepMm;
          top = Math.max(top, sum);
        }
        room.gain[row + radius] = -forbidden;
        continue;
      }
      let inside = 0;
      let outside = 0;
      for (let near = 0; near < band; near += 1) {
        inside += room.darkAlong[row + Math.max(0, radius - near)] as number;
        const beyond = radius + 1 + near;
        outside +=
          beyond < exit
            ? (room.darkAlong[row + beyond] as number)
            : (room.darkAlong[row + exit - 1] as number);
      }
      sum += (room.darkAlong[row + radius] as number) * radiusStepMm;
      room.gain[row + radius] = sum + (edgeWeightMm * (inside - outside)) / (2 * band);
      top = Math.max(top, sum);
      if (sum < top - wallBudgetMm) closed = true;
    }
  }
}

/**
 * The best closed path; `radii` gets the radius index of every ray. `expected` (radius index, NaN for none) and
 * `trust` (mm of gain a squared mm away costs) bring in what the neighbouring planes say.
 */
export function bestClosedPath(
  room: RayRoom,
  radii: Int32Array,
  expected?: Float32Array,
  trust?: Float32Array,
): void {
  const { gain, best, from, exit } = room;
  const turns = 2 * rayCount;
  const angle = (2 * Math.PI) / rayCount;
  for (let step = 0; step < turns; step += 1) {
    const ray = step % rayCount;
    const row = step * mostRadii;
    const before = row - mostRadii;
    const want = expected?.[ray] ?? Number.NaN;
    const pull = want === want ? (trust?.[ray] ?? 0) * radiusStepMm * radiusStepMm : 0;
    const limit = Math.max(1, exit[ray] as number);
    for (let radius = 0; radius < mostRadii; radius += 1) {
      if (radius >= limit) {
        best[row + radius] = -Infinity;
        continue;
      }
      let value = gain[ray * mostRadii + radius] as number;
      if (value <= -forbidden && pull > 0 && radius * radiusStepMm >= leastRadiusMm) value = -60;
      if (pull > 0) value -= Math.min(25, pull * (radius - want) * (radius - want));
      if (step === 0) {
        best[row + radius] = value;
        continue;
      }
      const bend =
        (bendWeight * radiusStepMm * radiusStepMm) / Math.max(1, (radius + 0.5) * radiusStepMm * angle);
      let top = -Infinity;
      let origin = radius;
      const low = Math.max(0, radius - stepReach);
      const high = Math.min(mostRadii - 1, radius + stepReach);
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
  const lastRow = (turns - 1) * mostRadii;
  let at = 0;
  for (let radius = 1; radius < mostRadii; radius += 1) {
    if ((best[lastRow + radius] as number) > (best[lastRow + at] as number)) at = radius;
  }
  const keepFrom = rayCount / 2;
  for (let step = turns - 1; step >= keepFrom; step -= 1) {
    if (step < keepFrom + rayCount) radii[step % rayCount] = at;
    at = from[step * mostRadii + at] as number;
  }
}
