/**
 * A simulated set of ultrasound planes of a pelvis with exactly known bladder volume. Same seed and recipe, same bytes.
 * Nothing here is evidence about real people, and a good score on it says nothing about clinical accuracy.
 */
import { seededRandom, type RandomSource } from '@ebbline/core/quantity';
import type { GreyPlane, PlanePose, PlaneSet, PlaneSetGeometry } from '@ebbline/imaging';
import { between } from './draw.ts';
import { buildScene, placeBladder } from './anatomy.ts';
import { drawBellyWall } from './belly-wall.ts';
import type { Scene } from './scene.ts';
import { receive, type ReceiverSettings } from './beams.ts';
import { greyPicture, pixelMap, type DisplaySettings } from './display.ts';
import { echoesOfPlane, type BeamSettings, type PolarGrid } from './echoes.ts';
import type { Box } from './field-volume.ts';
import { moved } from './fields.ts';
import { faceStates } from './face.ts';
import { operatorCalipers } from './calipers.ts';
import { drawFaceRadius, planLayout } from './layout.ts';
import { drawLumen } from './lumen.ts';
import { planeOutlines } from './outlines.ts';
import { drawRecipe, type PhantomFeature, type PhantomRecipe } from './recipe.ts';
import { namedFeatures, trueVolumes, type PhantomTruth, type TrueVolumes } from './truth.ts';

export interface Phantom {
  readonly set: PlaneSet;
  readonly truth: PhantomTruth;
  readonly recipe: PhantomRecipe;
}

/** Size of the place of an empty bladder, mL. */
const collapsedMl = 6;

const noVolumes: TrueVolumes = {
  volumeMl: 0,
  inPictureMl: 0,
  unshadowedMl: 0,
  balloonMl: 0,
  behindBoneMl: 0,
  behindGasMl: 0,
  belowPictureMl: 0,
  beyondSweepMl: 0,
};

/** A phantom before its pictures are made. */
export interface Arranged {
  readonly recipe: PhantomRecipe;
  readonly truth: PhantomTruth;
  readonly geometry: PlaneSetGeometry;
  /** Where the planes really were. */
  readonly truePoses: readonly PlanePose[];
  readonly scene: Scene;
  /** Streams of chance by number, each its own, so that a new draw in one moves no other. */
  readonly stream: (number: number) => RandomSource;
}

/** Draws a phantom and works out its truth. */
export function arrange(seed: number, fixed: Partial<PhantomRecipe> = {}): Arranged {
  const recipe = drawRecipe(seed, fixed);
  const stream = (number: number): RandomSource =>
    seededRandom(Math.imul(seed + 1, 0x85ebca6b) ^ Math.imul(number, 0xc2b2ae35));
  const present = recipe.volumeMl > 0;
  const face = drawFaceRadius(recipe, stream(1));
  const wall = drawBellyWall(recipe, stream(2));
  const shape = drawLumen(recipe.features, present ? recipe.volumeMl : collapsedMl, stream(3));
  const centre = placeBladder(recipe, shape.box, face, wall, stream(4));
  const lumen = moved(shape.field, centre);
  const shift = (corner: Box['low']): Box['low'] => [
    corner[0] + centre[0],
    corner[1] + centre[1],
    corner[2] + centre[2],
  ];
  const box: Box = { low: shift(shape.box.low), high: shift(shape.box.high) };
  const plan = planLayout(recipe, face, box, stream(5));
  const scene = buildScene(recipe, shape, centre, face, wall, stream(6));
  const outlines = plan.truePoses.map((pose) => (present ? planeOutlines(lumen, box, pose) : []));
  const volumes = present ? trueVolumes(lumen, box, scene, plan.geometry) : noVolumes;
  const { volumeMl, inPictureMl, unshadowedMl, balloonMl } = volumes;
  return {
    recipe,
    truth: {
      bladderPresent: present,
      volumeMl,
      inPictureMl,
      unshadowedMl,
      balloonMl,
      outlines,
      features: namedFeatures(recipe.features, volumes, present),
    },
    geometry:
      recipe.layout === 'two_orthogonal_planes' && present
        ? { ...plan.geometry, ...operatorCalipers(outlines, plan.geometry, stream(7)) }
        : plan.geometry,
    truePoses: plan.truePoses,
    scene,
    stream,
  };
}

