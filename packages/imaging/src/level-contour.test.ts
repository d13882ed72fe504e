// Proves     contours of a field and what they enclose are those of closed forms and of another library, at holes, at
//            the border and at saddles too, and that the moments without polylines are the moments of the polylines.
// Peer       d3-contour puts pixel centres at + 0.5 and closes what touches the border half a pixel outside it
// Tolerance  fields that are straight along every edge 1e-12; round ones by the chord's sagitta; peer and polylines 1e-9
import { contours as peerContours } from 'd3-contour';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import { absoluteMomentMm3, polygonAreaMm2 } from '@ebbline/core/geometry';
import { levelContours, levelMoments, type LevelContour, type ScalarField } from './index.ts';

const fieldOf = (
  width: number,
  height: number,
  value: (x: number, y: number) => number,
  Kind: typeof Float64Array | typeof Float32Array = Float64Array,
): ScalarField => {
  const field = new Kind(width * height);
  for (let y = 0; y < height; y += 1) for (let x = 0; x < width; x += 1) field[y * width + x] = value(x, y);
  return field;
};
const near = (found: number, known: number, share: number): void =>
  expect(Math.abs(found - known), `${found} beside ${known}`).toBeLessThanOrEqual(
    share * Math.max(1, Math.abs(known)),
  );

/** Σ (x0·y1 − x1·y0)/2: above the level when positive, a hole when negative. */
const signedArea = (points: ArrayLike<number>): number => {
  let twice = 0;
  for (let at = 0, before = points.length - 2; at < points.length; before = at, at += 2)
    twice += points[before]! * points[at + 1]! - points[at]! * points[before + 1]!;
  return twice / 2;
};

/** Some round hills and hollows, with grain, below the level along the border. */
function hills(seed: number, width: number, height: number, grain: number): ScalarField {
  const random = seededRandom(seed);
  const bumps = Array.from({ length: 9 }, () => ({
    x: random.next() * width,
    y: random.next() * height,
    spread: 3 + 9 * random.next(),
    tall: 3 * random.next() - 1,
  }));
  return fieldOf(width, height, (x, y) => {
    const sum = bumps.reduce(
      (total, one) => total + one.tall * Math.exp(-((x - one.x) ** 2 + (y - one.y) ** 2) / one.spread ** 2),
      grain * (random.next() - 0.5),
    );
    return x === 0 || y === 0 || x === width - 1 || y === height - 1 ? -1 - random.next() : sum;
  });
}

const peerRings = (
  field: ScalarField,
  width: number,
  height: number,
  level: number,
): { points: Float64Array; hole: boolean }[] =>
  peerContours()
    .size([width, height])
    .contour(field, level)
    .coordinates.flatMap((rings) =>
      rings.map((ring, index) => ({
        points: Float64Array.from(ring.slice(1).flatMap(([x, y]) => [x - 0.5, y - 0.5])),
        hole: index > 0,
      })),
    );
const sortedPoints = (all: readonly ArrayLike<number>[]): (readonly [number, number])[] =>
  all
    .flatMap((points) =>
      Array.from({ length: points.length / 2 }, (_, at) => [points[2 * at]!, points[2 * at + 1]!] as const),
    )
    .toSorted((a, b) => Math.round((a[0] - b[0]) * 1e8) || a[1] - b[1]);
const furthest = (
  own: readonly (readonly [number, number])[],
  peer: readonly (readonly [number, number])[],
): number => Math.max(...own.map(([x, y], index) => Math.hypot(x - peer[index]![0], y - peer[index]![1])));
const contoursOf = (...given: Parameters<typeof levelContours>): readonly LevelContour[] =>
  orThrow(levelContours(...given)).contours;
const momentsOf = (...given: Parameters<typeof levelMoments>) => orThrow(levelMoments(...given));

