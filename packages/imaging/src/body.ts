/**
 * The traced body as a closed mesh to look at and to measure: one surface through the outlines of all planes, with
 * what of it nobody saw.
 *
 * Frame     plane-set.ts; triangles turn counter-clockwise seen from outside when x, y, z are right-handed
 * Units     mm, mL
 * Domain    outlines on at least three planes (two when the layout is two planes), of a body that every ray from its
 *           middle leaves once
 * Errors    imaging/too-few-outlines, imaging/no-one-body, geometry/mesh-*
 * Error     10,242 corners, put outwards by 0.02 % of the radius so that flat triangles take nothing off a sphere;
 *           ellipsoids outlined exactly come out within 0.06 %
 * Source    surface.ts (S-imaging-harmonics); volume by the divergence theorem (S-geometry-closed-form)
 */
import { closedMeshVolume } from '@ebbline/core/geometry';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { OutlineVertex, PlaneOutline } from './outline.ts';
import type { PlanePose, PlaneSetGeometry, Vector } from './plane-set.ts';
import { sphereGrid, type SphereGrid } from './sphere-grid.ts';
import { fitSurface, radialDistanceMm, type Surface } from './surface.ts';

export interface Body {
  readonly centreMm: Vector;
  /** x, y, z in mm, one after the other. */
  readonly verticesMm: Float64Array;
  /** Three indices a triangle. */
  readonly triangles: Uint32Array;
  /** For each vertex how far it is guessed: 0 lies by a wall that was seen, 1 by none. */
  readonly hidden: Float32Array;
  /** Volume of the mesh, to be held against the sum over the planes. */
  readonly volumeMl: number;
}

/** The sides of a body, named by what lies there, since no attribute of a picture says which side of the person is which. */
export const bodySides = ['head', 'feet', 'front', 'back', 'picture-left', 'picture-right'] as const;
export type BodySide = (typeof bodySides)[number];

export interface BodyMeasures {
  /** Greatest extent along x, across the person. */
  readonly widthMm: number;
  /** Greatest extent along y, head to feet. */
  readonly lengthMm: number;
  /** Greatest extent along z, front to back. */
  readonly depthMm: number;
  /** Share of the surface that nobody saw, 0 to 1. */
  readonly hiddenShare: number;
  readonly sides: readonly { readonly side: BodySide; readonly hiddenShare: number }[];
}

const halvings = 5;
/** A wall between two seen stretches is taken as seen up to this far from them, mm (S-imaging-tuning). */
const seenReachMm = 13;
/** Beyond this it is a guess, mm (S-imaging-tuning). */
const guessedFromMm = 26;
/** How many outline points around a vertex say whether it was seen (made here). */
const neighbours = 6;
/** So many corners, those of one halving less, are looked at one by one; those between them lie within 2 mm or so. */
const lookedAt = 10 * 4 ** (halvings - 1) + 2;

interface Grid extends SphereGrid {
  /** By this the corners are put outwards: the ball of the grid then has the volume of the sphere. */
  readonly outwards: number;
}

let kept: Grid | undefined;
function grid(): Grid {
  if (kept) return kept;
  const made = sphereGrid(halvings);
  const ball = closedMeshVolume(made.directions, made.triangles);
  const sphereMl = (4 / 3) * Math.PI * 1e-3;
  kept = { ...made, outwards: isRefusal(ball) ? 1 : Math.cbrt(sphereMl / ball.volumeMl) };
  return kept;
}

const onPlane = (pose: PlanePose, vertex: OutlineVertex, axis: 0 | 1 | 2): number =>
  pose.originMm[axis] + vertex.sMm * pose.lateral[axis] + vertex.dMm * pose.axial[axis];

const wasSeen = (vertex: OutlineVertex): boolean => vertex.seenAs === 'seen' || vertex.seenAs === 'weak';

interface Points {
  readonly pointsMm: Float64Array;
  readonly sdMm: Float64Array;
  readonly seen: Uint8Array;
  readonly count: number;
  readonly planes: number;
  readonly middleMm: Vector;
}

