/**
 * Volume inside a closed triangle mesh by the divergence theorem: V = Σ a · (b × c) / 6.
 *
 * Frame     vertices [x0, y0, z0, …]; triangles [i, j, k, …], all turning the same way
 * Units     in mm; out mL
 * Domain    every edge is used once in each direction; a gap or a flipped face is refused
 * Errors    geometry/mesh-not-closed, geometry/mesh-not-finite
 * Source    closed form (S-geometry-closed-form)
 */
import { controlIsOn, refuse, type Refusal } from '../quantity/index.ts';
import type { Volume } from './volume.ts';

export function closedMeshVolume(
  vertices: ArrayLike<number>,
  triangles: ArrayLike<number>,
): Volume | Refusal {
  const open = (found: string): Refusal =>
    refuse('geometry/mesh-not-closed', {
      asked: 'Volume of a surface',
      found,
      allowed: 'a surface without gaps, its faces all turning the same way',
      todo: 'Close the surface first.',
    });
  const count = vertices.length / 3;
  for (let index = 0; index < vertices.length; index += 1) {
    if (!Number.isFinite(vertices[index])) {
      return refuse('geometry/mesh-not-finite', {
        asked: 'Volume of a surface',
        found: `a coordinate that is ${vertices[index]}`,
        allowed: 'numbers in mm',
        todo: 'Make the surface again.',
      });
    }
  }
  if (triangles.length < 12 || triangles.length % 3 !== 0) return open(`${triangles.length / 3} faces`);
  const edges = new Set<number>();
  let sixfold = 0;
  for (let face = 0; face < triangles.length; face += 3) {
    for (let corner = 0; corner < 3; corner += 1) {
      const from = triangles[face + corner] as number;
      const to = triangles[face + ((corner + 1) % 3)] as number;
      if (!(from >= 0 && from < count && to >= 0 && to < count) || from === to)
        return open('a face with a missing corner');
      const edge = from * count + to;
      if (edges.has(edge)) return open('an edge used twice in one direction');
      edges.add(edge);
    }
    const a = (triangles[face] as number) * 3;
    const b = (triangles[face + 1] as number) * 3;
    const c = (triangles[face + 2] as number) * 3;
    const at = (place: number): number => vertices[place] as number;
    sixfold +=
      at(a) * (at(b + 1) * at(c + 2) - at(b + 2) * at(c + 1)) +
      at(a + 1) * (at(b + 2) * at(c) - at(b) * at(c + 2)) +
      at(a + 2) * (at(b) * at(c + 1) - at(b + 1) * at(c));
  }
  if (controlIsOn('mesh-closed')) {
    for (const edge of edges) {
      const from = Math.floor(edge / count);
      if (!edges.has((edge % count) * count + from)) return open('an edge with a face on one side only');
    }
  }
  return {
    volumeMl: Math.abs(sixfold) / 6000,
    method: 'closed-mesh',
    coefficient: 1,
    coefficientSource: 'S-geometry-closed-form',
  };
}
