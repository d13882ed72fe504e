// Proves     the route says of a patient found over the limit what the page says, leaves a row in the audit, and knows
//            only patients of the record
// Published  none
// Tolerance  exact
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { minutes, openWorld, type World } from '../../testing/world.ts';

let world: World;
let cookie: string;
beforeAll(async () => {
  world = await openWorld();
  const reading = (volumeMl: number) =>
    world.entry('reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [] });
  const entries = [
    world.registered('p1'),
    world.registered('p2'),
    world.entry('watch-opened', { setting: 'after-surgery', reason: 'spinal block' }),
    reading(230),
  ];
  world.clock.nowMs += minutes(240);
  entries.push(reading(640));
  world.clock.nowMs += minutes(15);
  entries.push(world.entry('drained', { route: 'in-out', volumeMl: 680 }));
  world.clock.nowMs += minutes(5);
  cookie = await world.signIn('nurse');
  const answer = await world.post('/api/entries', { entries }, { cookie });
  expect(answer.json().refused).toEqual([]);
});
afterAll(() => world.server.close());

describe('looking back', () => {
  it('gives times in the zone of the ward, hours, mL·h and the sentence', async () => {
    const answer = await world.get('/api/reports/over-limit?patient=p1', { cookie });
    expect(answer.statusCode).toBe(200);
    const { found } = answer.json() as { found: Record<string, never>[] };
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({
      at: '2026-05-12T13:00:00+01:00',
      volumeMl: 640,
      limitMl: 500,
      by: 'reading',
      stretch: { from: '2026-05-12T09:00:00+01:00', to: '2026-05-12T13:15:00+01:00', emptied: true },
    });
    const { crossing, hoursOver, mlHoursOver, overShare, sentence } = found[0] as never as {
      crossing: { earliestAt: string; likelyAt: string; latestAt: string };
      hoursOver: { low: number; likely: number; high: number };
      mlHoursOver: { likely: number };
      overShare: number;
      sentence: string;
    };
    expect(overShare).toBeGreaterThan(0.8);
    const times = [crossing.earliestAt, crossing.likelyAt, crossing.latestAt].map((one) => Date.parse(one));
    expect(times).toEqual(times.toSorted((a, b) => a - b));
    expect(hoursOver.likely).toBeGreaterThan(0.2);
    expect(mlHoursOver.likely).toBeGreaterThan(10);
    expect(sentence).toContain(`from about ${crossing.likelyAt.slice(11, 16)}`);
  });

  it('is empty for somebody who was never found over, and refused for nobody', async () => {
    expect((await world.get('/api/reports/over-limit?patient=p2', { cookie })).json()).toEqual({ found: [] });
    const nobody = await world.get('/api/reports/over-limit?patient=p9', { cookie });
    expect([nobody.statusCode, nobody.json().refusal.code]).toEqual([404, 'server/unknown-patient']);
  });

  it('leaves a row in the audit that names the patient', async () => {
    const officer = await world.signIn('privacy-officer');
    const { rows } = (await world.get('/api/audit?after=0&limit=100', { cookie: officer })).json() as {
      rows: { action: string; actor: string; subject: string; patient?: string }[];
    };
    expect(
      rows
        .filter(({ subject }) => subject === 'over-limit')
        .map(({ action, actor, patient }) => [action, actor, patient]),
    ).toEqual([
      ['read', 'nurse', 'p1'],
      ['read', 'nurse', 'p2'],
    ]);
  });
});