describe('contour of a field at a level', () => {
  it('of a disc is one closed way with the area and moments of the disc', () => {
    const field = fieldOf(180, 160, (x, y) => 60 - Math.hypot(x - 91.3, y - 77.8));
    const contours = contoursOf(field, 180, 160, 0);
    expect(contours.map((one) => one.closed)).toEqual([true]);
    expect(signedArea(contours[0]!.points)).toBeGreaterThan(0);
    const found = momentsOf(field, 180, 160, 0, 91.3);
    near(found.areaPx2, Math.PI * 3600, 2e-4);
    near(found.momentXPx3, Math.PI * 3600 * 91.3, 2e-4);
    near(found.momentYPx3, Math.PI * 3600 * 77.8, 2e-4);
    near(found.absoluteMomentPx3, (4 / 3) * 60 ** 3, 2e-4);
  });
  it('of an ellipse aside of the column has the moment of its area at its centre', () => {
    const field = fieldOf(200, 120, (x, y) => 1 - Math.hypot((x - 120) / 60, (y - 58.5) / 41));
    const area = Math.PI * 60 * 41;
    near(momentsOf(field, 200, 120, 0).areaPx2, area, 3e-4);
    near(momentsOf(field, 200, 120, 0, -20).absoluteMomentPx3, area * 140, 3e-4);
    near(momentsOf(field, 200, 120, 0, 260).absoluteMomentPx3, area * 140, 3e-4);
  });
  it('takes the hole of a ring off, and turns the other way round it', () => {
    const ring = (x: number, y: number): number => {
      const radius = Math.hypot(x - 80, y - 81);
      return Math.min(62 - radius, radius - 31);
    };
    const field = fieldOf(165, 165, ring);
    const areas = contoursOf(field, 165, 165, 0)
      .map((one) => signedArea(one.points))
      .toSorted((a, b) => a - b);
    expect(areas.length).toBe(2);
    near(areas[0]!, -Math.PI * 31 ** 2, 5e-4);
    near(areas[1]!, Math.PI * 62 ** 2, 5e-4);
    near(momentsOf(field, 165, 165, 0).areaPx2, Math.PI * (62 ** 2 - 31 ** 2), 5e-4);
  });
  it('of a square on its tip is exact, in single precision too', () => {
    for (const Kind of [Float64Array, Float32Array] as const) {
      const field = fieldOf(40, 40, (x, y) => 12.25 - Math.abs(x - 20) - Math.abs(y - 19), Kind);
      const found = momentsOf(field, 40, 40, 0, 20);
      near(found.areaPx2, 2 * 12.25 ** 2, 1e-12);
      near(found.absoluteMomentPx3, (2 / 3) * 12.25 ** 3, 1e-12);
    }
  });
  it('that runs into the border is open, and ends the area at the border', () => {
    // Above where x + 2 y < 30: a triangle at the corner 0, 0.
    const field = fieldOf(50, 40, (x, y) => 30.5 - x - 2 * y);
    const [contour, ...others] = contoursOf(field, 50, 40, 0);
    expect(others).toEqual([]);
    expect(contour?.closed).toBe(false);
    const points = contour!.points;
    expect([...points.slice(0, 2), ...points.slice(-2)]).toEqual([30.5, 0, 0, 15.25]);
    const found = momentsOf(field, 50, 40, 0, 0);
    near(found.areaPx2, (30.5 * 15.25) / 2, 1e-12);
    near(found.momentXPx3, (30.5 ** 2 * 15.25) / 6, 1e-12);
    near(found.momentYPx3, (30.5 * 15.25 ** 2) / 6, 1e-12);
    near(found.absoluteMomentPx3, found.momentXPx3, 1e-12);
    // The same at the lower right corner, about a column right of it.
    const turned = momentsOf(
      fieldOf(50, 40, (x, y) => 30.5 - (49 - x) - 2 * (39 - y)),
      50,
      40,
      0,
      49,
    );
    near(turned.areaPx2, found.areaPx2, 1e-12);
    near(turned.absoluteMomentPx3, found.momentXPx3, 1e-12);
    near(turned.momentYPx3, found.areaPx2 * 39 - found.momentYPx3, 1e-12);
  });
  it('of a field all above is no way at all, and the area of the whole field', () => {
    const field = fieldOf(30, 20, () => 1);
    expect(contoursOf(field, 30, 20, 0)).toEqual([]);
    const found = momentsOf(field, 30, 20, 0, 10);
    near(found.areaPx2, 29 * 19, 1e-12);
    near(found.momentYPx3, (29 * 19 ** 2) / 2, 1e-12);
    near(found.absoluteMomentPx3, ((10 ** 2 + 19 ** 2) / 2) * 19, 1e-12);
    expect(momentsOf(field, 30, 20, 2).areaPx2).toBe(0);
  });
  it('parts the two corners above at a saddle', () => {
    const saddle = (sign: number): ScalarField =>
      fieldOf(4, 4, (x, y) => {
        const inside = x > 0 && y > 0 && x < 3 && y < 3;
        return inside && (x === y) === sign > 0 ? 1 : -1;
      });
    for (const sign of [1, -1]) {
      const contours = contoursOf(saddle(sign), 4, 4, 0);
      expect(contours.map((one) => [one.closed, one.points.length / 2])).toEqual([
        [true, 4],
        [true, 4],
      ]);
      near(momentsOf(saddle(sign), 4, 4, 0).areaPx2, 1, 1e-12);
    }
  });
  it('takes a value equal to the level as below, and leaves points that coincide out', () => {
    const hollow = fieldOf(5, 5, (x, y) => (x === 2 && y === 2 ? 0 : x % 4 === 0 || y % 4 === 0 ? -1 : 1));
    expect(contoursOf(hollow, 5, 5, 0).length).toBe(1);
    const peak = fieldOf(5, 5, (x, y) => (x === 2 && y === 2 ? 1 : 0));
    expect(contoursOf(peak, 5, 5, 0).map((one) => signedArea(one.points))).toEqual([2]);
  });
  it('with x and y exchanged has its moments exchanged, and what is not above is the rest of the field', () => {
    const field = fieldOf(90, 70, (x, y) => Math.sin(x / 9) + Math.cos(y / 7 + 0.4) + 0.01 * x - 0.3);
    const one = momentsOf(field, 90, 70, 0);
    const exchanged = momentsOf(
      fieldOf(70, 90, (x, y) => field[x * 90 + y]!),
      70,
      90,
      0,
    );
    near(exchanged.areaPx2, one.areaPx2, 1e-11);
    near(exchanged.momentXPx3, one.momentYPx3, 1e-11);
    near(exchanged.momentYPx3, one.momentXPx3, 1e-11);
    const rest = momentsOf(
      fieldOf(90, 70, (x, y) => -field[y * 90 + x]!),
      90,
      70,
      0,
      33,
    );
    near(one.areaPx2 + rest.areaPx2, 89 * 69, 1e-11);
    near(
      momentsOf(field, 90, 70, 0, 33).absoluteMomentPx3 + rest.absoluteMomentPx3,
      ((33 ** 2 + 56 ** 2) / 2) * 69,
      1e-11,
    );
  });
});

