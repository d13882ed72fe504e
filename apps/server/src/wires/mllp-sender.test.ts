// Proves     a receiver that says yes, no, half, nothing, another's answer or is not there is told apart
// Published  none
import { createServer, type AddressInfo, type Socket } from 'node:net';
import { afterEach, describe, expect, it } from 'vitest';
import { frameOf } from '@ebbline/interop/hl7v2';
import { openSender, type Outcome } from './mllp-sender.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const open: { close(): unknown }[] = [];
afterEach(async () => {
  for (const one of open.splice(0)) await one.close();
});

describe('a message that is sent', () => {
  const receiver = async (behave: (socket: Socket) => void): Promise<number> => {
    const server = createServer((socket) => {
      socket.on('error', () => undefined);
      socket.once('data', () => behave(socket));
    });
    await new Promise<void>((resolve) => {
      server.listen(0, '127.0.0.1', () => resolve());
    });
    open.push(server);
    return (server.address() as AddressInfo).port;
  };
  const answer = (code: string, of = 'm1'): string =>
    `MSH|^~\\&|THEM|||||| ACK|x|P|2.5.1\rMSA|${code}|${of}|as it is\r`;
  const outcomeOf = async (behave: (socket: Socket) => void): Promise<Outcome> => {
    const sender = openSender({ host: '127.0.0.1', port: await receiver(behave), patienceMs: 60 });
    open.push(sender);
    return sender.send('MSH|^~\\&|US', 'm1');
  };

  it.each(['AA', 'AE', 'AR'])('and answered %s is known as that', async (code) => {
    const outcome = await outcomeOf((socket) => socket.write(frameOf(bytes(answer(code)))));
    expect(outcome).toEqual({ state: 'answered', said: { code, of: 'm1', words: 'as it is' } });
  });

  it.each<[string, (socket: Socket) => void]>([
    ['no-answer', () => undefined],
    ['no-answer', (socket) => socket.destroy()],
    ['half-an-answer', (socket) => socket.write(frameOf(bytes(answer('AA'))).subarray(0, 20))],
    ['answer-to-another', (socket) => socket.write(frameOf(bytes(answer('AA', 'm0'))))],
    ['no-message', (socket) => socket.write(frameOf(bytes('hello')))],
  ])('is unclear, %s, where no usable answer comes', async (why, behave) => {
    expect(await outcomeOf(behave)).toEqual({ state: 'unclear', why });
  });

  it('is not reached where nobody listens', async () => {
    const port = await receiver(() => undefined);
    await new Promise<void>((resolve) => {
      (open.at(-1) as ReturnType<typeof createServer>).close(() => resolve());
    });
    open.pop();
    const sender = openSender({ host: '127.0.0.1', port, patienceMs: 60 });
    expect(await sender.send('MSH|^~\\&|US', 'm1')).toEqual({ state: 'not-reached' });
  });
});