/**
 * One phantom.
 *
 * Domain    seed: an integer; `recipe` fixes what it names, the rest is drawn from the seed; `onPlane` hears the share done
 * @example  phantom(7, { features: ['haze'], volumeMl: 250, layout: 'rotational_fan' }).truth.volumeMl
 */
export function phantom(
  seed: number,
  recipe: Partial<PhantomRecipe> = {},
  onPlane?: (share: number) => void,
): Phantom {
  const arranged = arrange(seed, recipe);
  const draw = pictureMaker(arranged);
  return {
    set: {
      geometry: arranged.geometry,
      planes: arranged.truePoses.map((_, index, all) => {
        const plane = draw(index);
        onPlane?.((index + 1) / all.length);
        return plane;
      }),
    },
    truth: arranged.truth,
    recipe: arranged.recipe,
  };
}

/** The phantom of a place in the mix. */
export const phantomMix = (index: number): Phantom => phantom(index);

/** Makes the picture of any plane of a phantom, the same whichever others are made. */
export function pictureMaker(arranged: Arranged): (plane: number) => GreyPlane {
  const { recipe, scene, geometry, stream } = arranged;
  const { sector } = geometry;
  const has = (name: PhantomFeature): boolean => recipe.features.includes(name);
  const halfAngleRad = (sector.halfAngleDeg * Math.PI) / 180;
  const stepMm = 0.35;
  const grid: PolarGrid = {
    beams: Math.round((2 * sector.halfAngleDeg) / (recipe.probe === 'curved' ? 0.45 : 0.58)),
    samples: Math.ceil((sector.rMaxMm - sector.rMinMm) / stepMm) + 2,
    halfAngleRad,
    rMinMm: sector.rMinMm,
    stepMm,
  };
  const draw = stream(10);
  const focusMm = between(draw, 55, 90);
  const weak = has('weak-far-wall');
  const beamSettings: BeamSettings = {
    frequencyMHz: recipe.frequencyMHz,
    slice: {
      focusMm: sector.rMinMm + focusMm,
      spreadMm: between(draw, 1, 1.6),
      widening: between(draw, 0.012, 0.025),
    },
    surfaceDb: weak ? -9 - 4 * draw.next() : between(draw, -3, 2),
    dullBehindDb: weak ? 8 + 4 * draw.next() : between(draw, 0, 2),
  };
  const wallMm = scene.bellyWallMm;
  const haze = has('haze');
  const receiver: ReceiverSettings = {
    frequencyMHz: recipe.frequencyMHz,
    timeGainSlope: between(draw, 0.42, 0.5),
    mostTimeGainDb: 70,
    focusMm,
    apertureMm: recipe.probe === 'phased' ? between(draw, 13, 17) : between(draw, 16, 22),
    sideLobeDb: between(draw, -54, -46) + (recipe.probe === 'phased' ? 4 : 0),
    gratingLobeDb: recipe.probe === 'phased' ? -50 : -99,
    noiseDb: between(draw, -84, -74),
    bounceDb: haze ? between(draw, -20, -11) : between(draw, -34, -25),
    clutterDb: haze ? between(draw, -14, -5) : between(draw, -40, -23),
    clutterLengthMm: haze ? between(draw, 9, 24) : between(draw, 6, 14),
    bellyWallMm: wallMm,
    bounceDelaysMm: [
      ...scene.layerDepthsMm.filter((depth) => depth > 4 && depth < 45).slice(-5),
      ...Array.from({ length: 4 }, () => between(draw, 4, 12 + 0.7 * wallMm)),
    ],
  };
  const display: DisplaySettings = {
    gainDb: recipe.gainDb,
    dynamicRangeDb: recipe.dynamicRangeDb,
    whiteDb: 0.52 * recipe.dynamicRangeDb,
    smoothing: draw.below(3),
  };
  const map = pixelMap(geometry, recipe.widthPx, grid);
  const scatterSeed = stream(12).below(2 ** 31);
  const faceOf = faceStates(has('poor-contact'), has('depth-shift') ? 0.7 : 0.12, stream(11));
  return (plane) => {
    const face = faceOf(grid.beams, stream(100 + plane));
    const field = echoesOfPlane(scene, arranged.truePoses[plane]!, grid, beamSettings, face, scatterSeed);
    receive(field, grid, receiver, face.lossDb, stream(200 + plane).below(2 ** 31));
    return greyPicture(field, grid, map, display);
  };
}
