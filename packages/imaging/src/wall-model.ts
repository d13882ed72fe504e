/**
 * How likely the inner wall lies at each radius of a ray: a small learnt model of how a wall looks from inside.
 *
 * It looks at grey along the ray against the set's own fluid and tissue (near the radius closely, further off in wider
 * steps), at the same averaged over many neighbouring rays (haze lies in bands, walls don't), at the ray's direction
 * against the beam (a wall hit square echoes sharply, one hit aslant fades), at depth, at shadow, and at the edge of the
 * picture. One layer of units, each the positive part of a weighted sum.
 *
 * Units     mm; levels 0 at the fluid of the set, 1 at its tissue of the same range; out: natural log odds
 * Domain    rays of ray-field.ts; a radius at a ray's exit stands for "at or past the edge of the picture"
 * Source    fitted on simulated sets (S-imaging-wall-model)
 */
import { mostRadii, radiusStepMm, rayCount, type RayField } from './ray-field.ts';
import { wallWeights } from './wall-weights.ts';

/** Where around a radius the level is read, in steps of ½ mm: close together near the wall, wider apart further off. */
const taps = [-32, -26, -20, -16, -13, -10, -8, -6, -4, -2, 0, 2, 4, 6, 8, 10, 13, 16, 20, 26, 32];
export const tapCount = taps.length;
/** Middles of stretches over which many neighbouring rays are averaged, in steps. */
const broadAt = [-24, -15, -9, -3, 3, 9, 15, 24];
const broadHalf = 3;
const broadRays = 4;
export const broadCount = broadAt.length;
export const extraCount = 9;
export const featureCount = tapCount + broadCount + extraCount;
const reachSteps = 18;

/** Levels averaged over a ray and its two neighbours, their running sums, and those over many neighbours. */
export interface WallView {
  readonly level: Float32Array;
  readonly sum: Float64Array;
  readonly broad: Float64Array;
}

export function wallView(field: RayField): WallView {
  const level = new Float32Array(rayCount * mostRadii);
  const sum = new Float64Array(rayCount * (mostRadii + 1));
  const broad = new Float64Array(rayCount * (mostRadii + 1));
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * mostRadii;
    const before = ((ray + rayCount - 1) % rayCount) * mostRadii;
    const after = ((ray + 1) % rayCount) * mostRadii;
    let run = 0;
    for (let radius = 0; radius < mostRadii; radius += 1) {
      const value =
        0.25 * (field.level[before + radius] as number) +
        0.5 * (field.level[row + radius] as number) +
        0.25 * (field.level[after + radius] as number);
      level[row + radius] = value;
      run += value;
      sum[ray * (mostRadii + 1) + radius + 1] = run;
    }
  }
  const width = mostRadii + 1;
  for (let radius = 0; radius < width; radius += 1) {
    let run = 0;
    for (let near = -broadRays; near <= broadRays; near += 1)
      run += sum[((near + rayCount) % rayCount) * width + radius] as number;
    for (let ray = 0; ray < rayCount; ray += 1) {
      broad[ray * width + radius] = run / (2 * broadRays + 1);
      run +=
        (sum[((ray + broadRays + 1) % rayCount) * width + radius] as number) -
        (sum[((ray - broadRays + rayCount) % rayCount) * width + radius] as number);
    }
  }
  return { level, sum, broad };
}

const mean = (sums: Float64Array, ray: number, from: number, to: number): number => {
  const low = Math.max(0, Math.min(mostRadii - 1, from));
  const high = Math.max(low + 1, Math.min(mostRadii, to));
  const base = ray * (mostRadii + 1);
  return ((sums[base + high] as number) - (sums[base + low] as number)) / (high - low);
};

