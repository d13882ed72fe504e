import { minuteMs, type RandomSource } from '@ebbline/core/quantity';
import type { VirtualPatient } from './virtual-patient.ts';

export interface TrueVoid {
  readonly atMs: number;
  readonly passedMl: number;
  readonly leftMl: number;
}

/**
 * A bladder that fills, feels and empties in five-minute steps: the truth that a made-up ward tries to follow.
 *
 *     dV = rate · dt        log(rate) wanders, sd 25 % an hour, pulled back to the person's own level
 *
 * Units     mL, mL/h, milliseconds
 * Not for   judging an estimate: it shares its author's assumptions with the rest of the house
 * Source    S-job-4.2
 */
export interface Bladder {
  /** Lets time pass until that moment, or until the first void before it, which it returns. An earlier moment changes nothing. */
  advanceTo(atMs: number): TrueVoid | undefined;
  readonly volumeMl: () => number;
  /** Takes all but a small remainder (S-job-4.2: 0 to 15 mL, made here); returns what came. */
  drain(): number;
  /** From then on urine can be passed again as an ordinary person would (sensation back, block worn off). */
  recover(): void;
  /** Multiplies the filling rate for a while: fluids or a diuretic. */
  hasten(factor: number, forMin: number): void;
}

const stepMin = 5;

export function openBladder(
  patient: VirtualPatient,
  random: RandomSource,
  startMs: number,
  startMl: number,
): Bladder {
  let atMs = startMs;
  let volumeMl = startMl;
  let logRatio = 0;
  let recovered = false;
  let hastened = { factor: 1, untilMs: startMs };
  // Urge comes at about 55 % of capacity: 330 mL for one of 600 mL (S-clinical-C15: urgency at 200 to 400 mL).
  const urgeShare = (): number =>
    recovered || patient.sensation === 'ordinary' ? 0.55 : patient.sensation === 'blunted' ? 0.85 : Infinity;
  const keeps = (): number => (recovered ? Math.min(patient.keepsShare, 0.12) : patient.keepsShare);
  return {
    volumeMl: () => volumeMl,
    hasten: (factor, forMin) => {
      hastened = { factor, untilMs: atMs + forMin * minuteMs };
    },
    recover: () => {
      recovered = true;
    },
    drain: () => {
      const leftMl = Math.min(volumeMl, 15 * random.next());
      const cameMl = volumeMl - leftMl;
      volumeMl = leftMl;
      return Math.round(cameMl);
    },
    advanceTo: (toMs) => {
      while (atMs + stepMin * minuteMs <= toMs) {
        atMs += stepMin * minuteMs;
        logRatio += 0.25 * Math.sqrt(stepMin / 60) * random.normal() - 0.05 * (stepMin / 60) * logRatio;
        const factor = atMs < hastened.untilMs ? hastened.factor : 1;
        volumeMl += patient.medianRateMlPerH * Math.exp(logRatio) * factor * (stepMin / 60);
        // Past the urge a person goes within the half hour or so; nobody goes for a small amount.
        if (volumeMl > urgeShare() * patient.capacityMl && keeps() < 1 && random.next() < 0.25) {
          const leftMl = volumeMl * keeps();
          const passedMl = Math.round(volumeMl - leftMl);
          volumeMl = leftMl;
          return { atMs, passedMl, leftMl };
        }
      }
      return undefined;
    },
  };
}
