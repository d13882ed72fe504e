// Proves     facts depend on the set of entries, never on the order of arrival; every open item has exactly one owner at
//            every minute in every replica's own view and in the merged record; what was known earlier can be rebuilt.
// Method     property tests (fast-check, seeded) and a model of ownership written apart from the product's fold.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  instantMs,
  instantOfMs,
  minuteMs,
  seededRandom,
  uuidV7,
  type RandomSource,
} from '../quantity/index.ts';
import { defaultSettings, type Entry } from '../record/index.ts';
import { foldPatient, liveEntries } from './fold.ts';
import { ownershipOf, sameOwner } from './ownership.ts';
import { dueItems, worklists } from './due.ts';
import { catheterFact } from './catheter.ts';
import { watchOf, placementOf } from './situation.ts';
import { entriesByPatient, knownAt, resolveEntries } from './resolve.ts';
import type { DueItem, Owner } from './types.ts';

const zone = 'Asia/Kolkata';
/** Set for the run that looks at every minute of every history; see scripts/test.mjs. */
const long = process.env['EBBLINE_LONG'] === '1';
/** In a second and third time zone a tenth of the histories is enough: the rules know no clock face. */
const histories = process.env['EBBLINE_SHORT'] === '1' ? 1000 : 10_000;
const watchedWhole = 10;
const startMs = instantMs('2026-05-14T06:00:00+05:30');

/** A made-up shift of one patient, with corrections, withdrawals, moves, offers and acceptances. */
function history(random: RandomSource, length: number): Entry[] {
  const entries: Entry[] = [];
  const people = ['a', 'b', 'c'];
  let count = 0;
  const add = (
    minute: number,
    kind: Entry['kind'],
    payload: unknown,
    extra: Record<string, unknown> = {},
  ): Entry => {
    count += 1;
    const at = instantOfMs(startMs + minute * minuteMs);
    const entry = {
      id: uuidV7(startMs + count, [1, 2, 3, count >> 8, count & 255, 6, 7, 8, 9, 10]),
      organisation: 'o',
      patient: 'p',
      kind,
      effectiveAt: at,
      timeQuality: 'exact',
      recordedAt: instantOfMs(startMs + (minute + random.below(20)) * minuteMs),
      author: random.pick(people),
      madeOn: `t${random.below(2)}`,
      payload,
      ...extra,
    } as unknown as Entry;
    entries.push(entry);
    return entry;
  };
  add(0, 'patient-registered', {
    familyName: 'X',
    givenName: 'Y',
    sex: 'female',
    identifierSystem: 's',
    identifierValue: '1',
    ward: 'six',
    bed: '1',
  });
  add(1, 'watch-opened', { setting: 'after-surgery', reason: 'made up', owner: 'a' });
  for (let step = 0; step < length; step += 1) {
    const minute = 2 + random.below(600);
    const earlier = entries[random.below(entries.length)] as Entry;
    const choice = random.below(12);
    if (choice === 0)
      add(minute, 'reading', {
        result: 'exact',
        volumeMl: random.below(900),
        relation: 'before-void',
        doubts: [],
      });
    else if (choice === 1) add(minute, 'void', { how: 'measured', volumeMl: random.below(500) });
    else if (choice === 2) add(minute, 'drained', { route: 'in-out', volumeMl: random.below(1200) });
    else if (choice === 3)
      add(minute, 'step-advised', {
        step: 'look-again',
        dueAt: instantOfMs(startMs + (minute + 60) * minuteMs),
        ownerRole: 'nurse',
        why: 'w',
        rowId: 'r',
        rowText: 't',
        rowSourceId: 's',
        protocolId: 'p',
        protocolVersion: 1,
        protocolApproval: 'example-not-approved',
        becauseOf: earlier.id,
      });
    else if (choice === 4) add(minute, 'withdrawn', { of: earlier.id, reason: 'typing' });
    else if (choice === 5 && earlier.kind === 'reading')
      add(
        instantMs(earlier.effectiveAt) === startMs
          ? 1
          : (instantMs(earlier.effectiveAt) - startMs) / minuteMs,
        'reading',
        { ...earlier.payload, volumeMl: random.below(900) },
        { corrects: earlier.id },
      );
    else if (choice === 6)
      add(minute, 'moved-to-patient', { of: earlier.id, toPatient: random.pick(['p', 'q']) });
    else if (choice === 7 || choice === 8)
      add(
        minute,
        'ownership-offered',
        random.below(2) === 0
          ? { toPerson: random.pick(people), occasion: 'shift' }
          : { toRole: 'nurse', occasion: 'break' },
      );
    else if (choice === 9 || choice === 10) {
      const offers = entries.filter((one) => one.kind === 'ownership-offered');
      const offer = offers[random.below(Math.max(1, offers.length))];
      if (offer) add(minute, 'ownership-accepted', { offer: offer.id, readBack: 'read back' });
    } else if (choice === 11) {
      const pick = random.below(5);
      if (pick === 0) add(minute, 'transferred', { ward: random.pick(['six', 'seven']), bed: '2' });
      else if (pick === 1)
        add(minute, 'call-made', {
          to: 'registrar',
          toRole: 'called-clinician',
          ask: 'come',
          replyDueAt: instantOfMs(startMs + (minute + 15) * minuteMs),
        });
      else if (pick === 2) add(minute, 'catheter-placed', { route: 'urethral', reason: 'acute-retention' });
      else if (pick === 3)
        add(minute, 'watch-paused', {
          reason: 'theatre',
          backBy: instantOfMs(startMs + (minute + 90) * minuteMs),
        });
      else add(minute, 'watch-resumed', {});
    }
  }
  return entries;
}

