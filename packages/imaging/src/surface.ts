/**
 * One closed surface r(direction) about a centre, fitted to the outline points of all planes: real spherical harmonics
 * up to a degree, weighted least squares, with a penalty on fast bending so that hidden stretches are bridged smoothly.
 *
 *     minimise Σ ((r − Σ a_lm Y_lm) / sd)² + stiffness · Σ (l (l + 1))² a_lm²
 *
 * Units     mm
 * Domain    a body that every ray from the centre leaves once; at least as many points as make the sum definite
 * Source    least squares on spherical harmonics (S-imaging-harmonics); stiffness made here (S-imaging-tuning)
 */
import type { Vector } from './plane-set.ts';

export interface Surface {
  readonly centreMm: Vector;
  readonly degree: number;
  readonly coefficients: Float64Array;
}

export interface SurfacePoints {
  /** x, y, z in mm, one after the other. */
  readonly pointsMm: Float64Array;
  readonly sdMm: Float64Array;
  readonly count: number;
}

const usualStiffness = 2e-3;

/** Real harmonics without their constant factors, of a unit direction; the fit absorbs the factors. */
function harmonics(x: number, y: number, z: number, degree: number, out: Float64Array): void {
  // sinᵐθ·cos mφ and sinᵐθ·sin mφ by recurrence, times P_l^m / sinᵐθ by recurrence in l.
  let cosine = 1;
  let sine = 0;
  let diagonal = 1;
  for (let m = 0; m <= degree; m += 1) {
    let before = 0;
    let here = diagonal;
    for (let l = m; l <= degree; l += 1) {
      if (l > m) {
        const next =
          l === m + 1 ? z * (2 * m + 1) * here : ((2 * l - 1) * z * here - (l + m - 1) * before) / (l - m);
        before = here;
        here = next;
      }
      const scaled = here * (scale[l * (maxDegree + 1) + m] as number);
      out[l * l + l + m] = scaled * cosine;
      if (m > 0) out[l * l + l - m] = scaled * sine;
    }
    diagonal *= 2 * m + 1;
    const turned = cosine * x - sine * y;
    sine = sine * x + cosine * y;
    cosine = turned;
  }
}

const maxDegree = 8;
const scale = (() => {
  const out = new Float64Array((maxDegree + 1) ** 2);
  for (let l = 0; l <= maxDegree; l += 1) {
    for (let m = 0; m <= l; m += 1) {
      let ratio = 1;
      for (let factor = l - m + 1; factor <= l + m; factor += 1) ratio /= factor;
      out[l * (maxDegree + 1) + m] = Math.sqrt((2 * l + 1) * ratio * (m === 0 ? 1 : 2));
    }
  }
  return out;
})();

export interface SurfaceFitter {
  /** The surface through the points with these standard deviations; undefined when they don't make it definite. */
  readonly fit: (sdMm: Float64Array) => Surface | undefined;
  /** Signed distance along the radius from a surface of this fitter to one of its points, mm: negative inside. */
  readonly distanceMm: (surface: Surface, index: number) => number;
}

/** Fits one set of points again and again with other weights; undefined when there are fewer points than terms. */
export function surfaceFitter(
  points: { readonly pointsMm: Float64Array; readonly count: number },
  centreMm: Vector,
  degree: number,
  stiffness = usualStiffness,
): SurfaceFitter | undefined {
  const size = (degree + 1) ** 2;
  const { count } = points;
  if (count < size) return undefined;
  const padded = 4 * Math.ceil(count / 4);
  const rows = new Float64Array(padded * size);
  const lengths = new Float64Array(padded);
  const weights = new Float64Array(4);
  const row = new Float64Array(size);
  for (let index = 0; index < count; index += 1) {
    const x = (points.pointsMm[3 * index] as number) - centreMm[0];
    const y = (points.pointsMm[3 * index + 1] as number) - centreMm[1];
    const z = (points.pointsMm[3 * index + 2] as number) - centreMm[2];
    const length = Math.sqrt(x * x + y * y + z * z);
    lengths[index] = length;
    if (length < leastLengthMm) continue;
    harmonics(x / length, y / length, z / length, degree, row);
    rows.set(row, index * size);
  }
  return {
    fit: (sdMm) => {
      const normal = new Float64Array(size * size);
      const right = new Float64Array(size);
      // Four points at a time, so that each sum is fetched and put back once for all of them. Rows past the last are zero.
      for (let index = 0; index < count; index += 4) {
        for (let near = 0; near < 4; near += 1) {
          const length = lengths[index + near] as number;
          const sd = sdMm[index + near] as number;
          weights[near] = index + near < count && length >= leastLengthMm ? 1 / (sd * sd) : 0;
        }
        const [w0, w1, w2, w3] = weights as unknown as readonly [number, number, number, number];
        const first = index * size;
        const second = first + size;
        const third = second + size;
        const fourth = third + size;
        for (let i = 0; i < size; i += 1) {
          const a = w0 * (rows[first + i] as number);
          const b = w1 * (rows[second + i] as number);
          const c = w2 * (rows[third + i] as number);
          const d = w3 * (rows[fourth + i] as number);
          const at = i * size;
          right[i] =
            (right[i] as number) +
            a * (lengths[index] as number) +
            b * (lengths[index + 1] as number) +
            c * (lengths[index + 2] as number) +
            d * (lengths[index + 3] as number);
          for (let j = 0; j <= i; j += 1)
            normal[at + j] =
              (normal[at + j] as number) +
              a * (rows[first + j] as number) +
              b * (rows[second + j] as number) +
              c * (rows[third + j] as number) +
              d * (rows[fourth + j] as number);
        }
      }
      for (let l = 0; l <= degree; l += 1) {
        for (let place = l * l; place < (l + 1) * (l + 1); place += 1)
          normal[place * size + place] =
            (normal[place * size + place] as number) + stiffness * count * (l * (l + 1)) ** 2 * 0.01 + 1e-9;
      }
      return solveInPlace(normal, right, size) ? { centreMm, degree, coefficients: right } : undefined;
    },
    distanceMm: (surface, index) => {
      let radius = 0;
      for (let place = 0; place < size; place += 1)
        radius += (surface.coefficients[place] as number) * (rows[index * size + place] as number);
      return (lengths[index] as number) - Math.max(0, radius);
    },
  };
}

