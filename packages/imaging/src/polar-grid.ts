/**
 * The sector of every plane on its own polar grid, where speckle keeps one shape along a beam.
 *
 * Frame     cell [plane][beam][sample]; beam centres evenly over −halfAngle … +halfAngle, samples evenly over rMin … rMax
 * Units     mm, radians, grey 0 to 255
 */
import type { PlaneSet } from './plane-set.ts';

export interface PolarGrid {
  readonly planes: number;
  readonly beams: number;
  readonly samples: number;
  readonly halfAngle: number;
  readonly rMinMm: number;
  readonly stepMm: number;
  readonly stepAngle: number;
  /** Lightly smoothed grey. */
  readonly grey: Float32Array;
}

const beamStepDeg = 0.9;
const leastStepMm = 0.5;
const mostSamples = 260;

export function polarGrid(set: PlaneSet): PolarGrid {
  const { sector, apexPx, mmPerPx } = set.geometry;
  const halfAngle = (sector.halfAngleDeg * Math.PI) / 180;
  const depthMm = sector.rMaxMm - sector.rMinMm;
  const samples = Math.max(24, Math.min(mostSamples, Math.floor(depthMm / leastStepMm)));
  const stepMm = depthMm / samples;
  const beams = Math.max(24, Math.round((2 * sector.halfAngleDeg) / beamStepDeg));
  const stepAngle = (2 * halfAngle) / beams;
  const planes = set.planes.length;
  const grey = new Float32Array(planes * beams * samples);
  const work = new Float32Array(beams * samples);
  for (let plane = 0; plane < planes; plane += 1) {
    const picture = set.planes[plane];
    if (!picture) continue;
    const { width, height, grey: pixels } = picture;
    for (let beam = 0; beam < beams; beam += 1) {
      const angle = -halfAngle + (beam + 0.5) * stepAngle;
      const sine = Math.sin(angle) / mmPerPx.x;
      const cosine = Math.cos(angle) / mmPerPx.y;
      for (let sample = 0; sample < samples; sample += 1) {
        const r = sector.rMinMm + (sample + 0.5) * stepMm;
        const x = Math.min(width - 1.001, Math.max(0, apexPx.x + r * sine));
        const y = Math.min(height - 1.001, Math.max(0, apexPx.y + r * cosine));
        const left = x | 0;
        const top = y | 0;
        const fx = x - left;
        const fy = y - top;
        const at = top * width + left;
        const upper = (pixels[at] as number) * (1 - fx) + (pixels[at + 1] as number) * fx;
        const lower = (pixels[at + width] as number) * (1 - fx) + (pixels[at + width + 1] as number) * fx;
        work[beam * samples + sample] = upper * (1 - fy) + lower * fy;
      }
    }
    smoothInto(work, grey, plane * beams * samples, beams, samples);
  }
  return { planes, beams, samples, halfAngle, rMinMm: sector.rMinMm, stepMm, stepAngle, grey };
}

// Binomial weights 1 4 6 4 1 along the beam, 1 2 1 across beams.
function smoothInto(
  from: Float32Array,
  to: Float32Array,
  start: number,
  beams: number,
  samples: number,
): void {
  const along = new Float32Array(beams * samples);
  const last = samples - 1;
  for (let beam = 0; beam < beams; beam += 1) {
    const base = beam * samples;
    // Past its ends a beam goes on as it ends.
    let a = from[base] as number;
    let b = a;
    let c = a;
    let d = from[base + 1] as number;
    for (let sample = 0; sample < samples; sample += 1) {
      const e = from[base + (sample + 2 < last ? sample + 2 : last)] as number;
      along[base + sample] = (a + 4 * b + 6 * c + 4 * d + e) / 16;
      a = b;
      b = c;
      c = d;
      d = e;
    }
  }
  for (let beam = 0; beam < beams; beam += 1) {
    const here = beam * samples;
    const before = Math.max(0, beam - 1) * samples;
    const after = Math.min(beams - 1, beam + 1) * samples;
    for (let sample = 0; sample < samples; sample += 1) {
      to[start + here + sample] =
        ((along[before + sample] as number) +
          2 * (along[here + sample] as number) +
          (along[after + sample] as number)) /
        4;
    }
  }
}
