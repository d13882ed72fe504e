/**
 * Dark regions connected through the planes of the set, largest first. The tracer starts from one of them; the others
 * are reasons to distrust.
 *
 * Units     mL, mm
 * Not for   a volume to report: the edge of a threshold is not a wall
 */
import type { PlaneSetGeometry, Vector } from './plane-set.ts';
import type { DarknessMap } from './darkness.ts';
import type { PolarGrid } from './polar-grid.ts';

export interface FluidRegion {
  readonly label: number;
  readonly roughMl: number;
  readonly centreMm: Vector;
  readonly planes: number;
  readonly meanDarkness: number;
  /** Mean grey over the tissue level at the same range: near 0 for clear fluid. */
  readonly greyShare: number;
}

export interface FluidRegions {
  /** Region of each cell, 0 for none. */
  readonly labels: Int32Array;
  readonly regions: readonly FluidRegion[];
}

/** Darkness of a cell that belongs to a region, and how far around it must be dark. */
const coreRule = { dark: 0.7, beams: 1, mm: 1.2 };
const leastRegionMl = 0.3;

export function fluidRegions(
  grid: PolarGrid,
  map: DarknessMap,
  geometry: PlaneSetGeometry,
  weights: ArrayLike<number>,
): FluidRegions {
  const { planes, beams, samples, stepMm, rMinMm, halfAngle, stepAngle } = grid;
  const perPlane = beams * samples;
  const labels = new Int32Array(planes * perPlane);
  const stack = new Int32Array(planes * perPlane);
  const { darkness, firstSample } = map;
  const wraps = geometry.layout === 'rotational_fan';
  const crossing = geometry.layout === 'two_orthogonal_planes';
  const found: FluidRegion[] = [];
  const angleOf = (beam: number): number => -halfAngle + (beam + 0.5) * stepAngle;
  const sines = Float64Array.from({ length: beams }, (_, beam) => Math.sin(angleOf(beam)));
  const cosines = Float64Array.from({ length: beams }, (_, beam) => Math.cos(angleOf(beam)));
  const frames = Float64Array.from(
    geometry.planes.flatMap((pose) => [...pose.originMm, ...pose.lateral, ...pose.axial]),
  );
  let label = 0;
  const core = coreCells(grid, darkness);
  for (let start = 0; start < core.length; start += 1) {
    if (core[start] === 0 || labels[start] !== 0) continue;
    label += 1;
    labels[start] = label;
    stack[0] = start;
    let depth = 1;
    let cubicMm = 0;
    let sumX = 0;
    let sumY = 0;
    let sumZ = 0;
    let sumDark = 0;
    let sumShare = 0;
    let cells = 0;
    const seen = new Uint8Array(planes);
    const push = (cell: number): void => {
      if (core[cell] === 1 && labels[cell] === 0) {
        labels[cell] = label;
        stack[depth] = cell;
        depth += 1;
      }
    };
    while (depth > 0) {
      depth -= 1;
      const cell = stack[depth] as number;
      const plane = (cell / perPlane) | 0;
      const inPlane = cell - plane * perPlane;
      const beam = (inPlane / samples) | 0;
      const sample = inPlane - beam * samples;
      const r = rMinMm + (sample + 0.5) * stepMm;
      const s = r * (sines[beam] as number);
      const d = r * (cosines[beam] as number);
      const frame = 9 * plane;
      const area = r * stepMm * stepAngle;
      const moment =
        geometry.layout === 'tilt_sweep' ? d : geometry.layout === 'parallel_sweep' ? 1 : Math.abs(s);
      const part = area * moment * (weights[plane] as number);
      cubicMm += part;
      const along = (axis: number): number =>
        (frames[frame + axis] as number) +
        s * (frames[frame + 3 + axis] as number) +
        d * (frames[frame + 6 + axis] as number);
      sumX += part * along(0);
      sumY += part * along(1);
      sumZ += part * along(2);
      sumDark += darkness[cell] as number;
      sumShare += (grid.grey[cell] as number) / (map.tissueLevel[sample] as number);
      cells += 1;
      seen[plane] = 1;
      if (sample > firstSample) push(cell - 1);
      if (sample + 1 < samples) push(cell + 1);
      if (beam > 0) push(cell - samples);
      if (beam + 1 < beams) push(cell + samples);
      if (crossing) {
        if (Math.abs(s) < 4) push((1 - plane) * perPlane + inPlane);
      } else {
        const mirrored = (beams - 1 - beam) * samples + sample;
        if (plane + 1 < planes) push(cell + perPlane);
        else if (wraps) push(mirrored);
        if (plane > 0) push(cell - perPlane);
        else if (wraps) push((planes - 1) * perPlane + mirrored);
      }
    }
    const roughMl = cubicMm / 1000;
    if (roughMl >= leastRegionMl || cells > 400) {
      found.push({
        label,
        roughMl,
        centreMm: [sumX / cubicMm, sumY / cubicMm, sumZ / cubicMm],
        planes: seen.reduce((sum, one) => sum + one, 0),
        meanDarkness: sumDark / cells,
        greyShare: sumShare / cells,
      });
    }
  }
  found.sort((a, b) => b.roughMl - a.roughMl);
  return { labels, regions: found };
}

/** Cells that are dark together with their neighbours: thin dark threads fall away. */
function coreCells(grid: PolarGrid, darkness: Float32Array): Uint8Array {
  const { planes, beams, samples, stepMm } = grid;
  const core = new Uint8Array(darkness.length);
  const along = Math.max(1, Math.round(coreRule.mm / stepMm));
  const across = coreRule.beams * samples;
  for (let plane = 0; plane < planes; plane += 1) {
    for (let beam = coreRule.beams; beam + coreRule.beams < beams; beam += 1) {
      const base = (plane * beams + beam) * samples;
      for (let sample = along; sample + along < samples; sample += 1) {
        const cell = base + sample;
        if (
          (darkness[cell] as number) > coreRule.dark &&
          (darkness[cell - along] as number) > coreRule.dark &&
          (darkness[cell + along] as number) > coreRule.dark &&
          (darkness[cell - across] as number) > coreRule.dark &&
          (darkness[cell + across] as number) > coreRule.dark
        ) {
          core[cell] = 1;
        }
      }
    }
  }
  return core;
}
