// Proves     "why?" lists exactly the entries that the estimate was told, with time, kind, volume and who, and a sum that adds up.
// Tolerance  sums to 5 mL, as they are rounded
import { describe, expect, it } from 'vitest';
import { instantOfMs } from '../quantity/index.ts';
import { at, passed, read, watched } from '../facts/testing/course.ts';
import { advised, type Maker } from '../facts/testing/make.ts';
import type { DueItem, PatientFacts, ResidualFact } from '../facts/index.ts';
import type { Lengthening } from '../record/index.ts';
import { nextStepSentence, whyDue, whyForecast, whyResidual, whySpan } from './index.ts';

const zone = 'Europe/London';
const iso = (m: Maker, time: string): string => instantOfMs(m.at(time));

function course(): Maker {
  const m = watched();
  m.add('08:10', 'told', { who: 'the ward', what: 'sleeps' });
  read(m, '09:00', 240);
  passed(m, '09:30', 100);
  return m;
}
const sumOf = (facts: PatientFacts): string => whyForecast(facts, zone)?.sum[0] ?? '';
const figures = (text: string): readonly number[] =>
  (text.match(/[\d,]+(?= mL)/g) ?? []).map((one) => Number(one.replace(',', '')));

describe('why the forecast', () => {
  it('lists what the estimate was told, latest first, and nothing else', () => {
    const why = whyForecast(at(course(), '10:00'), zone);
    expect(why?.rows.map((row) => [row.time, row.what, row.volume, row.by])).toEqual([
      ['09:30', 'Passed, measured', '100', 'nurse-kl'],
      ['09:00', 'Reading, no void', '240', 'nurse-kl'],
      ['08:00', 'Watch opened: after surgery', '', 'nurse-kl'],
    ]);
  });

  it('leaves out what was withdrawn', () => {
    const m = course();
    m.add('09:40', 'withdrawn', { of: m.entries.at(-1)?.id ?? '', reason: 'not-done' });
    expect(whyForecast(at(m, '10:00'), zone)?.rows.map((row) => row.time)).toEqual(['09:00', '08:00']);
  });

  it('gives a sum that a person can follow', () => {
    const facts = at(course(), '10:00');
    const [from, , inflow, out, total] = figures(sumOf(facts)) as [number, number, number, number, number];
    expect([from, out]).toEqual([240, 100]);
    expect(Math.abs(from + inflow - out - total)).toBeLessThanOrEqual(5);
    expect(sumOf(facts)).toContain('240 mL read at 09:00. 1 h at about');
  });

  it('begins at the drain when that came last, and says that what was before counts little', () => {
    const m = course();
    m.add('09:45', 'drained', { route: 'in-out', volumeMl: 260 });
    const why = whyForecast(at(m, '10:45'), zone);
    expect(why?.sum[0]).toContain('Drained at 09:45, so little was left. 1 h');
    expect(why?.sum.at(-1)).toBe('What was before the drain at 09:45 counts little now.');
  });

  it('says how often something was passed that nobody measured', () => {
    const m = watched();
    read(m, '09:00', 240);
    m.add('09:20', 'void', { how: 'not-measured' });
    expect(sumOf(at(m, '10:00'))).toContain('not measured (once) comes off');
  });

  it('is silent where there is no estimate', () => {
    const m = course();
    m.add('08:01', 'caution', { caution: 'neobladder', present: true });
    expect(whyForecast(at(m, '10:00'), zone)).toBeUndefined();
    expect(whyForecast(at(watched(), '08:00'), zone)).toBeUndefined();
  });
});

describe('why a look was moved', () => {
  const due = (facts: PatientFacts): DueItem => facts.due[0] as DueItem;
  it('names the protocol’s time and the chance that was reached', () => {
    const m = watched();
    const reading = read(m, '09:00', 380);
    m.add('09:00', 'step-advised', advised('look-again', iso(m, '14:00'), reading.id));
    const facts = at(m, '09:05');
    expect(due(facts).broughtForward).toBeDefined();
    expect(whyDue(due(facts), facts, zone)?.sum[0]).toMatch(
      /^The time of rule T-01 is 14:00\. If nothing leaves, the chance of being over 500 mL reaches 5 % at \d\d:\d\d, which is earlier: so the look is due then\.$/,
    );
  });

  it('names who signed where it was put back, and the sentence of the step says so', () => {
    const m = watched();
    read(m, '08:30', 60);
    const reading = read(m, '09:30', 70);
    m.add('09:30', 'step-advised', {
      ...advised('look-again', iso(m, '10:00'), reading.id),
      noLaterThanAt: iso(m, '10:30'),
    });
    const lengthening: Lengthening = {
      signed: {
        person: 'nora',
        name: 'Nora Tideway',
        role: 'specialist-nurse',
        at: '2026-05-01T08:00:00+01:00',
      },
      within: 181,
      pairs: 200,
    };
    const facts = at(m, '09:35', { lengthening });
    expect(whyDue(due(facts), facts, zone)?.sum[0]).toBe(
      'The usual time of rule T-01 is 10:00, and the rule itself allows a later one. Until 10:30 the chance of being over 500 mL stays under 5 %; Nora Tideway, specialist nurse, has signed for using that.',
    );
    expect(nextStepSentence(due(facts), facts, zone)).toContain(
      'Put back from 10:00 by the forecast, inside the range of its rule.',
    );
    const without = at(m, '09:35');
    expect(whyDue(due(without), without, zone)?.sum[0]).toBe(
      'The time of rule T-01 is 10:00. The forecast does not move it.',
    );
  });
});

describe('why a residual was carried back', () => {
  it('shows the void, the reading, and what came in between', () => {
    const m = watched();
    passed(m, '09:00', 200);
    read(m, '09:36', 190, { relation: 'after-void' });
    const facts = at(m, '09:40');
    const why = whyResidual(facts.residuals[0] as ResidualFact, facts, zone);
    expect(why?.rows.map((row) => row.time)).toEqual(['09:36', '09:00']);
    expect(why?.sum[1]).toBe('At 100 to 200 mL an hour 60 to 120 mL came in.');
    expect(why?.sum[2]).toMatch(/^190 mL less that is about 100 mL at the end of the void/);
  });

  it('has nothing to show where the residual was in time', () => {
    const m = watched();
    passed(m, '09:00', 200);
    read(m, '09:10', 190, { relation: 'after-void' });
    const facts = at(m, '09:40');
    expect(whyResidual(facts.residuals[0] as ResidualFact, facts, zone)).toBeUndefined();
  });

  it('has nothing to show where only a bound was read: nothing was carried back', () => {
    const m = watched();
    passed(m, '09:00', 200);
    read(m, '09:36', 190, { relation: 'after-void', result: 'at-least' });
    const facts = at(m, '09:40');
    expect(whyResidual(facts.residuals[0] as ResidualFact, facts, zone)).toBeUndefined();
  });
});

describe('why a sum is questioned', () => {
  it('shows what stands between its two ends', () => {
    const m = course();
    const facts = at(m, '10:00');
    const why = whySpan({ fromMs: m.at('09:00'), toMs: m.at('10:00') }, facts, zone);
    expect(why.rows.map((row) => row.time)).toEqual(['09:30', '09:00']);
    expect(why.sum).toEqual([]);
    expect(whySpan({ fromMs: m.at('09:40'), toMs: m.at('10:00') }, facts, zone).sum[0]).toContain(
      'Nothing is on record',
    );
  });
});
