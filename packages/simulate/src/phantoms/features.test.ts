// Proves     each difficulty does what its name says: a figure that it moves, against the same seed without it.
// Tolerance  stated at each; all on simulated planes
import { describe, expect, it } from 'vitest';
import { phantomFeatures, type PhantomFeature, type PhantomRecipe } from './index.ts';
import { tissues } from './tissues.ts';
import { arrange, pictureMaker, type Arranged } from './phantom.ts';
import {
  areaOf,
  extentOf,
  isInside,
  mean,
  meanGrey,
  quantile,
  spotsOf,
  turning,
  type Spot,
} from './testing/measure.ts';

// No figure here depends on the clock: the runs for other time zones leave them out.
const long = process.env['EBBLINE_SHORT'] === undefined;

const widthPx = 200;
const usual: Partial<PhantomRecipe> = {
  layout: 'two_orthogonal_planes',
  volumeMl: 200,
  probe: 'tight-curved',
  frequencyMHz: 3.4,
  dynamicRangeDb: 60,
  wallMm: 3,
  widthPx,
};
const known = new Map<string, Arranged>();
/** A phantom without its pictures; asked for again, it is the same one. */
function made(
  seed: number,
  features: readonly PhantomFeature[],
  more: Partial<PhantomRecipe> = {},
): Arranged {
  const key = JSON.stringify([seed, features, more]);
  const found = known.get(key) ?? arrange(seed, { ...usual, features, ...more });
  known.set(key, found);
  return found;
}
const drawn = new Map<Arranged, Map<number, Spot[]>>();
/** Pixels of a plane, drawn once. */
function seen(one: Arranged, plane = 0): Spot[] {
  const planes = drawn.get(one) ?? new Map<number, Spot[]>();
  drawn.set(one, planes);
  const spots = planes.get(plane) ?? spotsOf(one.geometry, pictureMaker(one)(plane));
  planes.set(plane, spots);
  return spots;
}
const insideOf = (one: Arranged, plane: number): Spot[] =>
  seen(one, plane).filter(({ s, d }) => isInside(one.truth.outlines[plane]!, s, d));
/** Outline of the plane and the part of its width or height that is its middle. */
const across = (one: Arranged, plane = 0) => extentOf(one.truth.outlines[plane]!);
const proved = new Set<PhantomFeature>();
const feature = (name: PhantomFeature, sentence: string, prove: () => void): void => {
  proved.add(name);
  it(`${name}: ${sentence}`, prove);
};