describe('beside d3-contour', () => {
  it('has the same points, areas and moments on hills with grain', () => {
    let saddles = 0;
    for (let seed = 1; seed <= 36; seed += 1) {
      const [width, height] = [40 + (seed % 23), 35 + (seed % 17)];
      const field = hills(seed, width, height, [0, 0.3, 2][seed % 3]!);
      const level = 0.05 + 0.01 * seed;
      const own = contoursOf(field, width, height, level);
      const peer = peerRings(field, width, height, level);
      expect(own.every((one) => one.closed)).toBe(true);
      expect(own.length).toBe(peer.length);
      const [ownPoints, peerPoints] = [own.map((one) => one.points), peer.map((one) => one.points)].map(
        sortedPoints,
      );
      expect(ownPoints!.length).toBe(peerPoints!.length);
      expect(furthest(ownPoints!, peerPoints!)).toBeLessThan(1e-9);
      const ownAreas = own.map((one) => signedArea(one.points)).toSorted((a, b) => a - b);
      const peerAreas = peer
        .map((one) => (one.hole ? -1 : 1) * polygonAreaMm2(one.points))
        .toSorted((a, b) => a - b);
      for (const [index, area] of ownAreas.entries()) near(area, peerAreas[index]!, 1e-9);
      const column = width / 2.3;
      const found = momentsOf(field, width, height, level, column);
      near(
        found.areaPx2,
        peerAreas.reduce((sum, area) => sum + area, 0),
        1e-9,
      );
      near(
        found.absoluteMomentPx3,
        peer.reduce(
          (sum, one) =>
            sum +
            (one.hole ? -1 : 1) *
              absoluteMomentMm3(one.points.map((at, k) => (k % 2 === 0 ? at - column : at))),
          0,
        ),
        1e-9,
      );
      expect(orThrow(levelContours(field, width, height, level, column)).moments).toEqual(found);
      for (let cell = 0; cell + width + 1 < field.length; cell += 1) {
        const [a, b, c, d] = [0, 1, width, width + 1].map((step) => field[cell + step]! > level);
        if (cell % width < width - 1 && a === d && b === c && a !== b) saddles += 1;
      }
    }
    // Else the rule at saddles was not compared.
    expect(saddles).toBeGreaterThan(1000);
  });
  it('has the same points inside where regions touch the border', () => {
    for (let seed = 1; seed <= 20; seed += 1) {
      const random = seededRandom(seed);
      const field = fieldOf(31, 24, () => random.next());
      const own = contoursOf(field, 31, 24, 0.6);
      expect(own.some((one) => !one.closed)).toBe(true);
      const inside = (points: readonly (readonly [number, number])[]) =>
        points.filter(([x, y]) => x > 0 && x < 30 && y > 0 && y < 23);
      const ownPoints = inside(sortedPoints(own.map((one) => one.points)));
      const peerPoints = inside(sortedPoints(peerRings(field, 31, 24, 0.6).map((one) => one.points)));
      expect(ownPoints.length).toBe(peerPoints.length);
      expect(furthest(ownPoints!, peerPoints!)).toBeLessThan(1e-9);
    }
  });
});

