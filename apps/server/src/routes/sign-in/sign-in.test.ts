// Proves     people sign in with a secret, change hands by PIN, and are out when idle, locked or signed out; guessing is slowed
// Published  none; times are the unit's settings
// Tolerance  exact, on a clock that the test turns
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openWorld, minutes, pin, secret, type World } from '../../testing/world.ts';

let world: World;
beforeEach(async () => {
  world = await openWorld();
});
afterEach(() => world.server.close());

const codeOf = (answer: { json: () => { refusal?: { code: string } } }): string | undefined =>
  answer.json().refusal?.code;

describe('signing in', () => {
  it('gives the person and a cookie that scripts cannot read and other sites cannot send', async () => {
    const answer = await world.post('/api/sign-in', { person: 'nurse', secret });
    expect(answer.json().person).toMatchObject({ id: 'nurse', role: 'nurse' });
    expect(answer.cookies[0]).toMatchObject({
      name: 'ebbline',
      httpOnly: true,
      sameSite: 'Strict',
      path: '/',
    });
  });

  it('uses a cookie for TLS alone behind TLS', async () => {
    const behindTls = await openWorld({ secureCookie: true });
    const answer = await behindTls.post('/api/sign-in', { person: 'nurse', secret });
    expect(answer.cookies[0]).toMatchObject({ name: '__Host-ebbline', secure: true, path: '/' });
    await behindTls.server.close();
  });

  it('is refused with a wrong secret and for somebody unknown in the same words', async () => {
    const wrong = await world.post('/api/sign-in', { person: 'nurse', secret: 'not it' });
    const unknown = await world.post('/api/sign-in', { person: 'somebody', secret });
    expect([wrong.statusCode, unknown.statusCode]).toEqual([401, 401]);
    expect(wrong.body).toBe(unknown.body);
    expect(codeOf(wrong)).toBe('server/wrong-secret');
  });

  it('[H12-tries] waits longer and longer after five wrong secrets, then lets the right one in', async () => {
    for (let index = 0; index < 5; index += 1)
      await world.post('/api/sign-in', { person: 'nurse', secret: `guess ${index}` });
    const early = await world.post('/api/sign-in', { person: 'nurse', secret });
    expect(early.statusCode).toBe(429);
    expect(early.headers['retry-after']).toBe('2');
    world.clock.nowMs += 2_000;
    await world.post('/api/sign-in', { person: 'nurse', secret: 'guess 6' });
    world.clock.nowMs += 2_000;
    expect((await world.post('/api/sign-in', { person: 'nurse', secret })).statusCode).toBe(429);
    world.clock.nowMs += 2_000;
    expect((await world.post('/api/sign-in', { person: 'nurse', secret })).statusCode).toBe(200);
  });

  it('is audited, the refused ones too, without what was typed', async () => {
    await world.signIn('nurse');
    await world.post('/api/sign-in', { person: 'nurse', secret: 'not it' });
    await world.post('/api/sign-in', { person: 'my-secret-in-the-wrong-field', secret: 'x' });
    const rows = await world.store.auditAfter(0, 100);
    expect(rows.map(({ action, subject }) => [action, subject])).toEqual([
      ['signed-in', 'nurse'],
      ['sign-in-refused', 'nurse'],
      ['sign-in-refused', 'nobody known'],
    ]);
    expect(JSON.stringify(rows)).not.toContain('my-secret');
  });
});

