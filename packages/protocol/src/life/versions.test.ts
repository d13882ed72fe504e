// Proves     the state of a version is what its acts say, in whatever they are tried on: published only once, only with the
//            content that was signed, retired for good; a ward's own version comes before the example, a kept version
//            before both. Tolerance exact.
import { describe, expect, it } from 'vitest';
import type { Signature } from '@ebbline/core/record';
import { starterFor } from '../starters.ts';
import { foldVersions, inForce, nextVersion, protocolFor, versionOf, type ProtocolAct } from './versions.ts';

const starter = starterFor('after-surgery');
if (!starter) throw new Error('no starter');
const by = (person: string, at: string): Signature => ({
  person,
  name: `N. ${person}`,
  role: 'specialist-nurse',
  at,
});
const sent = (version: number, ward = 'w', digest = `d${version}`): ProtocolAct => ({
  act: 'sent',
  id: 'after-surgery',
  version,
  ward,
  dmn: '<x/>',
  contentDigest: digest,
  by: by('author', '2026-05-01T08:00:00Z'),
});
const published = (version: number, day = version, digest = `d${version}`): ProtocolAct => ({
  act: 'published',
  id: 'after-surgery',
  version,
  contentDigest: digest,
  reviewBy: '2027-05-01',
  by: by('signer', `2026-05-0${day}T09:00:00Z`),
});
const retired = (version: number): ProtocolAct => ({
  act: 'retired',
  id: 'after-surgery',
  version,
  reason: 'A row was wrong.',
  by: by('signer', '2026-05-09T09:00:00Z'),
});
const contents = new Map([2, 3, 4].map((version) => [`d${version}`, { ...starter, version }] as const));
const fold = (...acts: ProtocolAct[]) => foldVersions(acts, contents);
const states = (...acts: ProtocolAct[]) => fold(...acts).map((one) => `${one.protocol.version} ${one.state}`);

describe('the acts of a version', () => {
  it('make it wait, publish it under a name until a day, and retire it', () => {
    expect(states(sent(2))).toEqual(['2 proved']);
    const [one] = fold(sent(2), published(2));
    expect(one).toMatchObject({
      state: 'published',
      protocol: { approval: { signedBy: 'N. signer', role: 'specialist-nurse', reviewBy: '2027-05-01' } },
    });
    expect(states(sent(2), published(2), retired(2))).toEqual(['2 retired']);
    expect(states(sent(2), retired(2))).toEqual(['2 retired']);
  });
  it('do nothing to what was never sent, twice, out of turn, or with another content', () => {
    expect(states(published(2), retired(2))).toEqual([]);
    expect(states(sent(2), sent(2, 'other'))).toEqual(['2 proved']);
    expect(states(sent(2), published(2, 2, 'changed'))).toEqual(['2 proved']);
    expect(states(sent(2), retired(2), published(2))).toEqual(['2 retired']);
    const [once] = fold(sent(2), published(2, 2));
    expect(fold(sent(2), published(2, 2), published(2, 5))).toEqual([once]);
  });
});

describe('the version that counts', () => {
  const two = fold(sent(2), published(2), sent(3), published(3), sent(4));
  it('for a new watch is the ward’s latest signed one, else the example', () => {
    expect(inForce(two, 'w', 'after-surgery')?.protocol.version).toBe(3);
    expect(inForce(two, 'other', 'after-surgery')).toBeUndefined();
    expect(protocolFor({ setting: 'after-surgery' }, 'w', two)?.version).toBe(3);
    expect(protocolFor({ setting: 'after-surgery' }, 'other', two)).toEqual(starter);
    expect(protocolFor({ setting: 'child' }, 'w', two)).toEqual(starterFor('child'));
    const without3 = fold(sent(2), published(2), sent(3), published(3), retired(3));
    expect(protocolFor({ setting: 'after-surgery' }, 'w', without3)?.version).toBe(2);
  });
  it('for a watch that keeps one is that one, also when it is retired; what only waits is nobody’s', () => {
    const kept = (version: number) =>
      protocolFor(
        { setting: 'after-surgery', protocol: { id: 'after-surgery', version } },
        'w',
        fold(sent(2), published(2), retired(2), sent(3), published(3), sent(4)),
      );
    expect(kept(1)).toEqual(starter);
    expect(kept(2)?.version).toBe(2);
    expect(kept(4)?.version).toBe(3);
    expect(versionOf(two, { id: 'after-surgery', version: 4 })).toBeUndefined();
  });
  it('is numbered above every one that was sent, taken back or shipped', () => {
    expect(nextVersion([], 'after-surgery')).toBe(starter.version + 1);
    expect(nextVersion(fold(sent(4), retired(4)), 'after-surgery')).toBe(5);
    expect(nextVersion([], 'our-own')).toBe(1);
  });
});