describe.runIf(long)('a difficulty that is measured from the truth', () => {
  feature('clear', 'is all in view, in no shadow, and of a usual size', () => {
    const { truth } = made(2, ['clear']);
    expect(truth.features).toEqual(['clear']);
    expect(truth.unshadowedMl).toBeGreaterThan(0.97 * truth.volumeMl);
  });
  feature('near-empty', 'holds at most 15 mL', () => {
    const { truth } = arrange(3, { features: ['near-empty'] });
    expect(truth.volumeMl).toBeLessThanOrEqual(15);
    expect(truth.features).toContain('near-empty');
  });
  feature('small', 'holds above 15 and at most 60 mL', () => {
    const { truth } = arrange(3, { features: ['small'] });
    expect(truth.volumeMl).toBeGreaterThan(15);
    expect(truth.volumeMl).toBeLessThanOrEqual(60);
    expect(truth.features).toContain('small');
  });
  feature('large', 'holds 600 mL or more', () => {
    const { truth } = arrange(3, { features: ['large'] });
    expect(truth.volumeMl).toBeGreaterThanOrEqual(600);
    expect(truth.features).toContain('large');
  });
  feature(
    'partly-outside-side',
    'runs past the side of a sector, and that part is not in the picture',
    () => {
      const { truth, geometry } = made(4, ['partly-outside-side']);
      const past = truth.outlines[0]!.flat().filter(
        ([s, d]) => (Math.atan2(Math.abs(s), d) * 180) / Math.PI > geometry.sector.halfAngleDeg + 1,
      );
      expect(past.length).toBeGreaterThan(5);
      expect(truth.inPictureMl).toBeLessThan(0.95 * truth.volumeMl);
      expect(truth.inPictureMl).toBeGreaterThan(0.4 * truth.volumeMl);
    },
  );
  feature('partly-outside-sweep', 'is still cut by the first or the last plane', () => {
    for (const layout of ['tilt_sweep', 'parallel_sweep'] as const) {
      const { truth } = made(5, ['partly-outside-sweep'], { layout, planeCount: 9 });
      const ends = [truth.outlines[0]!, truth.outlines[8]!].map(areaOf);
      const most = Math.max(...truth.outlines.map(areaOf));
      expect(Math.max(...ends)).toBeGreaterThan(0.2 * most);
      expect(truth.inPictureMl).toBeLessThan(0.98 * truth.volumeMl);
    }
  });
  feature('partly-outside-depth', 'runs past the lower end of the picture', () => {
    const { truth, geometry } = made(6, ['partly-outside-depth']);
    const below = truth.outlines[0]!.flat().filter(([s, d]) => Math.hypot(s, d) > geometry.sector.rMaxMm + 2);
    expect(below.length).toBeGreaterThan(5);
    expect(truth.features).toContain('partly-outside-depth');
  });
  feature('pubic-shadow', 'darkens the foot end of the sagittal plane', () => {
    const [without, shaded] = [made(7, ['clear']), made(7, ['pubic-shadow'])];
    expect(shaded.truth.unshadowedMl).toBeLessThan(0.97 * shaded.truth.inPictureMl);
    const foot = (one: Arranged): number => {
      const { left, right, bottom } = across(one, 1);
      const edge = left + 0.25 * (right - left);
      return meanGrey(
        seen(one, 1).filter(({ s, d }) => s > left - 5 && s < edge && d > bottom - 15 && d < bottom + 10),
      );
    };
    expect(foot(shaded)).toBeLessThan(0.6 * foot(without));
  });
  feature('gas-shadow', 'hides a part, and rings on behind the gas more than bone does', () => {
    const shaded = made(8, ['gas-shadow'], { layout: 'rotational_fan', planeCount: 4 });
    expect(shaded.truth.unshadowedMl).toBeLessThan(0.98 * shaded.truth.inPictureMl);
    expect(shaded.truth.features).toContain('gas-shadow');
    // Right behind the body that hides, by the kind of body.
    const tail = (name: PhantomFeature): number => {
      const one = made(8, [name], { layout: 'rotational_fan', planeCount: 4 });
      const hiding = one.scene.opaque[name === 'gas-shadow' ? 1 : 0]!;
      return quantile(
        [0, 1, 2, 3].flatMap((plane) =>
          seen(one, plane)
            .filter(({ s, d }) => {
              const { lateral } = one.truePoses[plane]!;
              const at = (part: number): number =>
                hiding.field(part * s * lateral[0], part * s * lateral[1], part * d);
              // Outside the body now, within it some millimetres nearer to the probe.
              const back = 1 - 12 / Math.hypot(s, d);
              return at(1) > 2 && at(back) < 0;
            })
            .map((spot) => spot.grey),
        ),
        0.5,
      );
    };
    expect(tail('gas-shadow')).toBeGreaterThan(tail('pubic-shadow') + 15);
  });
});

