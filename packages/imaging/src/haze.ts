/**
 * Sees through near-wall haze: double bounces from the belly wall lie as bands over the front of the fluid, brighter
 * than fluid and, on the average of a few beams, darker than the tissue in front of it.
 *
 * Haze only lies in front of fluid. So a cell is judged by this milder rule only when the main region lies further down
 * the same beam; the rest of the picture keeps its darkness.
 *
 * Units     darkness −1 … +1, mm
 * Source    physics only (S-imaging-physics); shares made here (S-imaging-tuning)
 */
import type { DarknessMap } from './darkness.ts';
import type { PolarGrid } from './polar-grid.ts';

const hazeShare = 0.95;
const hazeSoftness = 0.3;
const reachMm = 45;
const leastFluidMm = 5;
const frontMm = 18;
const smoothMm = 3;
const smoothBeams = 4;

/** Darkness with haze in front of the region of `label` taken for what it is. */
export function darknessThroughHaze(
  grid: PolarGrid,
  map: DarknessMap,
  labels: Int32Array,
  label: number,
): Float32Array {
  const { planes, beams, samples, stepMm, grey } = grid;
  const out = Float32Array.from(map.darkness);
  const front = frontLevel(grid, map);
  const top = new Int32Array(beams);
  const bottom = new Int32Array(beams);
  const reach = Math.round(reachMm / stepMm);
  const half = Math.max(1, Math.round(smoothMm / 2 / stepMm));
  const column = new Float32Array(samples + 1);
  const beside = new Float32Array(samples);
  for (let plane = 0; plane < planes; plane += 1) {
    const base = plane * beams * samples;
    for (let beam = 0; beam < beams; beam += 1) {
      top[beam] = -1;
      let count = 0;
      for (let sample = 0; sample < samples; sample += 1) {
        if (labels[base + beam * samples + sample] !== label) continue;
        if (count === 0) top[beam] = sample;
        bottom[beam] = sample;
        count += 1;
      }
      if (count * stepMm < leastFluidMm) top[beam] = -1;
    }
    for (let beam = 0; beam < beams; beam += 1) {
      const first = top[beam] as number;
      if (first < 0) continue;
      const from = Math.max(map.firstSample, first - reach);
      const to = bottom[beam] as number;
      const low = Math.max(0, beam - smoothBeams);
      const high = Math.min(beams - 1, beam + smoothBeams);
      // Only the stretch that is read, beam by beam, as the grid lies.
      const start = Math.max(0, from - half);
      const end = Math.min(samples, to + half + 1);
      beside.fill(0, start, end);
      for (let near = low; near <= high; near += 1) {
        const row = base + near * samples;
        for (let sample = start; sample < end; sample += 1)
          beside[sample] = (beside[sample] as number) + (grey[row + sample] as number);
      }
      column[start] = 0;
      for (let sample = start; sample < end; sample += 1)
        column[sample + 1] = (column[sample] as number) + (beside[sample] as number) / (high - low + 1);
      for (let sample = from; sample <= to; sample += 1) {
        const near = Math.max(start, sample - half);
        const far = Math.min(end, sample + half + 1);
        const mean = ((column[far] as number) - (column[near] as number)) / (far - near);
        const value = Math.max(-1, Math.min(1, (hazeShare * front - mean) / (hazeSoftness * front)));
        const cell = base + beam * samples + sample;
        if (value > (out[cell] as number)) out[cell] = value;
      }
    }
  }
  return out;
}

/** Median grey of the tissue in front, in the middle half of the beams. */
function frontLevel(grid: PolarGrid, map: DarknessMap): number {
  const { planes, beams, samples, stepMm, grey } = grid;
  const counts = new Float64Array(256);
  let total = 0;
  const last = Math.min(samples, map.firstSample + Math.round(frontMm / stepMm));
  for (let plane = 0; plane < planes; plane += 1) {
    for (let beam = beams >> 2; beam < beams - (beams >> 2); beam += 1) {
      const base = (plane * beams + beam) * samples;
      for (let sample = map.firstSample; sample < last; sample += 1) {
        const level = Math.min(255, (grey[base + sample] as number) | 0);
        counts[level] = (counts[level] as number) + 1;
        total += 1;
      }
    }
  }
  let run = 0;
  for (let level = 0; level < 256; level += 1) {
    run += counts[level] as number;
    if (2 * run >= total) return Math.max(level, map.fluidLevel + 10);
  }
  return map.fluidLevel + 10;
}
