import { isNight, type WatchedBody } from './body.ts';
import { gridMin } from './course.ts';
import type { SymptomFields } from './lines.ts';
import { streamFor } from './streams.ts';

/** What one step took out of the bladder, or what the person said. */
export interface StepOutcome {
  readonly passedMl: number;
  readonly leakedMl: number;
  /** A second attempt minutes after the first. */
  readonly second: boolean;
  readonly symptom?: SymptomFields;
}

export interface Voiding {
  step(step: number, atMs: number, contentMl: number, sinceOpeningH: number): StepOutcome;
}

const nothing: StepOutcome = { passedMl: 0, leakedMl: 0, second: false };

/**
 * When a person passes urine: at an urge that comes with a share of their own capacity, at convenience by day, in a
 * second attempt after a poor one; and what runs over, leaks, or is only told.
 *
 * Units     mL, hours
 * Source    S-job-4.2 (sensation, what stays behind); urge near 55 % of capacity S-clinical-C15; S-made-ward-mix
 */
export function openVoiding(seed: number, patient: string, body: WatchedBody): Voiding {
  const urge = streamFor(seed, patient, 'urge-share');
  let urgeShare = 0.42 + 0.26 * urge.next();
  let secondAtStep = -1;
  let triedAtStep = -1000;
  return {
    step: (step, atMs, contentMl, sinceOpeningH) => {
      // A fixed number of draws for each step, whatever happens in it.
      const random = streamFor(seed, patient, 'voiding', step);
      const [goes, emptiesWith, tells, leakShare, again] = [
        random.next(),
        random.next(),
        random.next(),
        random.next(),
        random.next(),
      ];
      const numb = sinceOpeningH < body.blockEndsAtH;
      const sensation = numb ? 'none' : body.sensation;
      const recovered = body.emptying === 'late-recovery' && sinceOpeningH >= body.recoversAtH;
      const canPass = !numb && (body.emptying === 'good' || body.emptying === 'poor' || recovered);
      const feltAtMl =
        sensation === 'none' ? Infinity : body.capacityMl * urgeShare * (sensation === 'blunted' ? 1.5 : 1);
      const asleep = isNight(atMs);
      const chance =
        contentMl >= feltAtMl
          ? asleep && contentMl < 1.2 * feltAtMl
            ? 0.08
            : 0.25
          : asleep || contentMl < 150
            ? 0
            : 0.004;
      const secondNow = step === secondAtStep;
      if (canPass && (goes < chance || secondNow)) {
        const leftMl =
          body.emptying === 'poor'
            ? contentMl * (secondNow ? 0.7 : body.keepsShare)
            : Math.min(contentMl, 50 * emptiesWith);
        const second = !secondNow && body.emptying === 'poor' && again < 0.25;
        if (second) secondAtStep = step + Math.round(10 / gridMin);
        urgeShare = 0.42 + 0.26 * urge.next();
        return { passedMl: contentMl - leftMl, leakedMl: 0, second: secondNow };
      }
      const overMl = contentMl - body.overflowShare * body.capacityMl;
      if (overMl > 0) return { ...nothing, leakedMl: overMl * (0.3 + 0.7 * leakShare) };
      if (body.leaks && contentMl > 150 && goes > 0.99) return { ...nothing, leakedMl: 20 + 60 * leakShare };
      if (!canPass && goes < chance && contentMl >= feltAtMl && step - triedAtStep >= 60 / gridMin) {
        triedAtStep = step;
        if (tells < 0.6)
          return {
            ...nothing,
            symptom: {
              kind: 'symptom',
              symptom: tells < 0.4 ? 'urge-cannot-pass' : 'tried-nothing-passed',
              severity: contentMl > body.capacityMl ? 3 : 2,
            },
          };
      }
      if (
        sensation !== 'ordinary' &&
        contentMl > 1.2 * body.capacityMl &&
        tells < 0.01 &&
        step - triedAtStep >= 60 / gridMin
      ) {
        triedAtStep = step;
        return { ...nothing, symptom: { kind: 'symptom', symptom: 'restless', severity: 1 } };
      }
      return nothing;
    },
  };
}
