/**
 * What a bladder of the first generator holds, for somebody who knows that generator by heart: its rates, the spread of
 * its bodies, how its people pass urine and how its ward writes things down. A particle filter on the generator's own
 * five-minute grid. The best that any estimate could do from the same entries, as near as its particles come.
 *
 *     a void now and nobody has charted it   with chance  hazard · share not charted by the question
 *     a void that stands in the chart        at each step it may have been at, weighed by how likely it was charted so
 *
 * Units     mL, ms
 * Domain    charts of `watchedPatient` whose looks were at `lookAtMs`; anything else is not what it knows
 * Errors    drinks and infusions that nobody charted, pads and the rounding of typed figures are taken roughly; the rest
 *           is exact but for the number of particles. The persons who look also know when they looked
 * Not for   the product: it knows what nobody knows of people
 * Source    S-particle-filter; figures as in people.ts, shown.ts and charting-times.ts
 */
import { minuteMs, seededRandom, type RandomSource } from '@ebbline/core/quantity';
import { gridMin } from '../course.ts';
import type { SimulatedLine } from '../lines.ts';
import { layOut, nightAt, type KnownChart } from './chart.ts';
import { biases, drawPeople, emptying, redraw, sensation, type People } from './people.ts';
import { drainedLikelihood, padLikelihood, readingLikelihood, voidLikelihood } from './shown.ts';
import { canPass, feltAtMl, givenMl, hazardAt, inflowOf, isNumb, never, pass, stepH } from './steps.ts';

export interface TrueModelQuestion {
  readonly lines: readonly SimulatedLine[];
  readonly opensAtMs: number;
  /** Only what was recorded by then is known. */
  readonly nowMs: number;
  readonly lookAtMs: readonly number[];
  readonly particles: number;
  readonly seed: number;
}

export interface TrueModelAnswer {
  readonly p05Ml: number;
  readonly p50Ml: number;
  readonly p95Ml: number;
  readonly overLimitProbability: number;
  readonly meanMl: number;
}

/** Something that cannot be, by what is known: kept at a little, so that a rough edge of this model does not end it. */
const hardly = 1e-6;

export interface TrueModel {
  readonly people: People;
  readonly chart: KnownChart;
  readonly random: RandomSource;
}

