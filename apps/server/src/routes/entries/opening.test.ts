// Proves     somebody of another ward opens a patient with a reason, for the unit's minutes and no longer, only while the
//            record hears of it; the patient's ward and the audit know
// Published  none
// Tolerance  exact
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { instantOfMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { minutes, openWorld, type World } from '../../testing/world.ts';

let world: World;
let far: string;
beforeEach(async () => {
  world = await openWorld();
  far = await world.signIn('far-nurse');
  await world.post(
    '/api/entries',
    { entries: [world.registered('p1'), world.entry('void', { how: 'measured', volumeMl: 240 })] },
    { cookie: await world.signIn('nurse') },
  );
});
afterEach(() => world.server.close());

const opening = (forMin = 60, over: Partial<Entry> = {}, note?: string): Entry =>
  world.entry(
    'opened-with-reason',
    {
      reason: note === undefined ? 'covering' : 'other',
      until: instantOfMs(world.clock.nowMs + minutes(forMin)),
      ...(note === undefined ? {} : { note }),
    },
    { author: 'far-nurse', ...over },
  );
const send = async (entry: Entry, cookie = far): Promise<string | undefined> =>
  (await world.post('/api/entries', { entries: [entry] }, { cookie })).json().refused[0]?.refusal.code;
const page = async (cookie: string): Promise<number> =>
  (await world.get('/api/reports/another-reading?patient=p1', { cookie })).statusCode;

describe('opening a patient of another ward with a reason', () => {
  it('lets see and record for the unit’s minutes, and not a minute longer', async () => {
    expect(await page(far)).toBe(403);
    expect(await send(opening())).toBeUndefined();
    expect(await page(far)).toBe(200);
    const read = (await world.get('/api/entries', { cookie: far })).json();
    expect(read.patients).toEqual(['p1']);
    expect(read.entries).toHaveLength(3);
    const charted = world.entry('void', { how: 'measured', volumeMl: 90 }, { author: 'far-nurse' });
    expect(await send(charted)).toBeUndefined();
    for (let passedMin = 0; passedMin < 60; passedMin += 10) {
      world.clock.nowMs += minutes(10);
      await world.get('/api/me', { cookie: far });
    }
    expect(await page(far)).toBe(403);
    expect((await world.get('/api/entries', { cookie: far })).json().patients).toEqual([]);
    const late = world.entry('void', { how: 'measured', volumeMl: 90 }, { author: 'far-nurse' });
    expect(await send(late)).toBe('server/other-wards-patient');
  });

  it('[H12-opened-now] is refused for longer, for what was made without the network, and to machines', async () => {
    expect(await send(opening(600))).toBe('server/opened-too-long');
    const earlier = opening(20, { recordedAt: instantOfMs(world.clock.nowMs - minutes(30)) });
    expect(await send(earlier)).toBe('server/opened-late');
    expect(await page(far)).toBe(403);
  });

  it('needs words when no reason of the list fits, and is nothing for roles that record nothing at a bedside', async () => {
    const bare = opening(30);
    const other = { ...bare, payload: { ...bare.payload, reason: 'other' } } as Entry;
    expect(await send(other)).toBe('record/inconsistent');
    expect(await send(opening(30, {}, 'Asked by the night team'))).toBeUndefined();
    expect(await send(opening(30, { author: 'manager' }), await world.signIn('manager'))).toBe(
      'server/not-for-this-role',
    );
  });

  it('stands in the patient’s record for their ward, which can end it, and in the audit as its own act', async () => {
    const opened = opening();
    await send(opened);
    const nurse = await world.signIn('nurse');
    const seen = (await world.get('/api/entries', { cookie: nurse })).json();
    expect(seen.entries.at(-1).entry.payload).toMatchObject({ reason: 'covering' });
    const audit = await world.store.auditAfter(0, 99);
    expect(
      audit.filter(({ action }) => action === 'opened-with-reason').map((row) => [row.actor, row.patient]),
    ).toEqual([['far-nurse', 'p1']]);
    const ended = world.entry('withdrawn', { of: opened.id, reason: 'not-done' });
    expect(await send(ended, nurse)).toBeUndefined();
    expect(await page(far)).toBe(403);
  });

  it('begins with the beds of a ward: initials and nothing more, noted in the audit', async () => {
    const beds = await world.get('/api/wards/harbour-3/beds', { cookie: far });
    expect(beds.json()).toEqual({
      beds: [{ patient: 'p1', bed: '4', initials: expect.any(String) }],
      forMin: 60,
    });
    expect(beds.body).not.toMatch(/Ostrander|Wilma|240/);
    const rows = await world.store.auditAfter(0, 99);
    expect(rows.at(-1)).toMatchObject({ actor: 'far-nurse', action: 'read', subject: 'beds' });
    expect((await world.get('/api/wards/nowhere/beds', { cookie: far })).statusCode).toBe(404);
    const aide = await world.get('/api/wards/harbour-3/beds', { cookie: await world.signIn('aide') });
    expect(aide.json()).toEqual({ beds: [], forMin: 0 });
  });
});
