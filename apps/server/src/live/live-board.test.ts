// Proves     every screen sees every entry once and in order, also after a cut; it hears that the server is alive; a
//            session that ends takes its line with it
// Published  none
// Tolerance  exact; real sockets on the loopback, the test's own clock
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { instantOfMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { openMemoryStore } from '@ebbline/store/memory';
import { openWorld, minutes, organisation, type World } from '../testing/world.ts';

let world: World;
let address: string;
let cookie: string;
beforeEach(async () => {
  world = await openWorld();
  address = await world.server.listen({ port: 0, host: '127.0.0.1' });
  cookie = await world.signIn('nurse');
});
afterEach(() => world.server.close());

interface Event {
  event: string;
  id: string | undefined;
  data: {
    sequence?: number;
    head?: number;
    serverTime?: string;
    after?: number;
    through?: number;
    patients?: readonly string[];
    entry?: { readonly kind: string };
  };
}

/** One open line; `next` waits for the next event, `cut` closes it. */
async function openLine(headers: Record<string, string> = {}, query = '', as = cookie) {
  const abort = new AbortController();
  const response = await fetch(`${address}/api/live${query}`, {
    headers: { cookie: as, ...headers },
    signal: abort.signal,
  });
  expect(response.status).toBe(200);
  const reader = (response.body as ReadableStream<Uint8Array>)
    .pipeThrough(new TextDecoderStream() as never)
    .getReader() as ReadableStreamDefaultReader<string>;
  let text = '';
  const next = async (): Promise<Event | undefined> => {
    for (;;) {
      const end = text.indexOf('\n\n');
      if (end >= 0) {
        const lines = text.slice(0, end).split('\n');
        text = text.slice(end + 2);
        const part = (name: string): string | undefined =>
          lines.find((line) => line.startsWith(`${name}: `))?.slice(name.length + 2);
        return { event: part('event') ?? '', id: part('id'), data: JSON.parse(part('data') ?? '{}') };
      }
      const { done, value } = await reader.read();
      if (done) return undefined;
      text += value;
    }
  };
  const take = async (count: number): Promise<(Event | undefined)[]> => {
    const found: (Event | undefined)[] = [];
    for (let index = 0; index < count; index += 1) found.push(await next());
    return found;
  };
  return { response, next, take, cut: () => abort.abort() };
}

const send = async (count: number, registration = false): Promise<void> => {
  const entries = Array.from({ length: count }, () =>
    world.entry('void', { how: 'measured', volumeMl: 200 }),
  );
  const answer = await world.post(
    '/api/entries',
    { entries: registration ? [world.registered('p1'), ...entries] : entries },
    { cookie },
  );
  expect(answer.json().refused).toEqual([]);
};

describe('the live line', () => {
  it('begins with a sign of life and then carries every new entry with its sequence as id', async () => {
    await send(1, true);
    const line = await openLine();
    expect(line.response.headers.get('content-type')).toContain('text/event-stream');
    expect(line.response.headers.get('cache-control')).toBe('no-store');
    expect(line.response.headers.get('x-content-type-options')).toBe('nosniff');
    expect(await line.next()).toEqual({
      event: 'alive',
      id: undefined,
      data: { serverTime: instantOfMs(world.clock.nowMs), head: 2, protocolActs: 0 },
    });
    await send(2);
    const events = await line.take(2);
    expect(events.map((event) => [event?.event, event?.id])).toEqual([
      ['entry', '3'],
      ['entry', '4'],
    ]);
    expect(events.map((event) => event?.data)).toEqual(
      (await world.store.after(2, 9)).map((kept) => ({
        ...kept,
        after: kept.sequence - 1,
        through: kept.sequence,
      })),
    );
    line.cut();
  });

  it('reads on from Last-Event-ID after a cut: nothing missing, nothing twice', async () => {
    await send(3, true);
    const first = await openLine({ 'last-event-id': '0' });
    expect((await first.take(5)).map((event) => event?.id)).toEqual([undefined, '1', '2', '3', '4']);
    first.cut();
    await send(5);
    const second = await openLine({ 'last-event-id': '4' });
    await second.next();
    await send(2);
    expect((await second.take(7)).map((event) => event?.id)).toEqual(['5', '6', '7', '8', '9', '10', '11']);
    second.cut();
  });

  it('shows an entry once that a tablet sent twice', async () => {
    await send(0, true);
    const line = await openLine();
    await line.next();
    const entries = [world.entry('void', { how: 'measured', volumeMl: 150 })];
    for (let time = 0; time < 2; time += 1) await world.post('/api/entries', { entries }, { cookie });
    await send(1);
    expect((await line.take(2)).map((event) => event?.id)).toEqual(['2', '3']);
    line.cut();
  });

  it('starts at the head for an id that is from another store', async () => {
    await send(1, true);
    const line = await openLine({ 'last-event-id': '999' });
    await line.next();
    await send(1);
    expect((await line.next())?.id).toBe('3');
    line.cut();
  });

  it('shows twenty screens the same, in order, while entries come in from several sides at once', async () => {
    await send(0, true);
    const lines = await Promise.all(Array.from({ length: 20 }, () => openLine({}, '?after=0')));
    await Promise.all(Array.from({ length: 10 }, () => send(3)));
    for (const line of lines) {
      expect((await line.take(32)).slice(1).map((event) => event?.data.sequence)).toEqual(
        Array.from({ length: 31 }, (_, index) => index + 1),
      );
      line.cut();
    }
  });

  it('says that it is alive at every beat, with the head', async () => {
    const line = await openLine();
    await line.next();
    world.clock.nowMs += 5_000;
    await world.server.ebbline.live.beat(world.clock.nowMs);
    expect(await line.next()).toEqual({
      event: 'alive',
      id: undefined,
      data: { serverTime: instantOfMs(world.clock.nowMs), head: 0, protocolActs: 0 },
    });
    line.cut();
  });

  it('carries what came into the record past this server, read once for all screens', async () => {
    await send(0, true);
    const lines = await Promise.all(Array.from({ length: 20 }, () => openLine()));
    for (const line of lines) await line.next();
    const reads = vi.spyOn(world.store, 'after');
    const entry = world.entry('void', { how: 'measured', volumeMl: 90 });
    await world.store.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse' });
    for (const line of lines) {
      expect((await line.next())?.data.sequence).toBe(2);
      line.cut();
    }
    expect(reads).toHaveBeenCalledTimes(1);
  });

  it('brings a screen up to date at the next beat when nothing was told', async () => {
    const deaf = await openWorld({
      store: { ...openMemoryStore({ organisation }), onAppended: () => () => undefined },
    });
    const at = await deaf.server.listen({ port: 0, host: '127.0.0.1' });
    const abort = new AbortController();
    const { body } = await fetch(`${at}/api/live`, {
      headers: { cookie: await deaf.signIn('nurse') },
      signal: abort.signal,
    });
    const entry = deaf.registered('p1');
    await deaf.store.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse' });
    await deaf.server.ebbline.live.beat(deaf.clock.nowMs);
    let text = '';
    for await (const part of body as ReadableStream<Uint8Array>) {
      text += Buffer.from(part).toString('utf8');
      if (text.includes('event: entry')) break;
    }
    expect(text).toContain('id: 1');
    abort.abort();
    await deaf.server.close();
  });

  it.each(['afterInReach', 'followingOf'] as const)(
    'hands out at the next beat what could not be read when it came (%s failed)',
    async (broken) => {
      const inner = openMemoryStore({ organisation });
      let faults = 0;
      const failing = {
        ...inner,
        [broken]: (...given: never[]) => {
          faults -= 1;
          if (faults >= 0) return Promise.reject(new Error('the disk failed'));
          return (inner[broken] as (...all: never[]) => unknown)(...given);
        },
      } as typeof inner;
      const ill = await openWorld({ store: failing });
      const at = await ill.server.listen({ port: 0, host: '127.0.0.1' });
      const abort = new AbortController();
      const { body } = await fetch(`${at}/api/live`, {
        headers: { cookie: await ill.signIn('nurse') },
        signal: abort.signal,
      });
      const reader = (body as ReadableStream<Uint8Array>).getReader();
      await reader.read();
      faults = 1;
      const entry = ill.registered('p1');
      await ill.store.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse' });
      await vi.waitFor(() => expect(faults).toBeLessThan(1));
      let text = '';
      for (let beats = 0; beats < 2; beats += 1) await ill.server.ebbline.live.beat(ill.clock.nowMs);
      while (!text.includes('event: entry'))
        text += Buffer.from((await reader.read()).value ?? []).toString();
      expect(text).toContain('id: 1');
      abort.abort();
      await ill.server.close();
    },
  );

  it('[H12-idle] ends when the tablet locked, and keeps a session in use while it is open', async () => {
    const line = await openLine();
    await line.next();
    for (let index = 0; index < 10; index += 1) {
      world.clock.nowMs += minutes(5);
      await world.server.ebbline.live.beat(world.clock.nowMs);
      expect((await line.next())?.event).toBe('alive');
    }
    await world.post('/api/lock', {}, { cookie });
    await world.server.ebbline.live.beat(world.clock.nowMs);
    expect((await line.next())?.event).toBe('ended');
    expect(await line.next()).toBeUndefined();
    expect(world.server.ebbline.live.screens()).toBe(0);
  });

  describe('of a ward', () => {
    const keep = async (...entries: readonly Entry[]): Promise<void> => {
      for (const entry of entries)
        await world.store.append([entry], { receivedAt: instantOfMs(world.clock.nowMs), actor: 'nurse' });
    };
    const kindsOf = (events: readonly (Event | undefined)[]): readonly (string | undefined)[] =>
      events.map((event) => event?.data.entry?.kind);

    it('[H12-own-wards] carries nothing of another ward, and brings the whole record of whoever comes, in order', async () => {
      const next = await world.signIn('next-nurse');
      await keep(world.registered('p1'), world.entry('void', { how: 'measured', volumeMl: 210 }));
      await keep(world.registered('p2', { ward: 'harbour-4' }));
      const there = await openLine({}, '?after=3', next);
      await there.next();
      await keep(world.entry('void', { how: 'measured', volumeMl: 90 }));
      await keep(world.entry('void', { how: 'measured', volumeMl: 120 }, { patient: 'p2' }));
      // The first thing that this ward hears is its own patient's.
      const own = await there.next();
      expect([own?.data.sequence, own?.data.after]).toEqual([5, 3]);
      await keep(world.entry('transferred', { ward: 'harbour-4', bed: '2' }));
      const arrived = await there.take(4);
      expect(kindsOf(arrived)).toEqual(['patient-registered', 'void', 'void', 'transferred']);
      // Only the last of them moves the cursor: cut before it, everything comes again.
      expect(arrived.map((event) => event?.id)).toEqual(['5', '5', '5', '6']);
      there.cut();
      const again = await openLine({ 'last-event-id': '5' }, '', next);
      expect(kindsOf((await again.take(5)).slice(1))).toEqual(kindsOf(arrived));
      again.cut();
      const read = await world.get('/api/entries?after=5', { cookie: next });
      expect(read.json()).toMatchObject({ head: 6, through: 6, patients: ['p1', 'p2'] });
      expect(read.json().entries).toHaveLength(4);
    });

    it('tells at the next beat who is followed no longer: at once without a watch, with one an hour after the acceptance', async () => {
      const line = await openLine();
      await line.next();
      const watch = world.entry(
        'watch-opened',
        { setting: 'after-surgery', reason: 'made up' },
        { patient: 'p2' },
      );
      await keep(world.registered('p1'), world.registered('p2'), watch);
      await line.take(3);
      const beat = async (): Promise<readonly (Event | undefined)[]> => {
        await world.server.ebbline.live.beat(world.clock.nowMs);
        const found = [await line.next()];
        while (found.at(-1) !== undefined && found.at(-1)?.event !== 'alive') found.push(await line.next());
        return found.filter((event) => event?.event === 'left');
      };
      expect(await beat()).toEqual([]);
      await keep(world.entry('transferred', { ward: 'harbour-4', bed: '1' }));
      await keep(world.entry('transferred', { ward: 'harbour-4', bed: '2' }, { patient: 'p2' }));
      expect((await beat()).map((event) => event?.data.patients)).toEqual([['p1']]);
      const offer = world.entry(
        'ownership-offered',
        { toRole: 'nurse', toWard: 'harbour-4', occasion: 'transfer' },
        { patient: 'p2' },
      );
      const taken = world.entry(
        'ownership-accepted',
        { offer: offer.id, readBack: 'made up' },
        { patient: 'p2', author: 'next-nurse' },
      );
      await keep(offer, taken);
      expect(await beat()).toEqual([]);
      for (let passedMin = 10; passedMin < 60; passedMin += 10) {
        world.clock.nowMs += minutes(10);
        expect(await beat()).toEqual([]);
      }
      world.clock.nowMs += minutes(10);
      expect((await beat()).map((event) => event?.data.patients)).toEqual([['p2']]);
      expect((await world.get('/api/entries', { cookie })).json().patients).toEqual([]);
      line.cut();
    });

    it('begins anew for somebody who is offered a patient of another ward, and gives that patient whole', async () => {
      await keep(world.registered('p9', { ward: 'harbour-4' }));
      await keep(world.entry('void', { how: 'measured', volumeMl: 210 }, { patient: 'p9' }));
      const line = await openLine();
      await line.next();
      const before = (await world.get('/api/entries', { cookie })).json();
      await keep(
        world.entry(
          'ownership-offered',
          { toPerson: 'nurse', occasion: 'transfer' },
          { patient: 'p9', author: 'next-nurse' },
        ),
      );
      expect(await line.next()).toBeUndefined();
      const { scope, through } = before;
      const after = await world.get(`/api/entries?after=${through}&scope=${encodeURIComponent(scope)}`, {
        cookie,
      });
      expect(after.json().patients).toEqual(['p9']);
      expect(after.json().entries).toHaveLength(3);
      expect(after.json().scope).not.toBe(scope);
    });
  });

  it('ends when its person signs out', async () => {
    const line = await openLine();
    await line.next();
    await world.post('/api/sign-out', {}, { cookie });
    await world.server.ebbline.live.beat(world.clock.nowMs);
    expect((await line.next())?.event).toBe('ended');
  });

  it('ends for a machine whose token was taken back', async () => {
    let good = true;
    const other = await openWorld({
      tokens: { find: async () => (good ? { id: 'machine-1', role: 'integration' } : undefined) },
    });
    const at = await other.server.listen({ port: 0, host: '127.0.0.1' });
    const response = await fetch(`${at}/api/live`, { headers: { authorization: 'Bearer anything' } });
    await other.server.ebbline.live.beat(0);
    good = false;
    await other.server.ebbline.live.beat(0);
    const text = await response.text();
    expect(text.match(/^event: .*$/gm)).toEqual(['event: alive', 'event: alive', 'event: ended']);
    await other.server.close();
  });

  it('ends when the server stops', async () => {
    const line = await openLine();
    await line.next();
    await world.server.close();
    expect(await line.next()).toBeUndefined();
  });
});
