// Proves     a feed's messages end in the record whatever their order, over a line and over a restart; each is kept before it
//            is answered; what can't be used is answered with its place; nothing of a message stands in the list of outcomes
// Published  none
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { foldPatient, resolveEntries } from '@ebbline/core/facts';
import { seededRandom, RefusalError } from '@ebbline/core/quantity';
import { defaultSettings, type Entry, type Ward } from '@ebbline/core/record';
import { readMessage, recordOf, segmentOf, textAt, type Message } from '@ebbline/interop/hl7v2';
import type { EntryStore } from '@ebbline/store';
import { openMemoryStore } from '@ebbline/store/memory';
import { fileFeed, memoryFeed, type FeedBook } from './feed-book.ts';
import { openPatientFeed, type PatientFeed } from './patient-feed.ts';

const zone = 'Europe/Lisbon';
const nowMs = Date.parse('2026-05-12T16:00:00Z');
const ward: Ward = {
  id: 'harbour-3',
  name: 'Harbour 3',
  purpose: 'after surgery',
  hospital: 'Saltmarsh General',
  zone,
  beds: ['1', '2', '3', '4'],
  settings: defaultSettings,
  shiftChanges: ['07:30', '19:30'],
};
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const clock = (time: string): string => `20260512${time.replace(':', '')}00`;
const message = (event: string, time: string, bed: string, id: string, name = 'Quill^Ada'): string =>
  [
    `MSH|^~\\&|FEED|NORTH|||${clock(time)}||ADT^${event}|${id}|P|2.5.1`,
    `EVN||${clock(time)}`,
    `PID|1||a1^^^NORTH^MR||${name}||19500203|F`,
    `PV1|1|I|${bed === '' ? '' : `H3^2^${bed}`}||||||||||||||||v1`,
  ].join('\r');
const day = [
  message('A01', '08:00', '1', 'm1'),
  message('A02', '09:00', '2', 'm2'),
  message('A02', '10:00', '9', 'm3'),
  message('A12', '10:10', '', 'm4'),
  message('A08', '11:00', '', 'm5', 'Quillon^Ada'),
  message('A02', '12:00', '4', 'm6', 'Quillon^Ada'),
];

const folders: string[] = [];
afterEach(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});
const feedPath = (): string => {
  const folder = mkdtempSync(join(tmpdir(), 'feed-'));
  folders.push(folder);
  return join(folder, 'feed.ndjson');
};
const openFeed = (book: FeedBook, store: EntryStore, failed?: (problem: unknown) => void): PatientFeed =>
  openPatientFeed({
    book,
    store,
    wards: () => [ward],
    settings: { name: 'north', zone, wards: { H3: 'harbour-3' } },
    now: () => nowMs,
    ...(failed === undefined ? {} : { failed }),
  });
const answerOf = (given: Uint8Array): Message => readMessage(new TextDecoder().decode(given)) as Message;
const codeOf = (given: Uint8Array): string =>
  textAt(answerOf(given), segmentOf(answerOf(given), 'MSA'), { field: 1 });
const record = recordOf({ system: 'NORTH', value: 'a1' });
async function patientIn(store: EntryStore): Promise<readonly string[]> {
  const entries = (await store.ofPatient(record)).map(({ entry }) => entry);
  const facts = foldPatient({ patient: record, entries, nowMs, settings: defaultSettings, zone });
  return [facts.ward, facts.bed, facts.identity?.familyName ?? 'nobody'];
}
const expected = ['harbour-3', '4', 'Quillon'];

