// Proves     the body is closed, has the volume of the ellipsoid whose outlines it is made from, and marks what nobody saw.
// Published  volume of an ellipsoid 4π/3 · a · b · c, closed form
// Tolerance  0.05 % of the volume (fan, tilt), 0.5 mm of an extent; stated at each check
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { bodyMeasures, bodyOf, type Body, type BodySide } from './body.ts';
import { flatView } from './body-views.ts';
import type { PlaneOutline } from './outline.ts';
import type { Layout, PlaneSetGeometry, Vector } from './plane-set.ts';
import { sphereGrid } from './sphere-grid.ts';
import { ellipsoidOutlines, geometryOf } from './testing/ellipsoid-outlines.ts';

const half: Vector = [42, 36, 30];
const centre: Vector = [5, -3, 70];
const ellipsoidMl = ((4 / 3) * Math.PI * 42 * 36 * 30) / 1000;

function bodyFrom(geometry: PlaneSetGeometry, outlines: readonly PlaneOutline[]): Body {
  const body = bodyOf(geometry, outlines);
  if (isRefusal(body)) throw new Error(`${body.code}: ${body.found}`);
  return body;
}
const whole = (layout: Layout, planes: number): Body => {
  const geometry = geometryOf(layout, planes);
  return bodyFrom(geometry, ellipsoidOutlines(geometry, centre, half));
};
const hiddenOf = (body: Body, side: BodySide): number =>
  bodyMeasures(body).sides.find((one) => one.side === side)?.hiddenShare ?? NaN;

describe('the grid of directions', () => {
  it('uses every edge twice, once each way, and turns every triangle outwards', () => {
    const { directions, triangles } = sphereGrid(3);
    expect(directions).toHaveLength(3 * (10 * 4 ** 3 + 2));
    const ways = new Map<string, number>();
    for (let face = 0; face < triangles.length; face += 3) {
      for (let corner = 0; corner < 3; corner += 1) {
        const way = `${triangles[face + corner]} ${triangles[face + ((corner + 1) % 3)]}`;
        ways.set(way, (ways.get(way) ?? 0) + 1);
      }
    }
    expect([...ways.values()].every((count) => count === 1)).toBe(true);
    expect([...ways.keys()].every((way) => ways.has(way.split(' ').reverse().join(' ')))).toBe(true);
  });
});

describe('a direction of the grid', () => {
  it('lies in the middle of the two between which it was put, which come before it', () => {
    const { directions, between } = sphereGrid(2);
    const at = (index: number): Vector => [
      directions[3 * index] as number,
      directions[3 * index + 1] as number,
      directions[3 * index + 2] as number,
    ];
    for (let index = 12; index < directions.length / 3; index += 1) {
      const [a, b] = [between[2 * index] as number, between[2 * index + 1] as number];
      expect(Math.max(a, b)).toBeLessThan(index);
      const sum = [0, 1, 2].map(
        (axis) => (at(a)[axis] as number) + (at(b)[axis] as number),
      ) as unknown as Vector;
      const length = Math.hypot(...sum);
      for (const axis of [0, 1, 2] as const) expect(at(index)[axis]).toBeCloseTo(sum[axis] / length, 12);
    }
  });
});

