// Proves     a patient is followed by some ward at every step of every course; a move leaves no minute in which neither
//            the giving nor the taking ward follows; who has the watch always follows
// Published  none: the rule that the giver keeps the watch until the acceptance (ownership.ts)
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { followingKinds, followingOf, type Following } from './following.ts';
import { maker, type Maker } from './testing/make.ts';
import { ownershipOf } from './ownership.ts';
import { resolveEntries } from './resolve.ts';

const registered = (m: Maker, at: string, ward: string, patient = 'p-4', corrects?: string) =>
  m.add(
    at,
    'patient-registered',
    {
      familyName: 'Ostrander',
      givenName: 'Wilma',
      sex: 'female',
      identifierSystem: 'urn:made-up',
      identifierValue: patient,
      ward,
      bed: '4',
    },
    { patient, ...(corrects === undefined ? {} : { corrects }) },
  );
const moved = (m: Maker, at: string, ward: string, patient = 'p-4') =>
  m.add(at, 'transferred', { ward, bed: '1' }, { patient });
const following = (m: Maker, patient = 'p-4'): Following => followingOf(patient, m.entries);
const wardsOf = ({ followers }: Following): readonly string[] =>
  followers.filter(({ kind, untilMs }) => kind === 'ward' && untilMs === undefined).map(({ id }) => id);
const personsOf = ({ followers }: Following): readonly string[] =>
  followers.filter(({ kind, untilMs }) => kind === 'person' && untilMs === undefined).map(({ id }) => id);
const watch = (m: Maker, at: string, owner = 'nurse-kl') =>
  m.add(at, 'watch-opened', { setting: 'after-surgery', reason: 'x', owner });

