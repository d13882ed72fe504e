// Proves     the words name the parts that nobody saw, the worst first, and say when two ways to the volume differ.
import { describe, expect, it } from 'vitest';
import type { Body, BodyMeasures } from '@ebbline/imaging';
import { extentWords, hiddenWords, shareWords, volumeWords } from './body-words.ts';

const measures: BodyMeasures = {
  widthMm: 71.2,
  lengthMm: 83.6,
  depthMm: 63.4,
  hiddenShare: 0.18,
  sides: [
    { side: 'head', hiddenShare: 0 },
    { side: 'feet', hiddenShare: 0.64 },
    { side: 'front', hiddenShare: 0.02 },
    { side: 'back', hiddenShare: 0.11 },
    { side: 'picture-left', hiddenShare: 0 },
    { side: 'picture-right', hiddenShare: 0.7 },
  ],
};
const body = (volumeMl: number): Body => ({
  centreMm: [0, 0, 0],
  verticesMm: new Float64Array(),
  triangles: new Uint32Array(),
  hidden: new Float32Array(),
  volumeMl,
});

describe('a body in words', () => {
  it('has its three extents', () => {
    expect(extentWords(measures)).toBe('Length 84 mm from head to feet, width 71 mm, depth 63 mm.');
  });
  it('names what was not seen, the worst side first, and leaves out a trace', () => {
    expect(hiddenWords(measures)).toBe(
      "18 % of the wall was not seen and is drawn by guess: at the picture's right (70 %), towards the feet (64 %), at the back (11 %).",
    );
    expect(hiddenWords({ ...measures, hiddenShare: 0.001 })).toBe('The wall was seen on every side.');
  });
  it('says of one side how much was not seen', () => {
    expect(shareWords(0)).toBe('seen');
    expect(shareWords(0.284)).toBe('28 % not seen');
    expect(shareWords(1)).toBe('not seen');
  });
  it('says when the body and the sum over the planes differ by more than a tenth', () => {
    expect(volumeWords(body(312), 318)).toContain('The two agree');
    expect(volumeWords(body(312), 400)).toContain('The two differ');
    expect(volumeWords(body(312), undefined)).toBe('This body holds 312 mL.');
  });
});
