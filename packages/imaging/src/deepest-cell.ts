/**
 * Where to stand inside a region on each plane: the place with the widest clearance all round.
 *
 * Units     mm
 */
import type { PolarGrid } from './polar-grid.ts';

const ways = 12;
const ups = Float64Array.from({ length: ways }, (_, way) => Math.sin((2 * Math.PI * way) / ways));
const asides = Float64Array.from({ length: ways }, (_, way) => Math.cos((2 * Math.PI * way) / ways));

/** The cell of a region on a plane with the widest clearance to what does not belong to it. */
export function deepestCell(
  grid: PolarGrid,
  labels: Int32Array,
  plane: number,
  label: number,
): { s: number; d: number } | undefined {
  const { beams, samples, stepMm, rMinMm, halfAngle, stepAngle } = grid;
  const base = plane * beams * samples;
  let best: { s: number; d: number } | undefined;
  let bestClear = 0;
  const along = Math.max(1, Math.round(3 / stepMm));
  for (let beam = 0; beam < beams; beam += 2) {
    const angle = -halfAngle + (beam + 0.5) * stepAngle;
    for (let sample = 0; sample < samples; sample += along) {
      if (labels[base + beam * samples + sample] !== label) continue;
      const r = rMinMm + (sample + 0.5) * stepMm;
      let clear = Infinity;
      for (let way = 0; way < ways && clear > bestClear; way += 1) {
        const up = (ups[way] as number) / stepMm;
        const aside = (asides[way] as number) / (r * stepAngle);
        let reach = 0;
        while (reach < clear) {
          const nextReach = reach + 1;
          const b = Math.round(beam + aside * nextReach);
          const k = Math.round(sample + up * nextReach);
          if (b < 0 || b >= beams || k < 0 || k >= samples || labels[base + b * samples + k] !== label) break;
          reach = nextReach;
        }
        clear = Math.min(clear, reach);
      }
      if (clear > bestClear) {
        bestClear = clear;
        best = { s: r * Math.sin(angle), d: r * Math.cos(angle) };
      }
    }
  }
  return best ?? middleCell(grid, labels, plane, label);
}

/** The cell of a small or torn region nearest to the middle of its cells on a plane. */
function middleCell(
  grid: PolarGrid,
  labels: Int32Array,
  plane: number,
  label: number,
): { s: number; d: number } | undefined {
  const { beams, samples, stepMm, rMinMm, halfAngle, stepAngle } = grid;
  const base = plane * beams * samples;
  const at = (beam: number, sample: number): { s: number; d: number } => {
    const angle = -halfAngle + (beam + 0.5) * stepAngle;
    const r = rMinMm + (sample + 0.5) * stepMm;
    return { s: r * Math.sin(angle), d: r * Math.cos(angle) };
  };
  let sumS = 0;
  let sumD = 0;
  let count = 0;
  for (let beam = 0; beam < beams; beam += 1) {
    for (let sample = 0; sample < samples; sample += 1) {
      if (labels[base + beam * samples + sample] !== label) continue;
      const { s, d } = at(beam, sample);
      sumS += s;
      sumD += d;
      count += 1;
    }
  }
  let best: { s: number; d: number } | undefined;
  let nearest = Infinity;
  for (let beam = 0; beam < beams; beam += 1) {
    for (let sample = 0; sample < samples; sample += 1) {
      if (labels[base + beam * samples + sample] !== label) continue;
      const here = at(beam, sample);
      const away = Math.hypot(here.s - sumS / count, here.d - sumD / count);
      if (away < nearest) {
        nearest = away;
        best = here;
      }
    }
  }
  return best;
}
