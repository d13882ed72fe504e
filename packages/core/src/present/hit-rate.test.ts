// Proves     a share is said only from 20 pairs on; whether the forecast may lengthen an interval is said with who, when and on what.
// Tolerance  exact words
import { describe, expect, it } from 'vitest';
import { hitRateOf, type HitRate } from '../facts/index.ts';
import { defaultSettings, type Lengthening } from '../record/index.ts';
import { hitRateSentences, lengtheningSentences } from './index.ts';

const rate = (within: number, of: number): HitRate =>
  hitRateOf(Array.from({ length: of }, (_, index) => ({ within: index < within })));
const zone = 'Europe/Lisbon';
const nowMs = Date.parse('2026-05-14T18:30:00+01:00');
const signature = {
  person: 'nora',
  name: 'Nora Tideway',
  role: 'specialist-nurse',
  at: '2026-05-10T09:00:00+01:00',
} as const;
const signed: Lengthening = { signed: signature, within: 181, pairs: 200 };
const said = (lengthening: Lengthening | undefined, ward = rate(181, 200), rangeSeen = true): string =>
  lengtheningSentences(
    { ...defaultSettings, ...(lengthening ? { lengthening } : {}) },
    ward,
    rangeSeen,
    nowMs,
    zone,
  ).join(' ');

describe('how often the estimate was right', () => {
  it('is said with its share and interval', () => {
    expect(hitRateSentences(rate(41, 47), rate(41, 47))).toEqual([
      'On this ward its 90 % ranges held the measured volume 41 of 47 times (87 %, 74 to 95).',
    ]);
  });

  it('is not said of fewer than 20 pairs, and says how many there are', () => {
    expect(hitRateSentences(rate(7, 7), rate(7, 7))).toEqual([
      'Too few pairs to say how often it is right here (7 so far).',
    ]);
    expect(hitRateSentences(rate(19, 19), rate(20, 20))[0]).toContain('(19 so far)');
    expect(hitRateSentences(rate(20, 20), rate(20, 20))[0]).toContain('20 of 20 times (100 %, 83 to 100)');
  });

  it('of all wards stands beside it where there are more', () => {
    expect(hitRateSentences(rate(7, 7), rate(120, 131))[1]).toBe(
      'On all wards 120 of 131 times (92 %, 85 to 96).',
    );
    expect(hitRateSentences(rate(7, 7), rate(9, 9))).toHaveLength(1);
  });
});

describe('whether the forecast may lengthen an interval', () => {
  it('is off, with what is missing for a signature', () => {
    expect(said(undefined, rate(41, 47))).toBe(
      "Off. The forecast brings looks forward; it lets none wait longer. It can't be signed now: 47 pairs on this ward; asked for is at least 100 pairs.",
    );
    expect(said(undefined, rate(80, 100))).toContain('perhaps as few as 70 %');
    expect(said(undefined)).toContain('A specialist nurse may sign for it.');
  });

  it('is on with name, role, day and figures', () => {
    expect(said(signed)).toBe(
      'On. Signed by Nora Tideway, specialist nurse, 10 May 09:00, on 181 of 200 pairs. It ends by itself on 8 Aug 09:00. A look may wait as long as the limit stays unlikely, inside the range of times of its row and never past it.',
    );
  });

  it('says that it changes nothing while no row gives a range', () => {
    expect(said(signed, rate(181, 200), false)).toContain('so it changes nothing.');
    expect(said(undefined, rate(181, 200), false)).toContain('so it changes nothing.');
  });

  it('says who took it back, and when a signature has run out or falls short of the bars', () => {
    const at = '2026-05-12T09:00:00+01:00';
    expect(said({ ...signed, revoked: { ...signature, name: 'Ole Brandt', role: 'nurse', at } })).toContain(
      'Off. The forecast brings looks forward; it lets none wait longer. Taken back by Ole Brandt, nurse, 12 May 09:00.',
    );
    expect(said({ ...signed, signed: { ...signature, at: '2026-01-10T09:00:00+00:00' } })).toContain(
      'has run out.',
    );
    expect(said({ ...signed, within: 120 })).toContain('no longer meets what the unit asks for.');
  });
});
