/**
 * One watched patient over some hours with known truth: what the bladder held every five minutes, and what the ward
 * wrote down of it.
 *
 *     content(k + 1) = content(k) − outflow(k) + inflow(k)        nothing else moves it
 *
 * Units     mL, minutes, ms
 * Domain    hours above 0; opening on a grid step. The same request gives the same course; another staff meets the
 *           same body, inflow, urges and, at the same minute, the same error of a reading
 * Not for   evidence about people: assumptions inside published ranges
 * Source    S-job-4.2
 */
import { hourMs, instantOfMs, minuteMs } from '@ebbline/core/quantity';
import { drawWatchedBody } from './body.ts';
import { chartedTime, chartVoid, drawHabits, type ChartedTime } from './charting.ts';
import {
  gridMin,
  type PatientCourse,
  type PatientRequest,
  type TrueOutflow,
  type TrueReading,
} from './course.ts';
import { openInflow } from './inflow.ts';
import type { LineFields, SimulatedLine, WatchFields } from './lines.ts';
import { takeLook } from './looking.ts';
import { streamFor } from './streams.ts';
import { openVoiding } from './voiding.ts';

interface Waiting {
  readonly recordedAtMs: number;
  readonly line: SimulatedLine;
}

export function watchedPatient(request: PatientRequest): PatientCourse {
  const { seed, patient, opensAtMs, staff } = request;
  const steps = Math.round((request.hours * 60) / gridMin);
  const body = drawWatchedBody(seed, patient);
  const habits = drawHabits(seed, request.ward);
  const inflow = openInflow(seed, patient, body, opensAtMs, steps);
  const voiding = openVoiding(seed, patient, body);
  const waiting: Waiting[] = [];
  const known: SimulatedLine[] = [];
  const outflows: TrueOutflow[] = [];
  const readings: TrueReading[] = [];
  const contentMl = [body.startMl];
  const inflowMl: number[] = [];
  let written = 0;

  const chart = (time: ChartedTime, fields: LineFields, source: 'typed' | 'device' = 'typed'): void => {
    written += 1;
    waiting.push({
      recordedAtMs: time.recordedAtMs,
      line: {
        id: `${patient}-e${String(written).padStart(4, '0')}`,
        patient,
        at: instantOfMs(time.atMs),
        atQuality: time.atQuality,
        recordedAt: instantOfMs(time.recordedAtMs),
        source,
        ...fields,
      },
    });
  };
  const atOnce = (atMs: number): ChartedTime => ({ atMs, atQuality: 'exact', recordedAtMs: atMs });
  /** Moves what has been written by now into the chart; whether anything was. */
  const deliver = (nowMs: number): boolean => {
    const due = waiting
      .filter((one) => one.recordedAtMs <= nowMs)
      .sort((a, b) => a.recordedAtMs - b.recordedAtMs);
    for (const one of due) {
      waiting.splice(waiting.indexOf(one), 1);
      known.push(one.line);
    }
    return due.length > 0;
  };

  const told = streamFor(seed, patient, 'told');
  const watch: WatchFields = {
    kind: 'watch',
    setting: body.setting,
    ageY: body.ageY,
    sex: body.sex,
    weightKg: body.weightKg,
    limitMl: body.limitMl,
    ...(body.capacityIsKnown ? { ownCapacityMl: body.capacityMl } : {}),
    cautions: body.cautions,
    catheterInPlace: false,
    ...(body.setting !== 'catheter-removed' && told.next() < 0.6
      ? { lastVoidAt: instantOfMs(opensAtMs - (4 + told.below(12)) * 15 * minuteMs) }
      : {}),
  };
  chart(atOnce(opensAtMs), watch);
  if (body.blockEndsAtH > 0) {
    chart(atOnce(opensAtMs), { kind: 'context', topic: 'regional-block', state: 'present' });
    const ends = opensAtMs + Math.ceil((body.blockEndsAtH * 60) / gridMin) * gridMin * minuteMs;
    if (told.next() < 0.7)
      chart(chartedTime(ends, streamFor(seed, patient, 'block-charted'), { timeMayBeUnknown: false }), {
        kind: 'context',
        topic: 'regional-block',
        state: 'worn-off',
      });
  }
  if (body.littleUrine)
    chart(atOnce(opensAtMs), { kind: 'context', topic: 'dialysis', state: 'little-or-no-urine' });
  for (const [index, fluid] of inflow.fluids.entries()) {
    if (!fluid.charted) continue;
    const time = chartedTime(fluid.atMs, streamFor(seed, patient, 'fluid-charted', index), {
      timeMayBeUnknown: false,
    });
    if (fluid.what === 'drink') chart(time, { kind: 'intake', volumeMl: fluid.volumeMl, route: 'oral' });
    else if (fluid.what === 'infusion')
      chart(time, { kind: 'intake', volumeMl: fluid.volumeMl, route: 'iv', overMin: fluid.overMin });
    else
      chart(time, {
        kind: 'context',
        topic: 'loop-diuretic',
        state: 'given',
        route: fluid.what === 'diuretic-iv' ? 'iv' : 'oral',
        doseMg: 40,
      });
  }

  let heldMl = body.startMl;
  let lastLookMs: number | undefined;
  let lastVoidMs = -Infinity;
  let leakedSincePadMl = 0;
  let padSinceMs = opensAtMs;
  deliver(opensAtMs);
  const view = (nowMs: number) => ({ nowMs, opensAtMs, known, lastLookMs });
  let nextLookMs = staff.nextLookMs(view(opensAtMs));

  for (let step = 0; step < steps; step += 1) {
    const nowMs = opensAtMs + step * gridMin * minuteMs;
    if (deliver(nowMs)) nextLookMs = staff.nextLookMs(view(nowMs));
    if (nowMs >= nextLookMs) {
      const sinceVoidMin = Math.round((nowMs - lastVoidMs) / minuteMs);
      const random = streamFor(seed, patient, 'reading', step);
      const look = takeLook(
        nowMs,
        heldMl,
        random,
        habits,
        `${patient}-K${readings.length + 1}`,
        sinceVoidMin <= 20 ? sinceVoidMin : undefined,
      );
      readings.push(look.truth);
      lastLookMs = nowMs;
      const time =
        request.looksChartedAtOnce === true || look.source === 'device'
          ? atOnce(nowMs)
          : chartedTime(nowMs, random, { timeMayBeUnknown: false });
      chart(time, look.fields, look.source);
      deliver(nowMs);
      if (staff.drains(look.fields, watch, view(nowMs))) {
        const leftMl = Math.min(heldMl, 20 * random.next());
        const cameMl = heldMl - leftMl;
        heldMl = leftMl;
        const measured = random.next() >= 0.05;
        outflows.push({
          atMs: nowMs,
          kind: 'drained',
          volumeMl: cameMl,
          leftMl,
          charting: measured ? 'measured' : 'unmeasured',
        });
        // The bag is read to 2 % or so. S-made-ward-mix
        const error = random.normal();
        chart(time, {
          kind: 'drained',
          measured,
          route: 'in-out',
          ...(measured ? { volumeMl: Math.max(0, Math.round(cameMl * (1 + 0.02 * error))) } : {}),
          ...(look.fields.operator === undefined ? {} : { operator: look.fields.operator }),
        });
        inflow.relieved(step, cameMl);
      }
      deliver(nowMs);
      nextLookMs = staff.nextLookMs(view(nowMs));
    }
    const outcome = voiding.step(step, nowMs, heldMl, (nowMs - opensAtMs) / hourMs);
    if (outcome.passedMl > 0) {
      const random = streamFor(seed, patient, 'void-charted', step);
      const fields = chartVoid(outcome.passedMl, random, habits, body.goesAlone);
      // A second attempt is often left out.
      const charted = fields !== undefined && !(outcome.second && random.next() < 0.4) ? fields : undefined;
      heldMl -= outcome.passedMl;
      lastVoidMs = nowMs;
      outflows.push({
        atMs: nowMs,
        kind: 'void',
        volumeMl: outcome.passedMl,
        leftMl: heldMl,
        charting:
          charted === undefined
            ? 'uncharted'
            : !charted.measured
              ? 'unmeasured'
              : charted.class === 'mixed-stool'
                ? 'mixed'
                : 'measured',
      });
      if (charted !== undefined) chart(chartedTime(nowMs, random, { timeMayBeUnknown: true }), charted);
    }
    if (outcome.leakedMl > 0) {
      heldMl -= outcome.leakedMl;
      leakedSincePadMl += outcome.leakedMl;
      const random = streamFor(seed, patient, 'pad', step);
      const changes = leakedSincePadMl > 100 && random.next() < 0.1;
      const weighed = changes && random.next() < 0.6;
      outflows.push({
        atMs: nowMs,
        kind: 'leak',
        volumeMl: outcome.leakedMl,
        leftMl: heldMl,
        charting: weighed ? 'measured' : changes ? 'unmeasured' : 'uncharted',
      });
      if (changes) {
        chart(chartedTime(nowMs, random, { timeMayBeUnknown: false }), {
          kind: 'void',
          measured: false,
          class: 'pad',
          ...(weighed
            ? { padG: Math.round(leakedSincePadMl), sinceAt: instantOfMs(padSinceMs) }
            : { size: leakedSincePadMl < 150 ? 'small' : leakedSincePadMl < 350 ? 'medium' : 'large' }),
        });
        leakedSincePadMl = 0;
        padSinceMs = nowMs;
      }
    }
    if (outcome.symptom !== undefined) chart(atOnce(nowMs), outcome.symptom);
    const cameMl = inflow.stepMl(step);
    inflowMl.push(cameMl);
    heldMl += cameMl;
    contentMl.push(heldMl);
  }
  // What is written down after the watch still reaches the log.
  deliver(Infinity);
  return {
    lines: known,
    truth: {
      patient,
      setting: body.setting,
      opensAtMs,
      contentMl,
      inflowMl,
      outflows,
      readings,
      limitMl: body.limitMl,
      capacityMl: body.capacityMl,
      sensation: body.sensation,
      emptying: body.emptying,
    },
  };
}