const leastLengthMm = 0.5;

/** The fitted surface, or undefined when the points don't make it definite. */
export const fitSurface = (points: SurfacePoints, centreMm: Vector, degree: number): Surface | undefined =>
  surfaceFitter(points, centreMm, degree)?.fit(points.sdMm);

/** Cholesky, lower triangle; the solution replaces `right`. False when the matrix is not positive. */
function solveInPlace(matrix: Float64Array, right: Float64Array, size: number): boolean {
  for (let i = 0; i < size; i += 1) {
    for (let j = 0; j <= i; j += 1) {
      let sum = matrix[i * size + j] as number;
      for (let k = 0; k < j; k += 1)
        sum -= (matrix[i * size + k] as number) * (matrix[j * size + k] as number);
      if (i === j) {
        if (!(sum > 0)) return false;
        matrix[i * size + i] = Math.sqrt(sum);
      } else matrix[i * size + j] = sum / (matrix[j * size + j] as number);
    }
  }
  for (let i = 0; i < size; i += 1) {
    let sum = right[i] as number;
    for (let k = 0; k < i; k += 1) sum -= (matrix[i * size + k] as number) * (right[k] as number);
    right[i] = sum / (matrix[i * size + i] as number);
  }
  for (let i = size - 1; i >= 0; i -= 1) {
    let sum = right[i] as number;
    for (let k = i + 1; k < size; k += 1) sum -= (matrix[k * size + i] as number) * (right[k] as number);
    right[i] = sum / (matrix[i * size + i] as number);
  }
  return true;
}

const rowRoom = new Float64Array((maxDegree + 1) ** 2);

/** Signed distance along the radius from the surface to a point, mm: negative inside. */
export function radialDistanceMm(surface: Surface, x: number, y: number, z: number): number {
  const dx = x - surface.centreMm[0];
  const dy = y - surface.centreMm[1];
  const dz = z - surface.centreMm[2];
  const length = Math.sqrt(dx * dx + dy * dy + dz * dz);
  if (length < 1e-9) return -(surface.coefficients[0] as number);
  harmonics(dx / length, dy / length, dz / length, surface.degree, rowRoom);
  let radius = 0;
  for (let place = 0; place < surface.coefficients.length; place += 1) {
    radius += (surface.coefficients[place] as number) * (rowRoom[place] as number);
  }
  return length - Math.max(0, radius);
}

/** Volume, mL, of the part inside the surface where `counts` holds; the radius is walked in `steps`. */
export function surfaceVolumeWhereMl(
  surface: Surface,
  counts: (x: number, y: number, z: number) => boolean,
): number {
  const rings = 32;
  const spokes = 64;
  const steps = 24;
  let sum = 0;
  for (let ring = 0; ring < rings; ring += 1) {
    const up = -1 + (2 * (ring + 0.5)) / rings;
    const side = Math.sqrt(1 - up * up);
    for (let spoke = 0; spoke < spokes; spoke += 1) {
      const angle = (2 * Math.PI * spoke) / spokes;
      const dx = side * Math.cos(angle);
      const dy = side * Math.sin(angle);
      harmonics(dx, dy, up, surface.degree, rowRoom);
      let radius = 0;
      for (let place = 0; place < surface.coefficients.length; place += 1)
        radius += (surface.coefficients[place] as number) * (rowRoom[place] as number);
      if (!(radius > 0)) continue;
      for (let step = 0; step < steps; step += 1) {
        const r = (radius * (step + 0.5)) / steps;
        if (counts(surface.centreMm[0] + r * dx, surface.centreMm[1] + r * dy, surface.centreMm[2] + r * up))
          sum += (radius / steps) * r * r;
      }
    }
  }
  return (sum * 4 * Math.PI) / (rings * spokes * 1000);
}

/** Volume inside the surface, mL: ∫ r³/3 over directions, on a grid of Gauss-like rings. */
export function surfaceVolumeMl(surface: Surface): number {
  const rings = 48;
  const spokes = 96;
  let sum = 0;
  for (let ring = 0; ring < rings; ring += 1) {
    const z = -1 + (2 * (ring + 0.5)) / rings;
    const flat = Math.sqrt(1 - z * z);
    for (let spoke = 0; spoke < spokes; spoke += 1) {
      const angle = (2 * Math.PI * spoke) / spokes;
      harmonics(flat * Math.cos(angle), flat * Math.sin(angle), z, surface.degree, rowRoom);
      let radius = 0;
      for (let place = 0; place < surface.coefficients.length; place += 1) {
        radius += (surface.coefficients[place] as number) * (rowRoom[place] as number);
      }
      if (radius > 0) sum += radius ** 3;
    }
  }
  return (sum * 4 * Math.PI) / (3 * rings * spokes * 1000);
}
