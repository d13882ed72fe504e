/**
 * Time for a whole made-up hospital in one thread. What is to happen stands in one queue by its moment, then by the
 * order in which it was put there; between two of them every promise that can go on does. Same seed, same order.
 *
 * Units     milliseconds since the epoch
 */
export interface Happening {
  readonly atMs: number;
  readonly order: number;
  readonly work: () => void;
  off: boolean;
}

/** Kept here: a run may give the platform's own timers away. */
const turnOfTheLoop = setImmediate;
const settled = (): Promise<void> => new Promise((resolve) => turnOfTheLoop(resolve));

export class Timeline {
  nowMs: number;
  happened = 0;
  #order = 0;
  #heap: Happening[] = [];

  constructor(startMs: number) {
    this.nowMs = startMs;
  }

  after(waitMs: number, work: () => void): Happening {
    const one = { atMs: this.nowMs + Math.max(0, waitMs), order: (this.#order += 1), work, off: false };
    const heap = this.#heap;
    heap.push(one);
    let index = heap.length - 1;
    while (index > 0) {
      const above = (index - 1) >> 1;
      if (!before(one, heap[above] as Happening)) break;
      heap[index] = heap[above] as Happening;
      index = above;
    }
    heap[index] = one;
    return one;
  }

  /** Lets everything up to a moment happen; stops early when `enough` says so, asked after each happening. */
  async runTo(untilMs: number, enough?: () => boolean): Promise<void> {
    for (let next = this.#heap[0]; next !== undefined && next.atMs <= untilMs; next = this.#heap[0]) {
      this.#take();
      if (next.off) continue;
      this.nowMs = next.atMs;
      this.happened += 1;
      next.work();
      await settled();
      if (enough?.()) return;
    }
    this.nowMs = Math.max(this.nowMs, untilMs);
  }

  #take(): void {
    const heap = this.#heap;
    const last = heap.pop() as Happening;
    if (heap.length === 0) return;
    let index = 0;
    for (;;) {
      let below = 2 * index + 1;
      if (below >= heap.length) break;
      if (below + 1 < heap.length && before(heap[below + 1] as Happening, heap[below] as Happening))
        below += 1;
      if (!before(heap[below] as Happening, last)) break;
      heap[index] = heap[below] as Happening;
      index = below;
    }
    heap[index] = last;
  }
}

const before = (a: Happening, b: Happening): boolean =>
  a.atMs < b.atMs || (a.atMs === b.atMs && a.order < b.order);

/**
 * One run of a program on one machine: from its start until it is stopped or killed. What it was waiting for when it
 * was killed never comes. While it sleeps nothing of it runs; what fell due meanwhile runs when it wakes.
 */
export class Program {
  alive = true;
  #asleepUntilMs = 0;
  readonly timeline: Timeline;

  constructor(timeline: Timeline) {
    this.timeline = timeline;
  }

  kill(): void {
    this.alive = false;
  }

  sleepUntil(ms: number): void {
    this.#asleepUntilMs = ms;
  }

  wake(): void {
    this.#asleepUntilMs = 0;
  }

  get asleep(): boolean {
    return this.timeline.nowMs < this.#asleepUntilMs;
  }

  after(waitMs: number, work: () => void): Happening {
    return this.timeline.after(waitMs, () => this.run(work));
  }

  run(work: () => void): void {
    if (!this.alive) return;
    if (this.asleep)
      void this.timeline.after(this.#asleepUntilMs - this.timeline.nowMs, () => this.run(work));
    else work();
  }

  /** A wait that never ends when the program is killed meanwhile. */
  pause(waitMs: number): Promise<void> {
    return new Promise((resolve) => void this.after(waitMs, resolve));
  }

  readonly timers = {
    set: (work: () => void, waitMs: number): unknown => this.after(waitMs, work),
    clear: (timer: unknown): void => {
      if (timer !== undefined) (timer as Happening).off = true;
    },
  };
}