describe('the body through outlines', () => {
  for (const [layout, planes] of [
    ['rotational_fan', 6],
    ['rotational_fan', 12],
    ['tilt_sweep', 13],
  ] as const) {
    it(`has the volume of its ellipsoid within 0.05 %, ${layout} of ${planes}`, () => {
      expect(Math.abs(whole(layout, planes).volumeMl / ellipsoidMl - 1)).toBeLessThan(0.0005);
    });
  }
  it('has the extents of its ellipsoid within 0.5 mm', () => {
    const { widthMm, lengthMm, depthMm } = bodyMeasures(whole('rotational_fan', 10));
    expect(Math.abs(widthMm - 84)).toBeLessThan(0.5);
    expect(Math.abs(lengthMm - 72)).toBeLessThan(0.5);
    expect(Math.abs(depthMm - 60)).toBeLessThan(0.5);
  });
  it('uses every edge twice, once each way', () => {
    const { triangles } = whole('rotational_fan', 6);
    const ways = new Set<string>();
    for (let face = 0; face < triangles.length; face += 3)
      for (let corner = 0; corner < 3; corner += 1)
        ways.add(`${triangles[face + corner]} ${triangles[face + ((corner + 1) % 3)]}`);
    expect(ways.size).toBe(triangles.length);
    expect([...ways].every((way) => ways.has(way.split(' ').reverse().join(' ')))).toBe(true);
  });
  it('is seen all around when every wall was seen', () => {
    expect(bodyMeasures(whole('rotational_fan', 10)).hiddenShare).toBe(0);
  });
  for (const seenAs of ['cut', 'shadow', 'inferred'] as const) {
    it(`is hidden towards the feet, and only there, when the outlines are ${seenAs} there`, () => {
      const geometry = geometryOf('rotational_fan', 12);
      const outlines = ellipsoidOutlines(geometry, centre, half, (at) => (at[1] < -18 ? seenAs : 'seen'));
      const body = bodyFrom(geometry, outlines);
      expect(hiddenOf(body, 'feet')).toBeGreaterThan(0.7);
      expect(hiddenOf(body, 'head')).toBe(0);
      expect(hiddenOf(body, 'front')).toBeLessThan(0.2);
    });
  }
  it('counts a faint wall as seen', () => {
    const geometry = geometryOf('rotational_fan', 12);
    const body = bodyFrom(
      geometry,
      ellipsoidOutlines(geometry, centre, half, () => 'weak'),
    );
    expect(bodyMeasures(body).hiddenShare).toBe(0);
  });
  it('is partly a guess between two planes alone', () => {
    const geometry = geometryOf('two_orthogonal_planes', 2);
    const body = bodyFrom(geometry, ellipsoidOutlines(geometry, [0, 0, 80], [60, 50, 45]));
    expect(bodyMeasures(body).hiddenShare).toBeGreaterThan(0.1);
  });
  it('is refused with too few outlines', () => {
    const geometry = geometryOf('rotational_fan', 12);
    const two = ellipsoidOutlines(geometry, centre, half).slice(0, 2);
    expect(bodyOf(geometry, two)).toMatchObject({ code: 'imaging/too-few-outlines' });
    expect(bodyOf(geometry, [])).toMatchObject({ code: 'imaging/too-few-outlines' });
  });
});

describe('the body drawn flat', () => {
  const geometry = geometryOf('rotational_fan', 12);
  const body = bodyFrom(
    geometry,
    ellipsoidOutlines(geometry, centre, half, (at) => (at[1] < -18 ? 'cut' : 'seen')),
  );
  const spread = (flat: Float64Array, odd: 0 | 1): number => {
    const values = [...flat].filter((_, place) => place % 2 === odd);
    return Math.max(...values) - Math.min(...values);
  };
  it('has the extents of the ellipsoid within 1 mm from each side', () => {
    for (const [view, across, down] of [
      ['front', 84, 72],
      ['side', 72, 60],
      ['feet', 84, 60],
    ] as const) {
      const { silhouetteMm } = flatView(body, view);
      expect(Math.abs(spread(silhouetteMm, 0) - across)).toBeLessThan(1);
      expect(Math.abs(spread(silhouetteMm, 1) - down)).toBeLessThan(1);
    }
  });
  it('shows what is hidden towards the feet below in front, at the right from the side, all over from the feet', () => {
    const area = (view: 'front' | 'side' | 'feet'): number =>
      flatView(body, view).hiddenRows.reduce((sum, row) => sum + 2 * (row.toMm - row.fromMm), 0);
    expect(flatView(body, 'front').hiddenRows.every((row) => row.topMm > 5)).toBe(true);
    expect(flatView(body, 'side').hiddenRows.every((row) => row.fromMm > 5)).toBe(true);
    // Of the ellipse seen from the feet, beyond half of the half axis: 1 - 1/4 of π · 42 · 30.
    expect(area('feet') / (Math.PI * 42 * 30)).toBeGreaterThan(0.6);
    expect(area('front')).toBeGreaterThan(0);
  });
});
