// Proves     a version is signed only when its proof has no fault, by a second person of the ward who may sign, for a day
//            within the unit's bound; the refusal of an unproved one names a patient. Tolerance exact, at the day.
import { describe, expect, it } from 'vitest';
import { isRefusal, refuse } from '@ebbline/core/quantity';
import { defaultSettings, type Person, type UnitSettings } from '@ebbline/core/record';
import { proveProtocol } from '../prove-protocol.ts';
import { starterFor, starterProtocols } from '../starters.ts';
import { proofRefusal, signingRefusal } from './signing.ts';
import { foldVersions, type ProtocolVersion } from './versions.ts';

const zone = 'Europe/Lisbon';
const nowMs = Date.parse('2026-05-14T23:30:00Z'); // 15 May in Lisbon
const starter = starterFor('after-surgery');
if (!starter) throw new Error('no starter');
const [waiting] = foldVersions(
  [
    {
      act: 'sent',
      id: 'after-surgery',
      version: 2,
      ward: 'w',
      dmn: '',
      contentDigest: 'd',
      by: { person: 'author', name: 'A', role: 'specialist-nurse', at: '2026-05-01T08:00:00Z' },
    },
  ],
  new Map([['d', starter]]),
) as [ProtocolVersion];
const signer: Person = { id: 'second', name: 'S', initials: 'S', role: 'specialist-nurse', wards: ['w'] };
const codeOf = (
  over: Partial<{ version: ProtocolVersion; signer: Person; reviewBy: string; settings: UnitSettings }> = {},
): string | undefined =>
  signingRefusal({
    version: waiting,
    signer,
    reviewBy: '2027-05-15',
    settings: defaultSettings,
    nowMs,
    zone,
    ...over,
  })?.code;

describe('signing', () => {
  it('stands open to a second person of the ward who owns its protocols', () => {
    expect(codeOf()).toBeUndefined();
    expect(codeOf({ signer: { ...signer, role: 'nurse' } })).toBe('protocol/not-a-signer');
    expect(codeOf({ signer: { ...signer, wards: ['other'] } })).toBe('protocol/other-ward');
  });
  it('[H6-second-person] is refused to the author, unless the unit lets one person do both', () => {
    const author = { ...signer, id: 'author' };
    expect(codeOf({ signer: author })).toBe('protocol/own-draft');
    expect(
      codeOf({ signer: author, settings: { ...defaultSettings, protocolAuthorMaySign: 1 } }),
    ).toBeUndefined();
  });
  it('asks for a day of review after today, within the unit’s bound, by the calendar of the ward', () => {
    const settings = { ...defaultSettings, protocolReviewWithinDays: 10 };
    const days = [
      '2026-05-14',
      '2026-05-15',
      '2026-05-16',
      '2026-05-25',
      '2026-05-26',
      '2026-02-30',
      'soon',
      '',
    ];
    expect(days.map((reviewBy) => codeOf({ reviewBy, settings }))).toEqual([
      'protocol/review-by',
      'protocol/review-by',
      undefined,
      undefined,
      'protocol/review-by',
      'protocol/review-by',
      'protocol/review-by',
      'protocol/review-by',
    ]);
  });
  it('is for what waits alone', () => {
    expect(codeOf({ version: { ...waiting, state: 'published' } })).toBe('protocol/not-waiting');
    expect(codeOf({ version: { ...waiting, state: 'retired' } })).toBe('protocol/not-waiting');
  });
});

describe('an unproved protocol', () => {
  it('is refused with a patient who shows why', () => {
    const tables = starter.tables.map((table) =>
      table.decision === 'Advice'
        ? { ...table, rows: table.rows.filter((row) => row.id !== 'AS-32') }
        : table,
    );
    const holed = { ...starter, tables };
    const refusal = proofRefusal(holed, proveProtocol(holed));
    expect(refusal).toMatchObject({ code: 'protocol/not-proved', where: 'Advice' });
    expect(refusal?.found).toMatch(
      /^1 fault\. No row for: volume from 250 to 400 mL; .*For example: 250 mL, .*just read/,
    );
  });
  it('is also one that was too large to prove; every example is proved', () => {
    const large = refuse('protocol/too-large-to-prove', { asked: '', found: '', allowed: '', todo: '' });
    expect(proofRefusal(starter, large)).toBe(large);
    expect(
      proofRefusal(starter, { faults: [], unreachableRows: [], kinds: 1, exceptions: [], whole: false })
        ?.code,
    ).toBe('protocol/not-proved');
    for (const one of starterProtocols) {
      const proof = proveProtocol(one);
      expect(isRefusal(proof) ? proof : proofRefusal(one, proof)).toBeUndefined();
    }
  });
});
