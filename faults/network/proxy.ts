/**
 * A network of our own between a tablet and a server on this machine: it hands HTTP requests on, and cuts, stalls, loses,
 * doubles, delays and reorders them as it is told.
 */
import { connect, createServer, type AddressInfo, type Server, type Socket } from 'node:net';
import type { RandomSource } from '@ebbline/core/quantity';

export interface Weather {
  /** No connection comes about, and those that stand are broken. */
  cut: boolean;
  /** Connections stand, and nothing moves on them until it is over. */
  stalled: boolean;
  /** Connections stand, and what is said on them is lost for ever. */
  deaf: boolean;
  /** Chance that a request arrives a second time, a little later. */
  doubleShare: number;
  /** Longest time that a request is held back, ms; later ones overtake it. */
  heldBackMs: number;
}

export const fairWeather: Weather = {
  cut: false,
  stalled: false,
  deaf: false,
  doubleShare: 0,
  heldBackMs: 0,
};

/** Whole requests in what came so far, and how many bytes of it they take. */
function requestsIn(bytes: Buffer): { readonly whole: readonly Buffer[]; readonly used: number } {
  const whole: Buffer[] = [];
  let used = 0;
  for (;;) {
    const headEnd = bytes.indexOf('\r\n\r\n', used);
    if (headEnd < 0) return { whole, used };
    const head = bytes.toString('latin1', used, headEnd);
    const length = Number(/^content-length: (\d+)/im.exec(head)?.[1] ?? 0);
    const end = headEnd + 4 + length;
    if (end > bytes.length) return { whole, used };
    whole.push(bytes.subarray(used, end));
    used = end;
  }
}

export class Proxy {
  weather: Weather = { ...fairWeather };
  doubled = 0;
  broken = 0;
  readonly #server: Server;
  readonly #target: URL;
  readonly #random: RandomSource;
  readonly #open = new Set<Socket>();

  constructor(target: string, random: RandomSource) {
    this.#target = new URL(target);
    this.#random = random;
    this.#server = createServer((near) => this.#connected(near));
  }

  async listen(): Promise<string> {
    await new Promise<void>((resolve) => void this.#server.listen(0, '127.0.0.1', resolve));
    return `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}`;
  }

  /** Whatever stands now is broken. */
  breakAll(): void {
    for (const socket of this.#open) {
      this.broken += 1;
      socket.resetAndDestroy();
    }
  }

  close(): void {
    this.#server.close();
    this.breakAll();
  }

  #far(): Socket {
    const far = connect(Number(this.#target.port), this.#target.hostname);
    far.setNoDelay(true);
    far.on('error', () => undefined);
    this.#open.add(far);
    far.on('close', () => this.#open.delete(far));
    return far;
  }

  /** Now, or when the stall is over; never when it was lost. */
  #pass(work: () => void): void {
    if (this.weather.deaf || this.weather.cut) return;
    if (this.weather.stalled) setTimeout(() => this.#pass(work), 20);
    else work();
  }

  #connected(near: Socket): void {
    near.on('error', () => undefined);
    if (this.weather.cut) return void near.resetAndDestroy();
    near.setNoDelay(true);
    this.#open.add(near);
    const far = this.#far();
    near.on('close', () => {
      this.#open.delete(near);
      far.destroy();
    });
    far.on('close', () => near.destroy());
    far.on('data', (bytes: Buffer) => this.#pass(() => near.writable && near.write(bytes)));
    let waiting = Buffer.alloc(0);
    near.on('data', (bytes: Buffer) => {
      waiting = Buffer.concat([waiting, bytes]);
      const { whole, used } = requestsIn(waiting);
      waiting = waiting.subarray(used);
      for (const request of whole) this.#handOn(request, far);
    });
  }

  #handOn(request: Buffer, far: Socket): void {
    const later = Math.floor(this.#random.next() * this.weather.heldBackMs);
    setTimeout(() => this.#pass(() => far.writable && far.write(request)), later);
    if (this.#random.next() >= this.weather.doubleShare) return;
    this.doubled += 1;
    setTimeout(
      () =>
        this.#pass(() => {
          const again = this.#far();
          again.write(request);
          again.resume();
          setTimeout(() => again.destroy(), 500);
        }),
      later + this.#random.below(300),
    );
  }
}
