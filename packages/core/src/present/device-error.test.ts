// Proves     a scanner's lasting error is one sentence with its figures; a reading of one that reads low says what it may
//            be; "why?" lists the pairs.
// Tolerance  exact words
import { describe, expect, it } from 'vitest';
import type { DeviceError, PatientAgreementPair } from '../facts/index.ts';
import { defaultSettings, type Directory } from '../record/index.ts';
import { foldPatient } from '../facts/index.ts';
import { read, watched, zone } from '../facts/testing/course.ts';
import { deviceSentence, timelineRows, whyDevice } from './index.ts';

const pair = (readMl: number, drainedMl: number, drainedAtMs: number): PatientAgreementPair => ({
  readingId: `r${drainedAtMs}` as PatientAgreementPair['readingId'],
  drainId: `d${drainedAtMs}` as PatientAgreementPair['drainId'],
  readMl,
  readAtLeast: false,
  drainedMl,
  apartMin: 5,
  fillingMl: { low: 0, high: 0 },
  operator: 'kl',
  scanner: 'a',
  besideMl: [],
  readMuchDrainedLittle: false,
  patient: 'p',
  drainedAtMs,
});
const device = (reads: DeviceError['reads'], likely: number): DeviceError => ({
  scanner: 'a',
  pairs: [pair(440, 500, Date.UTC(2026, 4, 12, 9)), pair(600, 600, Date.UTC(2026, 4, 13, 9))],
  bias: { low: likely - 0.04, likely, high: likely + 0.04 },
  spread: { low: 0.1, likely: 0.13, high: 0.17 },
  reads,
});
const directory: Directory = {
  organisation: 'x',
  wards: [],
  people: [{ id: 'kl', name: 'Kara Lund', initials: 'K.L.', role: 'nurse', wards: [] }],
  scanners: [{ id: 'a', name: 'Scanner A', ward: 'x' }],
};

describe('a scanner in words', () => {
  it('that reads low says by how much, how sure that is, and what follows', () => {
    expect(deviceSentence(device('low', -0.09), 500, directory)).toBe(
      'Scanner A reads low: about 9 % or 45 mL at 500 mL (13 % low to 5 % low, nine times in ten, from 2 pairs). Beside that its readings scatter by about 13 % (10 % to 17 %). Looks come earlier for it; no reading is changed.',
    );
  });

  it('that reads high takes nothing off', () => {
    expect(deviceSentence(device('high', 0.09), 500, directory)).toContain(
      'Nothing is taken off: its readings count as they are.',
    );
  });

  it('that agrees says so no more surely than its pairs allow', () => {
    expect(deviceSentence(device('as-drained', -0.02), 500, directory)).toMatch(
      /^Scanner A agrees with what was drained as far as can be said: about 2 % low \(6 % low to 2 % high,/,
    );
  });

  it('why? lists each pair with its error, the latest first', () => {
    const { rows, sum } = whyDevice(device('low', -0.09), Date.UTC(2026, 4, 14, 9), 'Etc/UTC', directory);
    expect(rows.map((row) => [row.time, row.what, row.volume, row.by])).toEqual([
      ['13 May 09:00', 'Read 600 mL, drained 600 mL', 'alike', 'K.L.'],
      ['12 May 09:00', 'Read 440 mL, drained 500 mL', '12 % low', 'K.L.'],
    ]);
    expect(sum.join(' ')).toContain('Only drained patients can be paired');
  });
});

describe('a reading', () => {
  const remarkOf = (reads: DeviceError['reads'], more: object = {}): string => {
    const m = watched('08:00');
    read(m, '09:00', 430, { scanner: 'a', ...more });
    const facts = foldPatient({
      patient: 'p-4',
      entries: m.entries,
      nowMs: m.at('09:05'),
      settings: defaultSettings,
      zone,
      devices: new Map([['a', device(reads, -0.09)]]),
    });
    return timelineRows(facts, zone, directory).find((row) => row.what.startsWith('Reading'))?.remark ?? '';
  };

  it('of a scanner that reads low says what it may be', () => {
    expect(remarkOf('low')).toBe(
      'Scanner A reads about 9 % low (5 % to 13 %, 2 pairs): it may be about 475 mL.',
    );
  });

  it('says nothing of it otherwise, or where only part was seen', () => {
    expect(remarkOf('as-drained')).toBe('');
    expect(remarkOf('low', { result: 'at-least', doubts: ['cut-below'] })).not.toContain('Scanner A');
  });
});
