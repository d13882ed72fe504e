/**
 * Where the wall lies on every ray of a plane, with a standard deviation: what each ray shows, joined with its
 * neighbours round the outline and with a reference outline (the closed surface through all planes).
 *
 * Sum-product round the ring of rays, a turn and a quarter each way; the last turn is kept. Neighbours may differ from the
 * reference by nearly the same amount only. The ray's own odds are tempered, since neighbours share speckle.
 *
 * Units     mm
 * Source    sum-product on a chain (S-imaging-sum-product); widths made here (S-imaging-tuning)
 */
import { radiusStepMm, rayCount, type RayField } from './ray-field.ts';
import { middleState, stateCount } from './wall-model.ts';

export interface RayPosterior {
  readonly meanMm: Float64Array;
  readonly sdMm: Float64Array;
  /** Probability that the wall lies past the edge of the picture. */
  readonly beyond: Float64Array;
  /** Standard deviation by what the ray alone shows. */
  readonly ownSdMm: Float64Array;
}

/** Rays share speckle with their neighbours, so the odds of each count for less than they say. */
const temper = 0.6;
/** How the distance from the reference may change along the outline, mm per mm. */
const slope = 0.22;
const leastStepSdMm = 0.3;
const mostStepSdMm = 1.5;
/** Share of rays on which the reference may be quite wrong, and of steps that may be any size. */
const strayShare = 0.05;
const jumpShare = 0.002;

const reach = 5;
const negligible = 1e-6;
/** Rays walked before the turn that is kept, so that its ends meet. */
const lead = rayCount / 4;

/** Turns the log odds of one ray into tempered likelihoods, the best of them 1, in place. */
export function temperOdds(odds: Float64Array, at: number): void {
  let top = -Infinity;
  for (let state = 0; state < stateCount; state += 1) top = Math.max(top, odds[at + state] as number);
  if (top === -Infinity) top = 0;
  for (let state = 0; state < stateCount; state += 1)
    odds[at + state] = Math.exp(temper * ((odds[at + state] as number) - top));
}

