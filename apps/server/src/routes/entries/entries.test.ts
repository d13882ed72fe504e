// Proves     entries come in whole or not at all, once, by those who may, for patients who are known; and go out by cursor
// Published  none
// Tolerance  exact
import type { ServerResponse } from 'node:http';
import { Writable } from 'node:stream';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { instantOfMs } from '@ebbline/core/quantity';
import { practiceRecordOf, type Entry, type KeptEntry } from '@ebbline/core/record';
import { openMemoryStore } from '@ebbline/store/memory';
import { openWorld, minutes, organisation, type World } from '../../testing/world.ts';

let world: World;
let cookie: string;
beforeEach(async () => {
  world = await openWorld();
  cookie = await world.signIn('nurse');
});
afterEach(() => world.server.close());

interface Report {
  kept: { id: string; sequence: number; receivedAt: string; known: boolean }[];
  refused: { id?: string; refusal: { code: string; where?: string } }[];
}
const send = async (entries: readonly unknown[], as = cookie): Promise<Report> => {
  const answer = await world.post('/api/entries', { entries }, { cookie: as });
  expect(answer.statusCode).toBe(200);
  return answer.json();
};
const codes = (report: Report): string[] => report.refused.map(({ refusal }) => refusal.code);
const voided = (over: Partial<Entry> = {}): Entry =>
  world.entry('void', { how: 'measured', volumeMl: 240 }, over);

describe('entries coming in', () => {
  it("are kept in order with this server's instant of receipt", async () => {
    const entries = [world.registered('p1'), voided()];
    world.clock.nowMs += minutes(3);
    const report = await send(entries);
    expect(report).toEqual({
      kept: entries.map(({ id }, index) => ({
        id,
        sequence: index + 1,
        receivedAt: instantOfMs(world.clock.nowMs),
        known: false,
      })),
      refused: [],
    });
  });

  it('[H5-idempotent] are kept once when sent twice, and the second answer says so', async () => {
    const entries = [world.registered('p1'), voided()];
    const told: number[] = [];
    world.store.onAppended((head) => told.push(head));
    await send(entries);
    const again = await send(entries);
    // What was known already is not told to the screens a second time.
    expect(told).toEqual([2]);
    expect(again.kept.map(({ sequence, known }) => [sequence, known])).toEqual([
      [1, true],
      [2, true],
    ]);
    expect(await world.store.head()).toBe(2);
  });

  it('are each reported by themselves: the good ones stay', async () => {
    const good = voided();
    const minus = voided({ payload: { how: 'measured', volumeMl: -5 } } as Partial<Entry>);
    const report = await send([world.registered('p1'), minus, 'not an entry', good]);
    expect(report.kept).toHaveLength(2);
    expect(report.kept[1]?.id).toBe(good.id);
    expect(report.refused.map(({ id, refusal }) => [id, refusal.code])).toEqual([
      [minus.id, 'record/out-of-range'],
      [undefined, 'record/not-an-object'],
    ]);
  });

  it('are refused under an id that has other content', async () => {
    const first = voided();
    await send([world.registered('p1'), first]);
    expect(codes(await send([{ ...first, payload: { how: 'measured', volumeMl: 450 } }]))).toEqual([
      'store/id-reused',
    ]);
  });

  it('[H1-unknown-patient] are refused for a patient who is not registered, and for a move to one', async () => {
    expect(codes(await send([voided()]))).toEqual(['server/unknown-patient']);
    const wrong = voided();
    await send([world.registered('p1'), wrong]);
    const moved = world.entry('moved-to-patient', { of: wrong.id, toPatient: 'p9', reason: 'wrong-patient' });
    const report = await send([moved]);
    expect(report.refused[0]?.refusal).toMatchObject({
      code: 'server/unknown-patient',
      where: 'payload.toPatient',
    });
  });

  it('come in before their registration when both are in one batch', async () => {
    expect((await send([voided(), world.registered('p1')])).refused).toEqual([]);
  });

  it('[H1-unknown-patient] do not come in beside a registration that is itself refused', async () => {
    const aide = await world.signIn('aide');
    const report = await send(
      [{ ...world.registered('p1'), author: 'aide' }, voided({ author: 'aide' })],
      aide,
    );
    expect(codes(report)).toEqual(['server/not-for-this-role', 'server/unknown-patient']);
  });

  it("[H12-author] are refused in another person's name", async () => {
    await send([world.registered('p1')]);
    expect(codes(await send([voided({ author: 'second-nurse' })]))).toEqual(['server/author-not-you']);
  });

  it("may be in another's name only from the integration role", async () => {
    const integration = await world.signIn('integration');
    expect(
      codes(await send([world.registered('p1'), voided({ author: 'second-nurse' })], integration)),
    ).toEqual([]);
  });

  it('[H12-role] are refused when the role may not record that kind', async () => {
    await send([world.registered('p1')]);
    const aide = await world.signIn('aide');
    const reading = world.entry(
      'reading',
      { result: 'exact', volumeMl: 320, relation: 'no-void', doubts: [] },
      { author: 'aide' },
    );
    expect(codes(await send([reading, voided({ author: 'aide' })], aide))).toEqual([
      'server/not-for-this-role',
    ]);
  });

  it('[H12-role] let nobody withdraw or correct what their role may not record', async () => {
    const reading = world.entry('reading', {
      result: 'exact',
      volumeMl: 320,
      relation: 'no-void',
      doubts: [],
    });
    await send([world.registered('p1'), reading]);
    const aide = await world.signIn('aide');
    const withdrawn = world.entry('withdrawn', { of: reading.id, reason: 'typing' }, { author: 'aide' });
    const correcting = voided({ author: 'aide', corrects: reading.id });
    expect(codes(await send([withdrawn, correcting], aide))).toEqual([
      'server/not-for-this-role',
      'server/not-for-this-role',
    ]);
  });

  it('[H13-unknown-person] hand over to nobody who is not in the directory', async () => {
    await send([world.registered('p1')]);
    const offer = world.entry('ownership-offered', { toPerson: 'nobody-here', occasion: 'shift' });
    expect(codes(await send([offer]))).toEqual(['server/unknown-person']);
  });

  it('are refused for another organisation', async () => {
    expect(codes(await send([{ ...world.registered('p1'), organisation: 'dunes' }]))).toEqual([
      'server/other-organisation',
    ]);
  });

  it('[H5-future] are refused when they lie ahead of the clock', async () => {
    await send([world.registered('p1')]);
    expect(
      codes(await send([voided({ effectiveAt: instantOfMs(world.clock.nowMs + minutes(30)) })])),
    ).toEqual(['record/in-the-future']);
  });

  it('are all lost to a failing disk with an answer that says so, and come in when sent again', async () => {
    let failing = true;
    const store = openMemoryStore({
      organisation,
      onStep: (step) => {
        if (failing && step === 'outbox') throw new Error('disk full');
      },
    });
    const other = await openWorld({ store });
    const as = await other.signIn('nurse');
    const entries = [other.registered('p1'), other.entry('void', { how: 'measured', volumeMl: 10 })];
    const answer = await other.post('/api/entries', { entries }, { cookie: as });
    expect(answer.statusCode).toBe(500);
    expect(answer.json().refusal.code).toBe('server/failed');
    expect(answer.body).not.toContain('disk full');
    expect(await store.head()).toBe(0);
    failing = false;
    expect((await other.post('/api/entries', { entries }, { cookie: as })).json().kept).toHaveLength(2);
    await other.server.close();
  });
});

