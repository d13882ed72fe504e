/**
 * The other end of a line: one message on its way at a time, and what became of it told apart.
 *
 *     answered     the receiver said AA, AE or AR of this very message
 *     unclear      the line was there and no usable answer came: it may have been taken, so it is sent again under the same id
 *     not-reached  nobody there
 *
 * Source    MLLP release 1, from memory (S-from-memory)
 */
import { connect, type Socket } from 'node:net';
import { connect as connectTls } from 'node:tls';
import { isRefusal } from '@ebbline/core/quantity';
import {
  decodeMessage,
  frameOf,
  openFrames,
  readAnswer,
  readMessage,
  type Said,
} from '@ebbline/interop/hl7v2';

export type Outcome =
  | { readonly state: 'answered'; readonly said: Said }
  | {
      readonly state: 'unclear';
      readonly why: 'no-answer' | 'half-an-answer' | 'answer-to-another' | 'no-message';
    }
  | { readonly state: 'not-reached' };

export interface Receiver {
  readonly host: string;
  readonly port: number;
  /** Authority as PEM for a line over TLS; plain without. */
  readonly tls?: { readonly ca: string };
  /** So long an answer may take. */
  readonly patienceMs?: number;
}

export interface Sender {
  /** @param controlId by which the answer is known to be to this message */
  send(text: string, controlId: string): Promise<Outcome>;
  close(): void;
}

const connectMs = 5_000;
const mostAnswerBytes = 262_144;

export function openSender({ host, port, tls, patienceMs = 30_000 }: Receiver): Sender {
  let socket: Socket | undefined;

  const line = (): Promise<Socket | undefined> => {
    if (socket !== undefined && !socket.destroyed && socket.writable) return Promise.resolve(socket);
    return new Promise((resolve) => {
      const opened =
        tls === undefined
          ? connect({ host, port, timeout: connectMs })
          : connectTls({ host, port, ca: tls.ca, timeout: connectMs });
      const failed = (): void => {
        opened.destroy();
        resolve(undefined);
      };
      opened.once('error', failed);
      opened.once('timeout', failed);
      opened.once(tls === undefined ? 'connect' : 'secureConnect', () => {
        opened.setTimeout(0);
        opened.setNoDelay(true);
        opened.off('error', failed);
        opened.on('error', () => opened.destroy());
        socket = opened;
        resolve(opened);
      });
    });
  };

  const answerOn = (on: Socket, controlId: string): Promise<Outcome> =>
    new Promise((resolve) => {
      const frames = openFrames(mostAnswerBytes);
      const done = (outcome: Outcome, keep: boolean): void => {
        clearTimeout(late);
        on.off('data', take);
        on.off('close', gone);
        // After an answer that is not understood nobody knows what comes next on this line.
        if (!keep) on.destroy();
        resolve(outcome);
      };
      const silent = (): Outcome => ({
        state: 'unclear',
        why: frames.inside() ? 'half-an-answer' : 'no-answer',
      });
      const gone = (): void => done(silent(), false);
      const late = setTimeout(gone, patienceMs);
      const take = (chunk: Buffer): void => {
        for (const framed of frames.take(chunk)) {
          if (framed.kind !== 'message') continue;
          const decoded = decodeMessage(framed.bytes);
          const message = isRefusal(decoded) ? decoded : readMessage(decoded.text);
          const said = isRefusal(message) ? undefined : readAnswer(message);
          if (said === undefined) return done({ state: 'unclear', why: 'no-message' }, false);
          if (said.of !== controlId) return done({ state: 'unclear', why: 'answer-to-another' }, false);
          return done({ state: 'answered', said }, true);
        }
      };
      on.on('data', take);
      on.once('close', gone);
    });

  return {
    send: async (text, controlId) => {
      const on = await line();
      if (on === undefined) return { state: 'not-reached' };
      const outcome = answerOn(on, controlId);
      on.write(frameOf(new TextEncoder().encode(text)));
      return outcome;
    },
    close: () => socket?.destroy(),
  };
}
