// Proves     servers on one database answer as one: sign-in, lock, tries, tokens, directory, accounts and protocols hold at
//            every one; screens at each see every entry once and in order, also while connections are ended
// Published  none
// Tolerance  exact; real sockets; waits end with what they wait for
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { instantOfMs, isRefusal, seededRandom, uuidV7 } from '@ebbline/core/quantity';
import { defaultSettings, type Directory } from '@ebbline/core/record';
import { verifyStore } from '@ebbline/store';
import {
  openPostgres,
  openPostgresStore,
  postgresBooks,
  type PostgresDatabase,
} from '@ebbline/store/postgres';
import { privatePostgres, type PrivatePostgres } from '@ebbline/store/postgres/testing';
import { databaseSessions } from '../accounts/database-sessions.ts';
import { databaseTries } from '../accounts/database-tries.ts';
import { sessionsContract, triesContract } from '../accounts/sessions.contract.ts';
import { makeToken } from '../accounts/tokens.ts';
import { readConfig, type Config } from '../config.ts';
import { startServer, type Running } from '../start.ts';
import { createLease } from './lease.ts';

const found = await privatePostgres();
const missing = 'missing' in found;
const postgres = found as PrivatePostgres;

const directory: Directory = {
  organisation: 'our-organisation',
  wards: [
    {
      id: 'harbour-3',
      name: 'Harbour 3',
      purpose: 'after surgery',
      hospital: 'Saltmarsh General',
      zone: 'Europe/Lisbon',
      beds: ['1', '2'],
      settings: defaultSettings,
      shiftChanges: ['07:30'],
    },
  ],
  people: [
    { id: 'administrator', name: 'Administrator', initials: 'AD', role: 'administrator', wards: [] },
    { id: 'nurse', name: 'A Nurse', initials: 'AN', role: 'nurse', wards: ['harbour-3'] },
    { id: 'other', name: 'Another Nurse', initials: 'ON', role: 'nurse', wards: ['harbour-3'] },
  ],
  scanners: [],
};

