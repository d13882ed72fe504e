/**
 * Area of the smallest convex outline around a polygon, by the monotone chain: sort, then walk the lower and the upper
 * side. The share of the hull that the polygon fills tells a round body from fluid between loops.
 *
 * Units     mm in, mm² out
 * Domain    at least 3 finite vertices
 * Source    closed form (S-geometry-closed-form)
 */
import type { Polygon } from './polygon.ts';
import { polygonAreaMm2 } from './polygon.ts';

export function convexHullAreaMm2(polygon: Polygon): number {
  const points = Array.from(
    { length: polygon.length / 2 },
    (_, index) => [polygon[2 * index] as number, polygon[2 * index + 1] as number] as const,
  );
  points.sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const hull: (readonly [number, number])[] = [];
  const side = (list: readonly (readonly [number, number])[]): void => {
    const start = hull.length;
    for (const point of list) {
      while (hull.length - start >= 2) {
        const [a, b] = [hull.at(-2) as readonly [number, number], hull.at(-1) as readonly [number, number]];
        if ((b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) > 0) break;
        hull.pop();
      }
      hull.push(point);
    }
    hull.pop();
  };
  side(points);
  side([...points].reverse());
  return polygonAreaMm2(hull.flat());
}
