// Proves     secrets are kept as argon2id and nothing else; accounts, directory and tokens outlive a restart
// Published  argon2id as RFC 9106 section 5.3 prints it (S-server-rfc-9106), against the platform's function
// Tolerance  exact
import { argon2Sync } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { dayMs } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import { fileBooks } from '@ebbline/store/books';
import { fileDirectory } from '../directory-book.ts';
import { openWorld, directory as testDirectory, startMs } from '../testing/world.ts';
import { fileAccounts } from './account-book.ts';
import { hashSecret, secretMatches } from './password.ts';
import { makeToken, openTokens } from './tokens.ts';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-accounts-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('a kept secret', () => {
  it('comes from a function that gives the tag printed in RFC 9106 for argon2id', () => {
    const tag = argon2Sync('argon2id', {
      message: Buffer.alloc(32, 1),
      nonce: Buffer.alloc(16, 2),
      secret: Buffer.alloc(8, 3),
      associatedData: Buffer.alloc(12, 4),
      memory: 32,
      passes: 3,
      parallelism: 4,
      tagLength: 32,
    });
    expect(tag.toString('hex')).toBe('0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659');
  });

  it('says argon2id with 19 MiB, two passes and one lane, is salted, and matches its own secret only', async () => {
    const [first, second] = await Promise.all([hashSecret('heron'), hashSecret('heron')]);
    expect(first).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$[A-Za-z0-9+/]{22}\$[A-Za-z0-9+/]{43}$/);
    expect(first).not.toBe(second);
    expect(await secretMatches(first, 'heron')).toBe(true);
    expect(await secretMatches(first, 'Heron')).toBe(false);
    expect(await secretMatches('heron', 'heron')).toBe(false);
  });
});

describe('accounts in a file', () => {
  it('are there after a restart, without the secret in them', async () => {
    const path = join(folder, 'accounts.json');
    await (await fileAccounts(path)).set('nurse-1', 'a-long-secret', '4821');
    const again = await fileAccounts(path);
    expect(await again.setFirst('nurse-2', 'another-secret')).toBe(false);
    expect(await again.secretIs('nurse-1', 'a-long-secret')).toBe(true);
    expect(await again.pinIs('nurse-1', '4821')).toBe(true);
    expect(await again.secretIs('nurse-2', 'a-long-secret')).toBe(false);
    expect(readFileSync(path, 'utf8')).not.toMatch(/a-long-secret|4821/);
  });

  it('are refused when the file is broken, instead of letting anybody start anew', async () => {
    const path = join(folder, 'broken.json');
    writeFileSync(path, '{"nurse-1":');
    await expect(fileAccounts(path)).rejects.toThrow('server/accounts-file');
  });
});

describe('the directory in a file', () => {
  it('starts with one administrator and keeps what replaced it', async () => {
    const path = join(folder, 'directory.json');
    const first = await fileDirectory(path);
    expect(first.current().people.map(({ role }) => role)).toEqual(['administrator']);
    await first.replace(testDirectory);
    expect((await fileDirectory(path)).current()).toEqual(testDirectory);
  });

  it('fills in settings that a ward leaves out, and refuses a zone that is none', async () => {
    const path = join(folder, 'partly.json');
    const ward = { ...testDirectory.wards[0], settings: { unitLimitMl: 450 } };
    writeFileSync(path, JSON.stringify({ ...testDirectory, wards: [ward] }));
    expect((await fileDirectory(path)).current().wards[0]?.settings).toEqual({
      ...defaultSettings,
      unitLimitMl: 450,
    });
    writeFileSync(path, JSON.stringify({ ...testDirectory, wards: [{ ...ward, zone: 'Atlantis/Harbour' }] }));
    await expect(fileDirectory(path)).rejects.toThrow('server/directory-file');
  });
});

describe('a token for a machine', () => {
  it('opens what its role may, until its days are over or its file is deleted', async () => {
    const token = await makeToken(fileBooks(folder), 'integration', 2, startMs);
    const world = await openWorld({ tokens: openTokens(fileBooks(folder)) });
    const authorization = `Bearer ${token}`;
    expect((await world.get('/api/entries', { authorization })).statusCode).toBe(200);
    expect((await world.get('/api/audit', { authorization })).statusCode).toBe(403);
    expect(
      (await world.post('/api/entries', { entries: [world.registered('p1')] }, { authorization })).json()
        .kept,
    ).toHaveLength(1);
    expect(
      (
        await world.get('/api/entries', {
          authorization: `${authorization.slice(0, -1)}${token.endsWith('A') ? 'B' : 'A'}`,
        })
      ).statusCode,
    ).toBe(401);
    world.clock.nowMs += 2 * dayMs;
    expect((await world.get('/api/entries', { authorization })).statusCode).toBe(401);
    world.clock.nowMs -= dayMs;
    const [file] = readdirSync(join(folder, 'tokens'));
    expect(readFileSync(join(folder, 'tokens', file as string), 'utf8')).not.toContain(token.slice(17));
    rmSync(join(folder, 'tokens', file as string));
    expect((await world.get('/api/entries', { authorization })).statusCode).toBe(401);
    await world.server.close();
  });
});

describe('the administrator', () => {
  it('adds a person and gives them a secret; nobody else may', async () => {
    const world = await openWorld({ accounts: await fileAccounts(join(folder, 'own.json')) });
    await world.server.close();
    const book = await fileAccounts(join(folder, 'own.json'));
    await book.set('administrator', 'first-secret');
    await book.set('nurse', 'nurse-secret');
    const own = await openWorld({ accounts: book });
    const signIn = async (person: string, secret: string): Promise<string> => {
      const { cookies } = await own.post('/api/sign-in', { person, secret });
      return `${cookies[0]?.name}=${cookies[0]?.value}`;
    };
    const cookie = await signIn('administrator', 'first-secret');
    const added = { id: 'new-nurse', name: 'New Nurse', initials: 'NN', role: 'nurse', wards: ['harbour-3'] };
    const put = (payload: unknown) =>
      own.server.inject({
        method: 'PUT',
        url: '/api/directory',
        headers: { cookie },
        payload: payload as object,
      });
    expect(
      (await own.post('/api/accounts', { person: 'new-nurse', secret: 'long-enough' }, { cookie })).json()
        .refusal.code,
    ).toBe('server/unknown-person');
    expect((await put({ ...testDirectory, people: [added] })).json().refusal.code).toBe(
      'server/no-administrator',
    );
    expect((await put({ ...testDirectory, organisation: 'dunes' })).json().refusal.code).toBe(
      'server/other-organisation',
    );
    expect((await put({ ...testDirectory, people: [...testDirectory.people, added] })).statusCode).toBe(200);
    expect(
      (
        await own.post(
          '/api/accounts',
          { person: 'new-nurse', secret: 'long-enough', pin: '7788' },
          { cookie },
        )
      ).statusCode,
    ).toBe(200);
    const fresh = await signIn('new-nurse', 'long-enough');
    expect((await own.get('/api/me', { cookie: fresh })).json().person.id).toBe('new-nurse');
    expect(
      (await own.post('/api/accounts', { person: 'administrator', secret: 'taken-over' }, { cookie: fresh }))
        .statusCode,
    ).toBe(403);
    await own.server.close();
  });
});
