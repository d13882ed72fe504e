/**
 * The pelvis about the bladder: under the belly wall pubic bone, sacrum, prostate or
 * uterus, bowel, vessels, and whatever the recipe adds. All sizes and places are ours, after anatomy
 * (S-phantom-anatomy).
 *
 * Frame     x lateral, y towards the head, z depth from the apex of the beams; mm
 */
import type { RandomSource } from '@ebbline/core/quantity';
import { between } from './draw.ts';
import { bellyWallMm, layersOf, skinDepthOf, type BellyWall } from './belly-wall.ts';
import type { Box } from './field-volume.ts';
import {
  ellipsoid,
  grown,
  halfSpace,
  intersection,
  moved,
  remembering,
  roundedMax,
  tube,
  union,
  type Field,
} from './fields.ts';
import type { LumenShape } from './lumen.ts';
import type { PhantomFeature, PhantomRecipe } from './recipe.ts';
import { assembleScene, type Body, type Scene } from './scene.ts';
import type { TissueName } from './tissues.ts';

type Point = readonly [number, number, number];

/** The place of the bladder: under the belly wall, about the axis unless the recipe says otherwise. */
export function placeBladder(
  recipe: PhantomRecipe,
  box: Box,
  faceRadiusMm: number,
  wall: BellyWall,
  random: RandomSource,
): Point {
  const has = (name: PhantomFeature): boolean => recipe.features.includes(name);
  const gap = recipe.wallMm + between(random, 2, 9) + (has('gas-shadow') ? 13 : 0);
  const z = faceRadiusMm + bellyWallMm(wall) + gap - box.low[2];
  const halfWidth = 0.5 * (box.high[0] - box.low[0]);
  const halfLength = 0.5 * (box.high[1] - box.low[1]);
  let x = 3 * random.normal();
  let y = -3 + 4 * random.normal();
  const side = random.next() < 0.5 ? -1 : 1;
  if (has('off-centre')) {
    x = side * (8 + between(random, 0.35, 0.6) * halfWidth);
    y += between(random, -0.3, 0.3) * halfLength;
  }
  if (has('partly-outside-side')) {
    const edge = z * Math.tan((recipe.halfAngleDeg * Math.PI) / 180);
    // The side of the sector leans, so that the nearer part of the bladder is cut first.
    x = side * Math.max(0, edge - halfWidth * between(random, 0.1, 0.75));
  }
  return [x, y, z];
}

const ball = (field: Field, tissue: TissueName, centre: Point, radiusMm: number): Body => ({
  field,
  tissue,
  within: { centre, radiusMm },
});

const oval = (tissue: TissueName, centre: Point, halfAxes: Point): Body =>
  ball(ellipsoid(centre, halfAxes), tissue, centre, Math.max(...halfAxes) * 1.02);

