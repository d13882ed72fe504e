// Proves     the mark of a protocol says who signed and until when, and that its day has passed or its time has ended; days are
//            those of the ward's calendar. Tolerance exact, at the day.
import { describe, expect, it } from 'vitest';
import { approvalWords, reviewState, reviewWords } from './approval.ts';

const zone = 'Europe/Lisbon';
const nowMs = Date.parse('2026-05-14T23:30:00Z'); // 15 May in Lisbon

describe('the day of review', () => {
  const state = (reviewBy: string) => reviewState(reviewBy, { protocolRemindDays: 10 }, nowMs, zone);
  it('is reminded of from the unit’s days before it, and past only after it', () => {
    expect(['2026-05-25', '2026-05-24', '2026-05-15', '2026-05-14'].map(state)).toEqual([
      'current',
      'soon',
      'soon',
      'past',
    ]);
  });
  it('is said in days', () => {
    expect(reviewWords('2026-05-25', nowMs, zone)).toBe('Its review is due by 25 May 2026, in 10 days.');
    expect(reviewWords('2026-05-15', nowMs, zone)).toBe('Its review is due today.');
    expect(reviewWords('2026-05-14', nowMs, zone)).toBe('Its review was due by 14 May 2026, 1 day ago.');
  });
  it('stands in the mark with who signed; past it, and after the end, the mark says so', () => {
    const approval = (reviewBy: string) =>
      ({ signedBy: 'S. Tern', role: 'specialist-nurse', on: '2026-05-01T23:30:00Z', reviewBy }) as const;
    expect(approvalWords('example-not-approved', nowMs, zone)).toBe('Example protocol, not approved');
    expect(approvalWords(approval('2027-05-02'), nowMs, zone)).toBe(
      'Signed by S. Tern, specialist nurse, on 2 May 2026, to be reviewed by 2 May 2027',
    );
    expect(approvalWords(approval('2026-05-14'), nowMs, zone)).toBe(
      'Its review was due by 14 May 2026 and has not been done. Signed by S. Tern, specialist nurse, on 2 May 2026',
    );
    expect(
      approvalWords(approval('2027-05-02'), nowMs, zone, {
        at: '2026-05-10T10:00:00Z',
        reason: 'A row was wrong.',
      }),
    ).toBe('Signed by S. Tern, specialist nurse, on 2 May 2026. Retired on 10 May 2026: A row was wrong.');
  });
});
