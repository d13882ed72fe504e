/**
 * A simple picture of ellipsoids of fluid in speckled tissue, for the tests of this room. No physics of a beam: its
 * volume is a closed form, and it shares no code with the tracer.
 *
 * Frame     plane-set.ts
 */
import { seededRandom } from '@ebbline/core/quantity';
import type { GreyPlane, Layout, PlanePose, PlaneSet, Vector } from '../plane-set.ts';

export interface PhantomBody {
  readonly centreMm: Vector;
  readonly halfMm: Vector;
}

export interface PhantomOptions {
  readonly layout?: Layout;
  readonly planes?: number;
  readonly seed?: number;
  /** Grey of tissue, 0 to 255. */
  readonly gain?: number;
  readonly halfAngleDeg?: number;
  readonly mmPerPx?: { readonly x: number; readonly y: number };
}

export const bodyMl = (body: PhantomBody): number =>
  ((4 / 3) * Math.PI * body.halfMm[0] * body.halfMm[1] * body.halfMm[2]) / 1000;

export function posesOf(layout: Layout, count: number): PlanePose[] {
  return Array.from({ length: count }, (_, index): PlanePose => {
    if (layout === 'parallel_sweep') {
      const position = -50 + (100 * index) / (count - 1);
      return { position, originMm: [0, position, 0], lateral: [1, 0, 0], axial: [0, 0, 1] };
    }
    if (layout === 'tilt_sweep') {
      const position = -36 + (72 * index) / (count - 1);
      const angle = (position * Math.PI) / 180;
      return {
        position,
        originMm: [0, 0, 0],
        lateral: [1, 0, 0],
        axial: [0, Math.sin(angle), Math.cos(angle)],
      };
    }
    const position = layout === 'two_orthogonal_planes' ? 90 * index : (180 * index) / count;
    const angle = (position * Math.PI) / 180;
    return {
      position,
      originMm: [0, 0, 0],
      lateral: [Math.cos(angle), Math.sin(angle), 0],
      axial: [0, 0, 1],
    };
  });
}

export function phantom(bodies: readonly PhantomBody[], options: PhantomOptions = {}): PlaneSet {
  const {
    layout = 'rotational_fan',
    seed = 1,
    gain = 110,
    halfAngleDeg = 55,
    mmPerPx = { x: 0.6, y: 0.6 },
  } = options;
  const count = layout === 'two_orthogonal_planes' ? 2 : (options.planes ?? 10);
  const poses = posesOf(layout, count);
  const sector = { halfAngleDeg, rMinMm: 5, rMaxMm: 150 };
  const width = Math.ceil((2 * sector.rMaxMm * Math.sin((halfAngleDeg * Math.PI) / 180)) / mmPerPx.x) + 1;
  const height = Math.ceil(sector.rMaxMm / mmPerPx.y) + 1;
  const apexPx = { x: (width - 1) / 2, y: 0 };
  const planes = poses.map((pose, index) =>
    picture(pose, bodies, { width, height, apexPx, mmPerPx, sector, gain, seed: seed * 1000 + index }),
  );
  return { geometry: { layout, mmPerPx, apexPx, sector, planes: poses }, planes };
}

interface Picture {
  readonly width: number;
  readonly height: number;
  readonly apexPx: { readonly x: number; readonly y: number };
  readonly mmPerPx: { readonly x: number; readonly y: number };
  readonly sector: { readonly halfAngleDeg: number; readonly rMinMm: number; readonly rMaxMm: number };
  readonly gain: number;
  readonly seed: number;
}

function picture(pose: PlanePose, bodies: readonly PhantomBody[], set: Picture): GreyPlane {
  const random = seededRandom(set.seed);
  const grey = new Uint8Array(set.width * set.height);
  const half = (set.sector.halfAngleDeg * Math.PI) / 180;
  // The wall's echo blurs over the lumen, as in life: tissue fades over the first millimetres inside it.
  const blurMm = 3;
  for (let py = 0; py < set.height; py += 1) {
    for (let px = 0; px < set.width; px += 1) {
      const s = (px - set.apexPx.x) * set.mmPerPx.x;
      const d = (py - set.apexPx.y) * set.mmPerPx.y;
      const r = Math.hypot(s, d);
      const speckle = 1 + 0.22 * random.normal();
      if (Math.abs(Math.atan2(s, d)) > half || r < set.sector.rMinMm || r > set.sector.rMaxMm) continue;
      let insideMm = -Infinity;
      for (const body of bodies) {
        let q = 0;
        for (let axis = 0; axis < 3; axis += 1) {
          const at =
            (pose.originMm[axis] as number) +
            s * (pose.lateral[axis] as number) +
            d * (pose.axial[axis] as number);
          q += ((at - (body.centreMm[axis] as number)) / (body.halfMm[axis] as number)) ** 2;
        }
        insideMm = Math.max(
          insideMm,
          (1 - Math.sqrt(q)) * Math.cbrt(body.halfMm[0] * body.halfMm[1] * body.halfMm[2]),
        );
      }
      const share = Math.max(0, Math.min(1, 1 - insideMm / blurMm));
      grey[py * set.width + px] = Math.max(1, Math.min(255, set.gain * speckle * share));
    }
  }
  return { width: set.width, height: set.height, grey };
}
