// Proves     a sealed entry comes in whoever carries it, once, under its author; what nobody vouches for waits for a
//            person and is never dropped; the key to a tablet's copy is given to those who may read the same
// Published  none
// Tolerance  exact
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import { hourMs, instantOfMs } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import {
  bytesOf,
  issueVoucher,
  publicKeyOf,
  sealEntry,
  utf8,
  type IssuedVoucher,
  type SealedEntry,
} from '@ebbline/store/sealed';
import { fileHeld } from '../../sealing/held-book.ts';
import { fileSealingKey } from '../../sealing/sealing-key.ts';
import { openWorld, startMs, type World } from '../../testing/world.ts';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-sealed-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface TabletKey {
  readonly part: string;
  readonly server: { readonly id: string; readonly publicKey: string };
  readonly voucher: IssuedVoucher;
}

let world: World;
let nurse: string;
let key: TabletKey;
const keyFor = async (cookie: string, copy = 'copy-1'): Promise<TabletKey> =>
  (await world.post('/api/tablet-key', { copy }, { cookie })).json();

beforeEach(async () => {
  world = await openWorld();
  nurse = await world.signIn('nurse');
  key = await keyFor(nurse);
  await world.post('/api/entries', { entries: [world.registered('p1')] }, { cookie: nurse });
});
afterEach(() => world.server.close());

const seal = async (entry: Entry, voucher: IssuedVoucher | undefined = key.voucher): Promise<SealedEntry> =>
  sealEntry(entry, { id: key.server.id, key: await publicKeyOf(bytesOf(key.server.publicKey)) }, voucher);
const voided = (over: Partial<Entry> = {}): Entry =>
  world.entry('void', { how: 'measured', volumeMl: 210 }, over);
const carry = async (entries: readonly SealedEntry[], cookie?: string) =>
  (await world.post('/api/sealed', { entries }, cookie === undefined ? {} : { cookie })).json();
const kindsKept = async (): Promise<string[]> =>
  (await world.store.after(0, 99)).map(({ entry }) => entry.kind);

describe('a sealed entry', () => {
  it('is kept under its author and with its carrier in the audit, whoever carries it', async () => {
    const entry = voided();
    const report = await carry([await seal(entry)], await world.signIn('aide'));
    expect(report).toEqual({ kept: [entry.id], held: [], refused: [] });
    expect((await world.store.byId(entry.id))?.entry).toEqual(entry);
    const rows = await world.store.auditAfter(0, 99);
    expect(rows.find(({ subject }) => subject === entry.id)).toMatchObject({ actor: 'aide', action: 'kept' });
  });

  it('comes in from a tablet that is locked, or on which nobody is signed in', async () => {
    await world.post('/api/lock', {}, { cookie: nurse });
    const [first, second] = [voided(), voided()];
    expect((await carry([await seal(first)], nurse)).kept).toEqual([first.id]);
    await world.post('/api/sign-out', {}, { cookie: nurse });
    expect((await carry([await seal(second)])).kept).toEqual([second.id]);
  });

  it('is kept once, however often it comes, also when its author sends it too', async () => {
    const entry = voided();
    await carry([await seal(entry), await seal(entry)], nurse);
    expect((await carry([await seal(entry)])).kept).toEqual([entry.id]);
    await world.post('/api/entries', { entries: [entry] }, { cookie: nurse });
    expect(await kindsKept()).toEqual(['patient-registered', 'void']);
  });

  it('of one person may rest on a registration by another in the same load, in any order', async () => {
    const second = await keyFor(await world.signIn('second-nurse'));
    const registration = world.registered('p7');
    const reading = voided({ patient: 'p7', author: 'second-nurse' });
    const report = await carry([await seal(reading, second.voucher), await seal(registration)]);
    expect(report.kept).toEqual([registration.id, reading.id]);
  });

  it('is asked what any entry is asked: role of its author then, patient known, not ahead of the clock', async () => {
    const aide = await keyFor(await world.signIn('aide'));
    const reading = world.entry(
      'reading',
      { result: 'exact', volumeMl: 320, relation: 'no-void', doubts: [] },
      { author: 'aide' },
    );
    const unknown = voided({ patient: 'p-unheard-of' });
    const ahead = voided({ effectiveAt: instantOfMs(startMs + hourMs) });
    const report = await carry([await seal(reading, aide.voucher), await seal(unknown), await seal(ahead)]);
    expect(report.kept).toEqual([]);
    expect(report.held).toHaveLength(3);
    const mine = (await world.get('/api/held', { cookie: nurse })).json();
    expect(mine.entries.map(({ refusal }: { refusal: { code: string } }) => refusal.code)).toEqual([
      'server/unknown-patient',
      'record/in-the-future',
    ]);
    expect(mine.others).toBe(1);
  });

  it('that came before the registration it rests on is kept when that has come', async () => {
    const registration = world.registered('p8');
    const early = voided({ patient: 'p8' });
    expect((await carry([await seal(early)])).held).toEqual([early.id]);
    await carry([await seal(registration)]);
    expect(await kindsKept()).toEqual(['patient-registered', 'patient-registered', 'void']);
    expect((await world.get('/api/held', { cookie: nurse })).json().entries).toEqual([]);
  });
});

