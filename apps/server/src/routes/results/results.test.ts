// Proves     administrators, and nobody else, are told of the wires: what came in, what waits, what was refused; ids only;
//            a refused result is sent again, and one that is not there is refused
// Published  none
import { afterEach, describe, expect, it } from 'vitest';
import { openMemoryStore } from '@ebbline/store/memory';
import { openWorld, organisation, startMs, type World } from '../../testing/world.ts';
import { memoryFeed } from '../../wires/feed-book.ts';
import { openPatientFeed } from '../../wires/patient-feed.ts';
import type { ResultFeed } from '../../wires/result-feed.ts';

let world: World;
afterEach(() => world.server.close());

const message = `MSH|^~\\&|FEED|NORTH|||20260512080000||ADT^A01|m1|P|2.5.1\rPID|1||a1^^^NORTH^MR||Quill^Ada`;
const results = (arrives: boolean): ResultFeed & { sent: number[] } => {
  const sent: number[] = [];
  return {
    sent,
    pass: async () => undefined,
    resend: async (sequence) => {
      sent.push(sequence);
      return arrives;
    },
    state: async () => ({
      waiting: 'some',
      trouble: 'The receiver is not reached.',
      lastSentAtMs: startMs,
      aside: [{ sequence: 7, entry: 'an-entry', words: 'no such patient', atMs: startMs }],
    }),
  };
};

describe('the wires', () => {
  it('say that none is set', async () => {
    world = await openWorld();
    const cookie = await world.signIn('administrator');
    expect((await world.get('/api/feed/messages', { cookie })).json()).toEqual({
      open: false,
      head: 0,
      messages: [],
    });
    expect((await world.get('/api/results', { cookie })).json()).toEqual({
      open: false,
      waiting: 'nothing',
      aside: [],
    });
  });

  it('tell an administrator what came in, newest on demand, with nothing of it', async () => {
    const store = openMemoryStore({ organisation });
    const feed = openPatientFeed({
      book: memoryFeed(),
      store,
      wards: () => [],
      settings: { name: 'hospital', zone: 'UTC' },
      now: () => startMs,
    });
    world = await openWorld({ feed });
    for (const text of [message, 'nothing of ours', message.replace('m1', 'm2')])
      await feed.take(new TextEncoder().encode(text));
    const cookie = await world.signIn('administrator');
    const answer = await world.get('/api/feed/messages?last=2', { cookie });
    expect(answer.json()).toMatchObject({
      open: true,
      head: 3,
      messages: [
        { number: 2, state: 'refused', code: 'hl7/no-header' },
        { number: 3, state: 'used', type: 'ADT A01', words: 'Somebody came in.' },
      ],
    });
    for (const secret of ['Quill', 'a1']) expect(answer.body).not.toContain(secret);
    expect((await world.get('/api/feed/messages', { cookie: await world.signIn('nurse') })).statusCode).toBe(
      403,
    );
    await feed.close();
  });

  it('tell what waits and what was refused, and send it again', async () => {
    const out = results(true);
    world = await openWorld({ results: out });
    const cookie = await world.signIn('administrator');
    expect((await world.get('/api/results', { cookie })).json()).toEqual({
      open: true,
      waiting: 'some',
      trouble: 'The receiver is not reached.',
      lastSentAt: '2026-05-12T08:00:00.000Z',
      aside: [{ sequence: 7, entry: 'an-entry', words: 'no such patient', at: '2026-05-12T08:00:00.000Z' }],
    });
    const again = (sequence: number, by = cookie) =>
      world.server.inject({
        method: 'POST',
        url: `/api/results/${sequence}/resend`,
        headers: { cookie: by },
      });
    expect((await again(7)).json()).toEqual({ arrived: true });
    expect((await again(8)).json()).toMatchObject({ refusal: { code: 'server/not-aside' } });
    expect((await again(7, await world.signIn('nurse'))).statusCode).toBe(403);
    expect(out.sent).toEqual([7]);
  });
});