function pointsOf(geometry: PlaneSetGeometry, outlines: readonly PlaneOutline[]): Points {
  let room = 0;
  for (const outline of outlines) room += outline.vertices.length;
  const pointsMm = new Float64Array(3 * room);
  const sdMm = new Float64Array(room);
  const seen = new Uint8Array(room);
  const sum: [number, number, number] = [0, 0, 0];
  let count = 0;
  let planes = 0;
  for (const outline of outlines) {
    const pose = geometry.planes[outline.plane];
    if (!pose || outline.vertices.length === 0) continue;
    planes += 1;
    for (const vertex of outline.vertices) {
      for (const axis of [0, 1, 2] as const) {
        const value = onPlane(pose, vertex, axis);
        pointsMm[3 * count + axis] = value;
        sum[axis] += value;
      }
      sdMm[count] = Math.max(0.1, vertex.sdMm);
      seen[count] = wasSeen(vertex) ? 1 : 0;
      count += 1;
    }
  }
  const middleMm: Vector = [sum[0] / count, sum[1] / count, sum[2] / count];
  return { pointsMm, sdMm, seen, count, planes, middleMm };
}

/** The closed body through outlines of the tracer or of a person, or why there is none. */
export function bodyOf(geometry: PlaneSetGeometry, outlines: readonly PlaneOutline[]): Body | Refusal {
  const points = pointsOf(geometry, outlines);
  const twoPlanes = geometry.layout === 'two_orthogonal_planes';
  const least = twoPlanes ? 2 : 3;
  if (points.planes < least) {
    return refuse('imaging/too-few-outlines', {
      asked: 'Body in space',
      found: `outlines on ${points.planes} planes`,
      allowed: `outlines on at least ${least} planes`,
      todo: 'Outline the bladder on more planes.',
    });
  }
  const surface = fitSurface(points, points.middleMm, twoPlanes ? 4 : 6);
  const verticesMm = surface && cornersOf(surface);
  if (!verticesMm) {
    return refuse('imaging/no-one-body', {
      asked: 'Body in space',
      found: 'outlines that do not lie around one middle',
      allowed: 'outlines of one body that fit together from plane to plane',
      todo: 'Put the outlines right, plane by plane.',
    });
  }
  const { triangles } = grid();
  const volume = closedMeshVolume(verticesMm, triangles);
  if (isRefusal(volume)) return volume;
  return {
    centreMm: surface.centreMm,
    verticesMm,
    triangles,
    hidden: hiddenAt(verticesMm, points),
    volumeMl: volume.volumeMl,
  };
}

/** Where the surface stands in every direction of the grid; undefined when it falls in on itself. */
function cornersOf(surface: Surface): Float64Array | undefined {
  const { directions, outwards } = grid();
  const out = new Float64Array(directions.length);
  const [cx, cy, cz] = surface.centreMm;
  for (let place = 0; place < directions.length; place += 3) {
    const x = directions[place] as number;
    const y = directions[place + 1] as number;
    const z = directions[place + 2] as number;
    // At 1 mm from the middle the signed distance is 1 less the radius.
    const radius = 1 - radialDistanceMm(surface, cx + x, cy + y, cz + z);
    if (!(radius > 0.5)) return undefined;
    const reach = radius * outwards;
    out[place] = cx + reach * x;
    out[place + 1] = cy + reach * y;
    out[place + 2] = cz + reach * z;
  }
  return out;
}

/**
 * The larger of two shares: of the nearest outline points those not seen, weighted by nearness; and how far the nearest
 * seen one is, from `seenReachMm` (0) to `guessedFromMm` (1). Corners between two that were looked at take their mean.
 */
