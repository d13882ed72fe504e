/**
 * Where the planes lie: sector, pixels and poses of a recipe, and which points a set of planes sweeps.
 *
 * Frame     as in `PlaneSetGeometry` of @ebbline/imaging: x lateral, y towards the head, z depth along the probe axis,
 *           origin at the apex of the beam fan; in a plane s lateral, d depth
 * Units     mm, degrees, pixels
 */
import type { RandomSource } from '@ebbline/core/quantity';
import type { PlanePose, PlaneSetGeometry, Vector } from '@ebbline/imaging';
import { between } from './draw.ts';
import type { Box } from './field-volume.ts';
import type { PhantomRecipe } from './recipe.ts';

const radians = (degrees: number): number => (degrees * Math.PI) / 180;
const degrees = (angle: number): number => (angle * 180) / Math.PI;
/** Radius of the probe's face about the apex of its beams (ours, S-phantom-mix). */
export function drawFaceRadius(recipe: PhantomRecipe, random: RandomSource): number {
  if (recipe.probe === 'curved') return between(random, 42, 60);
  return recipe.probe === 'tight-curved' ? between(random, 8, 14) : between(random, 1.5, 3);
}

export interface Plan {
  /** What a reader of the set is told. */
  readonly geometry: PlaneSetGeometry;
  /** Where the planes really were. */
  readonly truePoses: readonly PlanePose[];
}

/** Pose of a plane by its position. */
function poseAt(
  layout: PlaneSetGeometry['layout'],
  index: number,
  position: number,
  aimDeg: readonly [number, number],
): PlanePose {
  const angle = radians(position);
  if (layout === 'rotational_fan')
    return {
      position,
      originMm: [0, 0, 0],
      lateral: [Math.cos(angle), Math.sin(angle), 0],
      axial: [0, 0, 1],
    };
  if (layout === 'tilt_sweep')
    return {
      position,
      originMm: [0, 0, 0],
      lateral: [1, 0, 0],
      axial: [0, Math.sin(angle), Math.cos(angle)],
    };
  if (layout === 'parallel_sweep')
    return { position, originMm: [0, position, 0], lateral: [1, 0, 0], axial: [0, 0, 1] };
  const tilt = radians(aimDeg[index] ?? 0);
  return index === 0
    ? { position, originMm: [0, 0, 0], lateral: [1, 0, 0], axial: [0, Math.sin(tilt), Math.cos(tilt)] }
    : { position, originMm: [0, 0, 0], lateral: [0, 1, 0], axial: [Math.sin(tilt), 0, Math.cos(tilt)] };
}

/** A pose moved and turned by small hand errors. */
function jittered(pose: PlanePose, layout: PlaneSetGeometry['layout'], random: RandomSource): PlanePose {
  const turn = radians(1.6 * random.normal());
  const tip = radians(1.2 * random.normal());
  const spin = (from: Vector, towards: Vector, angle: number): Vector => [
    Math.cos(angle) * from[0] + Math.sin(angle) * towards[0],
    Math.cos(angle) * from[1] + Math.sin(angle) * towards[1],
    Math.cos(angle) * from[2] + Math.sin(angle) * towards[2],
  ];
  const normal = crossProduct(pose.lateral, pose.axial);
  const axial = spin(pose.axial, normal, tip);
  const lateral = layout === 'rotational_fan' ? spin(pose.lateral, normal, turn) : pose.lateral;
  const shift = (of: number, size: number): number => of + size * random.normal();
  return {
    position: pose.position,
    originMm: [
      shift(pose.originMm[0], 1.2),
      shift(pose.originMm[1], layout === 'parallel_sweep' ? 0.9 : 1.2),
      shift(pose.originMm[2], 0.5),
    ],
    // Square to the turned axial direction again, for fans.
    lateral: layout === 'rotational_fan' ? squareTo(lateral, axial) : lateral,
    axial,
  };
}

