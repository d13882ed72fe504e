// Proves     the truth of a phantom agrees with itself in every layout, the pictures obey the physics that they are made
//            from, and a seed gives the same bytes.
// Tolerance  stated at each; the sums over planes allow what the layout itself allows
import type { Layout } from '@ebbline/imaging';
import { describe, expect, it } from 'vitest';
import { echoesOfPlane, type PolarGrid } from './echoes.ts';
import {
  drawRecipe,
  mixShares,
  phantom,
  phantomFeatures,
  type Phantom,
  type PhantomFeature,
  type PhantomRecipe,
} from './index.ts';
import { arrange } from './phantom.ts';
import { isSweep } from './recipe.ts';
import { assembleScene } from './scene.ts';
import {
  areaOf,
  extentOf,
  isInside,
  mean,
  meanGrey,
  quantile,
  spotsOf,
  tiltMoment,
  turnMoment,
} from './testing/measure.ts';

const layouts: readonly Layout[] = [
  'rotational_fan',
  'tilt_sweep',
  'parallel_sweep',
  'two_orthogonal_planes',
];
const clearRecipe = (layout: Layout, planeCount: number): Partial<PhantomRecipe> => ({
  layout,
  planeCount: layout === 'two_orthogonal_planes' ? 2 : planeCount,
  volumeMl: 240,
  features: ['clear'],
  widthPx: 240,
});
const clearOf = (layout: Layout, planeCount: number): Phantom => phantom(11, clearRecipe(layout, planeCount));

describe('the truth of a phantom', () => {
  it.each(layouts)('sums over the outlines to its volume: %s', (layout) => {
    const { geometry, truth } = arrange(11, clearRecipe(layout, 14));
    const at = geometry.planes.map((plane) => plane.position);
    const step = Math.abs((at.at(-1)! - at[0]!) / (at.length - 1));
    const sum = (of: (outlines: Phantom['truth']['outlines'][number]) => number): number =>
      truth.outlines.reduce((whole, outlines) => whole + of(outlines), 0) / 1000;
    let volumeMl: number;
    let allowed = 0.01;
    if (layout === 'rotational_fan') volumeMl = sum(turnMoment) * (Math.PI / at.length);
    else if (layout === 'tilt_sweep') volumeMl = sum(tiltMoment) * ((step * Math.PI) / 180);
    else if (layout === 'parallel_sweep') volumeMl = sum(areaOf) * step;
    else {
      const transverse = extentOf(truth.outlines[0]!);
      const sagittal = extentOf(truth.outlines[1]!);
      volumeMl =
        ((Math.PI / 6) *
          (transverse.right - transverse.left) *
          (sagittal.right - sagittal.left) *
          (transverse.bottom - transverse.top)) /
        1000;
      // An egg that leans is no ellipsoid along the planes.
      allowed = 0.2;
    }
    expect(Math.abs(volumeMl / truth.volumeMl - 1)).toBeLessThan(allowed);
  });

  it('meets the volume asked for within 1 %', () => {
    for (const volumeMl of [4, 60, 900])
      expect(arrange(5, { volumeMl, features: ['irregular'] }).truth.volumeMl / volumeMl).toBeCloseTo(1, 2);
  });

  it('never has more in no shadow than in the picture, nor more in the picture than there is', () => {
    for (let seed = 0; seed < 25; seed += 1) {
      const { truth } = arrange(seed);
      expect(truth.unshadowedMl).toBeLessThanOrEqual(truth.inPictureMl);
      expect(truth.inPictureMl).toBeLessThanOrEqual(truth.volumeMl);
      expect(truth.balloonMl).toBeLessThan(Math.max(1, truth.volumeMl));
      expect(truth.volumeMl > 0).toBe(truth.bladderPresent);
    }
  });
});