function hiddenAt(verticesMm: Float64Array, points: Points): Float32Array {
  const out = new Float32Array(verticesMm.length / 3);
  const nearest = new Float64Array(neighbours);
  const nearestSeen = new Uint8Array(neighbours);
  for (let vertex = 0; vertex < lookedAt; vertex += 1) {
    const x = verticesMm[3 * vertex] as number;
    const y = verticesMm[3 * vertex + 1] as number;
    const z = verticesMm[3 * vertex + 2] as number;
    nearest.fill(Infinity);
    let seenSquare = Infinity;
    for (let index = 0; index < points.count; index += 1) {
      const dx = (points.pointsMm[3 * index] as number) - x;
      const dy = (points.pointsMm[3 * index + 1] as number) - y;
      const dz = (points.pointsMm[3 * index + 2] as number) - z;
      const square = dx * dx + dy * dy + dz * dz;
      const seen = points.seen[index] as number;
      if (seen === 1 && square < seenSquare) seenSquare = square;
      if (square >= (nearest[neighbours - 1] as number)) continue;
      let place = neighbours - 1;
      while (place > 0 && (nearest[place - 1] as number) > square) {
        nearest[place] = nearest[place - 1] as number;
        nearestSeen[place] = nearestSeen[place - 1] as number;
        place -= 1;
      }
      nearest[place] = square;
      nearestSeen[place] = seen;
    }
    let weights = 0;
    let hidden = 0;
    for (let place = 0; place < neighbours; place += 1) {
      const weight = 1 / ((nearest[place] as number) + 1);
      weights += weight;
      if (nearestSeen[place] === 0) hidden += weight;
    }
    const away = (Math.sqrt(seenSquare) - seenReachMm) / (guessedFromMm - seenReachMm);
    out[vertex] = Math.max(hidden / weights, Math.min(1, Math.max(0, away)));
  }
  const { between } = grid();
  for (let vertex = lookedAt; vertex < out.length; vertex += 1) {
    const [a, b] = [between[2 * vertex] as number, between[2 * vertex + 1] as number];
    out[vertex] = ((out[a] as number) + (out[b] as number)) / 2;
  }
  return out;
}

/** The side that a direction from the middle points to most. */
function sideOf(x: number, y: number, z: number): BodySide {
  const [across, along, deep] = [Math.abs(x), Math.abs(y), Math.abs(z)];
  if (along >= across && along >= deep) return y > 0 ? 'head' : 'feet';
  if (deep >= across) return z > 0 ? 'back' : 'front';
  return x > 0 ? 'picture-right' : 'picture-left';
}

/** Extents and what of each side nobody saw, by area of the mesh. */
export function bodyMeasures(body: Body): BodyMeasures {
  const least: [number, number, number] = [Infinity, Infinity, Infinity];
  const most: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (let place = 0; place < body.verticesMm.length; place += 1) {
    const axis = (place % 3) as 0 | 1 | 2;
    const value = body.verticesMm[place] as number;
    least[axis] = Math.min(least[axis], value);
    most[axis] = Math.max(most[axis], value);
  }
  const areas = new Map<BodySide, { all: number; hidden: number }>();
  for (const side of bodySides) areas.set(side, { all: 0, hidden: 0 });
  let all = 0;
  let hiddenAll = 0;
  for (let face = 0; face < body.triangles.length; face += 3) {
    const [a, b, c] = [0, 1, 2].map((corner) => body.triangles[face + corner] as number) as [
      number,
      number,
      number,
    ];
    const at = (vertex: number, axis: number): number => body.verticesMm[3 * vertex + axis] as number;
    const u = [0, 1, 2].map((axis) => at(b, axis) - at(a, axis)) as [number, number, number];
    const v = [0, 1, 2].map((axis) => at(c, axis) - at(a, axis)) as [number, number, number];
    const area =
      Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]) / 2;
    const guessed =
      ((body.hidden[a] as number) + (body.hidden[b] as number) + (body.hidden[c] as number)) / 3;
    const out = [0, 1, 2].map(
      (axis) => (at(a, axis) + at(b, axis) + at(c, axis)) / 3 - (body.centreMm[axis] as number),
    ) as [number, number, number];
    const side = areas.get(sideOf(...out));
    all += area;
    if (side) side.all += area;
    if (guessed < 0.5) continue;
    hiddenAll += area;
    if (side) side.hidden += area;
  }
  return {
    widthMm: most[0] - least[0],
    lengthMm: most[1] - least[1],
    depthMm: most[2] - least[2],
    hiddenShare: hiddenAll / all,
    sides: bodySides.map((side) => {
      const one = areas.get(side);
      return { side, hiddenShare: one && one.all > 0 ? one.hidden / one.all : 0 };
    }),
  };
}