describe('a feed of patient messages', () => {
  it('is answered AA and ends in the record', async () => {
    const store = openMemoryStore({ organisation: 'saltmarsh' });
    const feed = openFeed(memoryFeed(), store);
    for (const one of day) expect(codeOf(await feed.take(bytes(one)))).toBe('AA');
    await feed.settle();
    expect(await patientIn(store)).toEqual(expected);
  });

  it('ends in the same record in any order, repeated, and with a restart in the middle', async () => {
    const { next: random } = seededRandom(12);
    for (let turn = 0; turn < 60; turn += 1) {
      const order = [...day, ...day.filter(() => random() < 0.3)]
        .map((text) => ({ text, at: random() }))
        .sort((a, b) => a.at - b.at);
      const path = feedPath();
      const store = openMemoryStore({ organisation: 'saltmarsh' });
      const half = Math.floor(random() * order.length);
      const before = fileFeed(path);
      const first = openFeed(before, store);
      for (const { text } of order.slice(0, half)) await first.take(bytes(text));
      if (random() < 0.5) await first.settle();
      await before.close();
      const after = fileFeed(path);
      const second = openFeed(after, store);
      for (const { text } of order.slice(half)) await second.take(bytes(text));
      await second.settle();
      expect(await patientIn(store)).toEqual(expected);
      await after.close();
    }
  });

  it('that says two numbers are one person leaves no reading on both records or on none, whenever it is written', async () => {
    const random = seededRandom(31);
    const old = recordOf({ system: 'NORTH', value: 'a9' });
    const came = message('A01', '07:00', '3', 'o1').replaceAll('a1^', 'a9^').replace('||v1', '||v0');
    const merged = `${message('A40', '13:00', '', 'o2', 'Quillon^Ada')}\rMRG|a9^^^NORTH^MR`;
    for (let turn = 0; turn < 200; turn += 1) {
      const store = openMemoryStore({ organisation: 'saltmarsh' });
      const feed = openFeed(memoryFeed(), store);
      const readings = Array.from({ length: 3 }, (_, place): Entry => ({
        id: `0197f000-0000-7000-8000-${String(turn * 10 + place).padStart(12, '0')}`,
        organisation: 'saltmarsh',
        patient: random.next() < 0.5 ? old : record,
        kind: 'void',
        effectiveAt: '2026-05-12T10:00:00Z',
        timeQuality: 'exact',
        recordedAt: '2026-05-12T10:00:00Z',
        author: 'nurse',
        madeOn: 'tablet-1',
        payload: { how: 'measured', volumeMl: 100 + place },
      }));
      const acts = [
        ...[...day, came, merged].map((text) => async () => void (await feed.take(bytes(text)))),
        ...readings.map((entry) => async () => {
          await store.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse' });
        }),
      ]
        .map((act) => ({ act, at: random.next() }))
        .sort((a, b) => a.at - b.at);
      for (const { act } of acts) {
        await act();
        if (random.next() < 0.7) await feed.settle();
      }
      // Twice: what the first pass writes wakes the second.
      await feed.settle();
      await feed.settle();
      await feed.close();
      const entries = (await store.after(0, 1_000)).map(({ entry }) => entry);
      const { byPatient } = resolveEntries(entries);
      const voidsOf = (patient: string): number =>
        (byPatient.get(patient) ?? []).filter(
          ({ entry, standing }) => entry.kind === 'void' && standing.state === 'live',
        ).length;
      expect([voidsOf(record), voidsOf(old)]).toEqual([3, 0]);
      const facts = foldPatient({ patient: record, entries, nowMs, settings: defaultSettings, zone });
      expect([facts.ward, facts.bed, facts.identity?.familyName]).toEqual(expected);
      expect(foldPatient({ patient: old, entries, nowMs, settings: defaultSettings, zone }).ward).toBe('');
    }
  });

  it('looks after a restart at what was written under a retired number meanwhile', async () => {
    const old = recordOf({ system: 'NORTH', value: 'a9' });
    const store = openMemoryStore({ organisation: 'saltmarsh' });
    const book = memoryFeed();
    const before = openFeed(book, store);
    await before.take(bytes(day[0] as string));
    await before.take(bytes(`${message('A40', '13:00', '', 'o2')}\rMRG|a9^^^NORTH^MR`));
    await before.settle();
    await before.close();
    const late = {
      id: '0197f000-0000-7000-8000-000000000009',
      organisation: 'saltmarsh',
      patient: old,
      kind: 'void',
      effectiveAt: '2026-05-12T10:00:00Z',
      timeQuality: 'exact',
      recordedAt: '2026-05-12T10:00:00Z',
      author: 'nurse',
      madeOn: 'tablet-1',
      payload: { how: 'measured', volumeMl: 210 },
    } as const;
    await store.append([late], { receivedAt: late.recordedAt, actor: 'nurse' });
    const after = openFeed(book, store);
    await after.settle();
    const { byPatient } = resolveEntries((await store.after(0, 100)).map(({ entry }) => entry));
    expect((byPatient.get(record) ?? []).map(({ entry }) => entry.id)).toContain(late.id);
    await after.close();
  });

  it('is kept before it is answered: without room for it there is no answer', async () => {
    const full: FeedBook = { ...memoryFeed(), add: () => Promise.reject(new Error('disk full')) };
    const feed = openFeed(full, openMemoryStore({ organisation: 'saltmarsh' }));
    await expect(feed.take(bytes(day[0] as string))).rejects.toThrow('disk full');
  });

  it('is brought in later when the record could not take it at once', async () => {
    const store = openMemoryStore({ organisation: 'saltmarsh' });
    let broken = true;
    const problems: unknown[] = [];
    const shaky: EntryStore = {
      ...store,
      append: (entries, context) =>
        broken ? Promise.reject(new Error('no database')) : store.append(entries, context),
    };
    const feed = openFeed(memoryFeed(), shaky, (problem) => void problems.push(problem));
    for (const one of day) expect(codeOf(await feed.take(bytes(one)))).toBe('AA');
    await expect.poll(() => problems.length).toBeGreaterThan(0);
    await expect(feed.settle()).rejects.toThrow('no database');
    broken = false;
    await feed.settle();
    expect(await patientIn(store)).toEqual(expected);
  });

  it.each([
    ['not HL7 at all', 'hl7/no-header', '100'],
    [`MSH|^~\\&|FEED|NORTH|||${clock('08:00')}||ADT^A01|x|P|2.5.1`, 'hl7/field-missing', '101'],
    [`MSH|^~\\&|FEED|NORTH|||${clock('08:00')}||ADT^A60|x|P|2.5.1`, 'hl7/unknown-event', '201'],
    [`MSH|^~\\&|FEED|NORTH|||${clock('08:00')}||BAR^P01|x|P|2.5.1`, 'hl7/not-about-patients', '200'],
    [message('A01', '08:00', '1', 'x').replace('a1^', `${'9'.repeat(61)}^`), 'hl7/number-too-long', '102'],
  ])('answers AR to %j', async (text, code, number) => {
    const feed = openFeed(memoryFeed(), openMemoryStore({ organisation: 'saltmarsh' }));
    const answer = await feed.take(bytes(text));
    expect(codeOf(answer)).toBe('AR');
    expect(textAt(answerOf(answer), segmentOf(answerOf(answer), 'ERR'), { field: 3 })).toBe(number);
    expect((await feed.outcomes(0, 10))[0]).toMatchObject({ state: 'refused', code });
  });

  it('is told of in words that hold nothing of it', async () => {
    const feed = openFeed(memoryFeed(), openMemoryStore({ organisation: 'saltmarsh' }));
    for (const one of day) await feed.take(bytes(one));
    const outcomes = await feed.outcomes(0, 100);
    expect(outcomes.map(({ words }) => words).slice(0, 2)).toEqual(['Somebody came in.', 'Somebody moved.']);
    expect(outcomes[0]?.type).toBe('ADT A01');
    for (const secret of ['Quill', 'a1', '1950']) expect(JSON.stringify(outcomes)).not.toContain(secret);
  });
});