const shuffled = <Item>(items: readonly Item[], random: RandomSource): Item[] => {
  const copy = [...items];
  for (let index = copy.length - 1; index > 0; index -= 1) {
    const other = random.below(index + 1);
    [copy[index], copy[other]] = [copy[other] as Item, copy[index] as Item];
  }
  return copy;
};

describe('the fold', () => {
  it('gives equal facts for every order of arrival, over 1,000 made-up shifts', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1_000_000 }), (seed) => {
        const random = seededRandom(seed);
        const entries = history(random, 18);
        const nowMs = startMs + random.below(700) * minuteMs;
        const request = {
          patient: random.below(4) === 0 ? 'q' : 'p',
          nowMs,
          settings: defaultSettings,
          zone,
        };
        const straight = foldPatient({ ...request, entries });
        const mixed = foldPatient({
          ...request,
          entries: shuffled([...entries, entries[0] as Entry], random),
        });
        expect(mixed).toEqual(straight);
      }),
      { seed: 20_260_514, numRuns: 1000 },
    );
  }, 60_000);

  it('gives the same facts from the entries that involve a patient as from all entries', () => {
    for (let seed = 1; seed <= 100; seed += 1) {
      const entries = history(seededRandom(seed), 24);
      for (const [patient, own] of entriesByPatient(entries)) {
        const request = { patient, nowMs: startMs + 650 * minuteMs, settings: defaultSettings, zone };
        expect(foldPatient({ ...request, entries: own })).toEqual(foldPatient({ ...request, entries }));
      }
    }
  });

  it('rebuilds what a tablet knew at an earlier minute from what it had received by then', () => {
    const entries = history(seededRandom(7), 30);
    const kept = entries.map((entry, index) => ({
      entry,
      receivedAt: instantOfMs(startMs + index * 10 * minuteMs),
    }));
    const known = knownAt(kept, startMs + 95 * minuteMs);
    expect(known).toEqual(entries.slice(0, 10));
  });
});

/** Owner by a model of its own: replays acceptances as a list of rules, knowing nothing of the product's fold. */
function modelOwner(live: readonly Entry[], nowMs: number, ward: string): Owner {
  let holder: Owner = { kind: 'role', role: 'charge-nurse', ward };
  const offeredBy = new Map<string, { giver: Owner; entry: Entry; version: number }>();
  let version = 0;
  for (const entry of live) {
    if (instantMs(entry.effectiveAt) > nowMs) continue;
    if (entry.kind === 'watch-opened') {
      const next: Owner = { kind: 'person', person: entry.payload.owner ?? entry.author };
      if (JSON.stringify(next) !== JSON.stringify(holder)) version += 1;
      holder = next;
    }
    if (entry.kind === 'ownership-offered') offeredBy.set(entry.id, { giver: holder, entry, version });
    if (entry.kind === 'ownership-accepted') {
      const offer = offeredBy.get(entry.payload.offer);
      if (!offer || offer.version !== version) continue;
      const named = offer.entry.kind === 'ownership-offered' ? offer.entry.payload.toPerson : undefined;
      if (named !== undefined && named !== entry.author) continue;
      const next: Owner = { kind: 'person', person: entry.author };
      if (JSON.stringify(next) !== JSON.stringify(holder)) version += 1;
      else offeredBy.delete(entry.payload.offer);
      holder = next;
    }
  }
  return holder;
}

