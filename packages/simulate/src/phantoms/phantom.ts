/**
 * A simulated set of ultrasound planes of a pelvis with exactly known bladder volume. Same seed and recipe, same bytes.
 * Nothing here is evidence about real people, and a good score on it says nothing about clinical accuracy.
 */
import { seededRandom, type RandomSource } from '@ebbline/core/quantity';
import type { PlaneSet, PlaneSetGeometry } from '@ebbline/imaging';
import { buildScene, drawBellyWall, placeBladder, type Scene } from './anatomy.ts';
import { receive, type ReceiverSettings } from './beams.ts';
import { greyPicture, pixelMap, type DisplaySettings } from './display.ts';
import { echoesOfPlane, type BeamSettings, type PolarGrid } from './echoes.ts';
import type { Box } from './field-volume.ts';
import { moved } from './fields.ts';
import { drawFaceRadius, planLayout } from './layout.ts';
import { drawLumen } from './lumen.ts';
import { planeOutlines, type Outline } from './outlines.ts';
import { drawRecipe, type PhantomFeature, type PhantomRecipe } from './recipe.ts';
import { namedFeatures, trueVolumes, type PhantomTruth } from './truth.ts';

export interface Phantom {
  readonly set: PlaneSet;
  readonly truth: PhantomTruth;
  readonly recipe: PhantomRecipe;
}

/** Size of the place of an empty bladder, mL. */
const collapsedMl = 6;

const between = (random: RandomSource, low: number, high: number): number =>
  low + (high - low) * random.next();

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
  const drawn = drawRecipe(seed, recipe);
  const random = (stream: number): RandomSource =>
    seededRandom(Math.imul(seed + 1, 0x85ebca6b) ^ Math.imul(stream, 0xc2b2ae35));
  const present = drawn.volumeMl > 0;
  const face = drawFaceRadius(drawn, random(1));
  const wall = drawBellyWall(drawn, random(2));
  const shape = drawLumen(drawn.features, present ? drawn.volumeMl : collapsedMl, random(3));
  const centre = placeBladder(drawn, shape.box, face, wall, random(4));
  const lumen = moved(shape.field, centre);
  const shift = (corner: Box['low']): Box['low'] => [
    corner[0] + centre[0],
    corner[1] + centre[1],
    corner[2] + centre[2],
  ];
  const box: Box = { low: shift(shape.box.low), high: shift(shape.box.high) };
  const plan = planLayout(drawn, face, box, random(5));
  const scene = buildScene(drawn, shape, centre, face, wall, random(6));
  const volumes = trueVolumes(lumen, box, scene, plan.geometry);
  const outlines = plan.truePoses.map((pose) => (present ? planeOutlines(lumen, box, pose) : []));
  const geometry =
    plan.geometry.layout === 'two_orthogonal_planes' && present
      ? { ...plan.geometry, ...operatorCalipers(outlines, plan.geometry, random(7)) }
      : plan.geometry;
  const nothing = { volumeMl: 0, inPictureMl: 0, unshadowedMl: 0, balloonMl: 0 };
  const { volumeMl, inPictureMl, unshadowedMl, balloonMl } = present ? volumes : nothing;
  return {
    set: { geometry, planes: pictures(drawn, scene, plan, random, onPlane) },
    truth: {
      bladderPresent: present,
      volumeMl,
      inPictureMl,
      unshadowedMl,
      balloonMl,
      outlines,
      features: namedFeatures(drawn.features, volumes, present),
    },
    recipe: drawn,
  };
}

/** The phantom of a place in the mix. */
export const phantomMix = (index: number): Phantom => phantom(index);

