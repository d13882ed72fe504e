// Proves     an item that stays overdue past the unit's minutes is posted once, without a name, until somebody answers
// Published  none; the minutes are the ward's settings (grace 10, notice 15 after it)
// Tolerance  exact, on a clock that the test turns
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { instantOfMs } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import type { ServerOptions } from '../build-server.ts';
import { openWorld, minutes, startMs, type World } from '../testing/world.ts';
import { postTo, type NoticeBody } from './notice.ts';

const opened: World[] = [];
afterEach(async () => {
  for (const world of opened.splice(0)) await world.server.close();
});

/** A patient on watch whose next look is due in 30 minutes. */
async function watchedWorld(
  options: Partial<ServerOptions> = {},
): Promise<{ world: World; cookie: string; key: string; dueMs: number }> {
  const world = await openWorld(options);
  opened.push(world);
  const cookie = await world.signIn('nurse');
  const watch = world.entry('watch-opened', { setting: 'after-surgery', reason: 'spinal block' });
  const dueMs = startMs + minutes(30);
  const advised = world.entry('step-advised', {
    step: 'promote-voiding',
    dueAt: instantOfMs(dueMs),
    ownerRole: 'nurse',
    why: 'Help to pass urine, then look again.',
    rowId: 'row-1',
    rowText: 'made up for this test',
    rowSourceId: 'S-clinical-E6',
    protocolId: 'test',
    protocolVersion: 1,
    protocolApproval: 'example-not-approved',
    becauseOf: watch.id,
  });
  const answer = await world.post(
    '/api/entries',
    { entries: [world.registered('p1'), watch, advised] },
    { cookie },
  );
  expect(answer.json().refused).toEqual([]);
  const facts = await world.server.inject({ method: 'GET', url: '/api/entries', headers: { cookie } });
  expect(facts.statusCode).toBe(200);
  return { world, cookie, key: `step:${advised.id}`, dueMs };
}

const climbsAfterMin = defaultSettings.graceMin + defaultSettings.climbToNoticeMin;

describe('the notice of overdue items', () => {
  it("[H3-notice] is sent when an item has been overdue past the unit's minutes, not before", async () => {
    const sent: NoticeBody[] = [];
    const { world, dueMs } = await watchedWorld({ sendNotice: async (body) => sent.push(body) > 0 });
    await world.server.ebbline.noticeTick(dueMs + minutes(climbsAfterMin) - 1);
    expect(sent).toEqual([]);
    await world.server.ebbline.noticeTick(dueMs + minutes(climbsAfterMin));
    expect(sent).toEqual([
      {
        ward: 'harbour-3',
        bed: '4',
        what: 'step',
        step: 'promote-voiding',
        overdueMin: climbsAfterMin,
        dueAt: instantOfMs(dueMs),
      },
    ]);
  });

  it('[H3-notice-once] is sent once for an item, also after a restart', async () => {
    const sent: NoticeBody[] = [];
    const { world, dueMs } = await watchedWorld({ sendNotice: async (body) => sent.push(body) > 0 });
    const late = dueMs + minutes(climbsAfterMin + 5);
    await Promise.all([world.server.ebbline.noticeTick(late), world.server.ebbline.noticeTick(late)]);
    await world.server.ebbline.noticeTick(late + minutes(5));
    const restarted = await openWorld({
      store: world.store,
      sendNotice: async (body) => sent.push(body) > 0,
    });
    opened.push(restarted);
    await restarted.server.ebbline.noticeTick(late + minutes(10));
    expect(sent).toHaveLength(1);
  });

  it('is not sent once somebody has acknowledged the item', async () => {
    const sent: NoticeBody[] = [];
    const { world, cookie, key, dueMs } = await watchedWorld({
      sendNotice: async (body) => sent.push(body) > 0,
    });
    world.clock.nowMs = dueMs + minutes(climbsAfterMin - 1);
    const cookieNow = (await world.post('/api/switch', { person: 'nurse', pin: '4821' }, { cookie }))
      .cookies[0];
    const answer = await world.post(
      '/api/entries',
      { entries: [world.entry('overdue-acknowledged', { item: key })] },
      { cookie: `${cookieNow?.name}=${cookieNow?.value}` },
    );
    expect(answer.json().refused).toEqual([]);
    await world.server.ebbline.noticeTick(dueMs + minutes(climbsAfterMin + 60));
    expect(sent).toEqual([]);
  });

  it('is tried again at the next round when the receiver did not take it', async () => {
    const tried: NoticeBody[] = [];
    let taking = false;
    const { world, dueMs } = await watchedWorld({
      sendNotice: async (body) => {
        tried.push(body);
        return taking;
      },
    });
    const late = dueMs + minutes(climbsAfterMin);
    expect(await world.server.ebbline.noticeTick(late)).toEqual([]);
    taking = true;
    expect(await world.server.ebbline.noticeTick(late + minutes(1))).toHaveLength(1);
    expect(await world.server.ebbline.noticeTick(late + minutes(2))).toHaveLength(0);
    expect(tried).toHaveLength(2);
  });

  it("arrives at the unit's address as JSON without a name or an identifier", async () => {
    const bodies: string[] = [];
    const receiver = createServer((request, response) => {
      let text = '';
      request.on('data', (part: Buffer) => (text += part.toString()));
      request.on('end', () => {
        bodies.push(text);
        response.writeHead(204).end();
      });
    });
    await new Promise<void>((resolve) => receiver.listen(0, '127.0.0.1', resolve));
    const url = `http://127.0.0.1:${(receiver.address() as AddressInfo).port}/`;
    const { world, dueMs } = await watchedWorld({ noticeUrl: url });
    await world.server.ebbline.noticeTick(dueMs + minutes(climbsAfterMin));
    expect(bodies).toHaveLength(1);
    expect(Object.keys(JSON.parse(bodies[0] ?? '{}')).sort()).toEqual([
      'bed',
      'dueAt',
      'overdueMin',
      'step',
      'ward',
      'what',
    ]);
    expect(bodies[0]).not.toMatch(/Ostrander|Wilma|p1/);
    receiver.closeAllConnections();
    await new Promise((resolve) => receiver.close(resolve));
    expect(await postTo(url)(JSON.parse(bodies[0] ?? '{}'))).toBe(false);
  });
});
