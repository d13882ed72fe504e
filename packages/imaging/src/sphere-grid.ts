/**
 * Directions spread evenly over the sphere, with the triangles between them: an icosahedron, each face cut in four
 * again and again, its new corners moved out to the sphere.
 *
 * Shape     10 · 4ⁿ + 2 directions, 20 · 4ⁿ triangles, all turning outwards (counter-clockwise from outside)
 * Source    closed form (S-geometry-closed-form)
 */
export interface SphereGrid {
  /** x, y, z of unit length, one after the other. */
  readonly directions: Float64Array;
  /** Three indices a triangle. */
  readonly triangles: Uint32Array;
  /** For each direction the two between which it was put, both before it; the first twelve stand for themselves. */
  readonly between: Uint32Array;
}

const golden = (1 + Math.sqrt(5)) / 2;
// prettier-ignore
const corners: readonly (readonly [number, number, number])[] = [
  [-1, golden, 0], [1, golden, 0], [-1, -golden, 0], [1, -golden, 0],
  [0, -1, golden], [0, 1, golden], [0, -1, -golden], [0, 1, -golden],
  [golden, 0, -1], [golden, 0, 1], [-golden, 0, -1], [-golden, 0, 1],
];

/** The twenty faces: every three corners that stand at the edge length (2) from each other, turned outwards. */
function faces(): number[] {
  const near = (i: number, j: number): boolean => {
    const [a, b] = [corners[i], corners[j]];
    if (!a || !b) return false;
    return Math.abs(Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]) - 2) < 1e-9;
  };
  const out: number[] = [];
  for (let i = 0; i < 12; i += 1) {
    for (let j = i + 1; j < 12; j += 1) {
      for (let k = j + 1; k < 12; k += 1) {
        if (!near(i, j) || !near(j, k) || !near(i, k)) continue;
        const [a, b, c] = [corners[i], corners[j], corners[k]];
        if (!a || !b || !c) continue;
        const outward =
          a[0] * (b[1] * c[2] - b[2] * c[1]) +
          a[1] * (b[2] * c[0] - b[0] * c[2]) +
          a[2] * (b[0] * c[1] - b[1] * c[0]);
        out.push(i, ...(outward > 0 ? [j, k] : [k, j]));
      }
    }
  }
  return out;
}

/** @param halvings how often each face is cut in four, 0 to 6 */
export function sphereGrid(halvings: number): SphereGrid {
  const directions: number[] = [];
  const add = (x: number, y: number, z: number): number => {
    const length = Math.hypot(x, y, z);
    directions.push(x / length, y / length, z / length);
    return directions.length / 3 - 1;
  };
  const parents: number[] = [];
  for (const corner of corners) {
    const own = add(...corner);
    parents.push(own, own);
  }
  let triangles = faces();
  for (let round = 0; round < halvings; round += 1) {
    const between = new Map<number, number>();
    const middle = (i: number, j: number): number => {
      const key = Math.min(i, j) * 1e6 + Math.max(i, j);
      const known = between.get(key);
      if (known !== undefined) return known;
      const at = (axis: number): number =>
        (directions[3 * i + axis] as number) + (directions[3 * j + axis] as number);
      const made = add(at(0), at(1), at(2));
      between.set(key, made);
      parents.push(i, j);
      return made;
    };
    const finer: number[] = [];
    for (let face = 0; face < triangles.length; face += 3) {
      const [a, b, c] = triangles.slice(face, face + 3) as [number, number, number];
      const [ab, bc, ca] = [middle(a, b), middle(b, c), middle(c, a)];
      finer.push(a, ab, ca, b, bc, ab, c, ca, bc, ab, bc, ca);
    }
    triangles = finer;
  }
  return {
    directions: Float64Array.from(directions),
    triangles: Uint32Array.from(triangles),
    between: Uint32Array.from(parents),
  };
}
