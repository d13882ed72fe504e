// Proves     a draft becomes a version only when the server has proved it itself, and a published version only by a second
//            person with their own PIN, for a day within the bound; what is published stays as it was; a replaced version
//            retires; the file brings back what was kept and refuses what was changed by hand. Tolerance exact.
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { orThrow } from '@ebbline/core/quantity';
import {
  modelOf,
  starterFor,
  writeDmn,
  type CompiledProtocol,
  type ProtocolVersion,
} from '@ebbline/protocol';
import { contentDigestOf, fileProtocols, memoryProtocols } from '../../protocol-book.ts';
import { fixedDirectory } from '../../directory-book.ts';
import { directory, openWorld, pin, type World } from '../../testing/world.ts';

const surgery = starterFor('after-surgery') as CompiledProtocol;
const without = (rowId: string): CompiledProtocol => ({
  ...surgery,
  tables: surgery.tables.map((table) => ({ ...table, rows: table.rows.filter((row) => row.id !== rowId) })),
});
const dmnOf = async (protocol: CompiledProtocol): Promise<string> =>
  orThrow(await writeDmn(modelOf(protocol)));

/** Two who may sign, and everybody of the small world. */
const people = [
  ...directory.people,
  {
    id: 'second',
    name: 'S. Second',
    initials: 'SS',
    role: 'specialist-nurse',
    wards: ['harbour-3'],
  } as const,
  { id: 'elsewhere', name: 'E. Else', initials: 'EE', role: 'specialist-nurse', wards: [] } as const,
];
const both = fixedDirectory({ ...directory, people });
const accounts = {
  secretIs: async () => true,
  pinIs: async (person: string, given: string) => given === pin && people.some(({ id }) => id === person),
  set: async () => undefined,
  setFirst: async () => false,
};

let world: World;
const cookies = new Map<string, string>();
beforeEach(async () => {
  world = await openWorld({ directory: both, accounts });
  cookies.clear();
});
const as = async (person: string): Promise<{ cookie: string }> => {
  const cookie = cookies.get(person) ?? (await world.signIn(person));
  cookies.set(person, cookie);
  return { cookie };
};
const send = async (person: string, dmn: string, ward = 'harbour-3') =>
  world.post('/api/protocols', { ward, dmn }, await as(person));
const sent = async (protocol: CompiledProtocol = surgery, person = 'specialist-nurse') =>
  (await send(person, await dmnOf(protocol))).json<{ id: string; version: number; contentDigest: string }>();
const publish = async (
  person: string,
  one: { id: string; version: number; contentDigest: string },
  over: Record<string, unknown> = {},
) =>
  world.post(
    `/api/protocols/${one.id}/${one.version}/publish`,
    { contentDigest: one.contentDigest, reviewBy: '2027-05-12', pin, ...over },
    await as(person),
  );
const retire = async (
  person: string,
  one: { id: string; version: number },
  over: Record<string, unknown> = {},
) =>
  world.post(
    `/api/protocols/${one.id}/${one.version}/retire`,
    { reason: 'A row was wrong.', pin, ...over },
    await as(person),
  );
const list = async (): Promise<{ acts: number; versions: readonly ProtocolVersion[] }> =>
  (await world.get('/api/protocols', await as('nurse'))).json();
const codeOf = (answer: { json(): unknown }): string =>
  (answer.json() as { refusal: { code: string } }).refusal.code;