/** Follows a chart to the middle of the step that holds the question. */
export function followTruth(question: TrueModelQuestion): TrueModel {
  const random = seededRandom(question.seed);
  const chart = layOut(question.lines, question.opensAtMs, question.nowMs, question.lookAtMs);
  const people = drawPeople(chart, question.particles, random);
  const { count, weight, heldMl } = people;
  const marks = chart.voids.map(() => new Uint8Array(count));
  const rest = chart.voids.map(({ shares }) => {
    let after = 0;
    return shares
      .toReversed()
      .map((share) => (after += share))
      .reverse();
  });
  const times = (one: number, likelihood: number): void => {
    weight[one] = (weight[one] as number) * (likelihood > 0 ? likelihood : hardly);
  };
  const limitMl = chart.watch.limitMl;
  const halfH = ((question.nowMs - question.opensAtMs) / (gridMin * minuteMs)) % 1;

  const drain = (one: number, step: number, volumeMl: number | undefined): void => {
    const held = heldMl[one] as number;
    const leftMl = Math.min(held, 20 * random.next());
    heldMl[one] = leftMl;
    if (volumeMl !== undefined) times(one, drainedLikelihood(volumeMl, held - leftMl) + 1e-9);
    if (held - leftMl < 1000 || random.next() >= 0.3) return;
    people.reliefMlPerH[one] = 200 + 400 * random.next();
    people.reliefUntil[one] = step + Math.round((6 + 6 * random.next()) / stepH);
  };

  for (let step = 0; step < chart.steps; step += 1) {
    const atMs = chart.opensAtMs + step * gridMin * minuteMs;
    const asleep = nightAt(atMs);
    const stress = Math.exp((-step * stepH) / 12);
    const notYet = chart.notYet[step] as number;
    const read = chart.readings.get(step);
    let weighed = step % 6 === 5;
    if (read !== undefined) {
      weighed = true;
      const { fields, lastVoidStep } = read;
      const scanner = fields.device === undefined ? -1 : Number(fields.device.slice(1)) - 1;
      const operator = fields.operator === undefined ? -1 : Number(fields.operator.slice(1)) - 1;
      for (let one = 0; one < count; one += 1) {
        const at = one * biases;
        const bias =
          (people.bias[at + (scanner < 0 ? random.below(2) : scanner)] as number) +
          (people.bias[at + 2 + (operator < 0 ? random.below(8) : operator)] as number);
        times(one, readingLikelihood(fields, heldMl[one] as number, bias) + 1e-9);
        const last = people.lastVoid[one] as number;
        if (lastVoidStep === undefined ? step - last <= 4 : last !== lastVoidStep) times(one, 1e-3);
      }
      redraw(people, marks, chart.watch.ownCapacityMl !== undefined, random);
    }
    if (chart.drained.has(step)) {
      weighed = true;
      const volumeMl = chart.drained.get(step);
      for (let one = 0; one < count; one += 1) drain(one, step, volumeMl);
    } else if (read === undefined && chart.lookSteps.has(step)) {
      // Looked at, and nobody has charted it yet: whoever was seen at the limit was drained.
      for (let one = 0; one < count; one += 1) {
        const held = heldMl[one] as number;
        const bias = (people.bias[one * biases] as number) + (people.bias[one * biases + 2] as number);
        const luck = random.next();
        const shownMl = Math.max(0, held * (1 + bias) + (0.08 * held + 15) * random.normal());
        const told =
          luck < 0.03
            ? shownMl * (0.3 + 0.5 * random.next())
            : luck < 0.051
              ? shownMl + 150 + 450 * random.next()
              : luck < 0.06
                ? 0
                : shownMl;
        if (told >= limitMl) drain(one, step, undefined);
      }
    }
    const symptom = chart.symptoms.get(step);
    const pad = chart.pads.get(step);
    const extraMl = givenMl(chart, step, asleep);
    const due: number[] = [];
    for (const [place, forced] of chart.voids.entries()) if (forced.steps.includes(step)) due.push(place);
    if (due.length > 0 || symptom !== undefined || pad !== undefined) weighed = true;
    const wanderKeeps = 1 - 0.1 * stepH;
    const wanderStirs = 0.25 * Math.sqrt(stepH);
    const part = step === chart.steps - 1 ? halfH : 1;
    for (let one = 0; one < count; one += 1) {
      if (step > 0)
        people.logRatio[one] = (people.logRatio[one] as number) * wanderKeeps + wanderStirs * random.normal();
      const held = heldMl[one] as number;
      const able = canPass(people, one, step);
      const felt = feltAtMl(people, one, step);
      const second = able && people.secondAt[one] === step;
      const urge = hazardAt(held, felt, asleep);
      const hazard = !able ? 0 : second ? 1 : urge;
      const alone = people.goesAlone[one] as number;
      const written = (1 - (never[alone] as number)) * (second ? 0.6 : 1);
      let voided = false;
      for (const place of due) {
        const mark = marks[place] as Uint8Array;
        if (voided || mark[one] === 1) continue;
        const forced = chart.voids[place] as (typeof chart.voids)[number];
        const at = forced.steps.indexOf(step);
        const share = forced.shares[at] as number;
        const later = at + 1 < forced.steps.length ? ((rest[place] as number[])[at + 1] as number) : 0;
        const expectedMl =
          people.emptying[one] === emptying.poor
            ? held * (1 - (second ? 0.7 : (people.keepsShare[one] as number)))
            : Math.max(0, held - 25);
        const shown = forced.fields?.measured === true ? forced.fields.volumeMl : undefined;
        const fits =
          shown === undefined
            ? 1
            : 0.02 + Math.exp(-0.5 * ((shown - expectedMl) / (0.1 * expectedMl + 30)) ** 2);
        const eager = share * fits * (hazard > 0.05 ? 8 : hazard > 0 ? 1 : 0.01);
        const chance = later > 0 ? eager / (eager + later) : 1;
        if (random.next() >= chance) {
          times(one, 1 / (1 - chance));
          continue;
        }
        mark[one] = 1;
        voided = true;
        const passedMl = pass(people, one, step, second, random);
        const told =
          forced.fields === undefined
            ? 1 - written + written * notYet
            : written * voidLikelihood(forced.fields, passedMl, alone === 1);
        times(one, (share / chance) * (hazard * told + 1e-12));
      }
      if (!voided && hazard > 0) {
        const unseen = 1 - written + written * notYet;
        const none = 1 - hazard;
        const total = none + hazard * unseen;
        times(one, total);
        if (random.next() * total >= none) {
          pass(people, one, step, second, random);
          voided = true;
        }
      }
      if (!voided) {
        const overMl = held - (people.overflowShare[one] as number) * (people.capacityMl[one] as number);
        const leaksMl =
          overMl > 0
            ? overMl * (0.3 + 0.7 * random.next())
            : people.leaks[one] === 1 && held > 150 && random.next() < 0.01
              ? 20 + 60 * random.next()
              : 0;
        const tellsNot = (people.triedAt[one] as number) + 60 / gridMin > step;
        if (leaksMl > 0) {
          heldMl[one] = held - leaksMl;
          people.leakedMl[one] = (people.leakedMl[one] as number) + leaksMl;
          if (symptom !== undefined) times(one, hardly);
          if ((people.leakedMl[one] as number) > 100 && pad === undefined) times(one, 1 - 0.1 * (1 - notYet));
        } else if (symptom !== undefined && symptom.symptom !== 'restless') {
          const severe = held > (people.capacityMl[one] as number) ? 3 : 2;
          const may = !able && held >= felt && !tellsNot && severe === (symptom.severity ?? severe);
          times(one, may ? urge * (symptom.symptom === 'urge-cannot-pass' ? 0.4 : 0.2) : hardly);
          people.triedAt[one] = step;
        } else if (symptom !== undefined) {
          const may =
            (people.sensation[one] !== sensation.ordinary || isNumb(people, one, step)) &&
            held > 1.2 * (people.capacityMl[one] as number) &&
            !tellsNot;
          times(one, may ? 0.01 : hardly);
          people.triedAt[one] = step;
        } else if (!able && held >= felt && !tellsNot) {
          // Tried, and said nothing of it; or did not try.
          times(one, 1 - 0.6 * urge);
          if (random.next() * (1 - 0.6 * urge) < 0.4 * urge) people.triedAt[one] = step;
        }
      } else if (symptom !== undefined) times(one, hardly);
      if (pad !== undefined) {
        times(one, padLikelihood(pad, people.leakedMl[one] as number));
        people.leakedMl[one] = 0;
      }
      const came = chart.littleUrine
        ? Math.min(10, 5 * Math.exp(people.logRatio[one] as number)) * stepH
        : inflowOf(people, one, step, asleep, stress);
      heldMl[one] = (heldMl[one] as number) + part * (came + extraMl);
    }
    if (weighed || step === chart.steps - 1)
      redraw(people, marks, chart.watch.ownCapacityMl !== undefined, random);
  }
  return { people, chart, random };
}

export function answerOf({ people, chart }: TrueModel): TrueModelAnswer {
  const order = Array.from(people.heldMl, (_, one) => one).sort(
    (a, b) => (people.heldMl[a] as number) - (people.heldMl[b] as number),
  );
  let total = 0;
  let over = 0;
  let mean = 0;
  for (let one = 0; one < people.count; one += 1) {
    const weight = people.weight[one] as number;
    total += weight;
    mean += weight * (people.heldMl[one] as number);
    if ((people.heldMl[one] as number) > chart.watch.limitMl) over += weight;
  }
  const at = (share: number): number => {
    let run = 0;
    for (const one of order) {
      run += people.weight[one] as number;
      if (run >= share * total) return people.heldMl[one] as number;
    }
    return people.heldMl[order.at(-1) as number] as number;
  };
  return {
    p05Ml: at(0.05),
    p50Ml: at(0.5),
    p95Ml: at(0.95),
    overLimitProbability: over / total,
    meanMl: mean / total,
  };
}
