/**
 * One scan of JPEG-LS: contexts, prediction, Golomb codes and runs.
 *
 * Source    ISO/IEC 14495-1 annexes A and D (S-jpeg-ls)
 */
export interface ScanSettings {
  readonly maximum: number;
  readonly near: number;
  readonly thresholds: readonly [number, number, number];
  readonly reset: number;
}

type Target = Uint8Array | Uint16Array;

/** Bits of a scan: after a byte of ones the next one carries seven, and a marker ends them. */
export class BitReader {
  private readonly bytes: Uint8Array;
  private at: number;
  private held = 0;
  private count = 0;
  private afterOnes = false;
  /** True once more bits were asked for than there are. */
  over = false;

  constructor(bytes: Uint8Array, at: number) {
    this.bytes = bytes;
    this.at = at;
  }

  bit(): number {
    if (this.count === 0) {
      const next = this.bytes[this.at];
      if (next === undefined || (this.afterOnes && next > 0x7f)) {
        this.over = true;
        return 1;
      }
      this.at += 1;
      this.held = next;
      this.count = this.afterOnes ? 7 : 8;
      this.afterOnes = next === 0xff;
    }
    this.count -= 1;
    return (this.held >> this.count) & 1;
  }

  bits(wanted: number): number {
    let value = 0;
    for (let index = 0; index < wanted; index += 1) value = value * 2 + this.bit();
    return value;
  }

  /** Where the marker after the scan stands. */
  nextMarker(): number {
    let at = Math.max(0, this.at - (this.afterOnes ? 1 : 0));
    while (at + 1 < this.bytes.length && !(this.bytes[at] === 0xff && (this.bytes[at + 1] as number) > 0x7f))
      at += 1;
    return at;
  }
}

/** Length of runs, in bits, by how well the last ones went. */
const runBits = [
  0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7, 8, 9, 10, 11, 12, 13, 14, 15,
];
const regular = 365;
const deepestShift = 24;

export class ScanCoder {
  private readonly range: number;
  private readonly step: number;
  private readonly rangeBits: number;
  private readonly limit: number;
  // Sum of errors, bias, correction and count of each context; the last two are those of broken runs.
  private readonly sums: Int32Array;
  private readonly biases = new Int32Array(regular + 2);
  private readonly corrections = new Int32Array(regular + 2);
  private readonly counts = new Int32Array(regular + 2).fill(1);
  private readonly negatives = new Int32Array(2);
  private readonly settings: ScanSettings;
  private readonly reader: BitReader;
  private readonly width: number;
  private readonly components: number;
  /** Two lines of each component, with a sample before and one behind. */
  private readonly lines: readonly { above: Int32Array; here: Int32Array }[];
  private readonly runIndex: Int32Array;

  constructor(settings: ScanSettings, reader: BitReader, width: number, components: number) {
    const { maximum, near } = settings;
    this.settings = settings;
    this.reader = reader;
    this.width = width;
    this.components = components;
    this.step = 2 * near + 1;
    this.range = Math.floor((maximum + 2 * near) / this.step) + 1;
    this.rangeBits = Math.ceil(Math.log2(this.range));
    const bits = Math.max(2, Math.ceil(Math.log2(maximum + 1)));
    this.limit = 2 * (bits + Math.max(8, bits));
    this.sums = new Int32Array(regular + 2).fill(Math.max(2, (this.range + 32) >> 6));
    this.lines = Array.from({ length: components }, () => ({
      above: new Int32Array(width + 2),
      here: new Int32Array(width + 2),
    }));
    this.runIndex = new Int32Array(components);
  }

  /** Line after line of each component; false when the bits do not suffice. */
  byLine(out: Target, height: number): boolean {
    const { width, components } = this;
    for (let y = 0; y < height; y += 1) {
      for (let component = 0; component < components; component += 1) {
        const pair = this.lines[component] as { above: Int32Array; here: Int32Array };
        this.open(pair);
        this.line(pair.above, pair.here, component);
        if (this.reader.over) return false;
        for (let x = 0; x < width; x += 1)
          out[(y * width + x) * components + component] = pair.here[x + 1] as number;
      }
      this.turn();
    }
    return true;
  }

