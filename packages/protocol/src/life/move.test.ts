// Proves     a watch keeps the version of its first step when the ward publishes another; what the other would change for
//            this patient is the same question asked of both; once moved, the next step is taken from it. Tolerance exact.
import { beforeEach, describe, expect, it } from 'vitest';
import { foldPatient, type PatientFacts } from '@ebbline/core/facts';
import { instantMs, isRefusal, orThrow, uuidV7 } from '@ebbline/core/quantity';
import { defaultSettings, type Entry, type EntryKind, type PayloadOf } from '@ebbline/core/record';
import type { CompiledProtocol } from '../compile-protocol.ts';
import { adviseFrom, advicePayload, triggerOf } from '../from-facts.ts';
import { starterFor } from '../starters.ts';
import { moveEntries, moveOffer, type MoveOffer } from './move.ts';
import { foldVersions, protocolFor, type ProtocolVersion } from './versions.ts';

const zone = 'Europe/London';
const starter = starterFor('after-surgery') as CompiledProtocol;
/** The example, but row AS-31 looks again in 60 minutes and not in 90. */
const sooner: CompiledProtocol = {
  ...starter,
  tables: starter.tables.map((table) => ({
    ...table,
    rows: table.rows.map((row) =>
      row.id === 'AS-31' ? { ...row, values: row.values.with(table.outputs.indexOf('dueInMin'), 60) } : row,
    ),
  })),
};
const by = { person: 's', name: 'S', role: 'specialist-nurse', at: '2026-05-14T08:00:00Z' } as const;
const versionsOf = (...versions: number[]): readonly ProtocolVersion[] =>
  foldVersions(
    versions.flatMap((version) => [
      { act: 'sent', id: 'after-surgery', version, ward: 'six', dmn: '', contentDigest: 'd', by } as const,
      {
        act: 'published',
        id: 'after-surgery',
        version,
        contentDigest: 'd',
        reviewBy: '2027-01-01',
        by,
      } as const,
    ]),
    new Map([['d', sooner]]),
  );

let entries: Entry[];
let versions: readonly ProtocolVersion[];
const at = (time: string): string => `2026-05-14T${time}:00+01:00`;
const factsAt = (atMs: number): PatientFacts =>
  foldPatient({ patient: 'p', entries, nowMs: atMs, settings: defaultSettings, zone });
const facts = (time: string): PatientFacts => factsAt(instantMs(at(time)));
const add = <Kind extends EntryKind>(time: string, kind: Kind, payload: PayloadOf<Kind>): Entry => {
  const entry = {
    id: uuidV7(instantMs(at(time)), [entries.length, 1, 2, 3, 4, 5, 6, 7, 8, 9]),
    organisation: 'o',
    patient: 'p',
    kind,
    effectiveAt: at(time),
    timeQuality: 'exact',
    recordedAt: at(time),
    author: 'kl',
    madeOn: 't',
    payload,
  } as unknown as Entry;
  entries.push(entry);
  const trigger = triggerOf(kind, payload);
  if (trigger !== undefined) {
    const now = facts(time);
    const advice = adviseFrom(now, trigger, zone, protocolFor(now.watch, now.ward, versions));
    if (!isRefusal(advice)) add(time, 'step-advised', advicePayload(advice, at(time), entry.id));
  }
  return entry;
};
const offer = (time: string) => moveOffer({ facts: facts(time), factsAt, versions, zone });

/** What the page adds when somebody moves the watch. */
function move(time: string, offered: MoveOffer): void {
  const made = orThrow(moveEntries(offered));
  add(time, 'protocol-moved', made.moved);
  const step = add(time, 'step-advised', made.step);
  entries = entries.map((one) => (one === step ? { ...one, effectiveAt: made.stepAt ?? at(time) } : one));
}

beforeEach(() => {
  entries = [];
  versions = [];
  add('09:00', 'patient-registered', {
    familyName: 'A',
    givenName: 'B',
    ageYears: 60,
    sex: 'female',
    identifierSystem: 's',
    identifierValue: '1',
    ward: 'six',
    bed: '4',
  });
});