function itemsOf(
  entries: readonly Entry[],
  nowMs: number,
): { items: readonly DueItem[]; owner: Owner; modelled: Owner; watching: boolean } {
  const resolution = resolveEntries(entries);
  const live = liveEntries(resolution, 'p', nowMs);
  const ward = placementOf(live).ward;
  const { owner, spans } = ownershipOf(live, ward, nowMs);
  const watch = watchOf(live);
  const items = dueItems({
    live,
    standing: resolution.standing,
    watch,
    catheter: catheterFact(live, nowMs, zone),
    owner,
    spans,
    settings: defaultSettings,
    nowMs,
    ward,
    forecast: { toleranceMs: undefined, bears: false },
    forecastAt: () => ({ toleranceMs: undefined, bears: false }),
  });
  return {
    items,
    owner,
    modelled: modelOwner(live, nowMs, ward),
    watching: watch.state === 'open' || watch.state === 'paused',
  };
}

/** The whole minutes of a replica's day from which on something may be otherwise than before; the first is the start. */
function changeMinutes(entries: readonly Entry[], receivedMs: (entry: Entry) => number): readonly number[] {
  const minutes = new Set([startMs]);
  for (const entry of entries) {
    const countsMs = Math.max(
      receivedMs(entry),
      Math.min(instantMs(entry.effectiveAt), instantMs(entry.recordedAt)),
    );
    for (const atMs of [receivedMs(entry), countsMs, instantMs(entry.effectiveAt)]) {
      const minute = startMs + Math.ceil((atMs - startMs) / minuteMs) * minuteMs;
      if (minute >= startMs && minute < startMs + 700 * minuteMs) minutes.add(minute);
    }
  }
  return [...minutes].sort((a, b) => a - b);
}

describe('ownership', () => {
  it(
    'has exactly one owner for every open item at every minute, in each replica and merged, over 10,000 histories',
    () => {
      let checked = 0;
      for (let seed = 1; seed <= histories; seed += 1) {
        const random = seededRandom(seed);
        const entries = history(random, 10 + random.below(14));
        // Two tablets, each cut off for a stretch: what one writes reaches the other late; a third sees all.
        const cutFrom = random.below(300);
        const cutTo = cutFrom + random.below(400);
        const receivedMs = (entry: Entry, replica: string): number => {
          const written = instantMs(entry.recordedAt);
          const minute = (written - startMs) / minuteMs;
          return replica === 'merged' || entry.madeOn === replica
            ? written
            : minute >= cutFrom && minute <= cutTo
              ? startMs + cutTo * minuteMs
              : written + 1;
        };
        for (const replica of ['t0', 't1', 'merged']) {
          // Who owns what changes only when an entry arrives or takes effect, so the first whole minute after each such
          // instant stands for every minute up to the next; the first histories are looked at in all 700 minutes,
          // which holds that argument too. Without the long run two of those minutes are drawn from each history.
          const changes = changeMinutes(entries, (one) => receivedMs(one, replica));
          const minutes =
            seed <= watchedWhole
              ? Array.from({ length: 700 }, (_, minute) => startMs + minute * minuteMs)
              : long
                ? changes
                : [random.pick(changes), random.pick(changes)];
          let before = '';
          for (const nowMs of minutes) {
            const held = entries.filter((one) => receivedMs(one, replica) <= nowMs);
            const { items, owner, modelled, watching } = itemsOf(held, nowMs);
            expect(owner, `seed ${seed}, ${replica}`).toEqual(modelled);
            const said = JSON.stringify([owner, items.map((item) => [item.key, item.owner])]);
            if (seed <= watchedWhole && !changes.includes(nowMs)) expect(said).toBe(before);
            before = said;
            const lists = worklists(items);
            const listed = lists.flatMap((one) => one.items.map((item) => item.key));
            expect(new Set(listed).size, `seed ${seed}, ${replica}: an item on two lists`).toBe(items.length);
            expect(listed.length).toBe(items.length);
            expect(items.every((item) => sameOwner(item.owner, owner))).toBe(true);
            if (watching)
              expect(
                items.length,
                `seed ${seed}, ${replica}: an open watch with nothing due`,
              ).toBeGreaterThan(0);
            checked += 1;
          }
        }
      }
      const inWhole = watchedWhole * 3 * 700;
      if (long) expect(checked).toBeGreaterThan(inWhole + (histories - watchedWhole) * 3 * 10);
      else expect(checked).toBe(inWhole + (histories - watchedWhole) * 3 * 2);
    },
    long ? 3_600_000 : 120_000,
  );
});
