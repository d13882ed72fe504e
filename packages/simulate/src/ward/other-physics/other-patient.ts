/**
 * The second generator: a watched patient made of deliberately different physics, so that what was learnt on the
 * first cannot pass for knowledge. It shares with the first only the random source and the types of what comes out.
 *
 * Units     mL, minutes, ms
 * Domain    as `watchedPatient`
 * Not for   evidence about people
 * Source    S-made-other-physics
 */
import { instantOfMs, minuteMs, type RandomSource } from '@ebbline/core/quantity';
import {
  gridMin,
  type PatientCourse,
  type PatientRequest,
  type TrueOutflow,
  type TrueReading,
} from '../course.ts';
import type { LineFields, SimulatedLine, WatchFields } from '../lines.ts';
import { streamFor } from '../streams.ts';
import { otherInflow } from './kidneys.ts';
import { drawOtherPerson, type OtherPerson } from './person.ts';
import { otherReading } from './scanner.ts';

/** Minutes into the day, UTC. */
const minuteOfDay = (ms: number): number => (ms / minuteMs) % 1440;
const dark = (ms: number): boolean => minuteOfDay(ms) < 360 || minuteOfDay(ms) >= 1350;

/** Whether this person goes now: by the clock, or some time after it is felt. */
function openHabit(request: PatientRequest, person: OtherPerson) {
  let feltSinceMs: number | undefined;
  let patienceMin = 0;
  return (nowMs: number, heldMl: number, inflowMl: number): boolean => {
    if (person.clockEveryMin !== undefined) {
      // Someone who goes by the clock sleeps through, but goes on rising.
      const minute = minuteOfDay(nowMs) + person.clockPhaseMin;
      const slot = Math.floor(minute / person.clockEveryMin);
      const shift = 5 * streamFor(request.seed, request.patient, 'clock', slot).below(5);
      return !dark(nowMs) && minute - slot * person.clockEveryMin === shift && heldMl > 30;
    }
    // Fast filling is felt earlier; a blunted bladder half as strongly; none feels nothing.
    const strength = { ordinary: 1, blunted: 0.55, none: 0 }[person.feels];
    const felt = heldMl * strength * (1 + (inflowMl * 12) / 800);
    if (felt < person.goesAtMl) {
      feltSinceMs = undefined;
      return false;
    }
    if (feltSinceMs === undefined) {
      feltSinceMs = nowMs;
      patienceMin =
        5 * streamFor(request.seed, request.patient, 'patience', nowMs).below(dark(nowMs) ? 16 : 7);
    }
    return nowMs - feltSinceMs >= patienceMin * minuteMs;
  };
}

/** Share left behind: a new draw every time, not a trait. Undefined: nothing comes at all. */
function leftShare(
  person: OtherPerson,
  request: PatientRequest,
  hour: number,
  random: RandomSource,
): number | undefined {
  if (person.emptying === 'good') return 0.15 * random.next() * random.next();
  if (person.emptying === 'poor') return 0.2 + 0.6 * random.next();
  // Comes and goes by the hour, more often later on.
  const opens = streamFor(request.seed, request.patient, 'opens', hour).next();
  return opens < Math.min(0.6, 0.05 * hour) ? 0.1 + 0.4 * random.next() : undefined;
}