export function wallFeatures(
  field: RayField,
  view: WallView,
  ray: number,
  radius: number,
  out: Float32Array | Float64Array,
  at: number,
): void {
  const row = ray * mostRadii;
  for (let tap = 0; tap < tapCount; tap += 1) {
    const place = radius + (taps[tap] as number);
    out[at + tap] = view.level[row + (place < 0 ? 0 : place >= mostRadii ? mostRadii - 1 : place)] as number;
  }
  at += tapCount;
  for (let index = 0; index < broadCount; index += 1) {
    const place = radius + (broadAt[index] as number);
    out[at + index] = mean(view.broad, ray, place - broadHalf, place + broadHalf + 1);
  }
  at += broadCount;
  const length = (radius + 0.5) * radiusStepMm;
  const s = (field.seedMm[0] as number) + length * (field.cosine[ray] as number);
  const d = (field.seedMm[1] as number) + length * (field.sine[ray] as number);
  const range = Math.sqrt(s * s + d * d);
  const along = ((field.cosine[ray] as number) * s + (field.sine[ray] as number) * d) / range;
  const inner = Math.max(0, radius - reachSteps);
  out[at] = along;
  out[at + 1] = along * along;
  out[at + 2] = range / 100;
  out[at + 3] = length / 50;
  out[at + 4] = mean(view.sum, ray, 0, inner + 1);
  out[at + 5] = mean(view.sum, ray, radius + 32, radius + 64);
  out[at + 6] = field.hidden[row + Math.min(mostRadii - 1, radius + 2)] as number;
  out[at + 7] = radius + 3 >= (field.exit[ray] as number) ? 1 : 0;
  out[at + 8] = radius >= (field.exit[ray] as number) ? 1 : 0;
}

export interface WallNet {
  readonly units: number;
  /** [four units][feature][unit of the four]: in the order in which they are read. */
  readonly weights: Float64Array;
  readonly bias: Float64Array;
  readonly out: Float64Array;
}

/** The model from its numbers; units a multiple of four, features as many as this module has. */
export function wallNet(given: typeof wallWeights): WallNet {
  const units = given.out.length;
  const weights = new Float64Array(units * featureCount);
  for (let unit = 0; unit < units; unit += 1)
    for (let feature = 0; feature < featureCount; feature += 1)
      weights[((unit >> 2) * featureCount + feature) * 4 + (unit & 3)] = given.units[unit]?.[feature] ?? 0;
  return { units, weights, bias: Float64Array.from(given.bias), out: Float64Array.from(given.out) };
}

const learnt = wallNet(wallWeights);
/** The model with what it has learnt. */
export const learntWall = (): WallNet => learnt;

/** Radii of a ray that are weighed, and the one a window is centred on. */
export const stateCount = 49;
export const middleState = 24;

const features = new Float64Array(featureCount);
/** A divisor of `stateCount` − 1. */
const every = 3;

/** Log odds of the wall at `stateCount` radii from `start` on, one ray; −Infinity where there is none to be. */
export function wallOdds(
  net: WallNet,
  field: RayField,
  view: WallView,
  ray: number,
  start: number,
  out: Float64Array,
  at: number,
): void {
  const exit = field.exit[ray] as number;
  // Every third radius is worked out and those between are read off: the model is smooth over a millimetre and a half.
  for (let state = 0; state < stateCount; state += every) {
    const odds = oddsAt(net, field, view, ray, Math.max(2, Math.min(exit, mostRadii - 1, start + state)));
    out[at + state] = odds;
    if (state === 0) continue;
    const before = out[at + state - every] as number;
    for (let near = 1; near < every; near += 1)
      out[at + state - near] = odds + ((before - odds) * near) / every;
  }
  for (let state = 0; state < stateCount; state += 1) {
    const radius = start + state;
    if (radius < 2 || radius > exit || radius >= mostRadii) out[at + state] = -Infinity;
  }
}

function oddsAt(net: WallNet, field: RayField, view: WallView, ray: number, radius: number): number {
  const { units, weights, bias } = net;
  wallFeatures(field, view, ray, radius, features, 0);
  let odds = 0;
  // Four units at a time: each feature is fetched once for all of them.
  for (let unit = 0; unit < units; unit += 4) {
    let place = unit * featureCount;
    let a = bias[unit] as number;
    let b = bias[unit + 1] as number;
    let c = bias[unit + 2] as number;
    let d = bias[unit + 3] as number;
    for (let feature = 0; feature < featureCount; feature += 1) {
      const value = features[feature] as number;
      a += (weights[place] as number) * value;
      b += (weights[place + 1] as number) * value;
      c += (weights[place + 2] as number) * value;
      d += (weights[place + 3] as number) * value;
      place += 4;
    }
    if (a > 0) odds += a * (net.out[unit] as number);
    if (b > 0) odds += b * (net.out[unit + 1] as number);
    if (c > 0) odds += c * (net.out[unit + 2] as number);
    if (d > 0) odds += d * (net.out[unit + 3] as number);
  }
  return odds;
}