  /** Pixel after pixel, all components together; false when the bits do not suffice. */
  bySample(out: Target, height: number): boolean {
    const { width, components } = this;
    for (let y = 0; y < height; y += 1) {
      for (const pair of this.lines) this.open(pair);
      this.lineOfPixels();
      if (this.reader.over) return false;
      for (let x = 0; x < width; x += 1)
        for (let component = 0; component < components; component += 1)
          out[(y * width + x) * components + component] = this.lines[component]?.here[x + 1] as number;
      this.turn();
    }
    return true;
  }

  private open({ above, here }: { above: Int32Array; here: Int32Array }): void {
    here[0] = above[1] as number;
    above[this.width + 1] = above[this.width] as number;
  }

  private turn(): void {
    for (const pair of this.lines) {
      const { above, here } = pair;
      above.set(here);
    }
  }

  private line(above: Int32Array, here: Int32Array, component: number): void {
    let x = 1;
    while (x <= this.width && !this.reader.over) {
      const context = this.contextAt(above, here, x);
      if (context !== 0) {
        here[x] = this.sample(context, here[x - 1] as number, above[x] as number, above[x - 1] as number);
        x += 1;
        continue;
      }
      const left = here[x - 1] as number;
      const { length, broken } = this.run(this.width + 1 - x, component);
      here.fill(left, x, x + length);
      x += length;
      if (!broken) continue;
      here[x] = this.breakOf(left, above[x] as number, this.runIndex[component] as number);
      this.shorten(component);
      x += 1;
    }
  }

  private lineOfPixels(): void {
    let x = 1;
    while (x <= this.width && !this.reader.over) {
      const contexts = this.lines.map(({ above, here }) => this.contextAt(above, here, x));
      if (contexts.some((one) => one !== 0)) {
        for (const [index, { above, here }] of this.lines.entries()) {
          const context = contexts[index] as number;
          here[x] = this.sample(context, here[x - 1] as number, above[x] as number, above[x - 1] as number);
        }
        x += 1;
        continue;
      }
      const { length, broken } = this.run(this.width + 1 - x, 0);
      for (const { here } of this.lines) here.fill(here[x - 1] as number, x, x + length);
      x += length;
      if (!broken) continue;
      for (const { above, here } of this.lines)
        here[x] = this.breakByAbove(here[x - 1] as number, above[x] as number, this.runIndex[0] as number);
      this.shorten(0);
      x += 1;
    }
  }

  /** The context of a sample; 0 asks for a run, below 0 stands for its mirror. */
  private contextAt(above: Int32Array, here: Int32Array, x: number): number {
    const behind = above[x + 1] as number;
    const over = above[x] as number;
    const corner = above[x - 1] as number;
    const left = here[x - 1] as number;
    return 81 * this.graded(behind - over) + 9 * this.graded(over - corner) + this.graded(corner - left);
  }

  private graded(difference: number): number {
    const [first, second, third] = this.settings.thresholds;
    const size = Math.abs(difference);
    if (size <= this.settings.near) return 0;
    const grade = size < first ? 1 : size < second ? 2 : size < third ? 3 : 4;
    return difference < 0 ? -grade : grade;
  }

  private sample(context: number, left: number, over: number, corner: number): number {
    const sign = context < 0 ? -1 : 1;
    const at = Math.abs(context);
    const { maximum, near, reset } = this.settings;
    const low = Math.min(left, over);
    const high = Math.max(left, over);
    const plain = corner >= high ? low : corner <= low ? high : left + over - corner;
    const predicted = Math.max(0, Math.min(maximum, plain + sign * (this.corrections[at] as number)));
    const count = this.counts[at] as number;
    const shift = this.shiftFor(count, this.sums[at] as number);
    const mapped = this.golomb(shift, this.limit);
    const swapped = near === 0 && shift === 0 && 2 * (this.biases[at] as number) <= -count;
    const odd = mapped % 2 === 1;
    const half = Math.floor(mapped / 2);
    const error = swapped ? (odd ? half : -half - 1) : odd ? -half - 1 : half;
    let bias = (this.biases[at] as number) + error * this.step;
    let sum = (this.sums[at] as number) + Math.abs(error);
    let seen = count;
    if (seen === reset) {
      sum >>= 1;
      bias >>= 1;
      seen >>= 1;
    }
    seen += 1;
    let correction = this.corrections[at] as number;
    if (bias <= -seen) {
      bias = Math.max(bias + seen, 1 - seen);
      if (correction > -128) correction -= 1;
    } else if (bias > 0) {
      bias = Math.min(bias - seen, 0);
      if (correction < 127) correction += 1;
    }
    this.biases[at] = bias;
    this.sums[at] = sum;
    this.counts[at] = seen;
    this.corrections[at] = correction;
    return this.restored(predicted, sign * error);
  }

