/**
 * Where a plane cuts a closed shape: closed polylines [s, d] in mm, by marching squares, each vertex then moved onto the
 * surface. Not clipped to the sector.
 */
import type { PlanePose } from '@ebbline/imaging';
import type { Box } from './field-volume.ts';
import type { Field } from './fields.ts';

export type Outline = readonly (readonly [number, number])[];

/** Outlines of a shape that lies within the box. Empty when the plane misses it. */
export function planeOutlines(field: Field, box: Box, pose: PlanePose): Outline[] {
  const at = (s: number, d: number): number =>
    field(
      pose.originMm[0] + s * pose.lateral[0] + d * pose.axial[0],
      pose.originMm[1] + s * pose.lateral[1] + d * pose.axial[1],
      pose.originMm[2] + s * pose.lateral[2] + d * pose.axial[2],
    );
  const { s0, s1, d0, d1 } = shadowOnPlane(box, pose);
  const cell = Math.max(0.35, Math.max(s1 - s0, d1 - d0) / 90);
  const columns = Math.ceil((s1 - s0) / cell) + 1;
  const rows = Math.ceil((d1 - d0) / cell) + 1;
  const values = new Float64Array(columns * rows);
  for (let row = 0; row < rows; row += 1)
    for (let column = 0; column < columns; column += 1)
      values[row * columns + column] = at(s0 + column * cell, d0 + row * cell);

  // An edge of the grid by number: even = to the right of a node, odd = below it.
  const onEdge = (edge: number): [number, number] => {
    const node = edge >> 1;
    const other = edge & 1 ? node + columns : node + 1;
    const a = values[node]!;
    const b = values[other]!;
    const part = a / (a - b);
    const s = s0 + (node % columns) * cell + (edge & 1 ? 0 : part * cell);
    const d = d0 + Math.floor(node / columns) * cell + (edge & 1 ? part * cell : 0);
    return ontoSurface(at, s, d);
  };
  const next = new Map<number, number>();
  for (let row = 0; row + 1 < rows; row += 1) {
    for (let column = 0; column + 1 < columns; column += 1) {
      const node = row * columns + column;
      const corners = [node, node + 1, node + columns + 1, node + columns];
      const edges = [node * 2, (node + 1) * 2 + 1, (node + columns) * 2, node * 2 + 1];
      const inside = corners.map((corner) => values[corner]! < 0);
      const leaving: number[] = [];
      const entering: number[] = [];
      for (let side = 0; side < 4; side += 1) {
        const first = inside[side]!;
        const second = inside[(side + 1) % 4]!;
        if (first && !second) leaving.push(edges[side]!);
        if (!first && second) entering.push(edges[side]!);
      }
      // Two pairs only in a saddle; each way of joining them closes.
      leaving.forEach((edge, index) => next.set(edge, entering[index]!));
    }
  }
  const outlines: Outline[] = [];
  while (next.size > 0) {
    const start = next.keys().next().value!;
    const points: [number, number][] = [];
    let edge: number | undefined = start;
    while (edge !== undefined && next.has(edge)) {
      points.push(onEdge(edge));
      const following: number | undefined = next.get(edge);
      next.delete(edge);
      edge = following;
    }
    if (points.length > 2) outlines.push(points);
  }
  return outlines;
}

/** One Newton step along the gradient in the plane. */
function ontoSurface(at: (s: number, d: number) => number, s: number, d: number): [number, number] {
  const here = at(s, d);
  const nudge = 0.01;
  const gs = (at(s + nudge, d) - here) / nudge;
  const gd = (at(s, d + nudge) - here) / nudge;
  const size = gs * gs + gd * gd;
  return size < 1e-4 ? [s, d] : [s - (here * gs) / size, d - (here * gd) / size];
}

function shadowOnPlane(box: Box, pose: PlanePose): { s0: number; s1: number; d0: number; d1: number } {
  let [s0, s1, d0, d1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (let corner = 0; corner < 8; corner += 1) {
    const x = (corner & 1 ? box.high : box.low)[0] - pose.originMm[0];
    const y = (corner & 2 ? box.high : box.low)[1] - pose.originMm[1];
    const z = (corner & 4 ? box.high : box.low)[2] - pose.originMm[2];
    const s = x * pose.lateral[0] + y * pose.lateral[1] + z * pose.lateral[2];
    const d = x * pose.axial[0] + y * pose.axial[1] + z * pose.axial[2];
    s0 = Math.min(s0, s);
    s1 = Math.max(s1, s);
    d0 = Math.min(d0, d);
    d1 = Math.max(d1, d);
  }
  return { s0: s0 - 1, s1: s1 + 1, d0: d0 - 1, d1: d1 + 1 };
}
