// Proves     pairs are compared with what was there when it was read; weeks cover the span; the two halves of the pair
//            are always drawn together
// Published  limits of agreement of peak flow, two meters, 17 people: Bland and Altman 1986 as printed in
//            conformance/data/statistics (bias −2.1, SD 38.8 L/min) (S-clinical-J1)
// Tolerance  half the last printed digit
import { describe, expect, it } from 'vitest';
import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { dayMs } from '@ebbline/core/quantity';
import type { AgreementPair } from '@ebbline/core/facts';
import { PairedPlate } from './paired-plate.tsx';
import { agreementOf, countRange, pairPointOf, weeksOf } from './unit-view.ts';

const pair = (readMl: number, drainedMl: number, filling = 0): AgreementPair & { patient: string } => ({
  patient: 'p-1',
  readingId: 'r',
  drainId: `d${readMl}-${drainedMl}`,
  readMl,
  readAtLeast: false,
  drainedMl,
  apartMin: 14,
  fillingMl: { low: filling / 2, high: filling },
  differencePercent: { low: 0, high: 0 },
  operator: 'x',
  besideMl: [],
  readMuchDrainedLittle: false,
});

describe('a pair', () => {
  it('is compared with the drained volume less the filling between the two', () => {
    // The worked knee: read 560, drained 690 fourteen minutes later, filling 23 to 47 (S-job-8b).
    const point = pairPointOf({ ...pair(560, 690), fillingMl: { low: 23, high: 47 } });
    expect(point.thenMl).toEqual({ low: 643, middle: 655, high: 667 });
    expect(point.differenceMl).toEqual({ low: -107, middle: -95, high: -83 });
  });

  it('leaves a low bound out of the limits of agreement', () => {
    const points = [
      pair(300, 320),
      pair(400, 410),
      pair(500, 540),
      { ...pair(100, 900), readAtLeast: true },
    ].map(pairPointOf);
    expect(agreementOf(points)?.pairs).toBe(3);
    expect(agreementOf(points.slice(0, 1))).toBeUndefined();
  });

  it('gives the published limits for the published pairs', () => {
    const first = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
    const second = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
    const found = agreementOf(first.map((read, index) => pairPointOf(pair(read, second[index] ?? 0))));
    expect(found?.bias).toBeCloseTo(-2.1, 1);
    expect(Math.abs((found?.standardDeviation ?? 0) - 38.8)).toBeLessThan(0.05);
  });
});

describe('weeks', () => {
  it('cover the span once, the oldest cut short', () => {
    const weeks = weeksOf(0, 30 * dayMs);
    expect(weeks[0]).toEqual({ fromMs: 0, toMs: 2 * dayMs });
    expect(weeks).toHaveLength(5);
    for (const [index, week] of weeks.entries()) expect(week.fromMs).toBe(weeks[index - 1]?.toMs ?? 0);
  });
});

describe('catheters avoided and late detections', () => {
  const share = (count: number, of: number) => ({
    count,
    of,
    intervalPercent: { low: 20, high: 60 },
    behind: [],
  });
  const paired = { cathetersAvoided: share(24, 41), lateDetections: share(7, 41) };

  it('stand in one frame, both figures and both charts on one scale', () => {
    const html = renderToStaticMarkup(
      createElement(PairedPlate, {
        paired,
        buckets: [{ label: '4 November', paired }],
        onOpen: () => undefined,
      }),
    );
    expect(html.match(/<section/g)).toHaveLength(1);
    for (const words of ['Catheters avoided', 'Late detections', '>24<', '>7<'])
      expect(html).toContain(words);
    const scales = [...html.matchAll(/<svg[^>]*role="img"[\s\S]*?<\/g><svg/g)].map(([svg]) =>
      [...svg.matchAll(/text-anchor="end"[^>]*>(\d+)</g)].map((one) => one[1]).join(' '),
    );
    expect(scales[0]).toBe(scales[1]);
    expect(scales[0]).not.toBe('');
  });

  it('give their interval as counts of the same whole', () => {
    expect(countRange(share(24, 40))).toEqual({ low: 8, high: 24 });
  });
});