describe('the book of messages', () => {
  it('gives back every byte, in order, after it was closed', async () => {
    const path = feedPath();
    const book = fileFeed(path);
    const odd = Uint8Array.from({ length: 256 }, (_, byte) => byte);
    await Promise.all([book.add('north', odd, 't1'), book.add('north', bytes('two'), 't2')]);
    await book.close();
    const again = fileFeed(path);
    expect(await again.after(0, 9)).toEqual([
      { number: 1, receivedAt: 't1', feed: 'north', bytes: odd },
      { number: 2, receivedAt: 't2', feed: 'north', bytes: bytes('two') },
    ]);
    expect((await again.add('north', bytes('three'), 't3')).number).toBe(3);
    expect(await again.head()).toBe(3);
    await again.close();
  });

  it('cuts off whatever a power cut left of the last write, and refuses a file that is damaged before it', async () => {
    const path = feedPath();
    const book = fileFeed(path);
    await book.add('north', bytes('one'), 't1');
    await book.close();
    const first = readFileSync(path, 'utf8');
    const second = fileFeed(path);
    await Promise.all(['two', 'three', 'four'].map((text) => second.add('north', bytes(text), 't2')));
    await second.close();
    const whole = readFileSync(path, 'utf8');
    const headOf = async (text: string): Promise<number> => {
      writeFileSync(path, text);
      const again = fileFeed(path);
      const head = await again.head();
      expect((await again.add('north', bytes('next'), 't3')).number).toBe(head + 1);
      await again.close();
      const last = fileFeed(path);
      expect(await last.head()).toBe(head + 1);
      await last.close();
      return head;
    };
    // Cut anywhere, or with a hole of room anywhere in what was written last.
    for (let at = first.length; at < whole.length; at += 7) {
      const kept = whole.slice(0, at).split('\n').length - 1;
      expect(await headOf(whole.slice(0, at))).toBe(kept);
      expect(await headOf(`${whole.slice(0, at)}\n\n\n`)).toBeGreaterThanOrEqual(kept);
      const holed = whole.slice(0, at) + '\n'.repeat(5) + whole.slice(at + 5);
      expect(await headOf(holed)).toBeGreaterThanOrEqual(1);
    }
    // The first line was answered before the second write began.
    for (const wrong of [whole.replace('"number":1', '"number":7'), whole.replace('{', ' ').slice(1)]) {
      writeFileSync(path, wrong);
      expect(() => fileFeed(path)).toThrow(RefusalError);
    }
  });
});
