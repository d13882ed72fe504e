// Proves     no name, identifier or secret that a caller sends reaches the log, whatever goes right or wrong
// Published  none
// Tolerance  none: one occurrence fails
import { describe, expect, it } from 'vitest';
import { openMemoryStore } from '@ebbline/store/memory';
import { openWorld, organisation, secret } from './testing/world.ts';
import { quietError } from './log.ts';

const planted = 'Zzyzwick';

describe('the log', () => {
  it('never holds a planted name, while every request leaves a line', async () => {
    const lines: string[] = [];
    let failing = false;
    const store = openMemoryStore({
      organisation,
      onStep: () => {
        if (failing) throw new Error(`cannot write ${planted}`);
      },
    });
    const world = await openWorld({
      store,
      log: { level: 'debug', stream: { write: (line) => lines.push(line) } },
    });
    const cookie = await world.signIn('nurse');
    const person = world.registered(planted, {
      familyName: planted,
      givenName: planted,
      identifierValue: planted,
    });
    const raw = (payload: string) =>
      world.server.inject({
        method: 'POST',
        url: '/api/entries',
        headers: { cookie, 'content-type': 'application/json' },
        payload,
      });

    expect((await world.post('/api/entries', { entries: [person] }, { cookie })).json().kept).toHaveLength(1);
    await world.post(
      '/api/entries',
      { entries: [{ ...person, payload: { ...person.payload, [planted]: planted } }] },
      { cookie },
    );
    await world.post('/api/entries', { entries: [person, { [planted]: 1 }], [planted]: 1 }, { cookie });
    await raw(`{"entries":[{"familyName":"${planted}`);
    await raw(`${planted} is not JSON`);
    await world.get(`/api/entries?after=0&patient=${planted}`, { cookie });
    await world.get(`/api/patients/${planted}/bundle`, { cookie });
    await world.get(`/api/patients/${planted}-unknown/bundle`, { cookie });
    await world.get(`/api/${planted}`, { cookie });
    await world.get(`/${planted}?name=${planted}`, { cookie });
    await world.post('/api/sign-in', { person: planted, secret: planted });
    await world.post('/api/switch', { person: planted, pin: planted }, { cookie });
    failing = true;
    const failed = await world.post(
      '/api/entries',
      { entries: [world.registered(`${planted}-2`)] },
      { cookie },
    );
    expect(failed.statusCode).toBe(500);
    await world.server.close();

    const text = lines.join('');
    expect(text).not.toContain(planted);
    expect(text).not.toContain(secret);
    expect(text).not.toContain(cookie.split('=')[1]);
    const answered = lines.map((line) => JSON.parse(line)).filter(({ msg }) => msg === 'answered');
    expect(answered.length).toBeGreaterThanOrEqual(14);
    expect(answered.find(({ route }) => route === '/api/entries')).toMatchObject({
      method: 'POST',
      status: 200,
      by: 'nurse',
    });
    expect(
      lines
        .map((line) => JSON.parse(line))
        .some(({ code, err }) => code === 'server/failed' && err.stack.includes('at ')),
    ).toBe(true);
  });

  it('keeps of an error its name and place, not its words', () => {
    const { type, message, stack } = quietError(new SyntaxError(`Unexpected "${planted}\n at ${planted}"`));
    expect(type).toBe('SyntaxError');
    expect(message).toBe('');
    expect(stack).toContain('log.test.ts');
    expect(stack).not.toContain(planted);
  });
});
