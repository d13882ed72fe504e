// Proves     everything charted arrives once by its id, in order for each patient, whatever the receiver does: away for an
//            hour, not now, half an answer, none, another's; what it refuses for good is put aside, shown, and can be sent again
// Published  none; what the messages hold is checked in conformance/hl7v2
import { afterEach, describe, expect, it } from 'vitest';
import { instantOfMs, seededRandom, uuidV7 } from '@ebbline/core/quantity';
import type { Entry, EntryKind, PayloadOf } from '@ebbline/core/record';
import { readMessage, segmentOf, textAt, type AnswerCode, type Message } from '@ebbline/interop/hl7v2';
import { fileBooks, type JsonBook } from '@ebbline/store/books';
import { openMemoryStore } from '@ebbline/store/memory';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { directory, organisation, startMs } from '../testing/world.ts';
import type { Outcome, Sender } from './mllp-sender.ts';
import { openAside } from './results-aside.ts';
import { openResultFeed, type AsideResult, type ResultFeed } from './result-feed.ts';

type Behave = (controlId: string) => AnswerCode | 'no-answer' | 'half-an-answer' | 'not-reached';

/** A receiver that takes a message or not, and may forget to say so. */
function receiver(): { sender: Sender; took: { controlId: string; message: Message }[]; behave: Behave } {
  const it = {
    took: [] as { controlId: string; message: Message }[],
    behave: (() => 'AA') as Behave,
    sender: {
      send: async (text, controlId): Promise<Outcome> => {
        const does = it.behave(controlId);
        if (does === 'not-reached') return { state: 'not-reached' };
        // Half an answer and none may come after the message was taken: that is why ids stay the same.
        if (does !== 'AE' && does !== 'AR')
          it.took.push({ controlId, message: readMessage(text) as Message });
        if (does === 'no-answer' || does === 'half-an-answer') return { state: 'unclear', why: does };
        return { state: 'answered', said: { code: does, of: controlId, words: 'as the receiver says' } };
      },
      close: () => undefined,
    } as Sender,
  };
  return it;
}
const field = (message: Message, segment: string, place: number): string =>
  textAt(message, segmentOf(message, segment), { field: place });

const folders: string[] = [];
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});
async function asideBook(): Promise<JsonBook<readonly AsideResult[]>> {
  const folder = mkdtempSync(join(tmpdir(), 'aside-'));
  folders.push(folder);
  return openAside(fileBooks(folder));
}

const random = seededRandom(8);
const made = <Kind extends EntryKind>(
  kind: Kind,
  payload: PayloadOf<Kind>,
  minute: number,
  over: Partial<Entry> = {},
): Entry =>
  ({
    id: uuidV7(
      startMs + minute,
      Array.from({ length: 10 }, () => random.below(256)),
    ),
    organisation,
    patient: 'p1',
    kind,
    effectiveAt: instantOfMs(startMs + minute * 60_000),
    timeQuality: 'exact',
    recordedAt: instantOfMs(startMs + minute * 60_000),
    author: 'nurse',
    madeOn: 'tablet-1',
    payload,
    ...over,
  }) as Entry;
const registered = (patient: string): Entry =>
  made(
    'patient-registered',
    {
      familyName: 'Quill',
      givenName: 'Ada',
      sex: 'female',
      identifierSystem: 'urn:made-up',
      identifierValue: patient,
      ward: 'harbour-3',
      bed: '1',
    },
    0,
    { patient },
  );
const voided = (minute: number, over: Partial<Entry> = {}): Entry =>
  made('void', { how: 'measured', volumeMl: 200 + minute }, minute, over);

async function world() {
  const store = openMemoryStore({ organisation });
  const them = receiver();
  const clock = { nowMs: startMs };
  const open = async (aside: JsonBook<readonly AsideResult[]>): Promise<ResultFeed> =>
    openResultFeed({
      store,
      directory: () => directory,
      sender: them.sender,
      aside,
      receiver: { application: 'CHART', facility: 'NORTH' },
      now: () => clock.nowMs,
    });
  const append = async (entries: readonly Entry[]): Promise<void> => {
    await store.append(entries, { receivedAt: instantOfMs(clock.nowMs), actor: 'nurse' });
  };
  const aside = await asideBook();
  const feed = await open(aside);
  await feed.pass();
  return { store, them, clock, append, feed, aside, open };
}
const told = (took: readonly { message: Message }[]): readonly string[] =>
  took.map(({ message }) => `${field(message, 'OBX', 5)} ${field(message, 'OBX', 11)}`);

