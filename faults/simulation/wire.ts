/**
 * The network between one machine and the server: what is sent may be late, lost, doubled or overtaken. Nothing that
 * is sent while the link is cut arrives.
 */
import type { RandomSource } from '@ebbline/core/quantity';
import type { Timeline } from './timeline.ts';

export interface Weather {
  cut: boolean;
  /** Chance that one message is lost. */
  lossShare: number;
  /** Chance that one request arrives twice. */
  doubleShare: number;
  shortestMs: number;
  longestMs: number;
}

export const fairWeather = (): Weather => ({
  cut: false,
  lossShare: 0,
  doubleShare: 0,
  shortestMs: 2,
  longestMs: 40,
});

export class Wire {
  weather: Weather = fairWeather();
  readonly timeline: Timeline;
  readonly random: RandomSource;
  readonly counts: { lost: number; doubled: number };

  constructor(timeline: Timeline, random: RandomSource, counts: { lost: number; doubled: number }) {
    this.timeline = timeline;
    this.random = random;
    this.counts = counts;
  }

  get delayMs(): number {
    const { shortestMs, longestMs } = this.weather;
    return shortestMs + Math.floor(this.random.next() * (longestMs - shortestMs));
  }

  /** One message one way; overtakes others that take longer. */
  carry(arrive: () => void): void {
    if (this.#lost()) return;
    this.timeline.after(this.delayMs, () => {
      if (!this.weather.cut) arrive();
    });
  }

  /** A request: it may arrive twice, the second time much later. */
  carryRequest(arrive: () => void): void {
    this.carry(arrive);
    if (this.random.next() >= this.weather.doubleShare) return;
    this.counts.doubled += 1;
    this.timeline.after(this.random.below(20_000), () => this.carry(arrive));
  }

  #lost(): boolean {
    if (this.weather.cut || this.random.next() < this.weather.lossShare) {
      this.counts.lost += 1;
      return true;
    }
    return false;
  }
}

/** What one side writes on an open line arrives in that order at the other, or the line breaks. */
export class Line {
  open = true;
  #tailMs = 0;
  readonly wire: Wire;

  constructor(wire: Wire) {
    this.wire = wire;
  }

  write(arrive: () => void, broken: () => void): void {
    if (!this.open) return;
    const { wire } = this;
    const { timeline } = wire;
    // A lost piece is sent again by the network below, later; on a cut line nothing arrives any more.
    const again = wire.random.next() < wire.weather.lossShare ? 700 : 0;
    this.#tailMs = Math.max(this.#tailMs, timeline.nowMs + wire.delayMs + again);
    timeline.after(this.#tailMs - timeline.nowMs, () => {
      if (!this.open) return;
      if (!wire.weather.cut) return arrive();
      this.open = false;
      // Half of the time nobody is told: the line is silent.
      if (wire.random.next() < 0.5) timeline.after(wire.random.below(8000), broken);
    });
  }
}