export function outlinePosterior(
  likelihood: Float64Array,
  starts: Int32Array,
  field: RayField,
  referenceMm: Float64Array,
  referenceSdMm: number,
  blind?: Uint8Array,
): RayPosterior {
  const own = new Float64Array(rayCount * stateCount);
  const meanMm = new Float64Array(rayCount);
  const sdMm = new Float64Array(rayCount);
  const beyond = new Float64Array(rayCount);
  const ownSdMm = new Float64Array(rayCount);
  const kernel = new Float64Array(rayCount * (2 * reach + 1));
  // States that matter; the rest of the window is as good as impossible.
  const first = new Int32Array(rayCount);
  const last = new Int32Array(rayCount).fill(stateCount - 1);
  const angle = (2 * Math.PI) / rayCount;
  const guided = Number.isFinite(referenceSdMm);
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * stateCount;
    const start = starts[ray] as number;
    const ref = referenceMm[ray] as number;
    let m0 = 0;
    let m1 = 0;
    let m2 = 0;
    let total = 0;
    for (let state = 0; state < stateCount; state += 1) {
      const radius = (start + state + 0.5) * radiusStepMm;
      const p = blind?.[ray] === 1 ? 1 : (likelihood[row + state] as number);
      m0 += p;
      m1 += p * radius;
      m2 += p * radius * radius;
      let value = p;
      if (guided && p > negligible) {
        const away = (radius - ref) / referenceSdMm;
        value *= (1 - strayShare) * Math.exp(-0.5 * away * away) + strayShare * 0.1;
      }
      own[row + state] = value;
      total += value;
    }
    if (m0 > 0) ownSdMm[ray] = Math.sqrt(Math.max(0, m2 / m0 - (m1 / m0) ** 2));
    else ownSdMm[ray] = 10;
    if (total <= 0) for (let state = 0; state < stateCount; state += 1) own[row + state] = 1;
    else
      for (let state = 0; state < stateCount; state += 1)
        own[row + state] = (own[row + state] as number) / total;
    let low = 0;
    let high = stateCount - 1;
    while (low < high && (own[row + low] as number) < negligible) low += 1;
    while (high > low && (own[row + high] as number) < negligible) high -= 1;
    first[ray] = low;
    last[ray] = high;
    // From this ray to the next: how their distances from the reference may differ.
    const next = (ray + 1) % rayCount;
    const arc = Math.max(0.5, (start + middleState) * radiusStepMm) * angle;
    const sd = Math.max(leastStepSdMm, Math.min(mostStepSdMm, slope * arc));
    const shift = ((starts[next] as number) - start) * radiusStepMm - ((referenceMm[next] as number) - ref);
    for (let step = -reach; step <= reach; step += 1) {
      const away = (step * radiusStepMm + shift) / sd;
      kernel[ray * (2 * reach + 1) + step + reach] = Math.exp(-0.5 * away * away) + jumpShare;
    }
  }
  const forward = new Float64Array(rayCount * stateCount);
  const backward = new Float64Array(rayCount * stateCount);
  const message = new Float64Array(stateCount).fill(1 / stateCount);
  const carry = new Float64Array(stateCount);
  const width = 2 * reach + 1;
  for (let step = -lead; step < rayCount; step += 1) {
    const ray = (step + rayCount) % rayCount;
    const row = ray * stateCount;
    const next = (ray + 1) % rayCount;
    forward.set(message, row);
    for (let state = first[ray] as number; state <= (last[ray] as number); state += 1)
      carry[state] = (message[state] as number) * (own[row + state] as number);
    pass(
      carry,
      message,
      kernel,
      ray * width,
      1,
      first[ray] as number,
      last[ray] as number,
      first[next] as number,
      last[next] as number,
    );
  }
  message.fill(1 / stateCount);
  for (let step = rayCount + lead - 1; step >= 0; step -= 1) {
    const ray = step % rayCount;
    const row = ray * stateCount;
    const next = (ray + rayCount - 1) % rayCount;
    backward.set(message, row);
    for (let state = first[ray] as number; state <= (last[ray] as number); state += 1)
      carry[state] = (message[state] as number) * (own[row + state] as number);
    pass(
      carry,
      message,
      kernel,
      next * width,
      -1,
      first[ray] as number,
      last[ray] as number,
      first[next] as number,
      last[next] as number,
    );
  }
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * stateCount;
    const exit = field.exit[ray] as number;
    let m0 = 0;
    let m1 = 0;
    let m2 = 0;
    let out = 0;
    for (let state = 0; state < stateCount; state += 1) {
      const p =
        (forward[row + state] as number) * (backward[row + state] as number) * (own[row + state] as number);
      const radius = ((starts[ray] as number) + state + 0.5) * radiusStepMm;
      m0 += p;
      m1 += p * radius;
      m2 += p * radius * radius;
      if ((starts[ray] as number) + state >= exit - 1) out += p;
    }
    if (!(m0 > 0)) {
      meanMm[ray] = referenceMm[ray] as number;
      sdMm[ray] = 5;
      continue;
    }
    meanMm[ray] = m1 / m0;
    sdMm[ray] = Math.sqrt(Math.max(0.01, m2 / m0 - (m1 / m0) ** 2));
    beyond[ray] = out / m0;
  }
  return { meanMm, sdMm, beyond, ownSdMm };
}

/** Hands on what one ray says to the next: from its states that matter to those of the next. */
function pass(
  from: Float64Array,
  to: Float64Array,
  kernel: Float64Array,
  at: number,
  way: 1 | -1,
  fromLow: number,
  fromHigh: number,
  toLow: number,
  toHigh: number,
): void {
  let total = 0;
  to.fill(0);
  for (let state = toLow; state <= toHigh; state += 1) {
    const low = Math.max(fromLow, state - reach);
    const high = Math.min(fromHigh, state + reach);
    let sum = 0;
    for (let other = low; other <= high; other += 1)
      sum += (from[other] as number) * (kernel[at + way * (state - other) + reach] as number);
    to[state] = sum;
    total += sum;
  }
  if (!(total > 0)) {
    to.fill(0);
    for (let state = toLow; state <= toHigh; state += 1) to[state] = 1 / (toHigh - toLow + 1);
    return;
  }
  for (let state = toLow; state <= toHigh; state += 1) to[state] = (to[state] as number) / total;
}
