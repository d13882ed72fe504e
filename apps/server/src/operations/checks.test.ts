// Proves     each check says by name what is wrong and what to do; only a store that can't write takes the server out of
//            service; nothing that a check says tells a path, an address or a name
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { openMemoryStore } from '@ebbline/store/memory';
import { openWorld, organisation, startMs } from '../testing/world.ts';
import { checkpointCheck, diskCheck, downtimeCheck, schemaCheck, type HealthCheck } from './checks.ts';

interface Ready {
  readonly status: string;
  readonly faults: number;
  readonly checks: readonly { readonly name: string; readonly state: string; readonly found: string }[];
}

const broken = (): ReturnType<typeof openMemoryStore> => ({
  ...openMemoryStore({ organisation }),
  setBookmark: async () => {
    throw new Error('SQLITE_FULL at /srv/ebbline/record.sqlite');
  },
});
const failing: HealthCheck = async () => {
  throw new Error('no such place: /srv/ebbline');
};

describe('readiness', () => {
  it('names every check, and counts what failed without leaving service', async () => {
    const checks = {
      disk: diskCheck('/', async () => ({ freeBytes: 5e9, allBytes: 20e9 })),
      checkpoint: failing,
    };
    const world = await openWorld({ checks });
    const answer = await world.get('/readyz');
    expect(answer.statusCode).toBe(200);
    const ready = answer.json() as Ready;
    expect(ready).toMatchObject({ status: 'ready', faults: 1 });
    expect(ready.checks.map(({ name, state }) => `${name} ${state}`)).toEqual([
      'store good',
      'disk good',
      'schema not-used',
      'checkpoint failed',
      'downtime-prints not-used',
    ]);
    expect(ready.checks[1]?.found).toBe('5.0 GB of 20.0 GB free');
    expect(answer.body).not.toContain('/srv');
    await world.server.close();
  });

  it('is refused when the store keeps nothing, though it still answers reads', async () => {
    const world = await openWorld({ store: broken() });
    const answer = await world.get('/readyz');
    expect(answer.statusCode).toBe(503);
    expect(answer.json()).toMatchObject({
      refusal: { code: 'server/not-ready', found: 'a store that keeps nothing; failed: store' },
    });
    expect(answer.body).not.toContain('/srv');
    expect((await world.get('/healthz')).statusCode).toBe(200);
    await world.server.close();
  });

  it('writes at most once a second, however many ask', async () => {
    let writes = 0;
    const store = openMemoryStore({ organisation });
    const world = await openWorld({
      store: { ...store, setBookmark: async () => void (writes += 1) },
    });
    await Promise.all(Array.from({ length: 20 }, () => world.get('/readyz')));
    expect(writes).toBe(1);
    world.clock.nowMs += 1000;
    await world.get('/readyz');
    expect(writes).toBe(2);
    await world.server.close();
  });

  it('is told in full to those who look after the server, and to nobody else', async () => {
    const world = await openWorld();
    const own = await world.get('/api/operations', { cookie: await world.signIn('administrator') });
    expect(own.statusCode).toBe(200);
    expect(own.json()).toMatchObject({ checks: [{ name: 'store', state: 'good' }, {}, {}, {}, {}] });
    expect((await world.get('/api/operations', { cookie: await world.signIn('nurse') })).statusCode).toBe(
      403,
    );
    await world.server.close();
  });
});

describe('the check of', () => {
  it('the disk fails below a quarter of a GB, and reads the platform’s own figures', async () => {
    const at = (freeBytes: number) => diskCheck('/x', async () => ({ freeBytes, allBytes: 20e9 }))(startMs);
    expect(await at(269e6)).toMatchObject({ state: 'good' });
    expect(await at(268e6)).toMatchObject({ state: 'failed', todo: expect.stringContaining('Make room') });
    expect((await diskCheck('/')(startMs)).found).toMatch(/^\d+\.\d GB of \d+\.\d GB free$/);
  });

  it('checkpoints fails when one was missed while the audit grew, and not while it rests', async () => {
    const check = (ageMs: number, signed: number, rows: number) =>
      checkpointCheck(
        { newest: () => ({ number: 7, auditRows: signed, atMs: startMs - ageMs }) },
        { auditHead: async () => ({ auditRows: rows, chain: '' }) },
      )(startMs);
    expect(await check(hourMs, 10, 20)).toMatchObject({ state: 'good', found: 'number 7, 1 h old' });
    expect(await check(2 * hourMs + 1, 10, 20)).toMatchObject({ state: 'failed' });
    expect(await check(48 * hourMs, 20, 20)).toMatchObject({ state: 'good' });
    const none = checkpointCheck(
      { newest: () => undefined },
      { auditHead: async () => ({ auditRows: 3, chain: '' }) },
    );
    expect(await none(startMs)).toMatchObject({ state: 'failed', found: 'none' });
  });

  it('prints fails when a round was missed, or failed, and says why', async () => {
    const check = (status: object) =>
      downtimeCheck({ status: () => ({ folder: '/srv/prints', wards: 2, ...status }) })(startMs);
    expect(await check({ printedAtMs: startMs - 75 * minuteMs })).toMatchObject({ state: 'good' });
    expect(await check({ printedAtMs: startMs - 76 * minuteMs })).toMatchObject({ state: 'failed' });
    const failed = await check({
      printedAtMs: startMs,
      failure: { code: 'keep/disk-full', found: 'a disk without room for it', atMs: startMs },
    });
    expect(failed).toMatchObject({ state: 'failed' });
    expect(failed.found).toContain('a disk without room for it [keep/disk-full]');
    expect(failed.found).not.toContain('/srv');
  });

  it('the schema says its version', async () => {
    expect(await schemaCheck(3)(startMs)).toEqual({ name: 'schema', state: 'good', found: 'version 3' });
  });
});
