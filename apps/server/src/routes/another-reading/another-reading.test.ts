// Proves     the route says what another reading would bring while the last one is open, and that it is not open after a
//            drain
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
    world.entry('reading', { result: 'exact', volumeMl: 480, relation: 'no-void', doubts: [] }),
  ];
  expect((await world.post('/api/entries', { entries }, { cookie })).json().refused).toEqual([]);
});
afterAll(() => world.server.close());

const ask = async (patient = 'p1') =>
  world.get(`/api/reports/another-reading?patient=${patient}`, { cookie });

describe('another reading', () => {
  it('is open beside the limit, with its figures and the sentence', async () => {
    const answer = (await ask()).json() as {
      open: boolean;
      limitMl: number;
      same: Record<string, number>;
      other: Record<string, number>;
      sentence: string;
    };
    expect(answer).toMatchObject({ open: true, volumeMl: 480, limitMl: 500 });
    expect(answer.other['settlesProbability']).toBeGreaterThan(answer.same['settlesProbability'] ?? 1);
    expect(answer.same['wrongSideAfter']).toBeLessThan(answer.same['wrongSideBefore'] ?? 0);
    expect(answer.sentence).toMatch(/it takes 2 minutes\.$/);
  });

  it('is not open once it was drained, and refused for nobody', async () => {
    world.clock.nowMs += minutes(5);
    const entries = [world.entry('drained', { route: 'in-out', volumeMl: 520 })];
    await world.post('/api/entries', { entries }, { cookie });
    expect((await ask()).json()).toEqual({ open: false });
    expect((await ask('p9')).statusCode).toBe(404);
  });
});