describe('a watch that began before a version was published', () => {
  beforeEach(() => {
    add('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'knee' });
    versions = versionsOf(2);
    add('11:00', 'reading', { result: 'exact', volumeMl: 240, relation: 'no-void', doubts: [] });
  });

  it('goes on by the version of its first step', () => {
    const last = entries.at(-1);
    expect(last).toMatchObject({ kind: 'step-advised', payload: { rowId: 'AS-31', protocolVersion: 1 } });
    expect(facts('11:01').watch.protocol).toEqual({ id: 'after-surgery', version: 1 });
  });

  it('is shown what the other changes, in words and for the step that stands', () => {
    const found = offer('11:30');
    expect(found?.changes?.map((one) => `${one.rowId}: ${one.words}`)).toEqual([
      'AS-31: Due in, min: 90, now 60',
    ]);
    expect(found?.because).toMatchObject({ kind: 'reading' });
    expect(found?.before).toMatchObject({ dueInMin: 90, protocol: { version: 1 } });
    expect(found?.after).toMatchObject({
      dueInMin: 60,
      protocol: { version: 2, approval: { signedBy: 'S' } },
    });
  });

  it('is moved by an entry, and from then on goes by the other', () => {
    const found = offer('11:30');
    if (!found) throw new Error('no offer');
    move('11:30', found);
    const moved = facts('11:31');
    expect(moved.watch.protocol).toEqual({ id: 'after-surgery', version: 2 });
    expect(moved.due[0]).toMatchObject({
      dueAtMs: instantMs(at('12:00')),
      row: { protocolVersion: 2, approved: true },
    });
    expect(offer('11:31')).toBeUndefined();
    add('11:40', 'void', { how: 'measured', volumeMl: 200 });
    expect(entries.at(-1)).toMatchObject({ kind: 'step-advised', payload: { protocolVersion: 2 } });
  });

  it('[H6-move-keeps-overdue] keeps an overdue look overdue, by the protocol and by the forecast, and counts it once', () => {
    const same = versionsOf(2).map((one) => ({
      ...one,
      protocol: { ...one.protocol, tables: starter.tables },
    }));
    versions = same;
    for (const time of ['12:35', '15:00']) {
      const before = facts(time);
      const found = offer(time);
      if (!found) throw new Error('no offer');
      move(time, found);
      const after = facts(time);
      expect(after.watch.protocol?.version).toBe(2);
      expect(after.due[0]).toMatchObject({
        dueAtMs: before.due[0]?.dueAtMs,
        overdue: before.due[0]?.overdue,
        row: { protocolVersion: 2 },
      });
      expect(after.pastLooks.map(({ dueAtMs, outcome }) => [dueAtMs, outcome])).toEqual(
        before.pastLooks.map(({ dueAtMs, outcome }) => [dueAtMs, outcome]),
      );
      entries = entries.slice(0, -2);
    }
    expect(facts('15:00').due[0]?.overdue).toBe(true);
  });

  it('whose kept tables are not here is told so, and is refused a step until it is moved', () => {
    entries = entries.map((one) =>
      one.kind === 'step-advised' ? { ...one, payload: { ...one.payload, protocolVersion: 90 } } : one,
    );
    const found = offer('11:30');
    expect(found).toMatchObject({ from: { version: 90 }, changes: undefined, before: undefined });
    const now = facts('11:30');
    expect(adviseFrom(now, 'time', zone, protocolFor(now.watch, now.ward, versions))).toMatchObject({
      code: 'protocol/other-version',
    });
  });
});

describe('a watch that begins afterwards', () => {
  it('goes by the ward’s version from its first step, and is offered nothing', () => {
    versions = versionsOf(2);
    add('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'knee' });
    expect(entries.at(-1)).toMatchObject({
      kind: 'step-advised',
      payload: { protocolVersion: 2, protocolApproval: 'signed' },
    });
    expect(offer('10:01')).toBeUndefined();
  });
});
