/**
 * A door for HL7 messages: each frame is handed on and answered in order, one at a time for a line. It knows nothing of what
 * a message means.
 *
 * Domain    loopback unless told otherwise; a frame beyond the cap, or one that trickles in, ends the line; a full house turns
 *           nobody away who speaks: the line that was silent longest makes room
 * Errors    `start` throws when the port is taken. What goes wrong on a line ends that line alone
 * Source    MLLP release 1, from memory (S-from-memory)
 */
import { createServer, type AddressInfo, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';
import { frameOf, openFrames } from '@ebbline/interop/hl7v2';

export interface LineSettings {
  readonly host: string;
  readonly port: number;
  /** Certificate and key as PEM; plain without. */
  readonly tls?: { readonly cert: string; readonly key: string };
  readonly mostBytes?: number;
  readonly mostLines?: number;
  /** So long may a frame take from its first byte to its last. */
  readonly frameMs?: number;
}

export interface LineEvents {
  /** The bytes of the answer. Called again only after it has settled. */
  message(bytes: Uint8Array): Promise<Uint8Array>;
  /** What was wrong with a line, in one word for a count; never what was sent. */
  fault?(what: 'junk' | 'too-long' | 'too-slow' | 'not-handled'): void;
}

export interface Listener {
  readonly port: number;
  lines(): number;
  close(): Promise<void>;
}

const mebibyte = 1_048_576;

export async function listenForMessages(settings: LineSettings, events: LineEvents): Promise<Listener> {
  const { mostBytes = 4 * mebibyte, mostLines = 500, frameMs = 30_000 } = settings;
  const fault = events.fault ?? (() => undefined);
  /** Open lines, the one that spoke last at the end. */
  const lines = new Map<Socket, { readonly busy: () => boolean }>();

  const makeRoom = (): void => {
    if (lines.size < mostLines) return;
    for (const [socket, { busy }] of lines) {
      if (busy()) continue;
      lines.delete(socket);
      socket.destroy();
      return;
    }
  };

  const serve = (socket: Socket): void => {
    makeRoom();
    socket.setNoDelay(true);
    const frames = openFrames(mostBytes);
    const queue: Uint8Array[] = [];
    let answering = false;
    let slow: ReturnType<typeof setTimeout> | undefined;
    const line = { busy: () => answering || queue.length > 0 };
    lines.set(socket, line);
    const end = (): void => {
      clearTimeout(slow);
      lines.delete(socket);
      socket.destroy();
    };

    const answerAll = async (): Promise<void> => {
      if (answering) return;
      answering = true;
      try {
        for (let bytes = queue.shift(); bytes !== undefined && !socket.destroyed; bytes = queue.shift())
          socket.write(frameOf(await events.message(bytes)));
      } catch {
        // No answer means: send it again. An answer that was not meant would mean more.
        fault('not-handled');
        end();
      } finally {
        answering = false;
        // Nobody reads on while answers wait: the sender is slowed, not the memory filled.
        if (!socket.destroyed) socket.resume();
      }
    };

    socket.on('data', (chunk: Buffer) => {
      lines.delete(socket);
      lines.set(socket, line);
      let came = false;
      for (const framed of frames.take(chunk)) {
        if (framed.kind === 'junk') fault('junk');
        else if (framed.kind === 'too-long') {
          fault('too-long');
          return end();
        } else {
          queue.push(framed.bytes);
          came = true;
        }
      }
      if (came) {
        clearTimeout(slow);
        slow = undefined;
        socket.pause();
        void answerAll();
      }
      if (frames.inside())
        slow ??= setTimeout(() => {
          fault('too-slow');
          end();
        }, frameMs);
    });
    socket.on('error', end);
    socket.on('close', end);
  };

  const { tls } = settings;
  const server = tls === undefined ? createServer(serve) : createTlsServer({ ...tls }, serve);
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(settings.port, settings.host, () => {
      server.off('error', reject);
      resolve();
    });
  });
  return {
    port: (server.address() as AddressInfo).port,
    lines: () => lines.size,
    close: async () => {
      const closed = new Promise<void>((resolve) => {
        server.close(() => resolve());
      });
      for (const socket of lines.keys()) socket.destroy();
      await closed;
    },
  };
}