describe.skipIf(missing)('two servers on one database', () => {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-shared-'));
  let url = '';
  let servers: Running[] = [];
  let looking: PostgresDatabase;
  const random = seededRandom(11);

  const send = async (
    at: number,
    method: string,
    path: string,
    body?: unknown,
    headers: Record<string, string> = {},
  ) => {
    const answer = await fetch(`${servers[at]?.address}${path}`, {
      method,
      headers: { ...(body === undefined ? {} : { 'content-type': 'application/json' }), ...headers },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const cookie = answer.headers.get('set-cookie')?.split(';')[0];
    return { status: answer.status, cookie, body: (await answer.json().catch(() => undefined)) as never };
  };
  const signIn = async (at: number, person: string, secret = `${person}-long-secret`) => {
    const { status, cookie = '' } = await send(at, 'POST', '/api/sign-in', { person, secret });
    expect(status).toBe(200);
    return { cookie };
  };
  const me = async (at: number, headers: Record<string, string>): Promise<number> =>
    (await send(at, 'GET', '/api/me', undefined, headers)).status;

  beforeAll(async () => {
    url = await postgres.newDatabase();
    const config = readConfig({
      EBBLINE_DATA: join(folder, 'one'),
      EBBLINE_DATABASE: url,
      EBBLINE_PORT: '0',
      EBBLINE_LOG: 'off',
    });
    if (isRefusal(config)) throw new Error(config.code);
    servers = await Promise.all(
      ['one', 'other'].map((name): Promise<Running> =>
        startServer({ ...(config as Config), dataFolder: join(folder, name) }, false),
      ),
    );
    looking = await openPostgres({ url, connections: 2 });
    const first = servers.map(({ firstSecret }) => firstSecret).filter((one) => one !== undefined);
    expect(first).toHaveLength(1);
    const administrator = await signIn(1, 'administrator', first[0]);
    expect((await send(0, 'PUT', '/api/directory', directory, administrator)).status).toBe(200);
    for (const person of ['nurse', 'other']) {
      // The other server knows the person as soon as it has heard.
      await vi.waitFor(
        async () =>
          expect(
            (
              await send(
                1,
                'POST',
                '/api/accounts',
                { person, secret: `${person}-long-secret`, pin: '4821' },
                administrator,
              )
            ).status,
          ).toBe(200),
        { timeout: 15_000, interval: 50 },
      );
    }
  });
  afterAll(async () => {
    await looking.close();
    for (const server of servers) await server.close();
    rmSync(folder, { recursive: true, force: true });
  });

  it('know a session that was made at the other, and know at once that it was locked, switched or ended there', async () => {
    const nurse = await signIn(0, 'nurse');
    expect([await me(0, nurse), await me(1, nurse)]).toEqual([200, 200]);
    expect((await send(1, 'POST', '/api/lock', {}, nurse)).status).toBe(204);
    expect([await me(0, nurse), await me(1, nurse)]).toEqual([401, 401]);
    const switched = await send(0, 'POST', '/api/switch', { person: 'other', pin: '4821' }, nurse);
    expect(switched.status).toBe(200);
    const other = { cookie: switched.cookie ?? '' };
    expect([await me(0, nurse), await me(1, other)]).toEqual([401, 200]);
    await send(1, 'POST', '/api/sign-out', {}, other);
    expect([await me(0, other), await me(1, other)]).toEqual([401, 401]);
  });

  it('count wrong PINs and secrets together', async () => {
    const nurse = await signIn(0, 'nurse');
    for (let count = 0; count < 5; count += 1)
      expect(
        (await send(count % 2, 'POST', '/api/switch', { person: 'other', pin: '0000' }, nurse)).status,
      ).toBe(401);
    const off = await send(1, 'POST', '/api/switch', { person: 'other', pin: '4821' }, nurse);
    expect((off.body as { refusal: { code: string } }).refusal.code).toBe('server/pin-off');
    const wrong = { person: 'nobody-here', secret: 'wrong' };
    const answers: number[] = [];
    for (let count = 0; count < 7; count += 1)
      answers.push((await send(count % 2, 'POST', '/api/sign-in', wrong)).status);
    expect(answers).toEqual([401, 401, 401, 401, 401, 429, 429]);
  });

  it('take a token that was made while they run, and none that was taken back', async () => {
    const books = postgresBooks(looking, 'our-organisation');
    const token = await makeToken(books, 'integration', 2, Date.now());
    const authorization = { authorization: `Bearer ${token}` };
    const ask = async (at: number): Promise<number> =>
      (await send(at, 'GET', '/api/entries', undefined, authorization)).status;
    expect([await ask(0), await ask(1)]).toEqual([200, 200]);
    const [name] = (await books.names()).filter((one) => one.startsWith('tokens/'));
    expect(await books.book(name as string).read()).not.toContain(token.slice(17));
    await books.remove(name as string);
    expect([await ask(0), await ask(1)]).toEqual([401, 401]);
  });

  it('hold a new secret at once everywhere, and refuse a directory that would undo what the other took in', async () => {
    const administrator = await signIn(0, 'nurse').then(() =>
      looking.ask(`select 1 from {book} where name = 'accounts.json'`),
    );
    expect(administrator).toHaveLength(1);
    const accounts = postgresBooks(looking, 'our-organisation').book('accounts.json');
    const before = await accounts.read();
    await accounts.change((text = '') => {
      const all = JSON.parse(text) as Record<string, unknown>;
      return JSON.stringify({ ...all, other: all['nurse'] });
    });
    await signIn(1, 'other', 'nurse-long-secret');
    await accounts.change(() => before);
    expect(
      (await send(0, 'POST', '/api/sign-in', { person: 'other', secret: 'nurse-long-secret' })).status,
    ).toBe(401);
  });

  it('show every entry once and in order on screens at both, while their connections are ended again and again', async () => {
    const nurse = await signIn(0, 'nurse');
    const store = await openPostgresStore({ database: looking, organisation: 'our-organisation' });
    const entryOf = (kind: string, payload: unknown) => {
      const now = Date.now();
      return {
        id: uuidV7(
          now,
          Array.from({ length: 10 }, () => random.below(256)),
        ),
        organisation: 'our-organisation',
        patient: 'p1',
        effectiveAt: instantOfMs(now),
        timeQuality: 'exact',
        recordedAt: instantOfMs(now),
        author: 'nurse',
        madeOn: 'tablet-1',
        kind,
        payload,
      };
    };
    const registered = entryOf('patient-registered', {
      familyName: 'Ostrander',
      givenName: 'Wilma',
      sex: 'female',
      identifierSystem: 'urn:made-up',
      identifierValue: 'p1',
      ward: 'harbour-3',
      bed: '1',
    });
    expect((await send(0, 'POST', '/api/entries', { entries: [registered] }, nurse)).status).toBe(200);
    const abort = new AbortController();
    const screens = await Promise.all(
      [0, 1, 0, 1].map(async (at) => {
        const { body } = await fetch(`${servers[at]?.address}/api/live`, {
          headers: nurse,
          signal: abort.signal,
        });
        const seen: string[] = [];
        const reading = (async () => {
          let text = '';
          for await (const part of body as ReadableStream<Uint8Array>) {
            text += Buffer.from(part).toString('utf8');
            for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
              const id = /"id":"([0-9a-f-]{36})"/.exec(text.slice(0, end))?.[1];
              if (text.startsWith('event: entry') && id !== undefined) seen.push(id);
              text = text.slice(end + 2);
            }
          }
        })().catch(() => undefined);
        return { seen, reading };
      }),
    );
    const sent: string[] = [];
    let ended = 0;
    for (let count = 0; count < 60; count += 1) {
      const entry = entryOf('void', { how: 'measured', volumeMl: 200 });
      const post = () => send(count % 2, 'POST', '/api/entries', { entries: [entry] }, nurse);
      const waiting = post();
      if (count % 6 === 3) {
        const [row] = await postgres.administer(
          `select count(pg_terminate_backend(pid))::int as ended from pg_stat_activity where application_name = 'ebbline' and datname = '${new URL(url).pathname.slice(1)}'`,
        );
        ended += Number(row?.['ended']);
      }
      // An answer that was lost on the way is asked for again, as a tablet does.
      const answer = (await waiting).status === 200 ? 200 : (await post()).status;
      expect(answer).toBe(200);
      sent.push(entry.id);
    }
    expect(ended).toBeGreaterThan(20);
    for (const { seen } of screens)
      await vi.waitFor(() => expect(seen.length).toBeGreaterThanOrEqual(sent.length), {
        timeout: 10_000,
        interval: 10,
      });
    for (const { seen } of screens) expect(seen).toEqual(sent);
    abort.abort();
    expect(await verifyStore(store)).toMatchObject({ entries: 61 });
  });

  it('leave to one of them what is done once for all, until it is gone', async () => {
    const [one, other] = ['one', 'other'].map((holder) => createLease(looking, 'our-organisation', holder));
    expect(await one?.take('round', 60_000)).toBe(true);
    expect(await other?.take('round', 60_000)).toBe(false);
    expect(await one?.take('round', -1)).toBe(true);
    expect(await other?.take('round', 60_000)).toBe(true);
    expect(await one?.take('round', 60_000)).toBe(false);
  });

  let kinds = 0;
  const openedFor = (): string => `made-up-${(kinds += 1)}`;
  sessionsContract('a database', async (lockAfterS) => databaseSessions(looking, openedFor(), lockAfterS));
  let organisation = '';
  triesContract('a database', async (kind) => {
    // The last suite asks for two kinds of one organisation.
    if (kind !== 'secret' || organisation === '') organisation = openedFor();
    return databaseTries(looking, organisation, kind);
  });
});