describe('an entry that nobody vouches for', () => {
  it('[H19-vouched] is not kept in the name of another, however it was made up', async () => {
    const carrier = await world.signIn('second-nurse');
    const own = await keyFor(carrier);
    const forged = voided({ author: 'nurse' });
    const otherServer = await issueVoucher(utf8('not this server'), {
      person: 'nurse',
      role: 'nurse',
      wards: ['harbour-3'],
      issuedMs: startMs,
      untilMs: startMs + hourMs,
    });
    const boxes = [
      await seal(forged, own.voucher),
      await seal(voided(), { text: key.voucher.text, key: own.voucher.key }),
      await seal(voided(), otherServer),
    ];
    const report = await carry(boxes, carrier);
    expect(report.kept).toEqual([]);
    expect(report.held).toHaveLength(3);
    expect(await kindsKept()).toEqual(['patient-registered']);
    const mine = (await world.get('/api/held', { cookie: nurse })).json();
    expect(mine.entries.map(({ refusal }: { refusal: { code: string } }) => refusal.code)).toEqual(
      Array.from({ length: 3 }, () => 'server/not-vouched'),
    );
  });

  it('[H19-vouched] is not kept when it was written down after the voucher had ended', async () => {
    world.clock.nowMs += 3 * defaultSettings.offlineForH * hourMs;
    const late = voided({ recordedAt: instantOfMs(world.clock.nowMs) });
    expect(await carry([await seal(late)], await world.signIn('nurse'))).toMatchObject({ held: [late.id] });
  });

  it('stays on the tablet when nobody is signed in, so that nobody can fill the server with it', async () => {
    const entry = voided();
    const sealed = await sealEntry(
      entry,
      { id: key.server.id, key: await publicKeyOf(bytesOf(key.server.publicKey)) },
      undefined,
    );
    const report = await carry([sealed, { ...sealed, key: 'another-key' }]);
    expect(report.refused.map(({ refusal }: { refusal: { code: string } }) => refusal.code)).toEqual([
      'server/not-vouched',
      'server/not-opened',
    ]);
    expect((await world.get('/api/held', { cookie: nurse })).json()).toEqual({ entries: [], others: 0 });
  });

  it('waits until its author says that it is theirs, and nobody else can say so', async () => {
    const entry = voided();
    const carrier = await world.signIn('second-nurse');
    const sealed = await sealEntry(
      entry,
      { id: key.server.id, key: await publicKeyOf(bytesOf(key.server.publicKey)) },
      undefined,
    );
    expect((await carry([sealed], carrier)).held).toEqual([entry.id]);
    const say = (decided: string, cookie: string) =>
      world.post(`/api/held/${entry.id}`, { decided }, { cookie });
    expect((await say('mine', carrier)).statusCode).toBe(404);
    expect((await world.get('/api/held', { cookie: nurse })).json().entries).toMatchObject([
      { id: entry.id, entry: { kind: 'void' }, vouched: false },
    ]);
    expect((await say('mine', nurse)).statusCode).toBe(200);
    expect((await world.store.byId(entry.id))?.entry).toEqual(entry);
    expect((await say('mine', nurse)).statusCode).toBe(404);
  });

  it('that cannot be opened names nobody, and is put away only by who runs the server', async () => {
    const sealed = { ...(await seal(voided())), key: 'another-key' };
    expect((await carry([sealed], nurse)).held).toEqual([sealed.id]);
    const dismiss = (cookie: string) =>
      world.post(`/api/held/${sealed.id}`, { decided: 'dismissed' }, { cookie });
    expect((await world.get('/api/held', { cookie: nurse })).json()).toEqual({ entries: [], others: 1 });
    expect((await dismiss(nurse)).statusCode).toBe(404);
    const administrator = await world.signIn('administrator');
    expect((await world.get('/api/held', { cookie: administrator })).json().entries).toMatchObject([
      { id: sealed.id, vouched: false, refusal: { code: 'server/not-opened' } },
    ]);
    expect((await dismiss(administrator)).statusCode).toBe(200);
  });

  it('is put away only by its author, and the audit says so', async () => {
    const entry = voided({ patient: 'p-unheard-of' });
    await carry([await seal(entry)]);
    expect(
      (await world.post(`/api/held/${entry.id}`, { decided: 'mine' }, { cookie: nurse })).statusCode,
    ).toBe(422);
    await world.post(`/api/held/${entry.id}`, { decided: 'dismissed' }, { cookie: nurse });
    expect((await world.get('/api/held', { cookie: nurse })).json().entries).toEqual([]);
    const actions = (await world.store.auditAfter(0, 99)).filter(({ subject }) => subject === entry.id);
    expect(actions.map(({ action, actor }) => [action, actor])).toEqual([
      ['held', 'locked-tablet'],
      ['held-settled', 'nurse'],
    ]);
  });
});

