// Proves     those who own a ward's protocols are told, in words, of a review that is due from the unit's days before it, and of a
//            draft of somebody else that waits; nobody else is, and nothing is said of what is current. Tolerance exact words.
import { describe, expect, it } from 'vitest';
import type { Person } from '@ebbline/core/record';
import type { ProtocolVersion } from '@ebbline/protocol';
import { directory, nurse } from '../../shell/testing/fakes.ts';
import { protocolWants } from './protocol-wants.ts';

const [ward] = directory.wards;
if (!ward) throw new Error('no ward');
const nowMs = Date.parse('2026-05-14T10:00:00Z');
const owner: Person = { ...nurse, id: 'owner', role: 'specialist-nurse' };
const by = { person: 'author', name: 'A. Author', role: 'nurse', at: '2026-01-01T08:00:00Z' } as const;
const version = (number: number, over: Partial<ProtocolVersion>): ProtocolVersion =>
  ({
    ward: ward.id,
    state: 'published',
    protocol: { id: 'after-surgery', title: 'After surgery', version: number },
    sent: by,
    ...over,
  }) as ProtocolVersion;
const published = (number: number, reviewBy: string): ProtocolVersion =>
  version(number, { published: { ...by, reviewBy } });
const versions = [
  published(2, '2027-05-14'),
  published(3, '2026-06-13'),
  published(4, '2026-05-09'),
  version(5, { state: 'proved' }),
  version(6, { state: 'proved', sent: { ...by, person: owner.id } }),
  version(7, { state: 'retired', published: { ...by, reviewBy: '2026-05-09' } }),
  { ...published(8, '2026-05-20'), ward: 'another' },
];
const words = (me: Person): readonly string[] =>
  protocolWants(versions, me, ward, nowMs).map((one) => one.words);

describe('what a ward’s protocols want', () => {
  it('is said to those who own them', () => {
    expect(words(owner)).toEqual([
      'After surgery, version 3. Its review is due by 13 June 2026, in 30 days.',
      'After surgery, version 4. Its review was due by 9 May 2026, 5 days ago.',
      'After surgery, version 5, waits for your signature. A. Author sent it.',
    ]);
    expect(words({ ...owner, role: 'charge-nurse' })).toHaveLength(3);
  });
  it('is not said to others, nor to owners of other wards', () => {
    expect(words(nurse)).toEqual([]);
    expect(words({ ...owner, wards: ['another'] })).toEqual([]);
  });
});
