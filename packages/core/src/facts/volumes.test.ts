// Proves     what is made of readings, voids and drains beside each other: residuals, voiding efficiency, pairs, late
//            detections, readings that may be one, repeats of one look.
// Published  bladder capacity at a void is what was passed and what stayed (S-clinical-D2); voiding efficiency 250 and 50 mL
//            83.3 %, 0 and 400 mL 0 %, 300 and 0 mL 100 %, 0 and 0 not defined; its complement the residual ratio 16.7 %
//            (S-clinical-D3, S-clinical-D4); a residual after 10 min of filling of 2 mL a minute is 20 mL too high
//            (S-clinical-D7)
// Tolerance  half the last printed digit where a number is published, else exact
import { describe, expect, it } from 'vitest';
import { at, passed, read, watched } from './testing/course.ts';
import type { PatientFacts } from './types.ts';
import { voidingEfficiencyPercent } from './volumes.ts';

describe('voiding efficiency', () => {
  it.each([
    [250, 50, 83.3],
    [0, 400, 0],
    [300, 0, 100],
  ])('of %i mL passed with %i mL left is %d %%', (passedMl, leftMl, percent) => {
    expect(Math.abs((voidingEfficiencyPercent(passedMl, leftMl) ?? Number.NaN) - percent)).toBeLessThan(0.05);
  });
  it('is not a number when nothing was passed and nothing is left', () => {
    expect(voidingEfficiencyPercent(0, 0)).toBeUndefined();
  });
  it('leaves 16.7 % for the residual of 50 mL in 300 mL', () => {
    expect(Math.abs(100 - (voidingEfficiencyPercent(250, 50) ?? Number.NaN) - 16.7)).toBeLessThan(0.05);
  });
  it('is not worked out for a residual of which only a low bound was seen', () => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, '09:05', 50, { relation: 'after-void', result: 'at-least' });
    expect(at(m, '09:06').residuals[0]).toMatchObject({ atLeast: true, voidedMl: 250 });
    expect(at(m, '09:06').residuals[0]).not.toHaveProperty('voidingEfficiencyPercent');
  });
});

describe('a residual', () => {
  it('of 60 mL after ten minutes of filling by 2 mL a minute is carried back to 40 mL', () => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, '09:10', 60, { relation: 'after-void' });
    const residual = at(m, '09:11', {
      residualWithinMin: 5,
      plainRateLowMlPerH: 120,
      plainRateHighMlPerH: 120,
    }).residuals[0];
    expect(residual?.late).toBe(true);
    expect(residual?.carriedBackMl?.likely).toBeCloseTo(40, 9);
    // The reading's own error stays in the band: as wide as the reading's, and no wider when the rate is certain.
    const reading = at(m, '09:11').readings[0];
    const half = (reading?.intervalMl?.high ?? 0) - 60;
    expect(residual?.carriedBackMl?.high).toBeCloseTo(40 + half, 9);
    expect(residual?.carriedBackMl?.low).toBeCloseTo(Math.max(0, 40 - half), 9);
  });
  it('is in time at the very end of the time allowed, and late one minute after', () => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, '09:15', 60, { relation: 'after-void' });
    read(m, '09:16', 60, { relation: 'after-void' });
    expect(at(m, '09:20').residuals.map((one) => one.late)).toEqual([false, true]);
  });
  it('does not follow a void from before the bladder was drained', () => {
    const m = watched();
    passed(m, '09:00', 250);
    m.add('09:20', 'drained', { route: 'in-out', volumeMl: 300 });
    read(m, '09:30', 20, { relation: 'after-void' });
    expect(at(m, '09:31').residuals[0]).not.toHaveProperty('voidId');
    expect(at(m, '09:31').residuals[0]).not.toHaveProperty('sinceVoidMin');
  });
  it.each([
    ['in time', '09:05', {}, 1],
    ['late', '09:40', {}, 0],
    ['a low bound', '09:05', { result: 'at-least' }, 0],
  ] as const)("under the unit's line that is %s counts %4$i in a row", (_name, time, more, inARow) => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, time, 60, { relation: 'after-void', ...more });
    expect(at(m, '09:45').lowResidualsInARow).toBe(inARow);
  });
});

