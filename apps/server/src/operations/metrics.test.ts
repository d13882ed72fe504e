// Proves     the figures count requests by route template, method and outcome; a planted name that stands in an address, a body or a
//            head is in none of them, and labels stay few whatever is asked; they are served on a port of their own
// Published  Prometheus text format: S-server-prometheus
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { openWorld } from '../testing/world.ts';
import { listenForMetrics } from './metrics-listener.ts';

const planted = 'Zzyzwick';

describe('the figures', () => {
  it('hold route templates alone, whatever is asked', async () => {
    const world = await openWorld({ metrics: true });
    const { metrics, routes } = world.server.ebbline;
    const cookie = await world.signIn('nurse');
    await world.post('/api/entries', { entries: [world.registered(planted)] }, { cookie });
    await world.get(`/api/patients/${planted}/bundle`, { cookie });
    await world.get(`/api/${planted}`, { cookie });
    await world.get(`/${planted}?name=${planted}`, { 'x-request-id': planted });
    for (let one = 0; one < 30; one += 1) await world.get(`/${planted}/${one}`);
    await world.server.inject({ method: 'PROPFIND' as 'GET', url: `/${planted}` });
    const text = (await metrics?.text()) ?? '';
    expect(text).not.toContain(planted);
    const known = new Set([...routes.map(({ url }) => url), 'unknown']);
    const labelled = [...text.matchAll(/^ebbline_http_request_duration_seconds_count\{(.+)\} (\d+)$/gm)];
    expect(labelled.length).toBeGreaterThan(4);
    for (const [, labels = ''] of labelled) {
      const [, method, route, status] = /^method="(\w+)",route="(.+)",status="(\dxx)"$/.exec(labels) ?? [];
      expect(['GET', 'HEAD', 'POST', 'PUT', 'PATCH', 'DELETE', 'OPTIONS', 'other']).toContain(method);
      expect(known, labels).toContain(route);
      expect(status).toMatch(/^[1-5]xx$/);
    }
    const count = (label: string): number =>
      Number(labelled.find(([, labels]) => labels === label)?.[2] ?? Number.NaN);
    expect(count('method="POST",route="/api/entries",status="2xx"')).toBe(1);
    expect(text).toMatch(/^ebbline_entries 1$/m);
    expect(text).toMatch(/^ebbline_check\{check="store",state="good"\} 1$/m);
    expect(text).toMatch(/^ebbline_http_requests_running 0$/m);
    await world.server.close();
  });

  it('count who was refused for asking too often', async () => {
    const world = await openWorld({ metrics: true, requestsPerMinute: 3 });
    const codes: number[] = [];
    for (let one = 0; one < 5; one += 1) codes.push((await world.get('/api/welcome')).statusCode);
    expect(codes).toEqual([200, 200, 200, 429, 429]);
    expect(await world.server.ebbline.metrics?.text()).toMatch(
      /^ebbline_http_requests_refused_for_rate_total 2$/m,
    );
    await world.server.close();
  });

  it('are served on their own port at one address, and not on the wards’ port', async () => {
    const world = await openWorld({ metrics: true });
    const { metrics } = world.server.ebbline;
    if (!metrics) throw new Error('no figures');
    const listener = await listenForMetrics(metrics, { host: '127.0.0.1', port: 0 });
    const at = (path: string, method = 'GET') =>
      fetch(`http://127.0.0.1:${listener.port}${path}`, { method });
    const answer = await at('/metrics');
    expect([answer.status, answer.headers.get('content-type')]).toEqual([
      200,
      'text/plain; version=0.0.4; charset=utf-8',
    ]);
    expect(await answer.text()).toContain('ebbline_live_screens 0');
    expect([(await at('/')).status, (await at('/metrics', 'POST')).status]).toEqual([404, 404]);
    expect((await world.get('/metrics')).body).not.toContain('ebbline_live_screens');
    await listener.close();
    await world.server.close();
  });

  it('are not gathered unless they are asked for', async () => {
    const world = await openWorld();
    expect(world.server.ebbline.metrics).toBeUndefined();
    await world.server.close();
  });
});
