/**
 * Bodies whose volume is a closed form, and their outlines on the planes of a set: the plane's section sampled as a
 * field and followed at level 0. Marked as placed by hand, since a person may outline any body.
 *
 * Frame     plane-set.ts
 * Source    lens of two balls, cap and ellipsoid: closed forms (S-geometry-closed-form)
 */
import { orThrow } from '@ebbline/core/quantity';
import { levelContours } from '../level-contour.ts';
import type { OutlineVertex, PlaneOutline } from '../outline.ts';
import type { PlaneSetGeometry, Vector } from '../plane-set.ts';

export interface ClosedBody {
  readonly name: string;
  readonly volumeMl: number;
  /** Above 0 inside; about the distance to the wall, mm. */
  readonly insideMm: (x: number, y: number, z: number) => number;
}

interface Ball {
  readonly centreMm: Vector;
  readonly radiusMm: number;
}

const ballMl = (radiusMm: number): number => ((4 / 3) * Math.PI * radiusMm ** 3) / 1000;
const distance = (a: Vector, b: Vector): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
const inBall =
  (ball: Ball) =>
  (x: number, y: number, z: number): number =>
    ball.radiusMm - distance([x, y, z], ball.centreMm);

/** Common part of two balls that cut each other, mL. */
function lensMl(one: Ball, other: Ball): number {
  const apart = distance(one.centreMm, other.centreMm);
  const [r, q] = [one.radiusMm, other.radiusMm];
  const cubicMm =
    (Math.PI * (r + q - apart) ** 2 * (apart ** 2 + 2 * apart * (r + q) - 3 * (r - q) ** 2)) / (12 * apart);
  return cubicMm / 1000;
}

export function ellipsoid(name: string, centreMm: Vector, halfMm: Vector): ClosedBody {
  const least = Math.min(...halfMm);
  return {
    name,
    volumeMl: ((4 / 3) * Math.PI * halfMm[0] * halfMm[1] * halfMm[2]) / 1000,
    insideMm: (x, y, z) =>
      least *
      (1 -
        Math.hypot(
          (x - centreMm[0]) / halfMm[0],
          (y - centreMm[1]) / halfMm[1],
          (z - centreMm[2]) / halfMm[2],
        )),
  };
}

/** Two balls run into one. */
export const bilobed = (one: Ball, other: Ball): ClosedBody => ({
  name: 'bilobed',
  volumeMl: ballMl(one.radiusMm) + ballMl(other.radiusMm) - lensMl(one, other),
  insideMm: (x, y, z) => Math.max(inBall(one)(x, y, z), inBall(other)(x, y, z)),
});

/** A ball with a dent that another ball leaves. */
export const indented = (whole: Ball, dent: Ball): ClosedBody => ({
  name: 'indented',
  volumeMl: ballMl(whole.radiusMm) - lensMl(whole, dent),
  insideMm: (x, y, z) => Math.min(inBall(whole)(x, y, z), -inBall(dent)(x, y, z)),
});

/** The bodies that tests and the bench share. */
export const closedBodies = {
  smooth: [ellipsoid('ball', [0, 0, 80], [40, 40, 40]), ellipsoid('ellipsoid', [0, 0, 85], [48, 36, 30])],
  uneven: [
    bilobed({ centreMm: [-14, 5, 78], radiusMm: 34 }, { centreMm: [20, -6, 92], radiusMm: 27 }),
    indented({ centreMm: [4, 6, 80], radiusMm: 42 }, { centreMm: [6, -20, 118], radiusMm: 24 }),
    ellipsoid('off-axis', [14, -9, 82], [44, 38, 31]),
  ],
} as const;

/** Every contour of the body on every plane, on a grid of 0.5 mm over the sector's extent. */
export function closedBodyOutlines(geometry: PlaneSetGeometry, body: ClosedBody): PlaneOutline[] {
  const stepMm = 0.5;
  const reachMm = geometry.sector.rMaxMm * Math.sin((geometry.sector.halfAngleDeg * Math.PI) / 180);
  const width = Math.ceil((2 * reachMm) / stepMm) + 1;
  const height = Math.ceil(geometry.sector.rMaxMm / stepMm) + 1;
  const field = new Float64Array(width * height);
  return geometry.planes.flatMap((pose, plane) => {
    const at = (axis: 0 | 1 | 2, s: number, d: number): number =>
      pose.originMm[axis] + s * pose.lateral[axis] + d * pose.axial[axis];
    for (let row = 0; row < height; row += 1) {
      const d = row * stepMm;
      for (let column = 0; column < width; column += 1) {
        const s = column * stepMm - reachMm;
        field[row * width + column] = body.insideMm(at(0, s, d), at(1, s, d), at(2, s, d));
      }
    }
    return orThrow(levelContours(field, width, height, 0)).contours.map(({ points }): PlaneOutline => ({
      plane,
      vertices: Array.from({ length: points.length / 2 }, (_, index): OutlineVertex => ({
        sMm: points[2 * index]! * stepMm - reachMm,
        dMm: points[2 * index + 1]! * stepMm,
        sdMm: 1,
        seenAs: 'seen',
        byHand: true,
      })),
    }));
  });
}
