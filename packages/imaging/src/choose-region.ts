/**
 * Which of the dark regions is the bladder, and when that can't be said.
 *
 * Units     mm, mL
 * Source    anatomy of the pelvis (S-imaging-anatomy); shares made here (S-imaging-tuning)
 */
import type { FluidRegion, FluidRegions } from './fluid-regions.ts';
import type { Layout } from './plane-set.ts';
import type { PolarGrid } from './polar-grid.ts';

export interface Seed {
  readonly plane: number;
  readonly sMm: number;
  readonly dMm: number;
}

/** A small bladder is found close to the probe axis; further aside than its own radius and this, a dark patch is something else. */
const asideMm = 22;
const clickReachMm = 5;

/** The region under the person's click, or the one that is large, dark, and near the probe axis. */
export function chooseRegion(
  grid: PolarGrid,
  layout: Layout,
  found: FluidRegions,
  seed: Seed | undefined,
): FluidRegion | undefined {
  if (seed) return regionUnder(grid, found, seed);
  let best: FluidRegion | undefined;
  let bestScore = 0;
  for (const region of found.regions) {
    const radiusMm = 10 * Math.cbrt((3 * region.roughMl) / (4 * Math.PI));
    const [x, y] = region.centreMm;
    const aside = layout === 'rotational_fan' ? Math.hypot(x, y) : Math.abs(x);
    const spread = region.planes / grid.planes;
    if (aside > radiusMm + asideMm || region.planes < Math.min(3, grid.planes)) continue;
    const depthShare = region.centreMm[2] / (grid.rMinMm + grid.samples * grid.stepMm);
    const deep = Math.max(0, depthShare - 0.6) / 0.15;
    const score =
      Math.sqrt(region.roughMl) *
      spread *
      spread *
      Math.max(0.05, 0.75 - region.greyShare) *
      Math.exp(-deep * deep);
    if (score > bestScore) {
      bestScore = score;
      best = region;
    }
  }
  return best;
}

/** The region at the person's click, or the nearest within a few mm of it; none when they pointed at tissue. */
function regionUnder(grid: PolarGrid, found: FluidRegions, seed: Seed): FluidRegion | undefined {
  const r = Math.hypot(seed.sMm, seed.dMm);
  const beam = Math.round((Math.atan2(seed.sMm, seed.dMm) + grid.halfAngle) / grid.stepAngle - 0.5);
  const sample = Math.round((r - grid.rMinMm) / grid.stepMm - 0.5);
  for (let reachMm = 0; reachMm <= clickReachMm; reachMm += 1) {
    for (let way = 0; way < 8; way += 1) {
      const b =
        beam + Math.round((reachMm * Math.cos((way * Math.PI) / 4)) / Math.max(1, r * grid.stepAngle));
      const k = sample + Math.round((reachMm * Math.sin((way * Math.PI) / 4)) / grid.stepMm);
      if (b < 0 || b >= grid.beams || k < 0 || k >= grid.samples) continue;
      const label = found.labels[(seed.plane * grid.beams + b) * grid.samples + k];
      const region = found.regions.find((one) => one.label === label);
      if (region) return region;
    }
  }
  return undefined;
}

/**
 * A smaller region seen on half of the planes or more that lies in front of the main one and towards the feet. The
 * bladder lies foremost in the pelvis, just behind the pubic bone, so the larger one behind it may not be the bladder.
 *
 * Source    anatomy of the pelvis (S-imaging-anatomy); confounders S-clinical-L2, S-clinical-L6
 */
export function regionInFront(
  grid: PolarGrid,
  layout: Layout,
  found: FluidRegions,
  main: FluidRegion,
): FluidRegion | undefined {
  if (layout === 'two_orthogonal_planes') return undefined;
  const radiusMm = 10 * Math.cbrt((3 * main.roughMl) / (4 * Math.PI));
  return found.regions.find(
    (one) =>
      one.label !== main.label &&
      one.roughMl >= 1.5 &&
      2 * one.planes >= grid.planes &&
      Math.abs(one.centreMm[0]) < asideMm &&
      one.centreMm[2] < main.centreMm[2] - 0.8 * radiusMm &&
      one.centreMm[1] < main.centreMm[1] - 10,
  );
}