describe.runIf(long)('a difficulty of the picture', () => {
  feature('haze', 'fills the front of the fluid and leaves its far part dark', () => {
    const part = (one: Arranged, from: number, to: number): number => {
      const { top, bottom } = across(one);
      return meanGrey(
        insideOf(one, 0).filter(({ d }) => d > top + from * (bottom - top) && d < top + to * (bottom - top)),
      );
    };
    const [without, hazy] = [made(9, ['clear']), made(9, ['haze'])];
    expect(part(hazy, 0.08, 0.3)).toBeGreaterThan(part(without, 0.08, 0.3) + 20);
    expect(part(hazy, 0.7, 0.9)).toBeLessThan(part(hazy, 0.08, 0.3) - 20);
  });
  feature('high-gain', 'is brighter by twenty grey levels and more', () => {
    expect(meanGrey(seen(made(9, ['high-gain'])))).toBeGreaterThan(meanGrey(seen(made(9, ['clear']))) + 20);
  });
  feature('low-gain', 'is darker by twenty grey levels and more', () => {
    expect(meanGrey(seen(made(9, ['low-gain'])))).toBeLessThan(meanGrey(seen(made(9, ['clear']))) - 20);
  });
  feature('weak-far-wall', 'has less of a bright line behind the fluid, and less enhancement', () => {
    const behind = (one: Arranged, from: number, to: number): number => {
      const { left, right, bottom } = across(one);
      const middle = 0.5 * (left + right);
      return meanGrey(
        seen(one).filter(
          ({ s, d }) => Math.abs(s - middle) < 0.15 * (right - left) && d > bottom + from && d < bottom + to,
        ),
      );
    };
    const [without, weak] = [made(9, ['clear']), made(9, ['weak-far-wall'])];
    expect(behind(weak, -1, 4)).toBeLessThan(behind(without, -1, 4) - 15);
    expect(behind(weak, 8, 16)).toBeLessThan(behind(without, 8, 16) - 10);
  });
  feature('poor-contact', 'loses a stretch of beams', () => {
    const dimmest = (one: Arranged): number => {
      const spots = seen(one).filter(({ r }) => r > one.geometry.sector.rMinMm + 25);
      const { halfAngleDeg } = one.geometry.sector;
      const strips = Array.from({ length: 12 }, (_, strip) => {
        const from = -halfAngleDeg + 1 + (strip * 2 * (halfAngleDeg - 1)) / 12;
        return meanGrey(spots.filter(({ angleDeg }) => angleDeg >= from && angleDeg < from + 8));
      });
      return Math.min(...strips) / quantile(strips, 0.5);
    };
    expect(dimmest(made(9, ['poor-contact']))).toBeLessThan(0.7 * dimmest(made(9, ['clear'])));
  });
  feature('depth-shift', 'shows the far wall deeper than it lies', () => {
    // Depth of the brightest row about the true lower end, along the middle of the bladder.
    const shown = (one: Arranged): number => {
      const { left, right } = across(one);
      const middle = 0.5 * (left + right);
      const outline = one.truth.outlines[0]!.flat();
      const offsets = new Map<number, number[]>();
      for (const { s, d, grey } of seen(one)) {
        if (Math.abs(s - middle) > 0.12 * (right - left)) continue;
        const wall = Math.max(...outline.filter(([t]) => Math.abs(t - s) < 2).map(([, depth]) => depth));
        const row = Math.round((d - wall) / 0.5);
        if (Math.abs(row) <= 16) offsets.set(row, [...(offsets.get(row) ?? []), grey]);
      }
      const profile = [...offsets].map(([row, greys]) => ({ at: row * 0.5, grey: mean(greys) }));
      const dark = mean(profile.filter(({ at }) => at < -5).map(({ grey }) => grey));
      const bright = Math.max(...profile.map(({ grey }) => grey));
      // First depth at which half of the rise is reached.
      return Math.min(...profile.filter(({ grey }) => grey > 0.5 * (dark + bright)).map(({ at }) => at));
    };
    const thin = mean([9, 15].map((seed) => shown(made(seed, ['clear'], { fatMm: 8 }))));
    const thick = mean([9, 15].map((seed) => shown(made(seed, ['depth-shift']))));
    expect(thick - thin).toBeGreaterThan(1);
    expect(thick - thin).toBeLessThan(6);
  });
  feature('deep', 'lies more than 45 mm below the skin', () => {
    const depth = (one: Arranged): number => across(one).top - one.geometry.sector.rMinMm;
    expect(depth(made(9, ['deep']))).toBeGreaterThan(45);
    expect(depth(made(9, ['clear']))).toBeLessThan(45);
  });
  feature('non-square-pixels', 'has pixels one tenth or more off the square', () => {
    const { x, y } = made(9, ['non-square-pixels']).geometry.mmPerPx;
    expect(Math.abs(y / x - 1)).toBeGreaterThan(0.1);
    const square = made(9, ['clear']).geometry.mmPerPx;
    expect(square.y).toBe(square.x);
  });
});

