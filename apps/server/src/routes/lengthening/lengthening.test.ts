// Proves     only a specialist nurse signs, only on the hit rate of the server's own record, with name, role and time and a
//            row in the audit; many may take it back; a directory written by hand neither signs nor ends a signature.
// Tolerance  exact
import { beforeEach, describe, expect, it } from 'vitest';
import { instantOfMs, minuteMs } from '@ebbline/core/quantity';
import { defaultSettings, type Directory, type Entry } from '@ebbline/core/record';
import { fixedDirectory } from '../../directory-book.ts';
import { directory, openWorld, startMs, type World } from '../../testing/world.ts';

/** Bars that a short record can meet; 20 pairs are the fewest that any unit may ask for. */
const lowBars: Directory = {
  ...directory,
  wards: directory.wards.map((ward) => ({
    ...ward,
    settings: { ...defaultSettings, lengthenPairsAtLeast: 20, lengthenHitsAtLeast: 0.7 },
  })),
};

let world: World;
const url = '/api/wards/harbour-3/lengthening';

/** So many patients, each read twice within twenty minutes, the second time so many mL off. */
async function readings(patients: number, offMl = 0): Promise<void> {
  const cookie = await world.signIn('nurse');
  const entries: Entry[] = [];
  for (let one = 0; one < patients; one += 1) {
    const patient = `p${one}`;
    const at = (minute: number) => {
      const effectiveAt = instantOfMs(startMs + (minute - 60) * minuteMs);
      return { patient, effectiveAt, recordedAt: effectiveAt };
    };
    const read = (minute: number, volumeMl: number): Entry =>
      world.entry('reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [] }, at(minute));
    entries.push(
      { ...world.registered(patient, {}), ...at(0) } as Entry,
      world.entry('watch-opened', { setting: 'after-surgery', reason: 'spinal block' }, at(0)),
      read(10, 300),
      read(30, 330 + offMl),
    );
  }
  const answer = await world.post('/api/entries', { entries }, { cookie });
  expect(answer.json().refused).toEqual([]);
}

const say = async (who: string, may: boolean) =>
  world.post(url, { may }, { cookie: await world.signIn(who) });
const standing = async () =>
  (
    await world.get('/api/reports/hit-rate?ward=harbour-3', { cookie: await world.signIn('nurse') })
  ).json() as {
    ward: { within: number; of: number };
    everywhere: { of: number };
    lengthening: { on: boolean; refusal?: { code: string } };
  };

beforeEach(async () => {
  world = await openWorld({ directory: fixedDirectory(lowBars) });
  return () => world.server.close();
});

describe('the hit rate of a ward', () => {
  it('is worked out from the record, with an interval and without a patient', async () => {
    await readings(22);
    const answer = await standing();
    expect(answer.ward).toMatchObject({ within: 22, of: 22, percent: { share: 100, high: 100 } });
    expect(answer.everywhere.of).toBe(22);
    expect(JSON.stringify(answer)).not.toContain('p1');
  });

  it('counts what comes later, and misses', async () => {
    await readings(3);
    expect((await standing()).ward).toMatchObject({ within: 3, of: 3 });
    await readings(24, 900);
    expect((await standing()).ward.of).toBeGreaterThan(3);
    expect((await standing()).ward.within).toBeLessThan((await standing()).ward.of);
  });

  it('is refused for a ward that is not there, and to nobody signed in', async () => {
    const cookie = await world.signIn('nurse');
    expect((await world.get('/api/reports/hit-rate?ward=nowhere', { cookie })).statusCode).toBe(404);
    expect((await world.get('/api/reports/hit-rate?ward=harbour-3')).statusCode).toBe(401);
  });
});

describe('the signature', () => {
  it('is off at first, and can’t be given on too few pairs', async () => {
    await readings(19);
    expect((await standing()).lengthening).toMatchObject({
      on: false,
      refusal: { code: 'record/lengthening-too-few-pairs' },
    });
    const answer = await say('specialist-nurse', true);
    expect([answer.statusCode, answer.json().refusal.code]).toEqual([
      422,
      'record/lengthening-too-few-pairs',
    ]);
    expect((await standing()).lengthening.on).toBe(false);
  });

  it('can’t be given where the ranges missed too often', async () => {
    await readings(24, 900);
    const answer = await say('specialist-nurse', true);
    expect([answer.statusCode, answer.json().refusal.code]).toEqual([
      422,
      'record/lengthening-too-often-wrong',
    ]);
  });

  it('is given by a specialist nurse with name, role, time and figures, and reaches every tablet', async () => {
    await readings(22);
    const answer = await say('specialist-nurse', true);
    expect(answer.json()).toMatchObject({
      on: true,
      lengthening: {
        signed: {
          person: 'specialist-nurse',
          name: 'A specialist-nurse',
          role: 'specialist-nurse',
          at: instantOfMs(startMs),
        },
        within: 22,
        pairs: 22,
      },
    });
    const cookie = await world.signIn('nurse');
    const copied = (await world.get('/api/directory', { cookie })).json() as Directory;
    expect(copied.wards[0]?.settings.lengthening).toMatchObject({ pairs: 22 });
  });

  it('is refused to every other role that may ask, also on the same figures', async () => {
    await readings(22);
    for (const role of ['nurse', 'charge-nurse', 'midwife', 'manager'])
      expect((await say(role, true)).statusCode, role).toBe(403);
    expect((await say('aide', true)).statusCode).toBe(403);
    expect((await standing()).lengthening.on).toBe(false);
  });

  it('is taken back by a nurse, keeps who signed and who took it back, and can be given again', async () => {
    await readings(22);
    expect((await say('nurse', false)).json().refusal.code).toBe('server/nothing-signed');
    await say('specialist-nurse', true);
    world.clock.nowMs += minuteMs;
    expect((await say('nurse', false)).json()).toMatchObject({
      on: false,
      lengthening: { signed: { person: 'specialist-nurse' }, revoked: { person: 'nurse', role: 'nurse' } },
    });
    expect((await say('nurse', false)).statusCode).toBe(422);
    world.clock.nowMs += minuteMs;
    expect((await say('specialist-nurse', true)).json()).toMatchObject({ on: true });
  });

  it('leaves a row in the audit each time', async () => {
    await readings(22);
    await say('specialist-nurse', true);
    await say('nurse', false);
    const cookie = await world.signIn('privacy-officer');
    const { rows } = (await world.get('/api/audit?after=0&limit=500', { cookie })).json() as {
      rows: { action: string; actor: string; subject: string }[];
    };
    expect(
      rows
        .filter(({ action }) => action.startsWith('lengthening'))
        .map(({ action, actor, subject }) => [action, actor, subject]),
    ).toEqual([
      ['lengthening-signed', 'specialist-nurse', 'harbour-3 22 of 22'],
      ['lengthening-taken-back', 'nurse', 'harbour-3 22 of 22'],
    ]);
  });
});

describe('a directory written by hand', () => {
  const put = async (change: (given: Directory) => Directory): Promise<number> => {
    const cookie = await world.signIn('administrator');
    const given = (await world.get('/api/directory', { cookie })).json() as Directory;
    const answer = await world.server.inject({
      method: 'PUT',
      url: '/api/directory',
      payload: change(given) as object,
      headers: { cookie, origin: 'http://localhost', host: 'localhost' },
    });
    return answer.statusCode;
  };
  const withSignature = (given: Directory, lengthening: unknown): Directory =>
    ({
      ...given,
      wards: given.wards.map((ward) => ({ ...ward, settings: { ...ward.settings, lengthening } })),
    }) as Directory;

  it('can’t sign', async () => {
    await readings(22);
    const signed = {
      person: 'specialist-nurse',
      name: 'A specialist-nurse',
      role: 'specialist-nurse',
      at: instantOfMs(startMs),
    };
    expect(await put((given) => withSignature(given, { signed, within: 500, pairs: 500 }))).toBe(200);
    expect((await standing()).lengthening.on).toBe(false);
  });

  it('leaves a signature as it stands when it leaves it out', async () => {
    await readings(22);
    await say('specialist-nurse', true);
    expect(await put((given) => withSignature(given, undefined))).toBe(200);
    expect((await standing()).lengthening.on).toBe(true);
  });
});
