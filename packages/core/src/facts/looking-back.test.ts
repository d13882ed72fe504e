// Proves     somebody found over the limit is looked back on in the stretch between two emptyings, with what came later
//            too; the answer stands still once all is charted, and there is none where no estimate is valid.
// Published  none; the looking back itself is proved in filling/reconstruct.test.ts
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { hourMs } from '../quantity/index.ts';
import { lookBackAt } from './looking-back.ts';
import { at, read, zone } from './testing/course.ts';
import { backOf, filled } from './testing/found-over.ts';

describe('looking back on who was found over the limit', () => {
  const m = filled();

  it('takes the stretch from the first word to the drain, and finds the limit passed in it', () => {
    const back = backOf(at(m, '15:00'));
    expect(back.stretch).toEqual({ fromMs: m.at('08:00'), toMs: m.at('12:50'), emptied: true });
    expect(back.found.volumeMl).toBe(640);
    expect(back.overShare).toBeGreaterThan(0.9);
    expect(back.crossing?.likelyAtMs).toBeGreaterThan(m.at('09:00'));
    expect(back.crossing?.likelyAtMs).toBeLessThan(m.at('12:30'));
    // 640 less 500 mL run in within 0.7 to 1.4 h at 100 to 200 mL/h.
    expect(back.plainHours.low).toBeCloseTo(0.7, 9);
    expect(back.plainHours.high).toBeCloseTo(1.4, 9);
  });

  it('learns from what was drained later: before the drain more courses were never over', () => {
    const before = backOf(at(m, '12:40'));
    expect(before.stretch).toMatchObject({ toMs: m.at('12:40'), emptied: false });
    expect(before.overShare).toBeLessThan(backOf(at(m, '15:00')).overShare);
  });

  it('begins a second stretch at the drain', () => {
    const again = filled();
    read(again, '16:00', 600);
    expect(backOf(at(again, '16:30'), 1).stretch).toMatchObject({ fromMs: m.at('12:50'), emptied: false });
  });

  it('stands still within the hour, and once a day has passed', () => {
    expect(backOf(at(m, '15:31'))).toEqual(backOf(at(m, '15:02')));
    const dayLater = (hours: number): string => new Date(m.at('12:50') + hours * hourMs).toISOString();
    expect(backOf(at(m, dayLater(40)))).toEqual(backOf(at(m, dayLater(30))));
  });

  it('says nothing where no estimate is valid', () => {
    const ill = filled();
    ill.add('08:02', 'caution', { caution: 'ascites', present: true });
    const facts = at(ill, '15:00');
    const late = facts.lateDetections[0];
    expect(late && lookBackAt(late, facts, zone)).toEqual({ notValid: 'ascites' });
  });
});
