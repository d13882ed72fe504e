/**
 * Beams through the outline behind which nothing comes back: bone, gas or lost contact lie in front, so the far wall on
 * them is a guess. Behind fluid tissue shines brighter than elsewhere; a beam far darker there than its fellows is in shadow.
 *
 * Units     radians from the probe axis
 * Source    physics only (S-imaging-physics); shares made here (S-imaging-tuning)
 */
import type { DarknessMap } from './darkness.ts';
import type { PlaneOutline } from './outline.ts';
import type { PolarGrid } from './polar-grid.ts';

export interface ShadowBeams {
  readonly plane: number;
  readonly fromRad: number;
  readonly toRad: number;
}

const behindFromMm = 3;
const behindToMm = 16;
const leastBehindMm = 5;
const darkShare = 0.36;
const leastBeams = 3;

export function shadowBeams(
  grid: PolarGrid,
  map: DarknessMap,
  outlines: readonly PlaneOutline[],
): ShadowBeams[] {
  const { beams, samples, halfAngle, stepAngle, rMinMm, stepMm, grey } = grid;
  const { fluidLevel, tissueLevel } = map;
  const levels: number[] = [];
  const rows: Float64Array[] = [];
  for (const outline of outlines) {
    const far = new Float64Array(beams).fill(-1);
    const { vertices } = outline;
    for (let index = 0; index < vertices.length; index += 1) {
      const a = vertices[index];
      const b = vertices[(index + 1) % vertices.length];
      if (!a || !b) continue;
      for (let part = 0; part < 4; part += 1) {
        const s = a.sMm + ((b.sMm - a.sMm) * part) / 4;
        const d = a.dMm + ((b.dMm - a.dMm) * part) / 4;
        const beam = Math.floor((Math.atan2(s, d) + halfAngle) / stepAngle);
        if (beam >= 0 && beam < beams) far[beam] = Math.max(far[beam] as number, Math.hypot(s, d));
      }
    }
    const row = new Float64Array(beams).fill(Number.NaN);
    for (let beam = 0; beam < beams; beam += 1) {
      if ((far[beam] as number) < 0) continue;
      const from = Math.max(0, Math.ceil(((far[beam] as number) + behindFromMm - rMinMm) / stepMm));
      const to = Math.min(samples, Math.ceil(((far[beam] as number) + behindToMm - rMinMm) / stepMm));
      if ((to - from) * stepMm < leastBehindMm) continue;
      let sum = 0;
      for (let sample = from; sample < to; sample += 1)
        sum +=
          ((grey[(outline.plane * beams + beam) * samples + sample] as number) - fluidLevel) /
          ((tissueLevel[sample] as number) - fluidLevel);
      row[beam] = sum / (to - from);
      levels.push(row[beam] as number);
    }
    rows.push(row);
  }
  if (levels.length < 10) return [];
  levels.sort((a, b) => a - b);
  const usual = levels[Math.floor(levels.length / 2)] as number;
  const found: ShadowBeams[] = [];
  for (const [index, outline] of outlines.entries()) {
    const row = rows[index] as Float64Array;
    let start = -1;
    for (let beam = 0; beam <= beams; beam += 1) {
      const dark = beam < beams && (row[beam] as number) < darkShare * usual;
      if (dark && start < 0) start = beam;
      if (!dark && start >= 0) {
        if (beam - start >= leastBeams)
          found.push({
            plane: outline.plane,
            fromRad: -halfAngle + start * stepAngle,
            toRad: -halfAngle + beam * stepAngle,
          });
        start = -1;
      }
    }
  }
  return found;
}