describe('following', () => {
  it('begins with the ward of registration and goes with a move, when nobody watches', () => {
    const m = maker();
    registered(m, '08:00', 'gull');
    expect(wardsOf(following(m))).toEqual(['gull']);
    moved(m, '09:00', 'tern');
    expect(following(m)).toMatchObject({ ward: 'tern', watched: false });
    expect(wardsOf(following(m))).toEqual(['tern']);
  });

  it('[H13-giver-follows] stays with the ward that has the watch until the other ward has accepted it', () => {
    const m = maker();
    registered(m, '08:00', 'gull');
    watch(m, '08:10');
    moved(m, '10:00', 'tern');
    const offer = m.add('10:00', 'ownership-offered', {
      toRole: 'nurse',
      toWard: 'tern',
      occasion: 'transfer',
    });
    expect(wardsOf(following(m))).toEqual(['tern', 'gull']);
    expect(personsOf(following(m))).toEqual(['nurse-kl']);
    m.add(
      '10:40',
      'ownership-accepted',
      { offer: offer.id, readBack: 'Look by 12:00' },
      { author: 'nurse-tt' },
    );
    const after = following(m);
    expect(wardsOf(after)).toEqual(['tern']);
    expect(personsOf(after)).toEqual(['nurse-tt']);
    // The giver sees for an hour who took it.
    expect(after.followers.filter(({ untilMs }) => untilMs !== undefined)).toEqual([
      { kind: 'ward', id: 'gull', untilMs: m.at('11:40') },
      { kind: 'person', id: 'nurse-kl', untilMs: m.at('11:40') },
    ]);
  });

  it('knows which ward had the watch also when the move is written down for the same minute', () => {
    const m = maker();
    registered(m, '08:00', 'gull');
    watch(m, '08:10');
    moved(m, '08:10', 'tern');
    expect(wardsOf(following(m))).toEqual(['tern', 'gull']);
    const early = maker();
    watch(early, '07:30');
    registered(early, '08:00', 'gull');
    moved(early, '08:10', 'tern');
    expect(wardsOf(following(early))).toEqual(['tern', 'gull']);
  });

  it('reaches the ward and the person that a watch was offered to, before any move', () => {
    const m = maker();
    registered(m, '08:00', 'gull');
    watch(m, '08:10');
    m.add('09:00', 'ownership-offered', { toRole: 'nurse', toWard: 'tern', occasion: 'transfer' });
    m.add('09:05', 'ownership-offered', { toPerson: 'nurse-zz', occasion: 'break' });
    expect(wardsOf(following(m))).toEqual(['gull', 'tern']);
    expect(personsOf(following(m))).toEqual(['nurse-kl', 'nurse-zz']);
  });

  it('follows a move that was put right, withdrawn, or written in the wrong record', () => {
    const m = maker();
    registered(m, '08:00', 'gull');
    registered(m, '08:00', 'heron', 'p-9');
    const wrong = moved(m, '09:00', 'tern');
    m.add('09:10', 'transferred', { ward: 'plover', bed: '2' }, { corrects: wrong.id });
    expect(following(m).ward).toBe('plover');
    const other = moved(m, '10:00', 'petrel');
    m.add('10:05', 'moved-to-patient', { of: other.id, toPatient: 'p-9' });
    expect(following(m).ward).toBe('plover');
    expect(following(m, 'p-9').ward).toBe('petrel');
    m.add('10:10', 'withdrawn', { of: other.id, reason: 'wrong-patient' }, { patient: 'p-9' });
    expect(following(m, 'p-9').ward).toBe('heron');
  });

  it('keeps a patient in sight whose registration was taken back or moved away', () => {
    const m = maker();
    const only = registered(m, '08:00', 'gull');
    watch(m, '08:10');
    m.add('08:20', 'withdrawn', { of: only.id, reason: 'wrong-patient' });
    expect(wardsOf(following(m))).toEqual(['gull']);
  });

  it('keeps in sight what is open: a watch, a catheter in place, a call without an answer', () => {
    const m = maker();
    registered(m, '08:00', 'gull');
    expect(following(m).watched).toBe(false);
    const call = m.add('08:20', 'call-made', {
      to: 'Dr Made Up',
      toRole: 'called-clinician',
      ask: 'What plan?',
      replyDueAt: '2026-05-14T08:40:00+01:00',
    });
    expect(following(m).watched).toBe(true);
    m.add('08:30', 'call-answered', { call: call.id, by: 'Dr Made Up', order: 'Wait', readBack: true });
    expect(following(m).watched).toBe(false);
    m.add('08:40', 'catheter-placed', { route: 'urethral', reason: 'acute-retention' });
    expect(following(m).watched).toBe(true);
    m.add('09:40', 'catheter-removed', { reason: 'planned' });
    expect(following(m).watched).toBe(false);
    watch(m, '10:00');
    expect(following(m).watched).toBe(true);
    m.add('11:00', 'watch-closed', { outcome: 'emptying' });
    expect(following(m)).toMatchObject({ watched: false, ward: 'gull' });
  });

  const wards = ['gull', 'tern', 'plover'] as const;
  const step = fc.record({
    what: fc.constantFrom('move', 'open', 'close', 'offer', 'accept', 'withdraw', 'measure'),
    ward: fc.constantFrom(...wards),
    person: fc.constantFrom('nurse-a', 'nurse-b', 'nurse-c'),
  });

  it('[H13-giver-follows] is never nobody, always has the present ward, the owner, and the ward that still has the watch', () => {
    fc.assert(
      fc.property(fc.array(step, { maxLength: 24 }), (steps) => {
        const m = maker();
        registered(m, '00:01', 'gull');
        for (const [index, { what, ward, person }] of steps.entries()) {
          const minute = index + 5;
          const at = `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
          const offers = m.entries.filter((one) => one.kind === 'ownership-offered');
          if (what === 'move') moved(m, at, ward);
          if (what === 'open') watch(m, at, person);
          if (what === 'close') m.add(at, 'watch-closed', { outcome: 'emptying' });
          if (what === 'measure') m.add(at, 'void', { how: 'measured', volumeMl: 100 });
          if (what === 'offer')
            m.add(at, 'ownership-offered', { toRole: 'nurse', toWard: ward, occasion: 'transfer' });
          if (what === 'accept' && offers.length > 0)
            m.add(at, 'ownership-accepted', { offer: offers.at(-1)!.id, readBack: 'x' }, { author: person });
          if (what === 'withdraw' && m.entries.length > 1)
            m.add(at, 'withdrawn', { of: m.entries.at(-1)!.id, reason: 'typing' });

          const now = following(m);
          const live = (resolveEntries(m.entries).byPatient.get('p-4') ?? [])
            .filter((one) => one.standing.state === 'live')
            .map((one) => one.entry);
          // A model of its own: walk the course and remember where the watch was last taken.
          let place = '';
          let watched = false;
          let heldAt = '';
          let taken = 0;
          const passes = ownershipOf(live, '', m.at(at)).spans.map(({ because }) => because);
          for (const entry of live) {
            if (entry.kind === 'patient-registered' || entry.kind === 'transferred')
              place = entry.payload.ward;
            if (entry.kind === 'watch-opened') watched = true;
            if (entry.kind === 'watch-closed') watched = false;
            if (passes.includes(entry.id)) {
              heldAt = place;
              taken += 1;
            }
          }
          const without = wardsOf(now);
          expect(without).toContain(place);
          if (watched && taken > 0) {
            expect(without).toContain(heldAt);
            const { owner } = ownershipOf(live, place, m.at(at));
            if (owner.kind === 'person') expect(personsOf(now)).toContain(owner.person);
          }
          expect(now.watched || !watched).toBe(true);
          expect(now.followers.every(({ untilMs }) => untilMs === undefined || untilMs > 0)).toBe(true);
          // Entries of other kinds leave it as it is, and so does the order of arrival.
          expect(
            followingOf('p-4', m.entries.filter(({ kind }) => followingKinds.has(kind)).toReversed()),
          ).toEqual(now);
        }
      }),
      { seed: 20_260_514, numRuns: 150 },
    );
  });
});
