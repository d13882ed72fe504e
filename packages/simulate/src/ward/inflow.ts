import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { isNight, type WatchedBody } from './body.ts';
import { gridMin } from './course.ts';
import { streamFor } from './streams.ts';

/** Something that raised the inflow, and whether anybody wrote it down. */
export interface FluidEvent {
  readonly atMs: number;
  readonly charted: boolean;
  readonly what: 'drink' | 'infusion' | 'diuretic-iv' | 'diuretic-oral';
  readonly volumeMl: number;
  readonly overMin: number;
}

export interface Inflow {
  readonly fluids: readonly FluidEvent[];
  /** mL during the step from that instant on. */
  stepMl(step: number): number;
  /** A great deal was drained at once: many make much urine for hours afterwards. */
  relieved(step: number, drainedMl: number): void;
}

const stepH = gridMin / 60;

/** Drinks by day, infusions after surgery and birth, a diuretic for one in eight. S-made-ward-mix */
function drawFluids(
  seed: number,
  patient: string,
  body: WatchedBody,
  opensAtMs: number,
  steps: number,
): readonly FluidEvent[] {
  const random = streamFor(seed, patient, 'fluids');
  const fluids: FluidEvent[] = [];
  if (
    (body.setting === 'after-surgery' || body.setting === 'after-birth') &&
    random.next() < 0.5 &&
    !body.littleUrine
  ) {
    fluids.push({
      atMs: opensAtMs + random.below(12) * gridMin * minuteMs,
      charted: random.next() < 0.9,
      what: 'infusion',
      volumeMl: random.pick([500, 1000]),
      overMin: random.pick([240, 360, 480]),
    });
  }
  if (random.next() < 0.12 && !body.littleUrine) {
    fluids.push({
      atMs: opensAtMs + random.below(Math.min(steps, 288)) * gridMin * minuteMs,
      charted: random.next() < 0.95,
      what: random.next() < 0.5 ? 'diuretic-iv' : 'diuretic-oral',
      // What the diuretic makes flow, mL/h, and for how long: 300 to 600 for 1 to 3 h (S-job-4.2).
      volumeMl: 300 + 300 * random.next(),
      overMin: 60 + random.below(25) * 5,
    });
  }
  for (let step = 0; step < steps; step += 1) {
    const atMs = opensAtMs + step * gridMin * minuteMs;
    const drinks = random.next() < 6 / (17 / stepH);
    const volumeMl = 150 + 10 * random.below(16);
    const charted = random.next() < 0.4;
    if (drinks && !isNight(atMs)) fluids.push({ atMs, charted, what: 'drink', volumeMl, overMin: 10 });
  }
  return fluids.sort((a, b) => a.atMs - b.atMs);
}

/**
 * What the kidneys give: a level that wanders (sd 25 % an hour), stress that fades over half a day, day and night,
 * fluids that come late, diuretics, much urine after relief, or next to none.
 *
 * Units     mL for a step, mL/h inside
 * Source    S-job-4.2
 */
export function openInflow(
  seed: number,
  patient: string,
  body: WatchedBody,
  opensAtMs: number,
  steps: number,
): Inflow {
  const fluids = drawFluids(seed, patient, body, opensAtMs, steps);
  const wander = streamFor(seed, patient, 'inflow');
  const logRatio = [0];
  for (let step = 1; step < steps; step += 1) {
    // Drawn back by 10 % an hour, so that nobody's inflow drifts off for good.
    const before = logRatio[step - 1] ?? 0;
    logRatio.push(before * (1 - 0.1 * stepH) + 0.25 * Math.sqrt(stepH) * wander.normal());
  }
  const extraMl = Array.from({ length: steps }, () => 0);
  const driven = Array.from({ length: steps }, () => 0);
  for (const fluid of fluids) {
    const first = Math.round((fluid.atMs - opensAtMs) / (gridMin * minuteMs));
    if (fluid.what.startsWith('diuretic')) {
      const delay = fluid.what === 'diuretic-oral' ? 9 : 1;
      for (
        let step = first + delay;
        step < Math.min(steps, first + delay + fluid.overMin / gridMin);
        step += 1
      )
        driven[step] = Math.max(driven[step] ?? 0, fluid.volumeMl);
    } else {
      // A tenth of it comes through beside the ordinary inflow, evenly until an hour and a half after the end.
      const last = first + Math.ceil((fluid.overMin + 90) / gridMin);
      for (let step = first; step < Math.min(steps, last); step += 1)
        extraMl[step] = (extraMl[step] ?? 0) + (0.1 * fluid.volumeMl) / (last - first);
    }
  }
  return {
    fluids,
    relieved: (step, drainedMl) => {
      const random = streamFor(seed, patient, 'relief', step);
      if (drainedMl < 1000 || random.next() >= 0.3) return;
      const rate = 200 + 400 * random.next();
      const last = step + Math.round((6 + 6 * random.next()) / stepH);
      for (let next = step + 1; next < Math.min(steps, last); next += 1)
        driven[next] = Math.max(driven[next] ?? 0, rate);
    },
    stepMl: (step) => {
      const atMs = opensAtMs + step * gridMin * minuteMs;
      const wanders = Math.exp(logRatio[step] ?? 0);
      if (body.littleUrine) return Math.min(10, 5 * wanders) * stepH;
      const stress = Math.exp(-((atMs - opensAtMs) / hourMs) / 12);
      const level = body.wardRateMlPerH + (body.earlyRateMlPerH - body.wardRateMlPerH) * stress;
      const night = isNight(atMs) ? body.nightFactor + (1 - body.nightFactor) * stress : 1;
      return Math.max(level * night * wanders, driven[step] ?? 0) * stepH + (extraMl[step] ?? 0);
    },
  };
}
