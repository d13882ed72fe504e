/** Exact outlines of an ellipsoid on planes of a layout: closed form, for tests of what is made from outlines. */
import type { OutlineVertex, PlaneOutline, VertexClass } from '../outline.ts';
import type { Layout, PlaneSetGeometry, Vector } from '../plane-set.ts';
import { posesOf } from './phantom.ts';

export function geometryOf(layout: Layout, planes: number): PlaneSetGeometry {
  return {
    layout,
    mmPerPx: { x: 0.5, y: 0.5 },
    apexPx: { x: 200, y: 0 },
    sector: { halfAngleDeg: 60, rMinMm: 5, rMaxMm: 200 },
    planes: posesOf(layout, planes),
  };
}

/**
 * @param halfMm half axes
 * @param classOf how a vertex was seen, by its place in space
 */
export function ellipsoidOutlines(
  geometry: PlaneSetGeometry,
  centreMm: Vector,
  halfMm: Vector,
  classOf: (at: Vector) => VertexClass = () => 'seen',
): PlaneOutline[] {
  const outlines: PlaneOutline[] = [];
  for (const [plane, pose] of geometry.planes.entries()) {
    // In units of the half axes the ellipsoid is a ball: q(s, d) = |o + s·l + d·a|² < 1.
    const unit = (vector: Vector): Vector => [
      vector[0] / halfMm[0],
      vector[1] / halfMm[1],
      vector[2] / halfMm[2],
    ];
    const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    const o = unit([
      pose.originMm[0] - centreMm[0],
      pose.originMm[1] - centreMm[1],
      pose.originMm[2] - centreMm[2],
    ]);
    const [l, a] = [unit(pose.lateral), unit(pose.axial)];
    const [ll, la, aa, ol, oa] = [dot(l, l), dot(l, a), dot(a, a), dot(o, l), dot(o, a)];
    const determinant = ll * aa - la * la;
    const s0 = (la * oa - aa * ol) / determinant;
    const d0 = (la * ol - ll * oa) / determinant;
    const least = dot(o, o) + s0 * ol + d0 * oa;
    if (least >= 0.999) continue;
    const vertices = Array.from({ length: 128 }, (_, index): OutlineVertex => {
      const turn = (2 * Math.PI * index) / 128;
      const [c, s] = [Math.cos(turn), Math.sin(turn)];
      const radius = Math.sqrt((1 - least) / (ll * c * c + 2 * la * c * s + aa * s * s));
      const [sMm, dMm] = [s0 + radius * c, d0 + radius * s];
      const at = [0, 1, 2].map(
        (axis) =>
          (pose.originMm[axis] as number) +
          sMm * (pose.lateral[axis] as number) +
          dMm * (pose.axial[axis] as number),
      ) as unknown as Vector;
      const seenAs = classOf(at);
      return { sMm, dMm, sdMm: seenAs === 'seen' || seenAs === 'weak' ? 1 : 5, seenAs };
    });
    outlines.push({ plane, vertices });
  }
  return outlines;
}
