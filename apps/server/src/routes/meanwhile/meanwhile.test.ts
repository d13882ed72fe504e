// Proves     after an outage a ward is told what came in late, what was decided without it, and nothing of another ward; the beginning is
//            the outage unless another is given; who may not see the board sees nothing of it; an outage is known after any end
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { hourMs, instantOfMs, minuteMs } from '@ebbline/core/quantity';
import { openMemoryStore } from '@ebbline/store/memory';
import { lastOutage, markAlive, noteOutage } from '../../operations/outage.ts';
import { openWorld, organisation, startMs } from '../../testing/world.ts';

interface Told {
  readonly from: string;
  readonly outage?: { readonly from: string; readonly to: string };
  readonly patients: readonly {
    readonly patient: string;
    readonly summary: string;
    readonly lines: readonly {
      readonly kind: string;
      readonly sentence: string;
      readonly withoutIt: readonly { readonly sentence: string }[];
    }[];
  }[];
}

describe('what changed while we were down', () => {
  it('tells the ward what came in late and what was decided without knowing it', async () => {
    const store = openMemoryStore({ organisation });
    const world = await openWorld({ store });
    const send = async (entries: readonly unknown[]) => {
      const cookie = await world.signIn('nurse');
      expect((await world.post('/api/entries', { entries }, { cookie })).json().refused).toEqual([]);
      return cookie;
    };
    const at = (minutes: number) => ({ effectiveAt: instantOfMs(startMs + minutes * minuteMs) });
    await send([
      world.registered('p1'),
      world.entry('watch-opened', { setting: 'after-surgery', reason: 'tests' }),
      world.registered('p2'),
    ]);
    await markAlive(store, world.clock.nowMs);
    // The server is gone for two hours; on the ward somebody drains, and writes it on paper.
    world.clock.nowMs += 2 * hourMs;
    await noteOutage(store, world.clock.nowMs);
    const look = world.entry('reading', { result: 'exact', volumeMl: 310, relation: 'no-void', doubts: [] });
    await send([
      look,
      world.entry('call-made', {
        to: 'Dr Wynn',
        toRole: 'called-clinician',
        ask: 'Please come',
        replyDueAt: instantOfMs(world.clock.nowMs + 15 * minuteMs),
      }),
    ]);
    world.clock.nowMs += 20 * minuteMs;
    const cookie = await send([
      world.entry(
        'drained',
        { route: 'in-out', volumeMl: 640 },
        { ...at(60), copiedFrom: 'paper', madeOn: 'tablet-2' },
      ),
    ]);
    const answer = await world.get('/api/reports/meanwhile?ward=harbour-3', { cookie });
    expect(answer.statusCode).toBe(200);
    const told = answer.json() as Told;
    expect(Date.parse(told.from)).toBe(startMs);
    expect(Date.parse(told.outage?.to ?? '')).toBe(startMs + 2 * hourMs);
    expect(told.patients.map(({ patient }) => patient)).toEqual(['p1']);
    const lines = told.patients[0]?.lines ?? [];
    const late = lines.find(({ kind }) => kind === 'came-late');
    expect(late?.sentence).toBe(
      'Drained: in and out 640 mL at 10:00, by AA: came in 1 h 20 min later, from paper.',
    );
    expect(late?.withoutIt.map(({ sentence }) => sentence)).toEqual(['Called: Dr Wynn at 11:00, by AA.']);
    expect(lines.some(({ kind, sentence }) => kind === 'over' && sentence.includes('640 mL'))).toBe(true);
    expect(told.patients[0]?.summary).toContain('1 decision was made without knowing.');

    const since = instantOfMs(startMs + 2 * hourMs + 21 * minuteMs);
    world.clock.nowMs += 2 * minuteMs;
    const none = await world.get(`/api/reports/meanwhile?ward=harbour-3&from=${encodeURIComponent(since)}`, {
      cookie,
    });
    expect((none.json() as Told).patients).toEqual([]);
    await world.server.close();
  });

  it('is refused for a ward that is unknown, hours that lie too far back, and a role without the board', async () => {
    const world = await openWorld();
    const cookie = await world.signIn('nurse');
    const code = async (query: string, as = cookie) =>
      (await world.get(`/api/reports/meanwhile?${query}`, { cookie: as })).statusCode;
    expect(await code('ward=nowhere')).toBe(404);
    const from = (ms: number) => encodeURIComponent(instantOfMs(ms));
    expect(await code(`ward=harbour-3&from=${from(startMs - 8 * 24 * hourMs)}`)).toBe(400);
    expect(await code(`ward=harbour-3&from=${from(startMs + hourMs)}`)).toBe(400);
    expect(await code('ward=harbour-3&from=yesterday')).toBe(400);
    expect(await code('ward=harbour-3', await world.signIn('privacy-officer'))).toBe(403);
    await world.server.close();
  });
});

describe('an outage', () => {
  it('is known from the last mark, after a power cut as after a stop; a quick restart is none', async () => {
    const store = openMemoryStore({ organisation });
    await noteOutage(store, startMs);
    expect(await lastOutage(store)).toBeUndefined();
    await markAlive(store, startMs + minuteMs);
    await noteOutage(store, startMs + 3 * minuteMs);
    expect(await lastOutage(store)).toBeUndefined();
    await noteOutage(store, startMs + 63 * minuteMs);
    expect(await lastOutage(store)).toEqual({
      fromMs: startMs + 3 * minuteMs,
      toMs: startMs + 63 * minuteMs,
    });
  });
});