describe('sending a draft', () => {
  it('keeps it under the next free number, with who sent it, for nobody’s advice yet', async () => {
    expect(await sent()).toMatchObject({ id: 'after-surgery', version: surgery.version + 1 });
    expect(await sent(surgery, 'nurse')).toMatchObject({ version: surgery.version + 2 });
    const { acts, versions } = await list();
    expect(acts).toBe(2);
    expect(versions.map((one) => [one.state, one.sent.person, one.ward])).toEqual([
      ['proved', 'specialist-nurse', 'harbour-3'],
      ['proved', 'nurse', 'harbour-3'],
    ]);
    expect(versions[0]?.protocol).toEqual({ ...surgery, version: surgery.version + 1 });
  });

  it('gives two that come at once a number each', async () => {
    const both = await Promise.all([sent(), sent(surgery, 'nurse')]);
    expect(both.map(({ version }) => version).toSorted()).toEqual([surgery.version + 1, surgery.version + 2]);
    expect((await list()).versions).toHaveLength(2);
  });

  it('[H6-proved-again] refuses one that is not proved, with a patient who shows why', async () => {
    const answer = await send('specialist-nurse', await dmnOf(without('AS-32')));
    expect(answer.statusCode).toBe(422);
    expect(answer.json()).toMatchObject({
      refusal: { code: 'protocol/not-proved', found: expect.stringContaining('For example: 250 mL') },
    });
    expect((await list()).versions).toEqual([]);
  });

  it('refuses tables of another hit policy, what is no protocol, and what is no DMN', async () => {
    const dmn = await dmnOf(surgery);
    const other = dmn
      .replace('id="decision_Limit_table"', 'id="decision_Limit_table" hitPolicy="ANY"')
      .replace('hitPolicy="ANY" hitPolicy="UNIQUE"', 'hitPolicy="ANY"');
    expect(codeOf(await send('specialist-nurse', other))).toBe('protocol/not-compilable');
    expect(
      codeOf(await send('specialist-nurse', dmn.replace('ageBands="adult over-75"', 'ageBands=""'))),
    ).toBe('protocol/not-a-protocol');
    expect(codeOf(await send('specialist-nurse', '<a/>'))).toBe('protocol/not-dmn');
  });

  it('is for people of the ward, and not for machines', async () => {
    expect(codeOf(await send('elsewhere', await dmnOf(surgery)))).toBe('server/other-ward');
    expect((await send('specialist-nurse', await dmnOf(surgery), 'no-ward')).statusCode).toBe(404);
    expect((await send('aide', await dmnOf(surgery))).statusCode).toBe(403);
  });
});

describe('publishing', () => {
  it('is done by a second person, and says who, when and until when', async () => {
    const one = await sent();
    expect((await publish('second', one)).statusCode).toBe(200);
    const [version] = (await list()).versions;
    expect(version).toMatchObject({
      state: 'published',
      published: { person: 'second', name: 'S. Second', role: 'specialist-nurse', reviewBy: '2027-05-12' },
      protocol: { approval: { signedBy: 'S. Second', reviewBy: '2027-05-12' } },
    });
    const audit = await world.get('/api/audit', await as('privacy-officer'));
    expect(audit.body).toContain('protocol-published');
  });

  it('is refused to the author, to other roles, to other wards, past the bound, and with another content', async () => {
    const one = await sent();
    expect(codeOf(await publish('specialist-nurse', one))).toBe('protocol/own-draft');
    expect((await publish('nurse', one)).statusCode).toBe(403);
    expect(codeOf(await publish('elsewhere', one))).toBe('protocol/other-ward');
    expect(codeOf(await publish('second', one, { reviewBy: '2029-05-12' }))).toBe('protocol/review-by');
    expect(codeOf(await publish('second', one, { contentDigest: 'a'.repeat(64) }))).toBe(
      'protocol/other-content',
    );
    expect((await publish('second', { ...one, version: 99 })).statusCode).toBe(404);
    expect((await list()).versions[0]?.state).toBe('proved');
  });

  it('[H6-signed-with-pin] asks for the PIN of who signs, and for no guesses', async () => {
    const one = await sent();
    for (let tries = 0; tries < 5; tries += 1)
      expect(codeOf(await publish('second', one, { pin: '0000' }))).toBe('server/wrong-pin');
    expect(codeOf(await publish('second', one))).toBe('server/pin-off');
    expect((await list()).versions[0]?.state).toBe('proved');
  });

  it('[H6-proved-again] proves the content once more: one that was kept without a proof stays unpublished', async () => {
    const protocols = await memoryProtocols();
    const holed = await dmnOf(without('AS-32'));
    const contentDigest = contentDigestOf(holed);
    const by = { person: 'nurse', name: 'N', role: 'nurse', at: '2026-05-01T08:00:00Z' } as const;
    await protocols.add([
      { act: 'sent', id: 'after-surgery', version: 7, ward: 'harbour-3', dmn: holed, contentDigest, by },
    ]);
    world = await openWorld({ directory: both, accounts, protocols });
    cookies.clear();
    const answer = await publish('second', { id: 'after-surgery', version: 7, contentDigest });
    expect(codeOf(answer)).toBe('protocol/not-proved');
    expect(protocols.versions()[0]?.state).toBe('proved');
  });

  it('happens once also when two sign at once', async () => {
    const one = await sent(surgery, 'nurse');
    const answers = await Promise.all([publish('second', one), publish('specialist-nurse', one)]);
    expect(answers.map(({ statusCode }) => statusCode).toSorted()).toEqual([200, 422]);
    const [signed] = answers[0]?.statusCode === 200 ? ['second'] : ['specialist-nurse'];
    expect((await list()).versions[0]?.published?.person).toBe(signed);
  });

  it('happens once, and the version before it retires with a word for it', async () => {
    const first = await sent();
    expect((await publish('second', first)).statusCode).toBe(200);
    expect(codeOf(await publish('second', first))).toBe('protocol/not-waiting');
    const next = await sent();
    expect((await publish('second', next)).statusCode).toBe(200);
    const { versions } = await list();
    expect(versions.map((one) => one.state)).toEqual(['retired', 'published']);
    expect(versions[0]?.retired).toMatchObject({ replacedBy: next.version });
  });
});