describe.runIf(long)('a difficulty of the view', () => {
  feature('off-centre', 'lies beside the axis', () => {
    const aside = (one: Arranged): number => Math.abs(0.5 * (across(one).left + across(one).right));
    for (const seed of [9, 20]) {
      expect(aside(made(seed, ['off-centre']))).toBeGreaterThan(14);
      expect(aside(made(seed, ['clear']))).toBeLessThan(12);
    }
  });
  feature('pose-error', 'was not where the geometry says, by a millimetre or so', () => {
    const [without, moved] = [made(9, ['clear']), made(9, ['pose-error'])];
    expect(moved.geometry.planes).toEqual(without.geometry.planes);
    const gap =
      Math.abs(across(moved).left - across(without).left) +
      Math.abs(across(moved).bottom - across(without).bottom);
    expect(gap).toBeGreaterThan(0.3);
    expect(gap).toBeLessThan(12);
  });
  feature('uneven-steps', 'has steps of different size, all of them stated', () => {
    const unevenness = (features: PhantomFeature[]): number => {
      const { geometry, truePoses } = made(23, features, { layout: 'parallel_sweep', planeCount: 10 });
      expect(truePoses).toEqual(geometry.planes);
      const steps = geometry.planes
        .slice(1)
        .map((plane, index) => plane.position - geometry.planes[index]!.position);
      expect(Math.min(...steps)).toBeGreaterThan(0);
      return Math.sqrt(mean(steps.map((step) => (step / mean(steps) - 1) ** 2)));
    };
    expect(unevenness(['uneven-steps'])).toBeGreaterThan(0.15);
    expect(unevenness(['clear'])).toBeLessThan(1e-9);
  });
});

describe.runIf(long)('a difficulty of the shape', () => {
  const wave = (one: Arranged): number =>
    Math.max(...one.truth.outlines.map((outlines) => Math.max(...outlines.map(turning))));
  const fan: Partial<PhantomRecipe> = { layout: 'rotational_fan', planeCount: 6 };

  feature('indented-base', 'has an outline that bends inwards', () => {
    for (const seed of [24, 25]) {
      expect(wave(made(seed, ['indented-base'], fan))).toBeGreaterThan(1.08);
      expect(wave(made(seed, ['clear'], fan))).toBeLessThan(1.03);
    }
  });
  feature('diverticulum', 'has a pouch behind a neck', () => {
    for (const seed of [24, 25]) expect(wave(made(seed, ['diverticulum'], fan))).toBeGreaterThan(1.1);
  });
  feature('irregular', 'has an uneven outline on every plane', () => {
    const { truth } = made(24, ['irregular'], fan);
    for (const outlines of truth.outlines) expect(turning(outlines[0]!)).toBeGreaterThan(1.08);
  });
  feature('flattened', 'is less than two thirds as deep as wide', () => {
    const flatness = (features: PhantomFeature[], seed: number): number => {
      const { left, right, top, bottom } = across(made(seed, features));
      return (bottom - top) / (right - left);
    };
    for (const seed of [9, 28]) {
      expect(flatness(['flattened'], seed)).toBeLessThan(0.64);
      expect(flatness(['flattened'], seed)).toBeLessThan(0.85 * flatness(['clear'], seed));
    }
  });
  feature('triangular', 'fills much less of its box than an ellipse in the transverse plane', () => {
    const filled = (features: PhantomFeature[]): number => {
      const one = made(9, features);
      const { left, right, top, bottom } = across(one);
      return areaOf(one.truth.outlines[0]!) / ((right - left) * (bottom - top));
    };
    expect(filled(['triangular'])).toBeLessThan(0.72);
    expect(filled(['clear'])).toBeGreaterThan(0.74);
  });
});

