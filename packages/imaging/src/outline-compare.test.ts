// Proves     the signed distance between two outlines against closed forms of circles; parts too large and too small by side.
// Published  circles about one middle: r − R everywhere; a circle moved by e along s: r − √(R² − 2 R e cos φ + e²)
// Tolerance  0.02 mm: circles of 720 points
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { compareOutlines, type OutlineComparison } from './outline-compare.ts';

function circle(radiusMm: number, sMm = 0, dMm = 70, points = 720): Float64Array {
  const out = new Float64Array(2 * points);
  for (let index = 0; index < points; index += 1) {
    const turn = (2 * Math.PI * index) / points;
    out[2 * index] = sMm + radiusMm * Math.cos(turn);
    out[2 * index + 1] = dMm + radiusMm * Math.sin(turn);
  }
  return out;
}
function compared(drawn: Float64Array, truth: readonly Float64Array[]): OutlineComparison {
  const found = compareOutlines(drawn, truth);
  if (isRefusal(found)) throw new Error(found.code);
  return found;
}

describe('the distance between outlines', () => {
  it.each([
    [45, 5],
    [38, -2],
    [40, 0],
  ])('of a circle of %d mm from one of 40 mm is %d mm everywhere', (radiusMm, offMm) => {
    const found = compared(circle(radiusMm), [circle(40)]);
    for (const sample of found.samples) expect(Math.abs(sample.signedMm - offMm)).toBeLessThan(0.02);
    expect(Math.abs(found.biasMm - offMm)).toBeLessThan(0.02);
    expect(Math.abs(found.meanMm - Math.abs(offMm))).toBeLessThan(0.02);
  });
  it('of a circle moved aside follows the closed form all around', () => {
    const [radiusMm, byMm] = [42, 6];
    const found = compared(circle(radiusMm, byMm), [circle(40)]);
    for (const { sMm, dMm, signedMm } of found.samples) {
      const turn = Math.atan2(dMm - 70, sMm);
      const expected = radiusMm - Math.sqrt(40 ** 2 - 2 * 40 * byMm * Math.cos(turn) + byMm ** 2);
      expect(Math.abs(signedMm - expected)).toBeLessThan(0.02);
    }
    expect(found.worst.side).toBe('right');
    expect(found.worst.signedMm).toBeCloseTo(8, 1);
    const left = found.sides.find((one) => one.side === 'left');
    const right = found.sides.find((one) => one.side === 'right');
    expect(left?.biasMm).toBeLessThan(0);
    expect(right?.biasMm).toBeGreaterThan(0);
  });
  it('does not depend on where an outline begins or which way it runs', () => {
    const plain = compared(circle(43, 2, 74), [circle(40)]);
    const turned = circle(43, 2, 74).reverse();
    const backwards = Float64Array.from(
      turned,
      (_, place) => turned[place % 2 === 0 ? place + 1 : place - 1] as number,
    );
    const other = compared(backwards, [circle(40)]);
    expect(other.biasMm).toBeCloseTo(plain.biasMm, 9);
    expect(other.meanMm).toBeCloseTo(plain.meanMm, 9);
  });
  it('goes along every true outline of a plane', () => {
    const found = compared(circle(40), [circle(40), circle(5, 60)]);
    const beside = found.samples.filter((one) => one.sMm > 50);
    expect(beside.length).toBeGreaterThan(10);
    // Outside what was drawn: that part was left out.
    expect(beside.every((one) => one.signedMm < 0)).toBe(true);
  });
  it('is refused without one of the two', () => {
    expect(compareOutlines(new Float64Array(), [circle(40)])).toMatchObject({
      code: 'imaging/nothing-to-compare',
      found: 'no drawn outline',
    });
    expect(compareOutlines(circle(40), [])).toMatchObject({ found: 'no true outline' });
  });
});