describe('a field that is none', () => {
  it('is refused when its values are not those of its size, or the level is no number', () => {
    const codes = [
      levelMoments(new Float64Array(11), 4, 3, 0),
      levelContours(new Float64Array(12), 4, 3, Number.NaN),
      levelContours(new Float64Array(4), 1, 4, 0),
      levelMoments(new Float64Array(12), 4.5, 3, 0),
    ].map((one) => (isRefusal(one) ? one.code : 'taken'));
    expect(codes).toEqual(Array.from({ length: 4 }, () => 'imaging/field-size'));
  });
  it('is refused when a value beside the contour is unknown', () => {
    // The ridge is above from column 3 to 17: the contour passes left of the value, right of it, or around it.
    for (const [unknown, column] of [
      [Number.NaN, 10],
      [Number.NEGATIVE_INFINITY, 10],
      [Number.NEGATIVE_INFINITY, 2],
      [Number.POSITIVE_INFINITY, 3],
      [Number.POSITIVE_INFINITY, 17],
    ] as const) {
      const field = fieldOf(20, 20, (x, y) => (x === column && y === 9 ? unknown : 8 - Math.abs(x - 10)));
      for (const found of [levelMoments(field, 20, 20, 0), levelContours(field, 20, 20, 0)])
        expect(isRefusal(found) ? found.code : 'taken').toBe('imaging/field-not-finite');
    }
  });
});