describe('a request that cannot be read', () => {
  const raw = (payload: string, headers: Record<string, string> = {}) =>
    world.server.inject({
      method: 'POST',
      url: '/api/entries',
      headers: { cookie, 'content-type': 'application/json', ...headers },
      payload,
    });

  it('half a JSON body is answered 400 with what was found, allowed and to do, and a code', async () => {
    const whole = JSON.stringify({ entries: [world.registered('p1')] });
    const answer = await raw(whole.slice(0, whole.length / 2));
    expect(answer.statusCode).toBe(400);
    const { refusal } = answer.json();
    expect(refusal).toMatchObject({
      refused: true,
      code: 'server/not-json',
      allowed: 'one whole JSON value',
    });
    expect(refusal.found).toContain('breaks off');
    expect(refusal.todo).toContain('Nothing of it was kept');
    expect(answer.body).not.toContain('Ostrander');
    expect(await world.store.head()).toBe(0);
  });

  it('is answered with a refusal whatever is wrong with it', async () => {
    const cases: [string, Record<string, string>, number, string][] = [
      ['', {}, 400, 'server/not-json'],
      ['{"entries":{}}', {}, 400, 'server/not-as-described'],
      ['{"entries":[]}', {}, 400, 'server/not-as-described'],
      ['{"entries":[{}],"more":1}', {}, 400, 'server/not-as-described'],
      ['entries', { 'content-type': 'text/csv' }, 415, 'server/not-json'],
      [`{"entries":["${'x'.repeat(1_100_000)}"]}`, {}, 413, 'server/too-large'],
      ['{"__proto__":{"x":1},"entries":[1]}', {}, 400, 'server/not-json'],
    ];
    for (const [payload, headers, status, code] of cases) {
      const answer = await raw(payload, headers);
      expect([payload.slice(0, 30), answer.statusCode, answer.json().refusal.code]).toEqual([
        payload.slice(0, 30),
        status,
        code,
      ]);
    }
  });

  it('is refused from a page of another address', async () => {
    const answer = await raw('{"entries":[1]}', {
      origin: 'https://elsewhere.example',
      host: 'ward.example',
    });
    expect([answer.statusCode, answer.json().refusal.code]).toEqual([403, 'server/other-origin']);
    expect(
      (await raw('{"entries":[1]}', { origin: 'https://ward.example', host: 'ward.example' })).statusCode,
    ).toBe(200);
  });
});