describe("the server's part of the key to a copy", () => {
  it('is the same for those who may read the same, another for others and for another copy', async () => {
    const second = await keyFor(await world.signIn('second-nurse'));
    const privacy = await keyFor(await world.signIn('privacy-officer'));
    const other = await keyFor(nurse, 'copy-2');
    expect(second.part).toBe(key.part);
    expect(new Set([key.part, privacy.part, other.part]).size).toBe(3);
    expect((await world.post('/api/tablet-key', { copy: 'copy-1' })).statusCode).toBe(401);
  });
});

describe('the sealing key in its file', () => {
  it('is the same after a restart, for the owner of the file alone, and refused when it is broken', async () => {
    const path = join(folder, 'sealing-key.json');
    const first = await fileSealingKey(path);
    const again = await fileSealingKey(path);
    expect([again.id, again.publicKey]).toEqual([first.id, first.publicKey]);
    expect(await again.copyPart('a', 'b')).toBe(await first.copyPart('a', 'b'));
    expect(statSync(path).mode & 0o777).toBe(0o600);
    writeFileSync(path, readFileSync(path, 'utf8').replace('"secret"', '"secrets"'));
    await expect(fileSealingKey(path)).rejects.toThrow('server/sealing-file');
  });

  it('leaves held entries there after a restart, still sealed', async () => {
    const path = join(folder, 'held-entries.json');
    const own = await openWorld({ held: await fileHeld(path) });
    const cookie = await own.signIn('nurse');
    const tablet: TabletKey = (await own.post('/api/tablet-key', { copy: 'c' }, { cookie })).json();
    const entry = own.entry('context', { told: 'a planted text' } as never, { patient: 'p-unheard-of' });
    const sealed = await sealEntry(
      entry,
      { id: tablet.server.id, key: await publicKeyOf(bytesOf(tablet.server.publicKey)) },
      tablet.voucher,
    );
    await own.post('/api/sealed', { entries: [sealed] });
    await own.server.close();
    expect((await fileHeld(path)).all().map((one) => one.sealed.id)).toEqual([entry.id]);
    expect(readFileSync(path, 'utf8')).not.toContain('planted');
    writeFileSync(path, '[{}]');
    await expect(fileHeld(path)).rejects.toThrow('server/held-file');
  });
});