describe('the pictures of a phantom', () => {
  it.each(layouts)('are darker inside the bladder than around it: %s', (layout) => {
    const one = clearOf(layout, 5);
    const plane = layout === 'rotational_fan' || layout === 'two_orthogonal_planes' ? 0 : 2;
    const outlines = one.truth.outlines[plane]!;
    const { left, right, top, bottom } = extentOf(outlines);
    const spots = spotsOf(one.set.geometry, one.set.planes[plane]!).filter(
      ({ s, d }) => s > left - 8 && s < right + 8 && d > top - 8 && d < bottom + 8,
    );
    const inside = spots.filter(({ s, d }) => isInside(outlines, s, d));
    const outside = spots.filter(({ s, d }) => !isInside(outlines, s, d));
    expect(meanGrey(inside)).toBeLessThan(0.4 * meanGrey(outside));
  });

  it('are brighter behind the fluid than beside it at the same depth', () => {
    for (const seed of [3, 4, 5]) {
      const one = phantom(seed, {
        layout: 'two_orthogonal_planes',
        features: ['clear'],
        volumeMl: 250,
        widthPx: 240,
      });
      const { left, right, bottom } = extentOf(one.truth.outlines[0]!);
      const band = spotsOf(one.set.geometry, one.set.planes[0]!).filter(
        ({ d }) => d > bottom + 8 && d < bottom + 18,
      );
      const middle = 0.5 * (left + right);
      const behind = band.filter(({ s }) => Math.abs(s - middle) < 0.25 * (right - left));
      const beside = band.filter(({ s }) => Math.abs(s - middle) > 0.75 * (right - left));
      expect(meanGrey(behind)).toBeGreaterThan(1.15 * meanGrey(beside));
    }
  });

  it('are black outside the sector', () => {
    const one = clearOf('rotational_fan', 2);
    const { geometry, planes } = one.set;
    const picture = planes[1]!;
    let brightest = 0;
    for (let row = 0; row < picture.height; row += 1)
      for (let column = 0; column < picture.width; column += 1) {
        const s = (column - geometry.apexPx.x) * geometry.mmPerPx.x;
        const d = (row - geometry.apexPx.y) * geometry.mmPerPx.y;
        const r = Math.hypot(s, d);
        const beyond =
          Math.abs((Math.atan2(s, d) * 180) / Math.PI) > geometry.sector.halfAngleDeg + 0.01 ||
          r < geometry.sector.rMinMm ||
          r > geometry.sector.rMaxMm;
        if (beyond) brightest = Math.max(brightest, picture.grey[row * picture.width + column]!);
      }
    expect(brightest).toBe(0);
  });

  it('share speckle with the next plane of a dense sweep, and hardly any with one far off', () => {
    const one = phantom(8, {
      layout: 'parallel_sweep',
      planeCount: 24,
      features: ['clear'],
      volumeMl: 12,
      probe: 'curved',
      widthPx: 300,
    });
    // Tissue beside the small bladder at middle depth, against its surroundings of one centimetre.
    const speckle = (plane: number): number[] => {
      const spots = spotsOf(one.set.geometry, one.set.planes[plane]!).filter(({ s, r }) => {
        const depth = r - one.set.geometry.sector.rMinMm;
        return Math.abs(s) > 20 && Math.abs(s) < 45 && depth > 55 && depth < 75;
      });
      const middle = meanGrey(spots);
      return spots.map((spot) => spot.grey - middle);
    };
    const correlation = (a: readonly number[], b: readonly number[]): number =>
      mean(a.map((value, index) => value * b[index]!)) /
      Math.sqrt(mean(a.map((value) => value * value)) * mean(b.map((value) => value * value)));
    const near = mean([5, 9, 13].map((plane) => correlation(speckle(plane), speckle(plane + 1))));
    const far = mean([5, 9, 13].map((plane) => correlation(speckle(plane), speckle(plane + 9))));
    expect(near).toBeGreaterThan(0.25);
    expect(near).toBeLessThan(0.95);
    expect(far).toBeLessThan(near - 0.15);
  });
});