describe('a pair of reading and drained volume', () => {
  it('is not made over a void between the two', () => {
    const m = watched();
    read(m, '09:00', 500);
    passed(m, '09:05', 200);
    m.add('09:10', 'drained', { route: 'in-out', volumeMl: 300 });
    expect(at(m, '09:11').pairs).toEqual([]);
  });
  it('is not made over another drain between the two', () => {
    const m = watched();
    read(m, '09:00', 500);
    m.add('09:05', 'drained', { route: 'in-out', volumeMl: 400 });
    m.add('09:10', 'drained', { route: 'in-out', volumeMl: 30 });
    expect(at(m, '09:11').pairs.map((one) => one.drainedMl)).toEqual([400]);
  });
  it.each([
    ['09:30', 1],
    ['09:31', 0],
  ] as const)('with the reading at 09:00 and the drain at %s is %i', (time, count) => {
    const m = watched();
    read(m, '09:00', 500);
    m.add(time, 'drained', { route: 'in-out', volumeMl: 480 });
    expect(at(m, '10:00').pairs).toHaveLength(count);
  });
});

describe('two readings that may be one', () => {
  const two = (more: object, author = 'nurse-mo', volumeMl = 303): PatientFacts => {
    const m = watched();
    read(m, '09:00', 300, { scanner: 's-1' });
    m.add(
      '09:03',
      'reading',
      { result: 'exact', volumeMl, relation: 'no-void', doubts: [], scanner: 's-1', ...more },
      { author },
    );
    return at(m, '09:04');
  };
  it('are pointed out when two people charted them with one scanner', () => {
    expect(two({}).possibleDuplicates).toHaveLength(1);
  });
  it('are two when one person made both, when the scanners differ, or the volumes do', () => {
    expect(two({}, 'nurse-kl').possibleDuplicates).toEqual([]);
    expect(two({ scanner: 's-2' }).possibleDuplicates).toEqual([]);
    expect(two({}, 'nurse-mo', 306).possibleDuplicates).toEqual([]);
  });
});

describe('a late detection', () => {
  it('is a volume over the limit, not one on it', () => {
    const m = watched();
    read(m, '09:00', 500);
    expect(at(m, '09:01').lateDetections).toEqual([]);
    read(m, '09:30', 501);
    expect(at(m, '09:31').lateDetections).toMatchObject([{ volumeMl: 501, limitMl: 500 }]);
  });
  it('is not made of a reading that is not to be relied on', () => {
    const m = watched();
    read(m, '09:00', 700, { doubts: ['second-fluid'] });
    expect(at(m, '09:01').readings[0]?.trust).toBe('unreliable');
    expect(at(m, '09:01').lateDetections).toEqual([]);
  });
  it('is not rebuilt from a low bound: nobody knows how much more there was', () => {
    const m = watched();
    read(m, '09:00', 100, { result: 'at-least' });
    read(m, '12:00', 600);
    expect(at(m, '12:01').lateDetections[0]).not.toHaveProperty('overMin');
  });
  it('is rebuilt at constant filling: from 300 mL to 600 mL in 3 h, over 500 mL for the last hour', () => {
    const m = watched();
    read(m, '09:00', 300);
    read(m, '12:00', 600);
    expect(at(m, '12:01').lateDetections[0]?.overMin?.likely).toBeCloseTo(60, 6);
  });
  it('comes once until the bladder was drained', () => {
    const m = watched();
    read(m, '09:00', 600);
    read(m, '10:00', 650);
    m.add('10:10', 'drained', { route: 'in-out', volumeMl: 660 });
    read(m, '14:00', 620);
    expect(at(m, '14:01').lateDetections.map((one) => one.volumeMl)).toEqual([600, 620]);
  });
});

describe('repeats of one look', () => {
  it('count as one reading, their mean, and not as the last or largest: 310, 340, 280 are 310 mL (S-clinical2-M6)', () => {
    const content = (...volumes: readonly number[]) => {
      const m = watched();
      for (const volumeMl of volumes) read(m, '09:00', volumeMl, { look: 'K1' });
      const { estimate } = at(m, '09:00');
      if ('notValid' in estimate) throw new Error('expected an estimate');
      return estimate.content.p50Ml;
    };
    expect(content(310, 340, 280)).toBeCloseTo(content(310), 6);
    expect(content(280, 310, 340)).toBeCloseTo(content(310), 6);
  });
});
