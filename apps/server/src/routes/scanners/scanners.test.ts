// Proves     the route gives each scanner's figures from the pairs of the record, and a low one brings a look forward on
//            the server as on a tablet
// Published  none
// Tolerance  exact
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWorld, type World } from '../../testing/world.ts';

let world: World;
let cookie: string;
beforeAll(async () => {
  world = await openWorld();
  cookie = await world.signIn('manager');
  const nurse = await world.signIn('nurse');
  const entries = Array.from({ length: 8 }, (_, index) => {
    const patient = `p${index}`;
    return [
      world.registered(patient),
      world.entry('watch-opened', { setting: 'after-surgery', reason: `block ${index}` }, { patient }),
      world.entry(
        'reading',
        { result: 'exact', volumeMl: 380 + index, relation: 'no-void', doubts: [], scanner: 'scanner-a' },
        { patient },
      ),
      world.entry('drained', { route: 'in-out', volumeMl: 500 + index }, { patient }),
    ];
  }).flat();
  const answer = await world.post('/api/entries', { entries }, { cookie: nurse });
  expect(answer.json().refused).toEqual([]);
});
afterAll(() => world.server.close());

describe('scanners', () => {
  it('come with their pairs, their error with its interval, and the sentence, and no patient', async () => {
    const answer = await world.get('/api/reports/scanners?ward=harbour-3', { cookie });
    expect(answer.statusCode).toBe(200);
    const { scanners } = answer.json() as {
      scanners: { bias: { low: number; likely: number; high: number } }[];
    };
    expect(scanners).toHaveLength(1);
    expect(scanners[0]).toMatchObject({ scanner: 'scanner-a', name: 'Scanner A', pairs: 8, reads: 'low' });
    expect(scanners[0]?.bias.high).toBeLessThan(0);
    // 24 % low in every pair, drawn to 0 by what 9 pairs are worth.
    expect(scanners[0]?.bias.likely).toBeCloseTo((-8 * 0.2395) / 17, 2);
    expect(answer.body).toContain('Scanner A reads low: about 11 %');
    expect(answer.body).not.toContain('p0');
  });

  it('are refused for a ward that is not there', async () => {
    expect((await world.get('/api/reports/scanners?ward=nowhere', { cookie })).statusCode).toBe(404);
  });
});
