/**
 * What every ray from a plane's seed meets: darkness, grey against the local levels, hidden stretches, the way out of
 * the picture. Read once for each plane and used by every later step.
 *
 * Frame     ray 0 points to +s and turns towards +d; cell [ray][radius], radius (index + ½) · radiusStepMm
 * Units     mm; darkness −1 … +1; level 0 at the fluid of the set, 1 at its tissue of the same range
 */
import { angleFromDown } from './angle.ts';
import type { DarknessMap } from './darkness.ts';
import type { PolarGrid } from './polar-grid.ts';

export const rayCount = 96;
export const radiusStepMm = 0.5;
export const mostRadii = 200;

export interface RayField {
  readonly plane: number;
  /**
   * Where the rays start, +s and +d. In an array of its own: an engine was seen to let two fields share such numbers when
   * they were kept beside the others (one fresh process in thirty traced its first plane from the seed of its second).
   */
  readonly seedMm: Float64Array;
  readonly dark: Float32Array;
  readonly level: Float32Array;
  readonly hidden: Uint8Array;
  /** Radius index at which each ray has left the picture. */
  readonly exit: Int32Array;
  /** Direction of each ray: its share of +d and of +s. */
  readonly sine: Float64Array;
  readonly cosine: Float64Array;
}

const sine = new Float64Array(rayCount);
const cosine = new Float64Array(rayCount);
for (let ray = 0; ray < rayCount; ray += 1) {
  sine[ray] = Math.sin((2 * Math.PI * ray) / rayCount);
  cosine[ray] = Math.cos((2 * Math.PI * ray) / rayCount);
}

const mostLevel = 2.5;

export function readRayField(
  grid: PolarGrid,
  map: DarknessMap,
  darkness: Float32Array,
  plane: number,
  seedS: number,
  seedD: number,
): RayField {
  const { beams, samples, halfAngle, stepAngle, rMinMm, stepMm, grey } = grid;
  const { hiddenFrom, fluidLevel, tissueLevel } = map;
  const cells = rayCount * mostRadii;
  const dark = new Float32Array(cells);
  const level = new Float32Array(cells);
  const hidden = new Uint8Array(cells);
  const exit = new Int32Array(rayCount);
  const base = plane * beams * samples;
  for (let ray = 0; ray < rayCount; ray += 1) {
    const row = ray * mostRadii;
    const across = cosine[ray] as number;
    const down = sine[ray] as number;
    let end = mostRadii;
    for (let radius = 0; radius < mostRadii; radius += 1) {
      const length = (radius + 0.5) * radiusStepMm;
      const s = seedS + length * across;
      const d = seedD + length * down;
      if (d < 0) {
        end = radius;
        break;
      }
      const beam = (angleFromDown(s, d) + halfAngle) / stepAngle - 0.5;
      const sample = (Math.sqrt(s * s + d * d) - rMinMm) / stepMm - 0.5;
      if (beam < -0.5 || beam > beams - 0.5 || sample < -0.5 || sample > samples - 0.5) {
        end = radius;
        break;
      }
      const beam0 = beam < 0 ? 0 : beam > beams - 2 ? beams - 2 : beam | 0;
      const sample0 = sample < 0 ? 0 : sample > samples - 2 ? samples - 2 : sample | 0;
      const fb = Math.max(0, Math.min(1, beam - beam0));
      const fs = Math.max(0, Math.min(1, sample - sample0));
      const at = base + beam0 * samples + sample0;
      const w00 = (1 - fb) * (1 - fs);
      const w01 = (1 - fb) * fs;
      const w10 = fb * (1 - fs);
      const w11 = fb * fs;
      dark[row + radius] =
        (darkness[at] as number) * w00 +
        (darkness[at + 1] as number) * w01 +
        (darkness[at + samples] as number) * w10 +
        (darkness[at + samples + 1] as number) * w11;
      const value =
        (grey[at] as number) * w00 +
        (grey[at + 1] as number) * w01 +
        (grey[at + samples] as number) * w10 +
        (grey[at + samples + 1] as number) * w11;
      const tissue = tissueLevel[sample0] as number;
      level[row + radius] = Math.min(mostLevel, (value - fluidLevel) / (tissue - fluidLevel));
      hidden[row + radius] =
        sample >= (hiddenFrom[plane * beams + (fb < 0.5 ? beam0 : beam0 + 1)] as number) - 0.5 ? 1 : 0;
    }
    exit[ray] = end;
    // Past the edge the last value goes on, so that a window over it needs no special case.
    if (end > 0 && end < mostRadii) {
      dark.fill(dark[row + end - 1] as number, row + end, row + mostRadii);
      level.fill(level[row + end - 1] as number, row + end, row + mostRadii);
    }
  }
  return { plane, seedMm: Float64Array.of(seedS, seedD), dark, level, hidden, exit, sine, cosine };
}