describe.runIf(long)('a difficulty of what lies in or by the bladder', () => {
  feature('catheter-balloon', 'is counted in, and shows as a bright ring in the urine', () => {
    const one = made(9, ['catheter-balloon']);
    expect(one.truth.balloonMl).toBeGreaterThan(2);
    expect(one.truth.balloonMl).toBeLessThan(12);
    const bright = (which: Arranged): number =>
      quantile(
        insideOf(which, 1)
          .filter(
            ({ d }) => d > across(which, 1).top + 0.35 * (across(which, 1).bottom - across(which, 1).top),
          )
          .map((spot) => spot.grey),
        0.97,
      );
    expect(bright(one)).toBeGreaterThan(bright(made(9, ['clear'])) + 40);
  });
  feature('sediment', 'lies lowest in the urine and is brighter than it', () => {
    const contrast = (one: Arranged): number => {
      const { top, bottom } = across(one);
      const at = (share: number): number => top + share * (bottom - top);
      const inside = insideOf(one, 0);
      return (
        meanGrey(inside.filter(({ d }) => d > at(0.9) && d < bottom - 3)) -
        meanGrey(inside.filter(({ d }) => d > at(0.55) && d < at(0.68)))
      );
    };
    expect(contrast(made(9, ['sediment']))).toBeGreaterThan(contrast(made(9, ['clear'])) + 25);
  });
  /** Area of a fluid other than urine on the planes, mm², and its grey about that of pelvic tissue. */
  const fluidOf = (seed: number, features: PhantomFeature[], kind: 'fluid' | 'blood') => {
    const one = made(seed, features, { volumeMl: 120 });
    const found: number[] = [];
    const around: number[] = [];
    for (const plane of [0, 1]) {
      const { originMm, lateral, axial } = one.truePoses[plane]!;
      const at = (axis: 0 | 1 | 2, s: number, d: number): number =>
        originMm[axis] + s * lateral[axis] + d * axial[axis];
      for (const { s, d, grey } of seen(one, plane)) {
        const tissue = one.scene.tissues[one.scene.at(at(0, s, d), at(1, s, d), at(2, s, d))];
        if (tissue === tissues[kind]) found.push(grey);
        if (tissue === tissues.pelvic) around.push(grey);
      }
    }
    return {
      areaMm2: found.length * one.geometry.mmPerPx.x * one.geometry.mmPerPx.y,
      grey: found.length === 0 ? 1 : quantile(found, 0.5) / quantile(around, 0.5),
    };
  };
  feature('cyst-beside', 'adds a dark region outside the bladder', () => {
    const cyst = fluidOf(33, ['cyst-beside'], 'fluid');
    expect(cyst.areaMm2).toBeGreaterThan(150);
    expect(cyst.grey).toBeLessThan(0.4);
    expect(fluidOf(33, ['clear'], 'fluid').areaMm2).toBe(0);
  });
  feature('free-fluid', 'adds a wide dark region outside the bladder', () => {
    const pool = fluidOf(34, ['free-fluid'], 'fluid');
    expect(pool.areaMm2).toBeGreaterThan(300);
    expect(pool.grey).toBeLessThan(0.4);
  });
  feature('vessel', 'adds a small dark region outside the bladder', () => {
    const wide = fluidOf(35, ['vessel'], 'blood');
    expect(wide.areaMm2).toBeGreaterThan(fluidOf(35, ['clear'], 'blood').areaMm2 + 50);
    expect(wide.grey).toBeLessThan(0.6);
  });
  feature('empty', 'holds nothing, has no outline, and shows no dark lumen', () => {
    const one = arrange(36, { ...usual, volumeMl: 400, features: ['empty'] });
    expect(one.truth).toMatchObject({
      bladderPresent: false,
      volumeMl: 0,
      inPictureMl: 0,
      unshadowedMl: 0,
      features: ['empty'],
    });
    expect(one.truth.outlines.flat()).toEqual([]);
    const middle = seen(one).filter(({ s, r }) => Math.abs(s) < 20 && r > one.geometry.sector.rMinMm + 15);
    const dark = middle.filter((spot) => spot.grey < 0.2 * meanGrey(middle)).length / middle.length;
    expect(dark).toBeLessThan(0.15);
  });
});

it.runIf(long)('every difficulty has its figure', () => {
  expect(phantomFeatures.filter((name) => !proved.has(name))).toEqual([]);
});
