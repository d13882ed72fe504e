// Proves     every route has a rule, and for every route and role the answer is what the rule and core's permission
//            table say: 401 without a session, 403 without the view, anything else for those who may
// Published  none; the table is core/record/permissions.ts
// Tolerance  exact; rows are generated from the router, so a new route is in the table by itself
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { mayView } from '@ebbline/core/record';
import type { App } from './parts.ts';
import { openWorld, roleList, type World } from './testing/world.ts';

let world: World;
const cookies = new Map<string, string>();
beforeAll(async () => {
  world = await openWorld();
  await Promise.all(roleList.map(async (role) => cookies.set(role, await world.signIn(role))));
});
afterAll(() => world.server.close());

/** Status of a call, without waiting for the end of a stream. */
async function statusOf(method: string, url: string, cookie?: string): Promise<number> {
  const answer = await world.server.inject({
    method: method as 'GET',
    url: url.replace(/:\w+/g, 'p1').replace('*', 'nothing-here'),
    headers: cookie === undefined ? {} : { cookie },
    payloadAsStream: true,
  });
  answer.stream().destroy();
  return answer.statusCode;
}

describe('routes', () => {
  it('are all in the table, and only these need no session', () => {
    const open = world.server.ebbline.routes
      .filter(({ rule, method }) => rule.who === 'anybody' && method !== 'HEAD')
      .map(({ method, url }) => `${method} ${url}`);
    expect(open.sort()).toEqual(
      [
        'GET /*',
        'GET /api/welcome',
        'GET /healthz',
        'GET /openapi.json',
        'GET /readyz',
        'POST /api/badge',
        'POST /api/lock',
        'POST /api/passkey/begin',
        'POST /api/passkey/sign-in',
        'POST /api/sealed',
        'POST /api/sign-in',
        'POST /api/sign-out',
        'POST /api/switch',
      ].sort(),
    );
    expect(world.server.ebbline.routes.length).toBeGreaterThan(15);
  });

  it('without a rule stop the start', async () => {
    const forgotten = (app: App): void => void app.get('/forgotten', async () => 'open');
    await expect(openWorld({ moreRoutes: forgotten })).rejects.toThrow(
      'No rule says who may call GET /forgotten',
    );
  });

  it('[H12-rules] answer 401 to nobody, and 403 to every role without the view', async () => {
    const wrong: string[] = [];
    let checked = 0;
    for (const { method, url, rule } of world.server.ebbline.routes) {
      if (rule.who === 'anybody') continue;
      const nobody = await statusOf(method, url);
      if (nobody !== 401) wrong.push(`${method} ${url} nobody ${nobody}`);
      for (const role of roleList) {
        const allowed = rule.who === 'signed-in' || rule.views.some((view) => mayView(role, view));
        const status = await statusOf(method, url, cookies.get(role));
        checked += 1;
        if (allowed ? status === 401 || status === 403 || status >= 500 : status !== 403)
          wrong.push(`${method} ${url} ${role} ${status}`);
      }
    }
    expect(wrong).toEqual([]);
    expect(checked).toBeGreaterThan(100);
  });

  it('[H12-rules] give a made-up session and a made-up token nothing', async () => {
    expect((await world.get('/api/entries', { cookie: 'ebbline=made-up' })).statusCode).toBe(401);
    expect((await world.get('/api/entries', { authorization: 'Bearer made-up' })).statusCode).toBe(401);
  });
});