export function crossProduct(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function squareTo(one: Vector, other: Vector): Vector {
  const along = one[0] * other[0] + one[1] * other[1] + one[2] * other[2];
  const rest: Vector = [one[0] - along * other[0], one[1] - along * other[1], one[2] - along * other[2]];
  const size = Math.hypot(...rest);
  return [rest[0] / size, rest[1] / size, rest[2] / size];
}

/** Positions along the sweep, in degrees or mm. `target` is the box of what is looked at. */
function positions(recipe: PhantomRecipe, target: Box, random: RandomSource): number[] {
  const count = recipe.planeCount;
  const uneven = recipe.features.includes('uneven-steps') ? 0.32 : 0;
  const nudge = (step: number): number => step * Math.max(-0.45, Math.min(0.45, uneven * random.normal()));
  if (recipe.layout === 'two_orthogonal_planes') return [0, 90];
  if (recipe.layout === 'rotational_fan')
    return Array.from({ length: count }, (_, index) => (180 / count) * index + nudge(180 / count));
  const middleZ = 0.5 * (target.low[2] + target.high[2]);
  const asAngle = (y: number): number => degrees(Math.atan2(y, middleZ));
  const tilt = recipe.layout === 'tilt_sweep';
  let from = tilt ? asAngle(target.low[1]) - 4 : target.low[1] - 3;
  let to = tilt ? asAngle(target.high[1]) + 4 : target.high[1] + 3;
  const cutShort = between(random, 0.12, 0.36);
  if (recipe.features.includes('partly-outside-sweep')) {
    if (random.next() < 0.5) from += cutShort * (to - from);
    else to -= cutShort * (to - from);
  }
  const step = (to - from) / (count - 1);
  return Array.from({ length: count }, (_, index) => from + step * index + nudge(step));
}

/** Plans the set about the box of the bladder, or of the place where it would be. */
export function planLayout(
  recipe: PhantomRecipe,
  faceRadiusMm: number,
  target: Box,
  random: RandomSource,
): Plan {
  const has = (name: PhantomRecipe['features'][number]): boolean => recipe.features.includes(name);
  const tall = target.high[2] - target.low[2];
  const middle = [0, 1, 2].map((axis) => 0.5 * (target.low[axis]! + target.high[axis]!)) as [
    number,
    number,
    number,
  ];
  // Beside the axis the same depth is a longer range.
  const rangeMm = Math.hypot(middle[0], recipe.layout === 'parallel_sweep' ? 0 : middle[1], middle[2]);
  const lowest = Math.max(target.high[2] + between(random, 22, 48), rangeMm + 0.5 * tall + 8);
  const rMaxMm = has('partly-outside-depth') ? rangeMm + tall * (0.5 - between(random, 0.15, 0.35)) : lowest;
  const half = radians(recipe.halfAngleDeg);
  const marginMm = 2;
  const topMm = faceRadiusMm * Math.cos(half) - marginMm;
  const mmX = (2 * (rMaxMm * Math.sin(half) + marginMm)) / recipe.widthPx;
  const stretch = has('non-square-pixels')
    ? random.next() < 0.5
      ? between(random, 0.68, 0.88)
      : between(random, 1.14, 1.4)
    : 1;
  const mmY = mmX * stretch;
  const aim: [number, number] = [
    degrees(Math.atan2(middle[1], middle[2])) + 2 * random.normal(),
    degrees(Math.atan2(middle[0], middle[2])) * 0.6 + 2 * random.normal(),
  ];
  const stated = positions(recipe, target, random).map((position, index) =>
    poseAt(recipe.layout, index, position, aim),
  );
  return {
    geometry: {
      layout: recipe.layout,
      mmPerPx: { x: mmX, y: mmY },
      apexPx: { x: (recipe.widthPx - 1) / 2, y: -topMm / mmY },
      sector: { halfAngleDeg: recipe.halfAngleDeg, rMinMm: faceRadiusMm, rMaxMm },
      planes: stated,
    },
    truePoses: has('pose-error') ? stated.map((pose) => jittered(pose, recipe.layout, random)) : stated,
  };
}

/** Height of the picture that holds the whole sector. */
export function pictureHeightPx(geometry: PlaneSetGeometry): number {
  return Math.ceil(geometry.apexPx.y + (geometry.sector.rMaxMm + 2) / geometry.mmPerPx.y);
}

/** Where a point lies about what the planes sweep. */
export type Swept = 'inside' | 'beside' | 'below' | 'beyond';

/**
 * Where a point lies about what a set sweeps: for a fan the cone, for sweeps the wedge or slab from the first plane to the
 * last, for two planes the points whose projections lie in both sectors. Outside it lies below the lower end, beyond the
 * first or the last plane, or beside the sectors.
 */
export function sweptBy(geometry: PlaneSetGeometry): (x: number, y: number, z: number) => Swept {
  const { halfAngleDeg, rMinMm, rMaxMm } = geometry.sector;
  const slope = Math.tan(radians(halfAngleDeg));
  const inSector = (s: number, d: number): Swept => {
    const rSquared = s * s + d * d;
    if (rSquared > rMaxMm * rMaxMm) return 'below';
    return d > 0 && Math.abs(s) <= slope * d && rSquared >= rMinMm * rMinMm ? 'inside' : 'beside';
  };
  const at = geometry.planes.map((plane) => plane.position);
  const from = Math.min(...at);
  const to = Math.max(...at);
  if (geometry.layout === 'rotational_fan') return (x, y, z) => inSector(Math.hypot(x, y), z);
  if (geometry.layout === 'tilt_sweep') {
    const low = radians(from);
    const high = radians(to);
    return (x, y, z) => {
      const angle = Math.atan2(y, z);
      return angle < low || angle > high ? 'beyond' : inSector(x, Math.hypot(y, z));
    };
  }
  if (geometry.layout === 'parallel_sweep')
    return (x, y, z) => (y < from || y > to ? 'beyond' : inSector(x, z));
  const along = (pose: PlanePose, x: number, y: number, z: number): Swept =>
    inSector(
      x * pose.lateral[0] + y * pose.lateral[1] + z * pose.lateral[2],
      x * pose.axial[0] + y * pose.axial[1] + z * pose.axial[2],
    );
  return (x, y, z) => {
    const each = geometry.planes.map((pose) => along(pose, x, y, z));
    return each.includes('below') ? 'below' : each.includes('beside') ? 'beside' : 'inside';
  };
}
