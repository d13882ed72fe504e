// Proves     messages come through whole and are answered in order; a line that floods or trickles is ended and disturbs no
//            other
// Published  none
import { connect, type Socket } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { frameOf, openFrames } from '@ebbline/interop/hl7v2';
import { listenForMessages, type LineEvents, type Listener, type LineSettings } from './mllp-listener.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const text = (given: Uint8Array): string => new TextDecoder().decode(given);
const open: { close(): unknown }[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await one.close();
});

const listen = async (events: LineEvents, settings: Partial<LineSettings> = {}): Promise<Listener> => {
  const listener = await listenForMessages({ host: '127.0.0.1', port: 0, ...settings }, events);
  open.push(listener);
  return listener;
};
const dial = async (
  port: number,
): Promise<{ socket: Socket; ended: Promise<void>; answers: (count: number) => Promise<string[]> }> => {
  const socket = connect({ host: '127.0.0.1', port });
  open.push({ close: () => socket.destroy() });
  const frames = openFrames(10_000);
  const came: string[] = [];
  let wake = (): void => undefined;
  socket.on('data', (chunk) => {
    for (const one of frames.take(chunk)) if (one.kind === 'message') came.push(text(one.bytes));
    wake();
  });
  socket.on('error', () => undefined);
  const ended = new Promise<void>((resolve) => {
    socket.once('close', () => resolve());
  });
  await new Promise<void>((resolve) => {
    socket.once('connect', () => resolve());
  });
  const answers = async (count: number): Promise<string[]> => {
    while (came.length < count)
      await new Promise<void>((resolve) => {
        wake = resolve;
      });
    return came;
  };
  return { socket, ended, answers };
};
const echo: LineEvents = { message: async (given) => bytes(`got ${text(given)}`) };

describe('a door for messages', () => {
  it('answers each in order, though they come in one piece or cut in the middle', async () => {
    const { port } = await listen(echo);
    const { socket, answers } = await dial(port);
    const line = Buffer.concat(['one', 'two', 'three'].map((one) => frameOf(bytes(one))));
    socket.write(line.subarray(0, 9));
    socket.write(line.subarray(9));
    expect(await answers(3)).toEqual(['got one', 'got two', 'got three']);
  });

  it('ends a line whose frame has no end, and goes on with the others', async () => {
    const faults: string[] = [];
    const { port } = await listen({ ...echo, fault: (what) => void faults.push(what) }, { mostBytes: 1_000 });
    const flood = await dial(port);
    const calm = await dial(port);
    flood.socket.write(Buffer.concat([Uint8Array.of(0x0b), new Uint8Array(5_000).fill(65)]));
    await flood.ended;
    calm.socket.write(frameOf(bytes('still here')));
    expect(await calm.answers(1)).toEqual(['got still here']);
    expect(faults).toEqual(['too-long']);
  });

  it('ends a line on which a frame trickles in', async () => {
    const faults: string[] = [];
    const { port } = await listen({ ...echo, fault: (what) => void faults.push(what) }, { frameMs: 30 });
    const slow = await dial(port);
    slow.socket.write(Uint8Array.of(0x0b, 65));
    await slow.ended;
    expect(faults).toEqual(['too-slow']);
  });

  it('lets the line go that was silent longest when the house is full', async () => {
    const listener = await listen(echo, { mostLines: 3 });
    const first = await dial(listener.port);
    const second = await dial(listener.port);
    const third = await dial(listener.port);
    first.socket.write(frameOf(bytes('a')));
    await first.answers(1);
    const fourth = await dial(listener.port);
    await second.ended;
    fourth.socket.write(frameOf(bytes('b')));
    third.socket.write(frameOf(bytes('c')));
    expect([await fourth.answers(1), await third.answers(1)]).toEqual([['got b'], ['got c']]);
    expect(listener.lines()).toBe(3);
  });

  it('gives no answer to what it could not keep, so that it is sent again', async () => {
    const { port } = await listen({ message: () => Promise.reject(new Error('disk full')) });
    const { socket, ended } = await dial(port);
    socket.write(frameOf(bytes('one')));
    await ended;
  });
});
