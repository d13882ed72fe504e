// Proves     every look, print, export and sign-in is in the audit with tablet and wards, once a minute; what a tablet tells
//            later is noted once under who looked; who looked at a patient is answered from it, page by page, as facts, and
//            asking is noted too; no name of a patient is in the audit
// Published  none
// Tolerance  exact, on a clock that the test turns
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { instantOfMs } from '@ebbline/core/quantity';
import { fixedDirectory } from '../../directory-book.ts';
import { directory as unit, minutes, openWorld, startMs, type World } from '../../testing/world.ts';
import type { LookLine } from '../../audit/who-looked.ts';

const otherWard = { ...unit.wards[0]!, id: 'dunes-1', name: 'Dunes 1' };
const directory = {
  ...unit,
  wards: [...unit.wards, otherWard],
  people: [
    ...unit.people,
    { id: 'far-nurse', name: 'Far Nurse', initials: 'FN', role: 'nurse' as const, wards: ['dunes-1'] },
  ],
};
// The accounts of the test world know only its own people.
const accounts = {
  secretIs: async () => true,
  pinIs: async () => true,
  set: async () => undefined,
  setFirst: async () => false,
};

let world: World;
beforeEach(async () => {
  world = await openWorld({ directory: fixedDirectory(directory), accounts });
});
afterEach(() => world.server.close());

const tablet = 'ebbline-tablet=tablet-1a2b3c4d';
const signedIn = async (person: string): Promise<{ cookie: string }> => ({
  cookie: `${await world.signIn(person)}; ${tablet}`,
});
let views = 0;
const view = (over: object = {}) => ({
  id: `01890a5d-ac96-774b-bcce-${String((views += 1)).padStart(12, '0')}`,
  person: 'nurse',
  at: instantOfMs(world.clock.nowMs),
  shown: 'patient',
  patient: 'p1',
  ...over,
});
const tell = (list: unknown[], headers: { cookie: string }) =>
  world.post('/api/audit/views', { views: list }, headers);
const looks = async (query: string, headers: { cookie: string }): Promise<LookLine[]> =>
  (await world.get(`/api/audit/looks?${query}`, headers)).json().lines;

describe('the audit', () => {
  it('has each print, export and read with its tablet, and a read again within a minute once', async () => {
    const nurse = await signedIn('nurse');
    await world.post('/api/entries', { entries: [world.registered('p1')] }, nurse);
    for (let times = 0; times < 3; times += 1) {
      await world.get('/api/reports/another-reading?patient=p1', nurse);
      world.clock.nowMs += 20_000;
    }
    world.clock.nowMs += minutes(1);
    await world.get('/api/reports/another-reading?patient=p1', nurse);
    await world.get('/api/reports/patient.pdf?patient=p1', nurse);
    await world.get('/api/reports/patient.pdf?patient=p1', nurse);
    await world.get('/api/patients/p1/bundle', nurse);
    await world.get('/api/reports/handover.pdf?ward=harbour-3', nurse);
    const rows = await world.store.auditAfter(0, 99);
    expect(rows.map(({ action, subject }) => `${action} ${subject}`)).toEqual([
      'signed-in nurse',
      expect.stringMatching(/^kept /),
      'read another-reading',
      'read another-reading',
      'exported patient.pdf',
      'exported patient.pdf',
      'exported fhir-bundle',
      'exported handover.pdf harbour-3',
    ]);
    expect(rows[0]?.detail).toEqual({ actorWards: ['harbour-3'], way: 'secret' });
    expect(rows[4]?.detail).toEqual({ actorWards: ['harbour-3'], tablet: 'tablet-1a2b3c4d' });
    expect(rows[7]?.detail).toMatchObject({ ward: 'harbour-3' });
    expect(JSON.stringify(rows)).not.toMatch(/Ostrander|Wilma/);
  });

  it('keeps what a tablet tells once, however often it tells it, under who looked', async () => {
    const nurse = await signedIn('nurse');
    const seen = [view(), view({ shown: 'board', patient: undefined, ward: 'harbour-3' })];
    expect((await tell(seen, nurse)).json()).toEqual({ added: 2 });
    expect((await tell(seen, nurse)).json()).toEqual({ added: 0 });
    world.clock.nowMs += minutes(8 * 60);
    const second = await signedIn('second-nurse');
    expect((await tell([...seen, view({ at: instantOfMs(startMs) })], second)).json()).toEqual({ added: 1 });
    const rows = (await world.store.auditAfter(0, 99)).filter(({ action }) => action === 'viewed');
    expect(rows.map(({ actor, toldAt, detail }) => [actor, toldAt, detail?.carriedBy])).toEqual([
      ['nurse', instantOfMs(startMs), undefined],
      ['nurse', instantOfMs(startMs), undefined],
      ['nurse', instantOfMs(startMs), 'second-nurse'],
    ]);
  });

  it('notes a look from a clock that is ahead under the time of receipt, and says by how much', async () => {
    const nurse = await signedIn('nurse');
    await tell([view({ at: instantOfMs(startMs + minutes(90)) })], nurse);
    const row = (await world.store.auditAfter(0, 99)).at(-1);
    expect(row?.toldAt).toBeUndefined();
    expect(row?.detail?.clockAheadMin).toBe(90);
  });

  it('keeps a look of somebody or of a patient whom it does not know, and not the words given for them', async () => {
    const nurse = await signedIn('nurse');
    const made = '01890a5d-ac96-774b-bcce-b302099a8057';
    const strange = [
      view({ person: 'Wilma Ostrander' }),
      view({ patient: 'Wilma Ostrander' }),
      view({ patient: made }),
    ];
    expect((await tell(strange, nurse)).json()).toEqual({ added: 3 });
    const rows = (await world.store.auditAfter(0, 99)).filter(({ action }) => action === 'viewed');
    expect(rows.map(({ actor, patient }) => [actor, patient])).toEqual([
      ['nobody known', undefined],
      ['nurse', undefined],
      ['nurse', made],
    ]);
  });

  it('refuses looks that are not as described, all of that telling', async () => {
    const nurse = await signedIn('nurse');
    expect((await tell([view(), view({ shown: 'Wilma' })], nurse)).statusCode).toBe(400);
    expect((await tell([view(), view({ at: 'yesterday' })], nurse)).statusCode).toBe(400);
    expect((await tell([view(), view({ id: '1' })], nurse)).statusCode).toBe(400);
    expect((await world.post('/api/audit/views', { views: [view()] })).statusCode).toBe(401);
    expect((await world.store.auditAfter(0, 99)).filter(({ action }) => action === 'viewed')).toEqual([]);
  });
});

