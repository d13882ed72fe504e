// Proves     whatever comes over a line, the answer is a message or a typed refusal: no exception, nothing that takes longer
//            than 50 ms, nothing held beyond the cap; and what was read can be answered and folded
// Domain     messages about patients damaged by a seed: bytes, delimiters, escapes, times, cuts, repetition, nesting, length
// Tolerance  5 s in every run, 60 s with `npm run long`; processor time of this thread, the least of three readings where the
//            first was slow: a hang comes again
import { describe, expect, it } from 'vitest';
import { isRefusal, seededRandom, type RandomSource } from '@ebbline/core/quantity';
import {
  answerTo,
  decodeMessage,
  feedEntries,
  feedPatients,
  frameOf,
  openFrames,
  readMessage,
  readPatientEvents,
  writeMessage,
} from './index.ts';

const seconds = process.env['EBBLINE_LONG'] === '1' ? 60 : 5;
const mostMs = 50;
const capBytes = 200_000;

const clock = '20260512080000';
const bases: readonly string[] = ['A01', 'A02', 'A03', 'A08', 'A12', 'A17', 'A40'].map((event) =>
  [
    `MSH|^~\\&|FEED|NORTH|EBBLINE|NORTH|${clock}||ADT^${event}|m1|P|2.5.1|||AL|NE||UNICODE UTF-8`,
    `EVN||${clock}||||${clock}`,
    'PID|1||a1^^^NORTH&1.2.3&ISO^MR~b2^^^EAST^PI||Qu\\S\\ill^Ada^^^||19500203|F',
    'MRG|a9^^^NORTH^MR',
    'PV1|1|I|H3^2^4||||||||||||||||v1',
    'PID|2||b7^^^NORTH^MR||Sorrel^Bram',
    'PV1|1|I|H3^2^5||||||||||||||||v2',
  ].join('\r'),
);

const signs = [
  '|',
  '^',
  '~',
  '\\',
  '&',
  '\r',
  '\n',
  '\u000b',
  '\u001c',
  '""',
  '\\X',
  '\\XZZ\\',
  '\u0000',
  'é',
  '😀',
];
const damages: readonly ((text: string, random: RandomSource) => string)[] = [
  (text, random) => {
    let out = text;
    for (let hit = 0; hit <= random.below(6); hit += 1) {
      const at = random.below(out.length + 1);
      out = `${out.slice(0, at)}${random.pick(signs)}${out.slice(at + random.below(3))}`;
    }
    return out;
  },
  (text, random) => text.slice(0, random.below(text.length)),
  (text, random) => text.slice(random.below(text.length)),
  (text, random) => text.replaceAll(random.pick(['|', '^', '&', '\\', '20260512080000']), random.pick(signs)),
  (text, random) => text.replace(clock, String(random.below(1e9)).repeat(random.below(4))),
  (text, random) =>
    `${text}${random.pick(['|', '~', '^', '\\', 'PID|', '\rPID|1||x\r'])}`.padEnd(
      random.below(60_000),
      '^~|\\&',
    ),
  (text, random) => text.split('\rPID')[0] + `\rPID|1||${'a^^^b^MR~'.repeat(random.below(3_000))}`,
  (text, random) => text + '\rPID|1||c3^^^NORTH^MR'.repeat(random.below(3_000)),
  (text, random) => text + '\rNTE|1||'.repeat(random.below(5_000)),
  (text, random) => text.replace('a1^', `${'\\T\\'.repeat(random.below(5_000))}^`),
];

function cpuMs(work: () => void): number {
  const before = process.threadCpuUsage();
  work();
  const { user, system } = process.threadCpuUsage(before);
  return (user + system) / 1_000;
}

/** The whole way of a message in, and its answer out. */
function through(bytes: Uint8Array): void {
  const decoded = decodeMessage(bytes);
  const message = isRefusal(decoded) ? decoded : readMessage(decoded.text);
  const whole = isRefusal(message) ? undefined : message;
  const answer = writeMessage(answerTo(whole, { code: 'AR', controlId: '1', atMs: 0, zone: 'UTC' }));
  expect(answer.startsWith('MSH|')).toBe(true);
  if (isRefusal(message)) {
    expect(message.code).toMatch(/^hl7\//);
    return;
  }
  // What was read is written as it was read.
  expect(readMessage(writeMessage(message))).toEqual(message);
  const events = readPatientEvents(message, { zone: 'Europe/Lisbon' });
  if (isRefusal(events)) {
    expect(events.code).toMatch(/^hl7\//);
    return;
  }
  for (const patient of feedPatients(events))
    feedEntries({
      patient,
      have: [],
      organisation: 'made-up',
      wardOf: ({ ward }) => ward,
      author: 'feed',
      madeOn: 'feed',
      nowMs: Date.UTC(2026, 4, 12, 12),
    });
}

describe('damaged messages', () => {
  it(
    `are read or refused with a code, in time, for ${seconds} s`,
    { timeout: (seconds + 60) * 1_000 },
    () => {
      const random = seededRandom(20_260_512);
      let tried = 0;
      let read = 0;
      let slowestMs = 0;
      for (let spentMs = 0; spentMs < seconds * 1_000; tried += 1) {
        let text = random.pick(bases);
        for (let hit = 0; hit <= random.below(3); hit += 1) text = random.pick(damages)(text, random);
        const bytes = new TextEncoder().encode(text);
        if (random.next() < 0.1) bytes.set([0xff, 0xc3], random.below(Math.max(1, bytes.length - 1)));
        let tookMs = cpuMs(() => through(bytes));
        spentMs += tookMs;
        for (let again = 0; tookMs > mostMs && again < 2; again += 1)
          tookMs = Math.min(
            tookMs,
            cpuMs(() => through(bytes)),
          );
        slowestMs = Math.max(slowestMs, tookMs);
        if (!isRefusal(decodeMessage(bytes))) read += 1;
      }
      expect(tried).toBeGreaterThan(500);
      expect(read).toBeGreaterThan(tried / 2);
      expect(slowestMs).toBeLessThan(mostMs);
    },
  );

  it('on the line hold no more than the cap, and give nothing that was not framed', () => {
    const random = seededRandom(77);
    for (let turn = 0; turn < 200; turn += 1) {
      const frames = openFrames(capBytes);
      const sent = Array.from({ length: 20 }, () => {
        const bytes = new TextEncoder().encode(random.pick(damages)(random.pick(bases), random));
        return random.next() < 0.5 ? frameOf(bytes) : bytes;
      });
      const whole = sent.reduce((sum, part) => sum + part.length, 0);
      let given = 0;
      for (const part of sent)
        for (const framed of frames.take(part)) if (framed.kind === 'message') given += framed.bytes.length;
      expect(given).toBeLessThanOrEqual(whole);
    }
  });
});
