/**
 * How much each cell looks like fluid rather than tissue, with the levels taken from the set itself (gain differs),
 * and where nothing can be known because a beam stays dark to its end (bone, gas, lost contact).
 *
 * Units     darkness −1 (tissue) … +1 (fluid); 0 where hidden
 * Source    physics only: urine returns almost no echo, tissue returns speckle, bone and gas let nothing through
 *           (S-imaging-physics); the shares below are made here (S-imaging-tuning)
 */
import type { PolarGrid } from './polar-grid.ts';

export interface DarknessMap {
  readonly darkness: Float32Array;
  /** For each plane and beam, the first sample from which the beam stays dark to its end; `samples` when it does not. */
  readonly hiddenFrom: Int32Array;
  readonly fluidLevel: number;
  /** Tissue level for each sample of range. */
  readonly tissueLevel: Float32Array;
  /** First sample below the ring-down of the probe. */
  readonly firstSample: number;
  /** Tissue level over fluid level, in grey steps: how much contrast the picture has. */
  readonly contrast: number;
}

const ringDownMm = 8;
const wallShare = 0.65;
const softness = 0.28;
const hiddenTailMm = 7;
const bridgedMm = 2.5;

export function darknessMap(grid: PolarGrid): DarknessMap {
  const { planes, beams, samples, stepMm, grey } = grid;
  const firstSample = Math.min(samples - 1, Math.ceil(ringDownMm / stepMm));
  const whole = new Float64Array(256);
  const byRange = new Uint32Array(samples * 256);
  for (let ray = 0; ray < planes * beams; ray += 1) {
    for (let sample = firstSample; sample < samples; sample += 1) {
      const level = Math.min(255, (grey[ray * samples + sample] as number) | 0);
      whole[level] = (whole[level] as number) + 1;
      byRange[sample * 256 + level] = (byRange[sample * 256 + level] as number) + 1;
    }
  }
  const fluidLevel = quantile(whole, 0, 0, 0.01);
  const split = betweenClassSplit(whole);
  const usual = quantile(whole, 0, split, 0.5);
  const tissueLevel = tissueByRange(byRange, samples, firstSample, fluidLevel, usual, Math.round(6 / stepMm));
  const darkness = new Float32Array(grey.length);
  const hiddenFrom = new Int32Array(planes * beams);
  const tail = Math.round(hiddenTailMm / stepMm);
  const bridge = Math.round(bridgedMm / stepMm);
  // Threshold and slope of each sample of range, worked out once for all beams.
  const thresholds = tissueLevel.map((tissue) => fluidLevel + wallShare * (tissue - fluidLevel));
  const slopes = tissueLevel.map((tissue) => 1 / (softness * (tissue - fluidLevel)));
  for (let ray = 0; ray < planes * beams; ray += 1) {
    const base = ray * samples;
    let from = samples;
    let bright = 0;
    for (let sample = samples - 1; sample >= 0; sample -= 1) {
      const value =
        ((thresholds[sample] as number) - (grey[base + sample] as number)) * (slopes[sample] as number);
      darkness[base + sample] = sample < firstSample ? -1 : Math.max(-1, Math.min(1, value));
      if (bright <= bridge) {
        if (value > 0 && sample >= firstSample) {
          from = sample;
          bright = 0;
        } else bright += 1;
      }
    }
    if (samples - from < tail) from = samples;
    hiddenFrom[ray] = from;
    for (let sample = from; sample < samples; sample += 1) darkness[base + sample] = 0;
  }
  return { darkness, hiddenFrom, fluidLevel, tissueLevel, firstSample, contrast: usual - fluidLevel };
}

function tissueByRange(
  byRange: Uint32Array,
  samples: number,
  first: number,
  fluidLevel: number,
  usual: number,
  reach: number,
): Float32Array {
  const raw = new Float32Array(samples);
  const floor = fluidLevel + 0.4 * (usual - fluidLevel);
  const row = new Float64Array(256);
  const lowest = Math.ceil(floor);
  let count = 0;
  // The window slides: what enters at its far end is added, what leaves at its near end is taken out.
  const shift = (at: number, sign: 1 | -1): void => {
    if (at < first || at >= samples) return;
    for (let level = lowest; level < 256; level += 1) {
      const change = sign * (byRange[at * 256 + level] as number);
      row[level] = (row[level] as number) + change;
      count += change;
    }
  };
  for (let near = first; near < Math.min(samples, reach); near += 1) shift(near, 1);
  for (let sample = 0; sample < samples; sample += 1) {
    shift(sample + reach, 1);
    shift(sample - reach - 1, -1);
    raw[sample] = count < 200 ? usual : quantile(row, 0, 0, 0.5);
  }
  const least = fluidLevel + 0.6 * (usual - fluidLevel);
  const most = fluidLevel + 1.25 * (usual - fluidLevel);
  for (let sample = 0; sample < samples; sample += 1)
    raw[sample] = Math.max(least, Math.min(most, raw[sample] as number));
  return raw;
}

/** Level below which the share of the counts from `above` up lies. */
function quantile(counts: Float64Array, start: number, above: number, share: number): number {
  let total = 0;
  for (let level = above; level < 256; level += 1) total += counts[start + level] as number;
  let run = 0;
  for (let level = above; level < 256; level += 1) {
    run += counts[start + level] as number;
    if (run >= share * total) return level;
  }
  return 255;
}

/** Level that splits the counts into two classes with the largest variance between them. */
function betweenClassSplit(counts: Float64Array): number {
  let total = 0;
  let sum = 0;
  for (let level = 0; level < 256; level += 1) {
    total += counts[level] as number;
    sum += level * (counts[level] as number);
  }
  let below = 0;
  let sumBelow = 0;
  let best = 128;
  let bestSpread = -1;
  for (let level = 0; level < 255; level += 1) {
    below += counts[level] as number;
    sumBelow += level * (counts[level] as number);
    if (below === 0 || below === total) continue;
    const gap = sumBelow / below - (sum - sumBelow) / (total - below);
    const spread = below * (total - below) * gap * gap;
    if (spread > bestSpread) {
      bestSpread = spread;
      best = level + 1;
    }
  }
  return best;
}
