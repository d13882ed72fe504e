// Proves     factors that a ward was made with are found again from its looks; nothing is changed where the starting
//            figures are right; few lessons are refused; figures stay within their bounds.
// Published  none: the wards are made here, each look by looking up what fills at twice the usual inflow
// Tolerance  a factor of 2 is found within 1.6 to 2.5; of 1 within 0.8 to 1.25. A step of the search is 0.1 to 0.4 as a log
import { describe, expect, it } from 'vitest';
import { hourMs, isRefusal, orThrow, seededRandom } from '../quantity/index.ts';
import {
  fitPrior,
  fitUnit,
  fittedFigures,
  ownPrior,
  readUnitFactors,
  withFactors,
  type PriorLesson,
} from './fit-prior.ts';
import type { FillingObservation } from './observation.ts';
import { priorFor } from './prior.ts';

const eightMs = 8 * hourMs;

/** Catheter out at eight in the morning, looked at after two and after four hours; nobody passes urine. Made with an inflow of its own. */
function lessons(people: number, times: number, setting = 'resting'): readonly PriorLesson[] {
  const random = seededRandom(8);
  const prior = { ...priorFor(setting), voidsLowPerH: 0.001, voidsHighPerH: 0.05, poorlyEmptiesShare: 0.01 };
  return Array.from({ length: people }, () => {
    const perH = times * prior.inflowMlPerH * Math.exp(0.25 * random.normal());
    const observations: FillingObservation[] = [{ kind: 'catheter', atMs: eightMs, state: 'out' }];
    return [2, 4].map((hours): PriorLesson => {
      const volumeMl = Math.max(0, Math.round(perH * hours * (1 + 0.1 * random.normal()) + 15));
      const seen = {
        kind: 'reading' as const,
        atMs: eightMs + hours * hourMs,
        volumeMl,
        bound: 'exact' as const,
        doubts: [],
      };
      const before = [...observations];
      observations.push(seen);
      return { observations: before, prior, limitMl: 500, clockAheadMs: 0, seen };
    });
  }).flat();
}

describe('figures fitted to finished watches', () => {
  it('finds that a ward fills twice as fast, and tells its looks better afterwards', () => {
    const found = orThrow(fitPrior(lessons(60, 2), ['inflowMlPerH']));
    expect(found.factors.inflowMlPerH).toBeGreaterThan(1.6);
    expect(found.factors.inflowMlPerH).toBeLessThan(2.5);
    expect(found.costAfterMl).toBeLessThan(0.9 * found.costBeforeMl);
    expect(found.lessons).toBe(120);
  });

  it('leaves alone what is right already', () => {
    const { factors } = orThrow(fitPrior(lessons(60, 1), ['inflowMlPerH']));
    expect(factors.inflowMlPerH ?? 1).toBeGreaterThan(0.8);
    expect(factors.inflowMlPerH ?? 1).toBeLessThan(1.25);
  });

  it('needs fifty lessons', () => {
    const refusal = fitPrior(lessons(24, 2), ['inflowMlPerH']);
    expect(isRefusal(refusal) && refusal.code).toBe('filling/too-few-lessons');
  });

  it('passes on what a lesson is refused for', () => {
    const [first, ...others] = lessons(30, 1);
    const broken = { ...(first as PriorLesson), limitMl: 3 };
    const refusal = fitPrior([broken, ...others], ['inflowMlPerH']);
    expect(isRefusal(refusal) && refusal.code).toBe('filling/limit-out-of-range');
  });

  it('keeps every figure within what makes sense, and who empties in part below everybody', () => {
    const prior = priorFor('spinal-cord');
    const factors = Object.fromEntries(fittedFigures.map((figure) => [figure, 1e6]));
    const most = withFactors(prior, factors);
    for (const figure of fittedFigures) {
      expect(most[figure], figure).toBeGreaterThanOrEqual(0);
      expect(most[figure], figure).toBeLessThan(2000);
    }
    expect(most.poorlyEmptiesShare + most.hardlyEmptiesShare + most.notYetEmptiesShare).toBeLessThanOrEqual(
      0.98 + 1e-9,
    );
    expect(withFactors(prior, {})).toEqual(prior);
  });

  it('are read back as they were kept, and nothing else is taken for them', () => {
    const factors = { common: { inflowMlPerH: 1.5 }, bySetting: { stroke: { urgeShare: 0.8 } } };
    expect(orThrow(readUnitFactors(JSON.parse(JSON.stringify(factors))))).toEqual(factors);
    for (const wrong of [
      undefined,
      [],
      { common: { inflowMlPerH: 0 }, bySetting: {} },
      { common: { inflowMlPerH: '2' }, bySetting: {} },
      { common: { limitMl: 2 }, bySetting: {} },
      { common: {}, bySetting: { stroke: { urgeShare: 51 } } },
      { bySetting: {} },
    ])
      expect(isRefusal(readUnitFactors(wrong)), JSON.stringify(wrong)).toBe(true);
  });

  it('takes the figures of the setting before those of the unit', () => {
    const factors = {
      common: { inflowMlPerH: 2 },
      bySetting: { stroke: { inflowMlPerH: 3 } },
    };
    expect(ownPrior(priorFor('stroke'), factors).inflowMlPerH).toBe(3 * priorFor('stroke').inflowMlPerH);
    expect(ownPrior(priorFor('after-birth'), factors).inflowMlPerH).toBe(
      2 * priorFor('after-birth').inflowMlPerH,
    );
  });

  it.runIf(process.env['EBBLINE_LONG'] === '1')('fits each setting that has enough of its own', () => {
    const found = orThrow(fitUnit([...lessons(30, 2, 'stroke'), ...lessons(10, 2, 'after-birth')]));
    expect(Object.keys(found.bySetting)).toEqual(['stroke']);
    expect(found.common.costAfterMl).toBeLessThan(found.common.costBeforeMl);
    expect(found.factors.bySetting['stroke']).toEqual(found.bySetting['stroke']?.factors);
  });
});
