/**
 * Many bodies drawn as the first generator draws them, given what its watch tells: the particles of the true model.
 *
 * Units     mL, mL/h, hours after opening
 * Source    S-job-4.2 and S-made-ward-mix by way of body.ts, virtual-patient.ts and inflow.ts, whose figures these are
 */
import type { RandomSource } from '@ebbline/core/quantity';
import type { KnownChart } from './chart.ts';

export const emptying = { good: 0, poor: 1, retention: 2, lateRecovery: 3 } as const;
export const sensation = { ordinary: 0, blunted: 1, none: 2 } as const;

const scanners = 2;
const operators = 8;
export const biases = scanners + operators;

export interface People {
  readonly count: number;
  readonly weight: Float64Array;
  readonly heldMl: Float64Array;
  readonly logRatio: Float64Array;
  readonly earlyRate: Float64Array;
  readonly wardRate: Float64Array;
  readonly nightFactor: Float64Array;
  readonly capacityMl: Float64Array;
  readonly keepsShare: Float64Array;
  readonly urgeShare: Float64Array;
  readonly overflowShare: Float64Array;
  readonly recoversAtH: Float64Array;
  readonly blockEndsAtH: Float64Array;
  /** A flow that overrides the ordinary one: mL/h, from and until a step. */
  readonly drivenMlPerH: Float64Array;
  readonly drivenFrom: Float64Array;
  readonly drivenUntil: Float64Array;
  readonly reliefMlPerH: Float64Array;
  readonly reliefUntil: Float64Array;
  /** mL a step of an infusion that nobody charted, until a step. */
  readonly hiddenMl: Float64Array;
  readonly hiddenUntil: Float64Array;
  readonly leakedMl: Float64Array;
  readonly triedAt: Float64Array;
  readonly lastVoid: Float64Array;
  readonly secondAt: Float64Array;
  readonly bias: Float64Array;
  readonly emptying: Uint8Array;
  readonly sensation: Uint8Array;
  readonly goesAlone: Uint8Array;
  readonly leaks: Uint8Array;
}

const rates: Readonly<Record<string, readonly [median: number, logSd: number]>> = {
  'after-surgery': [120, 0.5],
  'catheter-removed': [80, 0.35],
  'after-birth': [110, 0.5],
  stroke: [70, 0.35],
  'spinal-cord': [75, 0.35],
};

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

export function drawPeople(chart: KnownChart, count: number, random: RandomSource): People {
  const room = (fill = 0): Float64Array => new Float64Array(count).fill(fill);
  const small = (): Uint8Array => new Uint8Array(count);
  const people: People = {
    count,
    weight: room(1 / count),
    heldMl: room(),
    logRatio: room(),
    earlyRate: room(),
    wardRate: room(),
    nightFactor: room(),
    capacityMl: room(),
    keepsShare: room(),
    urgeShare: room(),
    overflowShare: room(),
    recoversAtH: room(),
    blockEndsAtH: room(),
    drivenMlPerH: room(),
    drivenFrom: room(),
    drivenUntil: room(-1),
    reliefMlPerH: room(),
    reliefUntil: room(-1),
    hiddenMl: room(),
    hiddenUntil: room(-1),
    leakedMl: room(),
    triedAt: room(-1000),
    lastVoid: room(-1000),
    secondAt: room(-1),
    bias: new Float64Array(count * biases),
    emptying: small(),
    sensation: small(),
    goesAlone: small(),
    leaks: small(),
  };
  const { setting, ownCapacityMl } = chart.watch;
  const [median, logSd] = rates[setting] as readonly [number, number];
  const early = setting === 'after-surgery' || setting === 'after-birth';
  const failing = setting === 'spinal-cord' ? 0.9 : 0.14;
  const { block, diuretic, infusion, notYet, steps } = chart;
  for (let one = 0; one < count; one += 1) {
    people.capacityMl[one] = ownCapacityMl ?? Math.round(clamp(600 + 200 * random.normal(), 200, 1600));
    const feels = random.next();
    people.sensation[one] =
      feels < 0.7 ? sensation.ordinary : feels < 0.9 ? sensation.blunted : sensation.none;
    const empties = random.next();
    const back = random.next();
    people.emptying[one] =
      empties < failing
        ? back < 0.5 && setting !== 'spinal-cord'
          ? emptying.lateRecovery
          : emptying.retention
        : empties < failing + 0.2
          ? emptying.poor
          : emptying.good;
    people.keepsShare[one] = 0.3 + 0.4 * back;
    people.recoversAtH[one] = 8 * Math.exp(0.5 * random.normal());
    const blockH = 3 * Math.exp(0.4 * random.normal());
    if (block !== 'none')
      people.blockEndsAtH[one] = typeof block === 'object' ? (block.endedStep - random.next()) / 12 : blockH;
    people.earlyRate[one] = median * Math.exp(logSd * random.normal());
    people.wardRate[one] = early ? 75 * Math.exp(0.25 * random.normal()) : (people.earlyRate[one] as number);
    people.nightFactor[one] = random.next() < 0.2 ? 1.35 : 0.6;
    people.goesAlone[one] = random.next() < 0.6 ? 1 : 0;
    people.leaks[one] = random.next() < 0.08 ? 1 : 0;
    people.overflowShare[one] = 1.1 + 0.6 * random.next();
    people.urgeShare[one] = 0.42 + 0.26 * random.next();
    const start = random.next();
    people.heldMl[one] =
      setting === 'after-surgery'
        ? clamp(300 + 150 * random.normal(), 20, 900)
        : setting === 'catheter-removed'
          ? 40 * start
          : 50 + 300 * start;
    for (let which = 0; which < biases; which += 1)
      people.bias[one * biases + which] =
        which < scanners ? -0.08 + 0.16 * random.next() : -0.1 + 0.2 * random.next();
    const rate = 300 + 300 * random.next();
    const lasts = (60 + random.below(25) * 5) / 5;
    if (diuretic !== undefined) {
      people.drivenMlPerH[one] = rate;
      people.drivenFrom[one] = diuretic.step + (diuretic.oral ? 9 : 1);
      people.drivenUntil[one] = (people.drivenFrom[one] as number) + lasts;
    } else if (!chart.littleUrine && random.next() < 0.12) {
      const given = random.below(288);
      people.drivenMlPerH[one] = rate;
      people.drivenFrom[one] = given + (random.next() < 0.5 ? 1 : 9);
      people.drivenUntil[one] = (people.drivenFrom[one] as number) + lasts;
      // What would be charted by now, and is not, is unlikely.
      if (given < steps)
        people.weight[one] = (people.weight[one] as number) * (0.05 + 0.95 * (notYet[given] as number));
    }
    if (early && !chart.littleUrine && infusion === undefined && random.next() < 0.5) {
      const over = random.pick([240, 360, 480]) + 90;
      people.hiddenMl[one] = (0.1 * random.pick([500, 1000])) / (over / 5);
      people.hiddenUntil[one] = over / 5;
      people.weight[one] =
        (people.weight[one] as number) * (0.1 + 0.9 * (notYet[Math.min(6, steps - 1)] as number));
    }
  }
  if (block === 'present') {
    // That it has worn off is charted for seven in ten.
    for (let one = 0; one < count; one += 1) {
      const ended = Math.ceil((people.blockEndsAtH[one] as number) * 12);
      if (ended < steps)
        people.weight[one] = (people.weight[one] as number) * (0.3 + 0.7 * (notYet[ended] as number));
    }
  }
  return people;
}