describe('results on their way', () => {
  it('arrive in order, and what is not sent to a chart is settled without a message', async () => {
    const { store, them, append, feed } = await world();
    await append([registered('p1'), voided(1), voided(2)]);
    expect(await feed.pass()).toBeUndefined();
    expect(told(them.took)).toEqual(['201 F', '202 F']);
    expect(await store.waiting(10)).toEqual([]);
  });

  it('arrive once by id after the receiver was away for an hour, and nothing overtakes', async () => {
    const { them, clock, append, feed } = await world();
    await append([registered('p1'), voided(1), voided(2), voided(3)]);
    them.behave = () => 'not-reached';
    let waitedMs = 0;
    let tries = 0;
    while (waitedMs < 3_600_000) {
      waitedMs += (await feed.pass()) as number;
      tries += 1;
    }
    expect(tries).toBeLessThan(30);
    expect((await feed.state()).trouble).toBe('The receiver is not reached.');
    clock.nowMs += waitedMs;
    them.behave = () => 'AA';
    expect(await feed.pass()).toBeUndefined();
    expect(told(them.took)).toEqual(['201 F', '202 F', '203 F']);
    expect((await feed.state()).trouble).toBeUndefined();
  });

  it.each<[ReturnType<Behave>, string]>([
    ['AE', "The receiver can't take it now: as the receiver says."],
    ['no-answer', 'The receiver took the message and did not answer.'],
    ['half-an-answer', 'The receiver began an answer and did not end it.'],
  ])('after %s are sent again under the same id: %s', async (does, words) => {
    const { them, append, feed } = await world();
    await append([registered('p1'), voided(1)]);
    them.behave = () => does;
    expect(await feed.pass()).toBe(1_000);
    expect(await feed.pass()).toBe(2_000);
    expect((await feed.state()).trouble).toBe(words);
    them.behave = () => 'AA';
    await feed.pass();
    expect(new Set(them.took.map(({ controlId }) => controlId)).size).toBe(1);
    expect(them.took.at(-1)?.controlId.length).toBeLessThanOrEqual(20);
  });

  it('that are refused for good are put aside, others go on, and one can be sent again', async () => {
    const { store, them, append, feed, aside, open } = await world();
    const refused = voided(1);
    await append([registered('p1'), refused, voided(2)]);
    them.behave = (controlId) => (controlId === 'e2-1' ? 'AR' : 'AA');
    expect(await feed.pass()).toBeUndefined();
    expect(told(them.took)).toEqual(['202 F']);
    const again = await open(aside);
    expect((await again.state()).aside).toEqual([
      { sequence: 2, entry: refused.id, words: 'as the receiver says', atMs: startMs },
    ]);
    expect(await store.waiting(9)).toEqual([]);
    expect(await again.resend(2)).toBe(false);
    them.behave = () => 'AA';
    expect(await again.resend(2)).toBe(true);
    expect(await again.resend(2)).toBe(false);
    expect((await again.state()).aside).toEqual([]);
    expect(told(them.took)).toEqual(['202 F', '201 F']);
  });

  it('of what was put right, withdrawn or in the wrong record say so, and never stand in two records', async () => {
    const { them, append, feed } = await world();
    const [first, second, third] = [voided(1), voided(2), voided(3)];
    await append([registered('p1'), registered('p2'), first, second, third]);
    await feed.pass();
    await append([
      made('void', { how: 'measured', volumeMl: 450 }, 1, {
        corrects: first.id,
        recordedAt: instantOfMs(startMs + 600_000),
      }),
      made('withdrawn', { of: second.id, reason: 'typing' }, 11),
      made('moved-to-patient', { of: third.id, toPatient: 'p2', reason: 'wrong-patient' }, 12),
    ]);
    them.took.splice(0);
    await feed.pass();
    expect(
      them.took.map(({ message }) => [
        field(message, 'PID', 3),
        field(message, 'OBR', 3),
        field(message, 'OBX', 5),
        field(message, 'OBX', 11),
      ]),
    ).toEqual([
      ['p1', first.id, '450', 'C'],
      ['p1', second.id, '202', 'D'],
      ['p1', third.id, '203', 'W'],
      ['p2', third.id, '203', 'F'],
    ]);
  });

  it('leave what was charted before they were first sent where it is', async () => {
    const store = openMemoryStore({ organisation });
    const them = receiver();
    await store.append([registered('p1'), voided(1)], { receivedAt: instantOfMs(startMs), actor: 'nurse' });
    const feed = openResultFeed({
      store,
      directory: () => directory,
      sender: them.sender,
      aside: await asideBook(),
      receiver: { application: 'CHART', facility: 'NORTH' },
      now: () => startMs,
    });
    await feed.pass();
    await store.append([voided(2)], { receivedAt: instantOfMs(startMs), actor: 'nurse' });
    await feed.pass();
    expect(told(them.took)).toEqual(['202 F']);
    expect(await store.waiting(9)).toEqual([]);
  });

  it('reach a receiver of any temper whole: each id once, each patient in order', async () => {
    for (let turn = 0; turn < 40; turn += 1) {
      const { store, them, append, feed } = await world();
      await append([registered('p1'), registered('p2')]);
      const tempers = ['AA', 'AA', 'AE', 'no-answer', 'half-an-answer', 'not-reached'] as const;
      them.behave = () => random.pick(tempers);
      const sent: Entry[] = [];
      for (let minute = 1; minute < 12; minute += 1) {
        const one = voided(minute, { patient: random.pick(['p1', 'p2']) });
        sent.push(one);
        await append([one]);
        await feed.pass();
      }
      for (let tries = 0; (await feed.pass()) !== undefined; tries += 1) expect(tries).toBeLessThan(500);
      const once = [...new Map(them.took.map((one) => [one.controlId, one])).values()];
      for (const patient of ['p1', 'p2'])
        expect(
          once
            .filter(({ message }) => field(message, 'PID', 3) === patient)
            .map(({ message }) => field(message, 'OBR', 3)),
        ).toEqual(sent.filter((one) => one.patient === patient).map(({ id }) => id));
      expect(await store.waiting(9)).toEqual([]);
    }
  });
});