function pictures(
  recipe: PhantomRecipe,
  scene: Scene,
  plan: ReturnType<typeof planLayout>,
  random: (stream: number) => RandomSource,
  onPlane?: (share: number) => void,
): PlaneSet['planes'] {
  const { sector } = plan.geometry;
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
  const draw = random(10);
  const focusMm = between(draw, 55, 90);
  const weak = has('weak-far-wall');
  const beamSettings: BeamSettings = {
    frequencyMHz: recipe.frequencyMHz,
    sliceFocusMm: sector.rMinMm + focusMm,
    sliceSpreadMm: between(draw, 1, 1.6),
    sliceWidening: between(draw, 0.012, 0.025),
    surfaceDb: weak ? -9 - 4 * draw.next() : between(draw, -3, 2),
    dullBehindDb: weak ? 5 + 4 * draw.next() : between(draw, 0, 2),
  };
  const wallMm = scene.bellyWallMm;
  const haze = has('haze');
  const receiver: ReceiverSettings = {
    frequencyMHz: recipe.frequencyMHz,
    timeGainSlope: between(draw, 0.42, 0.5),
    mostTimeGainDb: 70,
    focusMm,
    apertureMm: recipe.probe === 'phased' ? between(draw, 13, 17) : between(draw, 16, 22),
    sideLobeDb: recipe.probe === 'phased' ? -47 : -52,
    gratingLobeDb: recipe.probe === 'phased' ? -44 : -99,
    noiseDb: between(draw, -84, -74),
    bounceDb: haze ? between(draw, -15, -9) : between(draw, -34, -25),
    clutterDb: haze ? between(draw, -18, -11) : between(draw, -42, -32),
    clutterLengthMm: haze ? between(draw, 9, 20) : between(draw, 5, 9),
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
  const map = pixelMap(plan.geometry, recipe.widthPx, grid);
  const scatterSeed = random(12).below(2 ** 31);
  const contact = contactLosses(has('poor-contact'), random(11));
  return plan.truePoses.map((pose, index) => {
    const loss = contact(grid.beams, random(100 + index));
    const field = echoesOfPlane(scene, pose, grid, beamSettings, loss, scatterSeed);
    receive(field, grid, receiver, loss, random(200 + index).below(2 ** 31));
    onPlane?.((index + 1) / plan.truePoses.length);
    return greyPicture(field, grid, map, display);
  });
}

/**
 * Loss of each beam at the face, dB: the belly wall is uneven everywhere; without gel a stretch of beams is nearly lost.
 */
function contactLosses(
  poor: boolean,
  random: RandomSource,
): (beams: number, plane: RandomSource) => Float32Array {
  const gaps = poor
    ? Array.from({ length: 1 + random.below(2) }, () => ({
        at: random.next() < 0.5 ? between(random, 0, 0.25) : between(random, 0.75, 1),
        half: between(random, 0.06, 0.15),
        lossDb: between(random, 18, 32),
      }))
    : [];
  return (beams, plane) => {
    const phases = [plane.next() * 6, plane.next() * 6, plane.next() * 6];
    const shift = 0.03 * plane.normal();
    return Float32Array.from({ length: beams }, (_, beam) => {
      const part = beam / (beams - 1);
      let loss =
        1.2 +
        0.5 * Math.sin(13 * part + phases[0]!) +
        0.4 * Math.sin(29 * part + phases[1]!) +
        0.4 * Math.sin(61 * part + phases[2]!);
      for (const gap of gaps) {
        const away = Math.abs(part - gap.at - shift) / gap.half;
        loss += gap.lossDb / (1 + Math.exp(9 * (away - 1)));
      }
      return loss;
    });
  };
}

/** Three diameters as an operator would set them: within the pictures, about 2 mm off. */
function operatorCalipers(
  outlines: readonly (readonly Outline[])[],
  geometry: PlaneSetGeometry,
  random: RandomSource,
): Pick<PlaneSetGeometry, 'calipersMm'> {
  const slope = Math.tan((geometry.sector.halfAngleDeg * Math.PI) / 180);
  const extent = (plane: number, axis: 0 | 1): number => {
    const seen = (outlines[plane] ?? [])
      .flat()
      .filter(([s, d]) => Math.abs(s) <= slope * d && Math.hypot(s, d) <= geometry.sector.rMaxMm)
      .map((point) => point[axis]);
    return seen.length === 0 ? 0 : Math.max(...seen) - Math.min(...seen);
  };
  const slip = (): number => 2 * random.normal();
  const across = extent(0, 0);
  const along = extent(1, 0);
  const deep = Math.max(extent(0, 1), extent(1, 1));
  if (Math.min(across, along, deep) < 4) return {};
  return {
    calipersMm: {
      width: Math.max(2, across + slip()),
      length: Math.max(2, along + slip()),
      depth: Math.max(2, deep + slip()),
    },
  };
}