const fields = (people: People): readonly (Float64Array | Uint8Array)[] =>
  Object.values(people).filter(
    (one): one is Float64Array | Uint8Array => typeof one !== 'number' && one !== people.weight,
  );

export function copyOfPeople(people: People): People {
  return Object.fromEntries(
    Object.entries(people).map(([name, one]: [string, number | Float64Array | Uint8Array]) => [
      name,
      typeof one === 'number' ? one : one.slice(),
    ]),
  ) as unknown as People;
}

/** Draws people anew by weight, each a little different in what does not change while the watch runs. */
export function redraw(
  people: People,
  marks: readonly Uint8Array[],
  knownCapacity: boolean,
  random: RandomSource,
): void {
  const { count, weight } = people;
  let sum = 0;
  let squares = 0;
  for (const one of weight) {
    sum += one;
    squares += one * one;
  }
  if (!(sum > 1e-290)) {
    weight.fill(1 / count);
    return;
  }
  if ((sum * sum) / squares > count / 2) {
    for (let one = 0; one < count; one += 1) weight[one] = (weight[one] as number) / sum;
    return;
  }
  const source = new Int32Array(count);
  const start = random.next();
  let run = weight[0] as number;
  let from = 0;
  for (let one = 0; one < count; one += 1) {
    const wanted = ((one + start) / count) * sum;
    while (run < wanted && from < count - 1) {
      from += 1;
      run += weight[from] as number;
    }
    source[one] = from;
  }
  for (const values of [...fields(people), ...marks]) {
    const before = values.slice();
    const each = values.length / count;
    for (let one = 0; one < count; one += 1)
      for (let place = 0; place < each; place += 1)
        values[one * each + place] = before[(source[one] as number) * each + place] as number;
  }
  weight.fill(1 / count);
  const stirred: readonly (readonly [Float64Array, number, number])[] = [
    ...(knownCapacity ? [] : [[people.capacityMl, 200, 1600] as const]),
    [people.earlyRate, 1, 2000],
    ...(people.earlyRate[0] === people.wardRate[0] ? [] : [[people.wardRate, 1, 2000] as const]),
    [people.keepsShare, 0.3, 0.7],
    [people.logRatio, -5, 5],
  ];
  const same = people.earlyRate[0] === people.wardRate[0];
  for (const [values, low, high] of stirred) {
    let total = 0;
    let square = 0;
    for (const value of values) {
      total += value;
      square += value * value;
    }
    const middle = total / count;
    const sd = Math.sqrt(Math.max(0, square / count - middle * middle));
    for (let one = 0; one < count; one += 1)
      values[one] = clamp(
        middle + keeps * ((values[one] as number) - middle) + stirs * sd * random.normal(),
        low,
        high,
      );
  }
  if (same) people.wardRate.set(people.earlyRate);
  for (let one = 1; one < count; one += 1)
    if (source[one] === source[one - 1])
      people.heldMl[one] = Math.max(0, (people.heldMl[one] as number) + 2 * random.normal());
}

/** How much of its spread a lasting value gets anew; it is drawn to the middle by as much. */
const stirs = 0.1;
const keeps = Math.sqrt(1 - stirs * stirs);