describe('retiring', () => {
  it('takes a reason and a PIN from one who may sign; the author may take back what waits', async () => {
    const one = await sent(surgery, 'nurse');
    expect(codeOf(await retire('second-nurse', one))).toBe('protocol/not-a-signer');
    expect((await retire('nurse', one, { reason: ' ' })).statusCode).toBe(400);
    expect((await retire('nurse', one)).statusCode).toBe(200);
    const next = await sent();
    await publish('second', next);
    expect(codeOf(await retire('second', next, { pin: '1' }))).toBe('server/wrong-pin');
    expect((await retire('second', next)).statusCode).toBe(200);
    expect(codeOf(await retire('second', next))).toBe('protocol/not-waiting');
    expect((await list()).versions.map((each) => [each.state, each.retired?.person])).toEqual([
      ['retired', 'nurse'],
      ['retired', 'second'],
    ]);
  });
});

describe('the file of protocols', () => {
  it('brings back what was kept, gives each version as DMN, and refuses what was changed by hand', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'ebbline-protocols-'));
    const path = join(folder, 'protocols.json');
    try {
      world = await openWorld({ directory: both, accounts, protocols: await fileProtocols(path) });
      cookies.clear();
      const one = await sent();
      await publish('second', one);
      const before = await list();
      const again = await fileProtocols(path);
      expect(again.versions()).toEqual(before.versions);
      expect(again.count()).toBe(before.acts);
      const file = await world.get(`/api/protocols/${one.id}/${one.version}/dmn`, await as('nurse'));
      expect(file.headers['content-type']).toContain('application/xml');
      expect(file.body).toBe(again.dmnOf(one.id, one.version));
      writeFileSync(path, readFileSync(path, 'utf8').replace('[250..400]', '[250..410]'));
      await expect(fileProtocols(path)).rejects.toThrow('server/protocols-file');
      writeFileSync(path, '[{');
      await expect(fileProtocols(path)).rejects.toThrow('server/protocols-file');
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
  it('takes two acts at once one after the other', async () => {
    const book = await memoryProtocols();
    const dmn = await dmnOf(surgery);
    const act = (version: number) =>
      ({
        act: 'sent',
        id: 'after-surgery',
        version,
        ward: 'w',
        dmn,
        contentDigest: contentDigestOf(dmn),
        by: { person: 'a', name: 'A', role: 'nurse', at: '2026-05-01T08:00:00Z' },
      }) as const;
    await Promise.all([book.add([act(2)]), book.add([act(3)])]);
    expect(book.versions().map((one) => one.protocol.version)).toEqual([2, 3]);
  });
});
