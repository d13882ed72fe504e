// Proves     the route asks what the bedside asks, keeps nothing, and the entry is kept all the same when it is sent
// Published  none
// Tolerance  exact
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { minutes, openWorld, type World } from '../../testing/world.ts';

let world: World;
let cookie: string;
beforeAll(async () => {
  world = await openWorld();
  cookie = await world.signIn('nurse');
  const entries = [
    world.registered('p1'),
    world.entry('watch-opened', { setting: 'after-surgery', reason: 'spinal block' }),
    world.entry('drained', { route: 'in-out', volumeMl: 500 }),
  ];
  expect((await world.post('/api/entries', { entries }, { cookie })).json().refused).toEqual([]);
  world.clock.nowMs += minutes(10);
});
afterAll(() => world.server.close());

const reading = (volumeMl: number) =>
  world.entry('reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [] });
const ask = async (...entries: unknown[]) =>
  (await world.post('/api/question', { entries }, { cookie })).json() as {
    questions: Record<string, string>[];
    refused: unknown[];
  };

describe('the question before a save', () => {
  it('names the sum that fails, by entry, with the time behind it', async () => {
    const odd = reading(650);
    const { questions, refused } = await ask(odd);
    expect(refused).toEqual([]);
    expect(questions).toHaveLength(1);
    expect(questions[0]).toMatchObject({ entry: odd.id, patient: 'p1', because: 'mass-balance' });
    expect(questions[0]?.['sum']).toContain('650 mL read 10 min later');
    expect(Date.parse(questions[0]?.['to'] ?? '')).toBe(world.clock.nowMs);
  });

  it('asks nothing of what may well be, and says what could not be kept', async () => {
    expect(await ask(reading(40))).toEqual({ questions: [], refused: [] });
    const { questions, refused } = await ask({ kind: 'reading' });
    expect([questions.length, refused.length]).toEqual([0, 1]);
  });

  it('keeps nothing, and the entry is kept all the same when it is sent', async () => {
    const head = async () => (await world.get('/api/entries?after=0', { cookie })).json().head as number;
    const before = await head();
    const odd = reading(650);
    await ask(odd);
    expect(await head()).toBe(before);
    const { kept } = (await world.post('/api/entries', { entries: [odd] }, { cookie })).json() as {
      kept: unknown[];
    };
    expect([kept.length, await head()]).toEqual([1, before + 1]);
  });
});