describe('entries going out', () => {
  it('come by cursor, page by page, with the head', async () => {
    for (const entry of [world.registered('p1'), voided(), voided()]) await send([entry]);
    const first = (await world.get('/api/entries?after=0&limit=2', { cookie })).json();
    expect(first.entries.map(({ sequence }: { sequence: number }) => sequence)).toEqual([1, 2]);
    expect(first).toMatchObject({ head: 3, through: 2 });
    expect(first.patients).toBeUndefined();
    const second = (await world.get('/api/entries?after=2&limit=2', { cookie })).json();
    expect(second.entries).toEqual(await world.store.after(2, 9));
    expect(second.patients).toEqual(['p1']);
    expect((await world.get('/api/entries?after=-1', { cookie })).statusCode).toBe(400);
  });

  it('leave one row in the audit for each session that read them', async () => {
    await world.get('/api/entries', { cookie });
    await world.get('/api/entries', { cookie });
    const rows = await world.store.auditAfter(0, 100);
    expect(rows.filter(({ action }) => action === 'read')).toHaveLength(1);
  });
});

describe('practice', () => {
  const practised = (author: string): Entry =>
    world.entry(
      'practised',
      { exercise: 'judge', level: 'shadowed', seed: 7, trueMl: 180, judgedWrong: ['what-hides'] },
      { author, patient: practiceRecordOf(author) },
    );
  const seenBy = async (role: string): Promise<string[]> => {
    const answer = await world.get('/api/practice', { cookie: await world.signIn(role) });
    expect(answer.statusCode).toBe(200);
    return (answer.json() as { entries: KeptEntry[] }).entries.map(({ entry }) => entry.author);
  };

  it('comes in without a patient, for its author alone', async () => {
    const report = await send([practised('nurse'), practised('aide')]);
    expect(report.kept).toHaveLength(1);
    expect(codes(report)).toEqual(['server/author-not-you']);
  });

  it('goes out to who practised and to the assessor, and not with the record', async () => {
    await send([world.registered('p1'), practised('nurse'), voided()]);
    await send([practised('aide')], await world.signIn('aide'));
    expect(await seenBy('nurse')).toEqual(['nurse']);
    expect(await seenBy('aide')).toEqual(['aide']);
    expect(await seenBy('midwife')).toEqual([]);
    expect((await seenBy('assessor')).sort()).toEqual(['aide', 'nurse']);
    const page = (await world.get('/api/entries', { cookie })).json();
    expect(page.entries.map(({ entry }: KeptEntry) => entry.kind)).toEqual(['patient-registered', 'void']);
    expect([page.head, page.through]).toEqual([4, 4]);
    expect((await world.get('/api/entries?after=3', { cookie })).json()).toMatchObject({
      entries: [],
      head: 4,
      through: 4,
    });
  });

  it('is handed to no open screen', async () => {
    const written: string[] = [];
    const response = Object.assign(new Writable(), {
      write: (text: string) => (written.push(text), true),
    }) as unknown as ServerResponse;
    // A ward's screen, and one that is given everything.
    for (const key of ['nurse', 'everything'])
      await world.server.ebbline.live.join(response, {
        after: undefined,
        mayGoOn: async () => true,
        scopeOf: () =>
          key === 'everything'
            ? { key, personal: false }
            : {
                key,
                personal: false,
                reach: { wards: [{ ward: 'harbour-3', heardSinceMs: 0 }], nowMs: world.clock.nowMs },
              },
      });
    await send([world.registered('p1'), practised('nurse'), voided()]);
    await vi.waitFor(() => expect(written.join('').split('"kind":"void"')).toHaveLength(3));
    expect(written.join('')).toContain('patient-registered');
    expect(written.join('')).not.toContain('practised');
  });
});
