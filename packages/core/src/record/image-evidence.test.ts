// Proves     the record keeps both outlines of a reading from images, gives back each vertex to a tenth of a millimetre, and
//            still takes readings written before there was such evidence.
// Tolerance  0.05 mm, half of what is kept; else exact.
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '../quantity/index.ts';
import {
  imageEvidence,
  outlineToKeep,
  verticesKept,
  type ImageEvidence,
  type KeptVertex,
} from './image-evidence.ts';
import { payloadShapes } from './kinds.ts';

const vertices: readonly KeptVertex[] = (['seen', 'weak', 'inferred', 'shadow', 'cut'] as const).map(
  (seenAs, index) => ({ sMm: -12.34 + 7 * index, dMm: 61.07 + 3 * index, seenAs, byHand: index % 2 === 1 }),
);
const evidence: ImageEvidence = {
  layout: 'rotational_fan',
  layoutFrom: 'file',
  scaleFrom: 'hand',
  mmPerPxX: 0.5,
  mmPerPxY: 0.5,
  positions: [0, 60, 120],
  halfAngleDeg: 45,
  rMinMm: 5,
  rMaxMm: 150,
  drawnBy: 'both',
  reasons: ['faint-wall'],
  program: {
    answer: 'volume',
    volumeMl: 240.4,
    lowMl: 210,
    highMl: 270,
    outlines: [outlineToKeep(0, vertices)],
  },
  person: { who: 'kl', at: '2026-05-14T15:54:00Z', outlines: [outlineToKeep(0, vertices)] },
};
const reading = { result: 'exact', volumeMl: 240, relation: 'no-void', doubts: [] };

describe('evidence of a reading from images', () => {
  it('gives back each vertex, its class and whose it was', () => {
    const back = orThrow(verticesKept(outlineToKeep(3, vertices)));
    expect(back.map(({ seenAs, byHand }) => ({ seenAs, byHand }))).toEqual(
      vertices.map(({ seenAs, byHand }) => ({ seenAs, byHand })),
    );
    for (const [index, one] of back.entries()) {
      expect(Math.abs(one.sMm - (vertices[index]?.sMm ?? NaN))).toBeLessThanOrEqual(0.05 + 1e-9);
      expect(Math.abs(one.dMm - (vertices[index]?.dMm ?? NaN))).toBeLessThanOrEqual(0.05 + 1e-9);
    }
  });

  it('passes the check at the door with the reading, unchanged', () => {
    expect(payloadShapes.reading.check({ ...reading, evidence }, 'payload')).toEqual({
      ...reading,
      evidence,
    });
  });

  it('is not asked of readings written before', () => {
    expect(payloadShapes.reading.check(reading, 'payload')).toEqual(reading);
  });

  it('is refused when a field is not known or a layout is not one of the list', () => {
    expect(isRefusal(imageEvidence.check({ ...evidence, scanner: 'x' }, 'evidence'))).toBe(true);
    expect(isRefusal(imageEvidence.check({ ...evidence, layout: 'spiral' }, 'evidence'))).toBe(true);
  });

  it('does not draw an outline whose points and classes do not go together', () => {
    const kept = outlineToKeep(0, vertices);
    expect(verticesKept({ ...kept, seenAs: 'ss' })).toMatchObject({ code: 'record/outline-uneven' });
    expect(verticesKept({ ...kept, seenAs: 'ssssx' })).toMatchObject({ code: 'record/outline-uneven' });
  });

  it('of 60 planes with 96 vertices each, twice, stays below 200 kB', () => {
    const many = Array.from({ length: 96 }, (_, index): KeptVertex => ({
      sMm: -100 - index / 10,
      dMm: 120 + index / 10,
      seenAs: 'shadow',
      byHand: false,
    }));
    const outlines = Array.from({ length: 60 }, (_, plane) => outlineToKeep(plane, many));
    const text = JSON.stringify({ program: outlines, person: outlines });
    expect(text.length).toBeLessThan(200_000);
  });
});