describe('a session', () => {
  it('[H12-idle] ends its use after fifteen lock times without a request, and a PIN takes it up again', async () => {
    const cookie = await world.signIn('nurse');
    world.clock.nowMs += minutes(14);
    expect((await world.get('/api/me', { cookie })).statusCode).toBe(200);
    world.clock.nowMs += minutes(15);
    const idle = await world.get('/api/me', { cookie });
    expect(idle.statusCode).toBe(401);
    expect(codeOf(idle)).toBe('server/session-ended');
    const taken = await world.post('/api/switch', { person: 'nurse', pin }, { cookie });
    expect(taken.statusCode).toBe(200);
    const fresh = `${taken.cookies[0]?.name}=${taken.cookies[0]?.value}`;
    expect((await world.get('/api/me', { cookie: fresh })).statusCode).toBe(200);
  });

  it('lasts one shift at most, however busy', async () => {
    const cookie = await world.signIn('nurse');
    for (let hour = 0; hour < 78; hour += 1) {
      world.clock.nowMs += minutes(10);
      await world.get('/api/me', { cookie });
    }
    expect((await world.get('/api/me', { cookie })).statusCode).toBe(401);
    const switched = await world.post('/api/switch', { person: 'nurse', pin }, { cookie });
    expect(codeOf(switched)).toBe('server/sign-in-first');
  });

  it('reads nothing once the tablet said that it locked', async () => {
    const cookie = await world.signIn('nurse');
    expect((await world.post('/api/lock', {}, { cookie })).statusCode).toBe(204);
    expect((await world.get('/api/entries', { cookie })).statusCode).toBe(401);
    expect((await world.post('/api/switch', { person: 'nurse', pin }, { cookie })).statusCode).toBe(200);
  });

  it('is gone at the server after signing out', async () => {
    const cookie = await world.signIn('nurse');
    const out = await world.post('/api/sign-out', {}, { cookie });
    expect(out.headers['clear-site-data']).toBe('"cache"');
    expect((await world.get('/api/me', { cookie })).statusCode).toBe(401);
    expect((await world.post('/api/switch', { person: 'nurse', pin }, { cookie })).statusCode).toBe(401);
  });
});

describe('changing hands', () => {
  it('gives the next person a session of their own and ends the last one', async () => {
    const cookie = await world.signIn('nurse');
    const answer = await world.post('/api/switch', { person: 'second-nurse', pin }, { cookie });
    expect(answer.json().person.id).toBe('second-nurse');
    const next = `${answer.cookies[0]?.name}=${answer.cookies[0]?.value}`;
    expect(next).not.toBe(cookie);
    expect((await world.get('/api/me', { cookie: next })).json().person.id).toBe('second-nurse');
    expect((await world.get('/api/me', { cookie })).statusCode).toBe(401);
  });

  it('by PIN does not make the shift of the tablet longer', async () => {
    let cookie = await world.signIn('nurse');
    for (let hour = 0; hour < 12; hour += 1) {
      world.clock.nowMs += minutes(60);
      const answer = await world.post(
        '/api/switch',
        { person: hour % 2 === 0 ? 'second-nurse' : 'nurse', pin },
        { cookie },
      );
      expect(answer.statusCode).toBe(200);
      cookie = `${answer.cookies[0]?.name}=${answer.cookies[0]?.value}`;
    }
    world.clock.nowMs += minutes(60);
    expect(codeOf(await world.post('/api/switch', { person: 'nurse', pin }, { cookie }))).toBe(
      'server/sign-in-first',
    );
  });

  it('needs a tablet on which somebody signed in', async () => {
    expect(codeOf(await world.post('/api/switch', { person: 'nurse', pin }))).toBe('server/sign-in-first');
  });

  it('[H12-pin-tries] turns the PIN off after five wrong ones until its owner signs in with the secret', async () => {
    const cookie = await world.signIn('nurse');
    for (let index = 0; index < 5; index += 1) {
      expect(
        codeOf(await world.post('/api/switch', { person: 'second-nurse', pin: '0000' }, { cookie })),
      ).toBe('server/wrong-pin');
    }
    expect(codeOf(await world.post('/api/switch', { person: 'second-nurse', pin }, { cookie }))).toBe(
      'server/pin-off',
    );
    const own = await world.signIn('second-nurse');
    expect(
      (await world.post('/api/switch', { person: 'second-nurse', pin }, { cookie: own })).statusCode,
    ).toBe(200);
  });

  it('[H12-pin-tries] lets no more than five PINs be tried by asking many at once', async () => {
    const cookie = await world.signIn('nurse');
    const tries = await Promise.all(
      Array.from({ length: 12 }, () =>
        world.post('/api/switch', { person: 'second-nurse', pin: '0000' }, { cookie }),
      ),
    );
    expect(tries.map(codeOf).filter((code) => code === 'server/wrong-pin')).toHaveLength(5);
  });
});