/** Everything at its place. */
export function buildScene(
  recipe: PhantomRecipe,
  lumen: LumenShape,
  centre: Point,
  faceRadiusMm: number,
  wall: BellyWall,
  random: RandomSource,
): Scene {
  const has = (name: PhantomFeature): boolean => recipe.features.includes(name);
  const empty = recipe.volumeMl <= 0;
  const inside = remembering(moved(lumen.field, centre));
  const low = lumen.box.low.map((value, axis) => value + centre[axis]!) as unknown as Point;
  const high = lumen.box.high.map((value, axis) => value + centre[axis]!) as unknown as Point;
  const middle: Point = [0.5 * (low[0] + high[0]), 0.5 * (low[1] + high[1]), 0.5 * (low[2] + high[2])];
  const reach = 0.5 * Math.hypot(high[0] - low[0], high[1] - low[1], high[2] - low[2]);
  const skinDepth = skinDepthOf(recipe, faceRadiusMm, bellyWallMm(wall), random);
  const underWall = faceRadiusMm + bellyWallMm(wall);

  const front: Body[] = [];
  const opaque: Body[] = [];
  let balloon: Field | undefined;
  if (!empty) {
    if (has('catheter-balloon')) {
      const radius = Math.min(between(random, 10, 13), 0.3 * (high[2] - low[2]));
      const at: Point = [
        centre[0] + lumen.outlet[0],
        centre[1] + lumen.outlet[1] * 0.6,
        centre[2] + lumen.outlet[2] * 0.6,
      ];
      const water = ellipsoid(at, [radius - 0.9, radius - 0.9, radius - 0.9]);
      const skin = intersection(ellipsoid(at, [radius, radius, radius]), inside, 0.5);
      balloon = skin;
      front.push(ball(intersection(water, grown(inside, 0.6), 0.5), 'fluid', at, radius));
      front.push(ball(skin, 'balloonSkin', at, radius + 1));
    }
    if (has('sediment')) {
      const level = high[2] - between(random, 0.16, 0.3) * (high[2] - low[2]);
      const lying: Field = (x, y, z) => Math.max(inside(x, y, z), level + 0.7 * Math.sin(x / 9 + y / 13) - z);
      front.push(ball(lying, 'sediment', middle, reach));
    }
    front.push(ball(inside, 'urine', middle, reach));
  }
  front.push(ball(grown(inside, recipe.wallMm), 'bladderWall', middle, reach + recipe.wallMm + 2));

  // Pubic bone: its upper edge, seen along the beams, hides the foot end or just misses it.
  const parallel = recipe.layout === 'parallel_sweep';
  const halfLength = 0.5 * (high[1] - low[1]);
  const hiddenFrom = has('pubic-shadow')
    ? middle[1] - halfLength * between(random, 0.05, 0.6)
    : low[1] - between(random, 8, 20);
  const pubisHalf: Point = [between(random, 24, 32), between(random, 9, 13), between(random, 13, 18)];
  const pubisZ = Math.min(underWall - wall.deepFatMm + pubisHalf[2] * 0.4, middle[2]);
  const pubisEdge = parallel ? hiddenFrom : (hiddenFrom / middle[2]) * pubisZ;
  opaque.push(oval('bone', [centre[0] * 0.3, pubisEdge - pubisHalf[1], pubisZ], pubisHalf));

  if (has('gas-shadow')) {
    const gapMiddle = underWall + 0.45 * Math.max(4, low[2] - underWall);
    const seen = parallel ? 1 : gapMiddle / middle[2];
    const side = random.next() < 0.5 ? -1 : 1;
    const overHead = random.next() < 0.6;
    const aimX = overHead ? middle[0] : middle[0] + side * 0.6 * (high[0] - middle[0]);
    const aimY = overHead ? middle[1] + halfLength * between(random, 0.35, 0.7) : middle[1];
    const size = between(random, 0.22, 0.4) * Math.max(halfLength, 12);
    opaque.push(
      oval('gas', [(aimX * gapMiddle) / middle[2], aimY * seen, gapMiddle], [size * 0.9, size * seen, 4.5]),
    );
  }
  if (!has('clear') && random.next() < 0.35) {
    // Gas in a loop at the head end, beside the bladder's own beams.
    const z = Math.max(underWall + 12, middle[2] + between(random, -14, 6));
    const beside = parallel ? high[1] : (high[1] / (low[2] + 0.3 * (high[2] - low[2]))) * z;
    opaque.push(
      oval(
        'gas',
        [middle[0] + between(random, -32, 32), beside + between(random, 9, 24), z],
        [between(random, 6, 11), 7, 4],
      ),
    );
  }
  front.push(...opaque);

  const layers = layersOf(wall, random);
  const back: Body[] = [];
  const sideMm = Math.max(between(random, 52, 64), Math.max(high[0], -low[0]) + recipe.wallMm + 4);

  if (lumen.indenting && !empty)
    back.push(
      ball(moved(lumen.indenting, centre), random.next() < 0.5 ? 'prostate' : 'uterus', middle, reach * 2),
    );
  else {
    const male = random.next() < 0.5;
    back.push(
      male
        ? oval(
            'prostate',
            [middle[0], low[1] - 6, middle[2] + 0.35 * (high[2] - middle[2]) + 8],
            [21, 15, 14],
          )
        : oval(
            'uterus',
            [middle[0] + 4 * random.normal(), middle[1] + 12, high[2] + recipe.wallMm + 17],
            [26, 33, 15],
          ),
    );
  }
  if (has('cyst-beside')) {
    const side = random.next() < 0.5 ? -1 : 1;
    const radius = between(random, 12, 26);
    // Two planes show only what lies along one of them.
    const spread = between(random, 0, 1.2);
    const bearing = recipe.layout === 'two_orthogonal_planes' ? (spread < 0.6 ? 0 : Math.PI / 2) : spread;
    const beside = empty ? 4 : 0.5 * (high[0] - low[0]);
    const above = empty ? 4 : high[1] - middle[1];
    const edge = (beside * above) / Math.hypot(above * Math.cos(bearing), beside * Math.sin(bearing));
    const away = edge + recipe.wallMm + radius + between(random, 1, 8);
    const at: Point = [
      middle[0] + side * away * Math.cos(bearing) + 3 * random.normal(),
      middle[1] + away * Math.sin(bearing) + 3 * random.normal(),
      Math.max(middle[2] + 6 * random.normal(), underWall + radius + 3),
    ];
    const half: Point = [radius, radius * between(random, 0.8, 1.1), radius * between(random, 0.8, 1)];
    back.push(oval('fluid', at, half));
    back.push(oval('bowelWall', at, [half[0] + 1.8, half[1] + 1.8, half[2] + 1.8]));
  }
  const loops = bowel(middle, high, underWall, recipe, random);
  if (has('free-fluid')) {
    back.push(...loops);
    const away = recipe.wallMm + between(random, 8, 20);
    // A pool at the head end and about the sides of the bladder, between the loops.
    const pool = intersection(
      union(grown(inside, away), ellipsoid([middle[0], high[1] + 18, middle[2] + 6], [48, 26, 20]), 14),
      halfSpace([0, -1, 0], -(middle[1] + halfLength * between(random, -0.1, 0.5))),
      6,
    );
    const below: Field = (x, y, z) => roundedMax(pool(x, y, z), underWall + 2 - z, 4);
    back.push({ field: below, tissue: 'fluid' });
  }
  const wideSide = has('vessel') ? (random.next() < 0.5 ? -1 : 1) : 0;
  for (const side of [-1, 1]) {
    const wide = side === wideSide;
    const radius = wide ? between(random, 7, 10) : between(random, 3.5, 5.5);
    const from: Point = [
      side * (wide ? Math.max(high[0], 20) + recipe.wallMm + radius + 3 : sideMm - radius - 1),
      0,
      middle[2] + between(random, 4, 18),
    ];
    const lean = between(random, -0.25, 0.25);
    const size = Math.hypot(1, lean, 0.3);
    back.push({ field: tube(from, [lean / size, 1 / size, -0.3 / size], radius), tissue: 'blood' });
  }
  if (!has('free-fluid')) back.push(...loops);

  const sacrumZ = high[2] + recipe.wallMm + between(random, 14, 34);
  const bend = between(random, 60, 110);
  const sacrum: Body = {
    field: (x, y, z) =>
      z < sacrumZ - 7
        ? sacrumZ - 6 - z
        : sacrumZ + (x * x) / bend + 5 * Math.sin(y / 31 + 0.6) + 1.2 * Math.sin(y / 5 + x / 9) - z,
    tissue: 'bone',
  };
  back.push(sacrum);
  back.push({
    field: (x, y, z) =>
      Math.abs(x) < sideMm - 6 ? sideMm - Math.abs(x) : sideMm + 5 * Math.sin(y / 24 + z / 37) - Math.abs(x),
    tissue: 'sideMuscle',
  });

  return assembleScene(front, layers, back, skinDepth, bellyWallMm(wall), opaque, balloon);
}

/** Loops of bowel at the head end, each a wall about its content. */
function bowel(
  middle: Point,
  high: Point,
  underWall: number,
  recipe: PhantomRecipe,
  random: RandomSource,
): Body[] {
  const bodies: Body[] = [];
  for (let loop = 0; loop < 4; loop += 1) {
    const radius = between(random, 8, 13);
    const at: Point = [
      middle[0] + between(random, -45, 45),
      high[1] + recipe.wallMm + radius + between(random, 0, 24),
      Math.max(underWall + radius + 2, middle[2] + between(random, -18, 22)),
    ];
    const half: Point = [radius * between(random, 1, 1.6), radius, radius * between(random, 0.7, 1)];
    bodies.push(oval('bowelContent', at, [half[0] - 2, half[1] - 2, half[2] - 2]));
    bodies.push(oval('bowelWall', at, half));
  }
  return bodies;
}
