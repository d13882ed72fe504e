/**
 * One ray through the scene: cut into stretches of one tissue each. A ray lies off its plane by the spread of the slice
 * at its range, so that it is a slightly bent line.
 *
 * Units     mm
 */
import type { PlanePose } from '@ebbline/imaging';
import type { Scene } from './scene.ts';
import { crossProduct } from './layout.ts';

/** Steps of the walk: fine in the belly wall, whose layers are thin, coarser behind it. */
const fineMm = 1.2;
const coarseMm = 1.7;
const mostCuts = 512;

export interface SliceShape {
  /** Range at which the slice is thinnest. */
  readonly focusMm: number;
  /** Its spread (1 SD) there. */
  readonly spreadMm: number;
  /** How fast it widens away from there, mm per mm. */
  readonly widening: number;
}

/** Stretches of the last ray walked; `ranges[i]` to `ranges[i + 1]` lies in `bodies[i]`. */
export interface RayWalk {
  readonly ranges: Float64Array;
  readonly bodies: Int32Array;
  /** Walks from the face to `toMm` or to the first opaque body, which is the last stretch; returns how many stretches. */
  walk(angleRad: number, offset: number, toMm: number): number;
  /** Where the ray is at a range; the same array each time. */
  place(rangeMm: number): Float64Array;
  /** Square of the cosine between the ray and the surface of a body, at a range. */
  squareOfIncidence(body: number, rangeMm: number): number;
  /** Direction of the ray last walked; the same array each time. */
  readonly direction: Float64Array;
}

export function rayWalker(scene: Scene, pose: PlanePose, rMinMm: number, slice: SliceShape): RayWalk {
  const [nx, ny, nz] = crossProduct(pose.lateral, pose.axial);
  const [ox, oy, oz] = pose.originMm;
  const ranges = new Float64Array(mostCuts + 1);
  const bodies = new Int32Array(mostCuts);
  const isOpaque = Uint8Array.from(scene.tissues, (tissue) => (tissue.opaque ? 1 : 0));
  let ux = 0;
  let uy = 0;
  let uz = 1;
  let aside = 0;
  const point = new Float64Array(3);
  const direction = new Float64Array(3);
  const spreadAt = (range: number): number => {
    const away = slice.widening * (range - slice.focusMm);
    return aside * Math.sqrt(slice.spreadMm * slice.spreadMm + away * away);
  };
  const bodyAt = (range: number): number => {
    const off = spreadAt(range);
    return scene.at(ox + range * ux + off * nx, oy + range * uy + off * ny, oz + range * uz + off * nz);
  };
  return {
    ranges,
    bodies,
    walk: (angleRad, offset, toMm) => {
      const sin = Math.sin(angleRad);
      const cos = Math.cos(angleRad);
      ux = sin * pose.lateral[0] + cos * pose.axial[0];
      uy = sin * pose.lateral[1] + cos * pose.axial[1];
      uz = sin * pose.lateral[2] + cos * pose.axial[2];
      direction.set([ux, uy, uz]);
      aside = offset;
      const fineTo = rMinMm + scene.bellyWallMm * 1.3 + 4;
      let r = rMinMm + 0.01;
      let body = bodyAt(r);
      let count = 0;
      ranges[0] = rMinMm;
      while (r < toMm && count < mostCuts - 1) {
        let to = r + (r < fineTo ? fineMm : coarseMm);
        let next = bodyAt(to);
        if (next !== body) {
          let near = r;
          for (let round = 0; round < 5; round += 1) {
            const half = 0.5 * (near + to);
            const between = bodyAt(half);
            if (between === body) near = half;
            else {
              to = half;
              next = between;
            }
          }
          bodies[count] = body;
          count += 1;
          ranges[count] = to;
          body = next;
          if (isOpaque[body]) break;
        }
        r = to;
      }
      bodies[count] = body;
      count += 1;
      ranges[count] = Math.max(r, toMm);
      return count;
    },
    place: (range) => {
      const off = spreadAt(range);
      point[0] = ox + range * ux + off * nx;
      point[1] = oy + range * uy + off * ny;
      point[2] = oz + range * uz + off * nz;
      return point;
    },
    direction,
    squareOfIncidence: (body, range) => {
      const field = scene.fields[body]!;
      const off = spreadAt(range);
      const x = ox + range * ux + off * nx;
      const y = oy + range * uy + off * ny;
      const z = oz + range * uz + off * nz;
      const nudge = 0.4;
      const here = field(x, y, z);
      const gx = field(x + nudge, y, z) - here;
      const gy = field(x, y + nudge, z) - here;
      const gz = field(x, y, z + nudge) - here;
      const size = gx * gx + gy * gy + gz * gz;
      const along = gx * ux + gy * uy + gz * uz;
      return size === 0 ? 0 : Math.min(1, (along * along) / size);
    },
  };
}