  private restored(predicted: number, error: number): number {
    const { maximum, near } = this.settings;
    let value = predicted + error * this.step;
    if (value < -near) value += this.range * this.step;
    else if (value > maximum + near) value -= this.range * this.step;
    return Math.max(0, Math.min(maximum, value));
  }

  private shiftFor(count: number, sum: number): number {
    let shift = 0;
    while (count * 2 ** shift < sum && shift < deepestShift) shift += 1;
    return shift;
  }

  private golomb(shift: number, limit: number): number {
    const most = limit - this.rangeBits - 1;
    let zeros = 0;
    while (zeros < most && this.reader.bit() === 0) zeros += 1;
    if (zeros < most) return zeros * 2 ** shift + this.reader.bits(shift);
    // The one that ends the zeros of an escape has not been taken yet.
    this.reader.bit();
    return this.reader.bits(this.rangeBits) + 1;
  }

  /** How far a run goes, and whether another value ends it before the line does. */
  private run(room: number, component: number): { length: number; broken: boolean } {
    let length = 0;
    while (!this.reader.over && this.reader.bit() === 1) {
      const full = 2 ** (runBits[this.runIndex[component] as number] as number);
      const taken = Math.min(full, room - length);
      length += taken;
      if (taken === full && (this.runIndex[component] as number) < 31)
        this.runIndex[component] = (this.runIndex[component] as number) + 1;
      if (length === room) return { length, broken: false };
    }
    const rest = this.reader.bits(runBits[this.runIndex[component] as number] as number);
    if (length + rest >= room) {
      // A run that is said to break behind the end of its line is damage.
      this.reader.over = true;
      return { length: room, broken: false };
    }
    return { length: length + rest, broken: true };
  }

  private shorten(component: number): void {
    const index = this.runIndex[component] as number;
    if (index > 0) this.runIndex[component] = index - 1;
  }

  private breakOf(left: number, over: number, runIndex: number): number {
    if (Math.abs(left - over) > this.settings.near) return this.breakByAbove(left, over, runIndex);
    return this.restored(left, this.breakError(1, runIndex));
  }

  private breakByAbove(left: number, over: number, runIndex: number): number {
    const error = this.breakError(0, runIndex);
    return this.restored(over, left > over ? -error : error);
  }

  /** The error of the sample that breaks a run; kind 1 where left and above are alike. */
  private breakError(kind: 0 | 1, runIndex: number): number {
    const at = regular + kind;
    const { reset } = this.settings;
    let count = this.counts[at] as number;
    let sum = this.sums[at] as number;
    let negative = this.negatives[kind] as number;
    const shift = this.shiftFor(count, kind === 1 ? sum + (count >> 1) : sum);
    const mapped = this.golomb(shift, this.limit - (runBits[runIndex] as number) - 1);
    const doubled = mapped + kind;
    const odd = doubled % 2 === 1;
    const size = Math.floor((doubled + 1) / 2);
    const error = (shift !== 0 || 2 * negative >= count) === odd ? -size : size;
    if (error < 0) negative += 1;
    sum += (mapped + 1 - kind) >> 1;
    if (count === reset) {
      sum >>= 1;
      count >>= 1;
      negative >>= 1;
    }
    this.counts[at] = count + 1;
    this.sums[at] = sum;
    this.negatives[kind] = negative;
    return error;
  }
}