describe('who looked at a patient', () => {
  const setUp = async (): Promise<{ cookie: string }> => {
    const nurse = await signedIn('nurse');
    const reading = world.entry('void', { how: 'measured', volumeMl: 240 });
    // The nurse has the watch, and so the patient after the move too, until somebody takes it.
    const watch = world.entry('watch-opened', { setting: 'after-surgery', reason: 'made up' });
    await world.post('/api/entries', { entries: [world.registered('p1'), watch, reading] }, nurse);
    world.clock.nowMs += minutes(5);
    const corrected = world.entry('void', { how: 'measured', volumeMl: 420 }, { corrects: reading.id });
    await world.post('/api/entries', { entries: [corrected] }, nurse);
    await tell([view()], nurse);
    const far = await signedIn('far-nurse');
    world.clock.nowMs += minutes(5);
    await tell([view({ person: 'far-nurse' })], far);
    world.clock.nowMs += minutes(5);
    const away = world.entry('transferred', { ward: 'dunes-1', bed: '2' });
    await world.post('/api/entries', { entries: [away] }, nurse);
    world.clock.nowMs += minutes(5);
    await tell([view()], nurse);
    await world.get('/api/reports/patient.pdf?patient=p1', nurse);
    return signedIn('privacy-officer');
  };

  it('is answered with who, what, when, on which tablet and ward, and what is out of the ordinary in words', async () => {
    const officer = await setUp();
    const lines = await looks('patient=p1', officer);
    expect(
      lines.map(({ person, what, ward, unusual }) => [
        person.id,
        what,
        ward,
        unusual.map(({ mark }) => mark).join(' '),
      ]),
    ).toEqual([
      ['nurse', 'Printed the patient’s page', 'Dunes 1', 'had-left'],
      ['nurse', 'Opened the patient’s page', 'Dunes 1', 'had-left'],
      ['nurse', 'Recorded: moved to another bed or ward', 'Dunes 1', 'had-left'],
      ['far-nurse', 'Opened the patient’s page', 'Harbour 3', 'other-ward'],
      ['nurse', 'Opened the patient’s page', 'Harbour 3', ''],
      ['nurse', 'Corrected: urine passed', 'Harbour 3', ''],
      ['nurse', 'Recorded: urine passed', 'Harbour 3', ''],
      ['nurse', 'Recorded: watch opened', 'Harbour 3', ''],
      ['nurse', 'Recorded: patient registered', 'Harbour 3', ''],
    ]);
    expect(lines[0]?.tablet).toBe('tablet-1a2b3c4d');
    expect(lines[3]?.unusual[0]?.words).toBe('The patient was on another ward than this person.');
  });

  it('is told page by page with nothing lost and nothing twice, whatever the size of a page', async () => {
    const officer = await setUp();
    const whole = (await looks('patient=p1&limit=200', officer)).map(({ cursor }) => cursor);
    for (const limit of [1, 2, 3]) {
      const seen: string[] = [];
      for (let next: string | undefined = ''; next !== undefined;) {
        const before: string = next === '' ? '' : `&before=${next}`;
        // The question itself is a look at the patient: only what was there before is compared.
        const page = (await world.get(`/api/audit/looks?patient=p1&limit=${limit}${before}`, officer)).json();
        seen.push(...page.lines.map(({ cursor }: LookLine) => cursor));
        next = page.next;
      }
      expect(seen.filter((cursor) => whole.includes(cursor))).toEqual(whole);
      expect(new Set(seen).size).toBe(seen.length);
    }
  });

  it('is told of a period alone, from its first instant to before its last', async () => {
    const officer = await setUp();
    const at = (minute: number): string => encodeURIComponent(instantOfMs(startMs + minutes(minute)));
    expect(await looks(`patient=p1&from=${at(5)}&until=${at(15)}`, officer)).toHaveLength(3);
    expect(await looks(`patient=p1&from=${at(15)}&until=${at(5)}`, officer)).toEqual([]);
  });

  it('notes the question itself, and a table that is taken out', async () => {
    const officer = await setUp();
    await looks('patient=p1', officer);
    const csv = await world.get('/api/audit/looks.csv?patient=p1', officer);
    expect(csv.headers['content-disposition']).toBe('attachment; filename="who-looked.csv"');
    const rows = csv.body.trim().split('\r\n');
    expect(rows).toHaveLength(11);
    expect(rows[0]).toBe('when,received,person,name,role,what,patient,ward,tablet,to note');
    expect(csv.body).not.toMatch(/Ostrander|240|420/);
    const own = await looks('person=privacy-officer', officer);
    expect(own.map(({ what }) => what)).toEqual([
      'Took out who looked, as a table',
      'Asked who looked',
      'Signed in with the secret',
    ]);
  });

  it('is asked the other way round: at what one person looked, with the patients’ names', async () => {
    const officer = await setUp();
    expect(
      (await looks('person=far-nurse', officer)).map(({ what, patient, unusual }) => [
        what,
        patient?.label,
        unusual.map(({ mark }) => mark).join(' '),
      ]),
    ).toEqual([
      ['Opened the patient’s page', 'Ostrander, Wilma', 'other-ward'],
      ['Signed in with the secret', undefined, ''],
    ]);
  });

  it('finds the patient by name, identifier or bed, and gives no more than tells patients apart', async () => {
    const officer = await setUp();
    const find = async (words: string): Promise<unknown[]> =>
      (await world.get(`/api/audit/patients?find=${encodeURIComponent(words)}`, officer)).json().patients;
    const wilma = {
      id: 'p1',
      familyName: 'Ostrander',
      givenName: 'Wilma',
      identifier: 'p1',
      ward: 'Dunes 1',
      bed: '2',
    };
    for (const words of ['ostrander', 'WILMA Ostr', 'p1', 'Dunes 1 2'])
      expect(await find(words), words).toEqual([wilma]);
    for (const words of ['nobody', 'Dunes 1 3', 'Harbour 3 4']) expect(await find(words), words).toEqual([]);
  });

  it('is refused to everybody else, and for a patient or person who is not there', async () => {
    const officer = await setUp();
    const nurse = await signedIn('nurse');
    for (const url of ['looks?patient=p1', 'looks.csv?patient=p1', 'patients?find=ostrander'])
      expect((await world.get(`/api/audit/${url}`, nurse)).statusCode).toBe(403);
    expect((await world.get('/api/audit/looks?patient=nobody', officer)).statusCode).toBe(404);
    expect((await world.get('/api/audit/looks', officer)).statusCode).toBe(422);
    expect((await world.get('/api/audit/looks?patient=p1&before=x', officer)).statusCode).toBe(400);
  });
});