export function otherPatient(request: PatientRequest): PatientCourse {
  const { seed, patient, opensAtMs, staff } = request;
  const steps = Math.round((request.hours * 60) / gridMin);
  const person = drawOtherPerson(seed, patient);
  const inflow = otherInflow(seed, patient, person, steps);
  const goesNow = openHabit(request, person);
  let unwritten: SimulatedLine[] = [];
  const book: SimulatedLine[] = [];
  const outflows: TrueOutflow[] = [];
  const readings: TrueReading[] = [];
  const contentMl = [person.startMl];
  let lines = 0;
  let heldMl = person.startMl;
  let lastLookMs: number | undefined;

  const write = (atMs: number, lateMin: number, fields: LineFields): void => {
    lines += 1;
    const exact = lateMin <= 10;
    const tenMinutes = 10 * minuteMs;
    unwritten.push({
      id: `${patient}-e${String(lines).padStart(4, '0')}`,
      patient,
      at: instantOfMs(exact ? atMs : Math.floor(atMs / tenMinutes) * tenMinutes),
      atQuality: exact ? 'exact' : 'rounded',
      recordedAt: instantOfMs(atMs + lateMin * minuteMs),
      source: 'typed',
      ...fields,
    });
  };
  /** Delays are exponential, half an hour or so. */
  const late = (random: RandomSource): number => Math.round(-35 * Math.log(1 - random.next()));
  const catchUp = (until: string): boolean => {
    const ready = unwritten.filter((line) => line.recordedAt <= until);
    unwritten = unwritten.filter((line) => line.recordedAt > until);
    book.push(
      ...ready.sort((a, b) => (a.recordedAt < b.recordedAt ? -1 : a.recordedAt > b.recordedAt ? 1 : 0)),
    );
    return ready.length > 0;
  };
  const takeOut = (
    atMs: number,
    kind: TrueOutflow['kind'],
    volumeMl: number,
    charting: TrueOutflow['charting'],
  ): void => {
    heldMl -= volumeMl;
    outflows.push({ atMs, kind, volumeMl, leftMl: heldMl, charting });
  };

  const watch: WatchFields = {
    kind: 'watch',
    setting: person.setting,
    ageY: person.ageY,
    sex: person.sex,
    weightKg: person.weightKg,
    limitMl: person.limitMl,
    cautions: [],
    catheterInPlace: false,
  };
  write(opensAtMs, 0, watch);
  for (const gulp of inflow.gulps) {
    if (gulp.charted)
      write(opensAtMs + gulp.step * gridMin * minuteMs, late(streamFor(seed, patient, 'gulp', gulp.step)), {
        kind: 'intake',
        volumeMl: gulp.volumeMl,
        route: 'oral',
      });
  }
  catchUp(instantOfMs(opensAtMs));
  let lookAtMs = staff.nextLookMs({ nowMs: opensAtMs, opensAtMs, known: book, lastLookMs });

  for (let step = 0; step < steps; step += 1) {
    const nowMs = opensAtMs + step * gridMin * minuteMs;
    const now = instantOfMs(nowMs);
    if (catchUp(now)) lookAtMs = staff.nextLookMs({ nowMs, opensAtMs, known: book, lastLookMs });
    if (nowMs >= lookAtMs) {
      const random = streamFor(seed, patient, 'look', step);
      const read = otherReading(request, nowMs, heldMl, random, `${patient}-L${readings.length + 1}`);
      readings.push(read.truth);
      lastLookMs = nowMs;
      const lateMin = request.looksChartedAtOnce === true ? 0 : late(random);
      write(nowMs, lateMin, read.fields);
      catchUp(now);
      if (staff.drains(read.fields, watch, { nowMs, opensAtMs, known: book, lastLookMs })) {
        const cameMl = heldMl * (0.93 + 0.07 * random.next());
        takeOut(nowMs, 'drained', cameMl, 'measured');
        write(nowMs, lateMin, {
          kind: 'drained',
          measured: true,
          route: 'in-out',
          volumeMl: Math.round(cameMl / 25) * 25,
        });
      }
      catchUp(now);
      lookAtMs = staff.nextLookMs({ nowMs, opensAtMs, known: book, lastLookMs });
    }
    const random = streamFor(seed, patient, 'body', step);
    const cameMl = inflow.stepMl[step] ?? 0;
    if (goesNow(nowMs, heldMl, cameMl)) {
      const share = leftShare(person, request, Math.floor((step * gridMin) / 60), random);
      if (share === undefined) {
        if (random.next() < 0.15) write(nowMs, 0, { kind: 'symptom', symptom: 'tried-nothing-passed' });
      } else {
        const passedMl = heldMl * (1 - share);
        // By night nearly half of what is passed is not written down, by day one in eight.
        const unseen = random.next() < (dark(nowMs) ? 0.45 : 0.12);
        const unmeasured = random.next() < 0.22;
        takeOut(nowMs, 'void', passedMl, unseen ? 'uncharted' : unmeasured ? 'unmeasured' : 'measured');
        const lateMin = late(random);
        if (!unseen)
          write(
            nowMs,
            lateMin,
            unmeasured
              ? { kind: 'void', measured: false, class: 'toilet' }
              : {
                  kind: 'void',
                  measured: true,
                  class: 'jug',
                  volumeMl: Math.round((passedMl * (0.9 + 0.2 * random.next())) / 25) * 25,
                },
          );
      }
    }
    // Runs over softly long before it is full to bursting; a cough costs a tenth of what is in.
    const full = heldMl / (1.5 * person.holdsMl);
    const soft = full > 0.6 ? Math.min(0.5, 0.1 * full ** 4) * cameMl : 0;
    const hard = full > 1 ? 0.5 * (heldMl - 1.5 * person.holdsMl) : 0;
    const cough = random.next() < 0.002 ? 0.1 * heldMl : 0;
    if (soft + hard + cough > 0) takeOut(nowMs, 'leak', Math.min(heldMl, soft + hard + cough), 'uncharted');
    heldMl += cameMl;
    contentMl.push(heldMl);
  }
  catchUp('9999');
  return {
    lines: book,
    truth: {
      patient,
      setting: person.setting,
      opensAtMs,
      contentMl,
      inflowMl: inflow.stepMl,
      outflows,
      readings,
      limitMl: person.limitMl,
      capacityMl: person.holdsMl,
      sensation: person.feels,
      emptying: person.emptying,
    },
  };
}
