// Proves     its intervals and probabilities mean what they say for persons drawn from the model itself, at the time and
//            looking back.
// Published  none: the laws are those of probability. The persons are drawn minute by minute by code that shares
//            nothing with the cloud but the prior's figures.
// Tolerance  coverage 86 to 94 %; ranks even by χ² with p above 0.01 (9 degrees of freedom: 21.67)
import { describe, expect, it } from 'vitest';
import { minuteMs, orThrow, seededRandom } from '../quantity/index.ts';
import { estimateAt, estimateTrack } from './estimate.ts';
import { reconstruct } from './reconstruct.ts';
import { personOfTheModel, plainPrior } from './testing/person-of-the-model.ts';

describe('calibration under its own physics', () => {
  const persons = process.env['EBBLINE_LONG'] === '1' ? 2000 : 600;
  const random = seededRandom(41);
  const bins = 6;
  const counts = Array.from({ length: bins }, () => 0);
  let held = 0;
  for (let person = 0; person < persons; person += 1) {
    const { observations, atMs, contentMl } = personOfTheModel(plainPrior, random);
    const { content } = orThrow(
      estimateAt({ observations, prior: plainPrior, atMs, limitMl: 2000, horizonMin: 1 }),
    );
    if (contentMl >= content.p05Ml && contentMl <= content.p95Ml) held += 1;
    const points = [content.p05Ml, content.p25Ml, content.p50Ml, content.p75Ml, content.p95Ml];
    const bin = points.filter((one) => contentMl > one).length;
    counts[bin] = (counts[bin] ?? 0) + 1;
  }

  it('holds the truth in 86 to 94 of 100 of its 90 % intervals', () => {
    expect(held / persons).toBeGreaterThan(0.86);
    expect(held / persons).toBeLessThan(0.94);
  });

  it('puts the truth below its 5, 25, 50, 75 and 95 % points as often as it says', () => {
    const shares = [0.05, 0.2, 0.25, 0.25, 0.2, 0.05];
    const squares = shares.reduce((sum, share, bin) => {
      const expected = share * persons;
      return sum + ((counts[bin] ?? 0) - expected) ** 2 / expected;
    }, 0);
    // χ² with 5 degrees of freedom: 15.09 at p = 0.01.
    expect(squares, counts.join(' ')).toBeLessThan(15.09);
  });
});

describe('looking back under its own physics', () => {
  const persons = process.env['EBBLINE_LONG'] === '1' ? 400 : 90;
  const random = seededRandom(43);
  const limitMl = 350;
  let [asked, held, heldThen, width, widthThen] = [0, 0, 0, 0, 0];
  const off: number[] = [];
  const offThen: number[] = [];
  for (let person = 0; person < persons; person += 1) {
    const { observations, atMs, minutesMl } = personOfTheModel(plainPrior, random);
    const everyMin = 30;
    const times = Array.from(
      { length: Math.floor(atMs / minuteMs / everyMin) - 1 },
      (_, step) => (step + 1) * everyMin,
    );
    const question = { observations, prior: plainPrior, limitMl, nowMs: atMs, fromMs: 0, toMs: atMs };
    const back = orThrow(reconstruct({ ...question, atMs: times.map((minute) => minute * minuteMs) }));
    const then = orThrow(estimateTrack({ ...question, horizonMin: 1, everyMin }));
    let [aboveThen, above] = [0, 0];
    for (const one of minutesMl) above += Math.max(0, one - limitMl) / 60;
    for (const [index, minute] of times.entries()) {
      const truth = minutesMl[minute - 1] ?? 0;
      const point = back.track[index];
      const content = then[index + 1]?.content;
      if (point === undefined || content === undefined) throw new Error('a point is missing');
      asked += 1;
      if (truth >= point.p05Ml && truth <= point.p95Ml) held += 1;
      if (truth >= content.p05Ml && truth <= content.p95Ml) heldThen += 1;
      width += point.p95Ml - point.p05Ml;
      widthThen += content.p95Ml - content.p05Ml;
      aboveThen += (Math.max(0, content.p50Ml - limitMl) * everyMin) / 60;
    }
    if (above > 5) {
      off.push(Math.abs(back.mlHoursOver.likely - above));
      offThen.push(Math.abs(aboveThen - above));
    }
  }
  const median = (values: readonly number[]): number =>
    values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

  it('holds the truth in 86 to 94 of 100 of its 90 % intervals', () => {
    expect(asked).toBeGreaterThan(600);
    expect(held / asked).toBeGreaterThan(0.86);
    expect(held / asked).toBeLessThan(0.94);
  });

  it('is surer than the estimate was at the time, and nearer in mL·h above a limit', () => {
    expect(width).toBeLessThan(0.9 * widthThen);
    expect(off.length).toBeGreaterThan(15);
    expect(median(off)).toBeLessThan(median(offThen));
  });
});