describe('echoes of an even tissue', () => {
  const grid: PolarGrid = { beams: 60, samples: 300, halfAngleRad: 0.5, rMinMm: 50, stepMm: 0.35 };
  const scene = assembleScene([], [], [], () => 1e9, 0, [], undefined);
  const field = echoesOfPlane(
    { ...scene, tissues: scene.tissues.map((tissue) => ({ ...tissue, patchDb: 0, strandDb: 0 })) },
    { position: 0, originMm: [0, 0, 0], lateral: [1, 0, 0], axial: [0, 0, 1] },
    grid,
    {
      frequencyMHz: 3,
      slice: { focusMm: 100, spreadMm: 1.2, widening: 0.02 },
      surfaceDb: 0,
      dullBehindDb: 0,
    },
    { lossDb: new Float32Array(60), bendRad: new Float32Array(60) },
    1,
  );
  const power = (sample: number): number[] =>
    Array.from({ length: grid.beams }, (_, beam) => {
      const at = sample * grid.beams + beam;
      return field.real[at]! ** 2 + field.imaginary[at]! ** 2;
    });

  it('fall by the attenuation of the way there and back', () => {
    const levelAt = (from: number): number =>
      10 * Math.log10(mean(Array.from({ length: 60 }, (_, index) => mean(power(from + index)))));
    // 200 samples of 0.35 mm at 0.5 dB/cm/MHz, 3 MHz, both ways.
    expect(levelAt(20) - levelAt(220)).toBeGreaterThan(21 - 1);
    expect(levelAt(20) - levelAt(220)).toBeLessThan(21 + 1);
  });

  it('are speckle of many scatterers: the power spreads as far as its mean', () => {
    const loss = (sample: number): number => 10 ** ((sample * grid.stepMm * 0.3) / 10);
    const values = Array.from({ length: 250 }, (_, sample) =>
      power(sample).map((value) => value * loss(sample)),
    ).flat();
    const level = mean(values);
    const contrast = Math.sqrt(mean(values.map((value) => (value - level) ** 2))) / level;
    expect(contrast).toBeGreaterThan(0.93);
    expect(contrast).toBeLessThan(1.07);
  });
});

describe('a seed', () => {
  const bytesOf = (one: Phantom): string => {
    let hash = 2166136261;
    for (const plane of one.set.planes)
      for (const grey of plane.grey) hash = Math.imul(hash ^ grey, 16777619) >>> 0;
    return `${hash} ${JSON.stringify(one.truth)} ${JSON.stringify(one.set.geometry)}`;
  };

  it('gives the same bytes in every time zone', () => {
    const make = (): string =>
      bytesOf(phantom(21, { planeCount: 3, layout: 'rotational_fan', widthPx: 160 }));
    const zone = process.env['TZ'];
    const first = make();
    process.env['TZ'] = 'Pacific/Chatham';
    const second = make();
    if (zone === undefined) delete process.env['TZ'];
    else process.env['TZ'] = zone;
    expect(second).toBe(first);
  });

  it('of another number gives another phantom', () => {
    const make = (seed: number): string =>
      bytesOf(phantom(seed, { planeCount: 2, layout: 'rotational_fan', widthPx: 60 }));
    expect(make(1)).not.toBe(make(2));
  });

  it('draws a mix with the shares that are stated', () => {
    const count = 4000;
    const recipes = Array.from({ length: count }, (_, seed) => drawRecipe(seed));
    const share = (which: (recipe: (typeof recipes)[number]) => boolean): number =>
      recipes.filter(which).length / count;
    for (const layout of layouts)
      expect(share((recipe) => recipe.layout === layout)).toBeCloseTo(mixShares.layout[layout], 1);
    expect(share((recipe) => recipe.volumeMl === 0)).toBeCloseTo(mixShares.empty, 1);
    const volumes = recipes
      .filter((recipe) => recipe.volumeMl > 0)
      .map((recipe) => Math.log(recipe.volumeMl));
    // Log-uniform from 3 to 1000: its quartiles, a little raised by difficulties that need some urine.
    const at = (part: number): number => Math.log(3) + part * Math.log(1000 / 3);
    for (const part of [0.25, 0.5, 0.75])
      expect(Math.abs(quantile(volumes, part) - at(part))).toBeLessThan(0.35);
    const besides = Object.entries(mixShares.beside) as [PhantomFeature, number][];
    for (const [name, wanted] of besides) {
      const met = recipes.filter((recipe) => name !== 'partly-outside-sweep' || isSweep(recipe.layout));
      const found = met.filter((recipe) => recipe.features.includes(name)).length / met.length;
      // The clear ones have none of them.
      expect(Math.abs(found - wanted * (1 - mixShares.clear))).toBeLessThan(0.03);
    }
    for (const name of phantomFeatures.filter((one) => !['near-empty', 'small', 'large'].includes(one)))
      expect(recipes.some((recipe) => recipe.features.includes(name))).toBe(true);
  });
});
